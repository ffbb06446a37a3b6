package wire_test

import (
	"os"
	"testing"
)

// long says that the full runs are wanted and not the small ones.
func long() bool { return os.Getenv("MIDSTROKE_TEST_LONG") != "" }

func read(t testing.TB, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}
