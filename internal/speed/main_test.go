package speed_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"midstroke/internal/postgres/pgtest"
)

// measuring says that the table is wanted, which takes some minutes.
var measuring = os.Getenv("MIDSTROKE_TEST_SPEED") != ""

// TestMain is also the load generator and the bare server, each in a process of
// its own.
func TestMain(m *testing.M) {
	switch {
	case os.Getenv(loadOrder) != "":
		os.Exit(generate(os.Getenv(loadOrder)))
	case os.Getenv(bareOrder) != "":
		os.Exit(serveBare(os.Getenv(bareOrder)))
	}
	pgtest.Main(m)
}

// build makes the program as it is shipped.
func build(t *testing.T) string {
	t.Helper()
	binary := filepath.Join(t.TempDir(), "midstroke")
	if out, err := exec.Command("go", "build", "-o", binary, "../../cmd/midstroke").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return binary
}
