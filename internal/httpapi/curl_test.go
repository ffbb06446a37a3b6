package httpapi_test

import (
	"encoding/json"
	"net/http/httptest"
	"os/exec"
	"strings"
	"testing"

	"midstroke/internal/httpapi"
)

// TestWhatIsThereToPasteWorks runs the command as a shell would.
func TestWhatIsThereToPasteWorks(t *testing.T) {
	if _, err := exec.LookPath("curl"); err != nil {
		t.Skip("there is no curl to run them with")
	}
	s := newService(t)
	server := httptest.NewServer(s)
	defer server.Close()
	command := httpapi.CurlLink(server.URL)
	out, err := exec.Command("sh", "-c", strings.Replace(command, "curl ", "curl -sS ", 1)).Output()
	if err != nil {
		t.Fatalf("%s: %v", command, err)
	}
	var answer struct {
		Outcome string
		Fits    []struct{}
	}
	if err := json.Unmarshal(out, &answer); err != nil || answer.Outcome != "fits" || len(answer.Fits) == 0 {
		t.Errorf("%s\n%v: %.500s", command, err, out)
	}
}
