package speed_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"midstroke/internal/postgres/pgtest"
)

// binary is the program as it is shipped.
var binary string

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
	case !measuring:
		os.Exit(m.Run())
	}
	dir, err := os.MkdirTemp("", "midstroke-speed")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	defer os.RemoveAll(dir)
	binary = filepath.Join(dir, "midstroke")
	if out, err := exec.Command("go", "build", "-o", binary, "../../cmd/midstroke").CombinedOutput(); err != nil {
		fmt.Fprintf(os.Stderr, "build: %v\n%s", err, out)
		os.Exit(1)
	}
	pgtest.Main(m)
}
