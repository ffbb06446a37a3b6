package outage_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// binary is the program as it is shipped.
var binary string

// full says that every row is run at full length.
var full = os.Getenv("MIDSTROKE_TEST_FAULTS") != ""

// TestMain is also the load generator, in a process of its own.
func TestMain(m *testing.M) {
	if order := os.Getenv(loadOrder); order != "" {
		os.Exit(generate(order))
	}
	os.Exit(func() int {
		dir, err := os.MkdirTemp("", "midstroke-outage")
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
		defer os.RemoveAll(dir)
		binary = filepath.Join(dir, "midstroke")
		build := exec.Command("go", "build", "-o", binary, "../../cmd/midstroke")
		build.Env = append(os.Environ(), "CGO_ENABLED=0") // as make build does
		if out, err := build.CombinedOutput(); err != nil {
			fmt.Fprintf(os.Stderr, "build: %v\n%s", err, out)
			return 1
		}
		return m.Run()
	}())
}
