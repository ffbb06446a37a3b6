package speed_test

import (
	"bufio"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"github.com/labstack/echo/v4"
)

// bareOrder is the variable that makes the test's binary the bare server: it names
// the file with the answers that it gives in turns.
const bareOrder = "MIDSTROKE_SPEED_BARE"

// serveBare serves a handler of the router that the service has, which decodes each
// body with encoding/json and does nothing else but answer.
func serveBare(file string) int {
	answers, err := os.ReadFile(file)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	e := echo.New()
	e.POST("/v1/fits", func(c echo.Context) error {
		var body map[string]any
		if err := json.NewDecoder(c.Request().Body).Decode(&body); err != nil {
			return err
		}
		c.Response().Header().Set(echo.HeaderContentLength, strconv.Itoa(len(answers)))
		return c.JSONBlob(http.StatusOK, answers)
	})
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	fmt.Println("http://" + l.Addr().String())
	fmt.Fprintln(os.Stderr, http.Serve(l, e))
	return 1
}

// process is a server that runs beside the test.
type process struct {
	url string
	end func()
}

// startProcess runs a server until end, or the end of the test, and waits until it
// prints its address.
func startProcess(t *testing.T, cmd *exec.Cmd) *process {
	t.Helper()
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	ended := false
	p := &process{end: func() {
		if !ended {
			ended = true
			_ = cmd.Process.Kill()
			_ = cmd.Wait()
		}
	}}
	t.Cleanup(p.end)
	scan := bufio.NewScanner(out)
	for scan.Scan() {
		if _, rest, ok := strings.Cut(scan.Text(), "http://"); ok {
			address, _, _ := strings.Cut(rest, " ")
			p.url = "http://" + address
			go func() {
				for scan.Scan() {
				}
			}()
			return p
		}
	}
	t.Fatalf("%s printed no address", cmd.Path)
	return nil
}

// startBare starts the bare server, which answers with so many bytes.
func startBare(t *testing.T, bytes int64) *process {
	t.Helper()
	answer := []byte(`{"answer":"` + strings.Repeat("x", int(bytes)-len(`{"answer":""}`)) + `"}`)
	file := t.TempDir() + "/answer"
	if err := os.WriteFile(file, answer, 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(os.Args[0])
	cmd.Env, cmd.Stderr = append(os.Environ(), bareOrder+"="+file), os.Stderr
	return startProcess(t, cmd)
}
