// Package internal_test holds the tree to its arrows: which package may import
// which. .golangci.yml says the same to whoever runs the linters.
package internal_test

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

const module = "midstroke/"

// core lists the packages of the calculation with what of ours each may
// import. They may import the standard library and gonum beside.
var core = map[string][]string{
	"internal/unit":    nil,
	"internal/note":    {"internal/unit"},
	"internal/fault":   {"internal/unit", "internal/note"},
	"internal/mount":   {"internal/unit", "internal/fault", "internal/note"},
	"internal/measure": {"internal/unit", "internal/fault", "internal/note", "internal/mount"},
	"internal/linkage": {"internal/unit", "internal/fault", "internal/note"},
	"internal/ride":    {"internal/unit", "internal/fault", "internal/note"},
	"internal/guide":   {"internal/unit", "internal/fault", "internal/note", "internal/mount"},
	"internal/catalog": {"internal/unit", "internal/fault", "internal/note", "internal/mount"},
	"internal/fit": {
		"internal/unit", "internal/fault", "internal/note", "internal/mount", "internal/measure",
		"internal/linkage", "internal/ride", "internal/catalog",
	},
}

// noIO are standard packages that a calculation has no business with: clocks,
// contexts, chance, logs, files and networks.
var noIO = []string{"context", "database/sql", "log", "log/slog", "math/rand", "math/rand/v2", "net", "net/http", "os", "os/exec", "time"}

// never are imports within the shell that must not be: cmd hands the one to the
// other.
var never = [][2]string{
	{"internal/httpapi", "internal/postgres"}, {"internal/postgres", "internal/httpapi"},
	{"internal/postgres", "internal/wire"}, {"internal/postgres", "internal/widget"}, {"internal/shop", "internal/wire"},
	{"internal/httpapi", "internal/pglocal"}, {"internal/pglocal", "internal/httpapi"},
	{"internal/wire", "internal/httpapi"}, {"internal/wire", "internal/postgres"},
	{"internal/table", "internal/httpapi"}, {"internal/table", "internal/postgres"},
	{"internal/shop", "internal/httpapi"}, {"internal/shop", "internal/postgres"},
	{"internal/widget", "internal/httpapi"}, {"internal/widget", "internal/postgres"},
	{"internal/drawing", "internal/httpapi"}, {"internal/drawing", "internal/wire"},
}

type listed struct {
	ImportPath string
	Imports    []string
}

func TestArrows(t *testing.T) {
	seen := map[string]bool{}
	imports := map[string][]string{}
	for _, p := range list(t) {
		name := strings.TrimPrefix(p.ImportPath, module)
		imports[name] = p.Imports
		allowed, isCore := core[name]
		if !isCore {
			continue
		}
		seen[name] = true
		for _, imported := range p.Imports {
			switch ours, found := strings.CutPrefix(imported, module); {
			case found && !slices.Contains(allowed, ours):
				t.Errorf("%s imports %s, which only points the other way", name, ours)
			case !found && strings.Contains(imported, ".") && !strings.HasPrefix(imported, "gonum.org/v1/gonum/"):
				t.Errorf("%s imports %s: the core has the standard library and gonum alone", name, imported)
			case slices.Contains(noIO, imported):
				t.Errorf("%s imports %s: the core has no clock, context, chance, log, files or network", name, imported)
			}
		}
	}
	for name := range core {
		if !seen[name] {
			t.Errorf("%s is listed as core and isn't there", name)
		}
	}
	for _, pair := range never {
		if slices.Contains(imports[pair[0]], module+pair[1]) {
			t.Errorf("%s imports %s: it must not know it", pair[0], pair[1])
		}
	}
}

// list gives every package of the module with what it imports outside of
// tests.
func list(t *testing.T) []listed {
	t.Helper()
	cmd := exec.Command("go", "list", "-json=ImportPath,Imports", "./...")
	cmd.Dir = ".."
	out, err := cmd.Output()
	if err != nil {
		var exit *exec.ExitError
		if errors.As(err, &exit) {
			t.Fatalf("go list: %s", exit.Stderr)
		}
		t.Fatal(err)
	}
	var all []listed
	for d := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p listed
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			return all
		} else if err != nil {
			t.Fatal(err)
		}
		all = append(all, p)
	}
}
