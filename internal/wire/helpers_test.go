package wire_test

import (
	"errors"
	"os"
	"strings"
	"testing"

	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
)

// faultsOf gives the faults of a request that was refused; ok is false for any
// other error.
func faultsOf(err error) (faults fault.List, ok bool) {
	var refused *wire.Refused
	if errors.As(err, &refused) {
		return refused.Faults, true
	}
	ok = err == nil || errors.As(err, &faults)
	return faults, ok
}

// isTold says whether a fault has words in every language, without a full stop.
func isTold(f *fault.Fault) bool {
	for _, lang := range note.Languages() {
		if text := f.Text(lang, unit.Inches); text == "" || text == string(f.Code) || strings.ContainsAny(text, "{}") || strings.HasSuffix(text, ".") {
			return false
		}
	}
	return f.Code != ""
}

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
