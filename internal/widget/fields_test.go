//go:build browser

package widget_test

import (
	"crypto/sha256"
	"encoding/hex"
	"os"
	"strings"
	"testing"

	"midstroke/internal/form"
	"midstroke/internal/wire"
)

// TestFieldsAreThoseOfTheFlatForm holds the page's table of fields against the
// service's: the same names for the same places, and the same of them lists.
func TestFieldsAreThoseOfTheFlatForm(t *testing.T) {
	t.Parallel()
	p := newTab(t, desktop)
	p.exposes("request.js", "FIELDS")
	fields := eval[[]struct {
		Name, Path, Kind string
	}](p, "FIELDS.map(({ name, path, kind }) => ({ name, path, kind }))")
	known := map[string]form.Name{}
	for _, name := range wire.FlatNames() {
		known[name.Name] = name
	}
	for _, f := range fields {
		flat, ok := known[f.Name]
		switch list := strings.HasSuffix(f.Kind, "s") || f.Kind == "point"; {
		case !ok:
			t.Errorf("the page has %s, which the service doesn't know", f.Name)
		case flat.Pointer != f.Path || flat.List != list:
			t.Errorf("%s is %+v to the service and %+v to the page", f.Name, flat, f)
		}
		delete(known, f.Name)
	}
	for name := range known {
		t.Errorf("the page has no field for %s", name)
	}
}

func TestTheCheckerIsTheOneThatTheReadmeNames(t *testing.T) {
	script, err := checker()
	if err != nil {
		t.Fatal(err)
	}
	readme, err := os.ReadFile("testdata/axe/README.md")
	if err != nil {
		t.Fatal(err)
	}
	if sum := sha256.Sum256([]byte(script)); !strings.Contains(string(readme), hex.EncodeToString(sum[:])) {
		t.Errorf("testdata/axe/README.md doesn't name the sum %x", sum)
	}
}
