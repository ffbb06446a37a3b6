package bundle_test

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"midstroke/internal/widget/bundle"
)

// TestTheBundlesAreMadeFromTheSources makes the bundles again. make check-web and
// make test-long run it; the other tests compare sums.
func TestTheBundlesAreMadeFromTheSources(t *testing.T) {
	const widget = ".."
	files, err := bundle.Files(widget)
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range files {
		if got, err := os.ReadFile(filepath.Join(widget, name)); err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s is not what the sources make (%v): run go generate ./internal/widget", name, err)
		}
	}
	there, err := os.ReadDir(filepath.Join(widget, "dist"))
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range there {
		if files["dist/"+file.Name()] == nil {
			t.Errorf("dist/%s is made from no source", file.Name())
		}
	}
}
