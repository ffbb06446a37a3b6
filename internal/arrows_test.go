// Package internal_test checks which package imports which. The rules stand
// here alone, so that every run of the tests checks them.
package internal_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

const module = "midstroke/"

// core lists the packages of the calculation with those of ours that each may
// import. Beside them they may import the standard library and gonum.
var core = map[string][]string{
	"internal/enum":    nil,
	"internal/unit":    nil,
	"internal/note":    {"internal/unit"},
	"internal/fault":   {"internal/unit", "internal/note"},
	"internal/mount":   {"internal/enum", "internal/unit", "internal/fault", "internal/note"},
	"internal/measure": {"internal/enum", "internal/unit", "internal/fault", "internal/note", "internal/mount"},
	"internal/linkage": {"internal/unit", "internal/fault", "internal/note"},
	"internal/ride":    {"internal/enum", "internal/unit", "internal/fault", "internal/note"},
	"internal/damping": {"internal/enum", "internal/unit", "internal/fault", "internal/note", "internal/ride"},
	"internal/guide":   {"internal/unit", "internal/fault", "internal/note", "internal/mount"},
	"internal/catalog": {"internal/enum", "internal/unit", "internal/fault", "internal/note", "internal/mount", "internal/damping"},
	"internal/fit": {
		"internal/enum", "internal/unit", "internal/fault", "internal/note", "internal/mount", "internal/measure",
		"internal/linkage", "internal/ride", "internal/damping", "internal/catalog",
	},
	"internal/coverage": {"internal/unit", "internal/fit"},
}

// notInCore are packages of the standard library that the core may not import,
// each with those below it.
var notInCore = []struct{ pkg, why string }{
	{"context", "the calculation neither waits nor is cancelled"},
	{"database", "the calculation knows no database"},
	{"log", "the calculation answers and doesn't log"},
	{"math/rand", "the same request on the same revision gets the same answer"},
	{"net", "the calculation knows no network"},
	{"os", "the calculation reads and writes nothing but io.Reader and io.Writer"},
	{"time", "the calculation has no clock"},
}

// rule forbids imports. Each package named stands for those below it as well.
type rule struct {
	from   []string // packages of ours; all of them where there are none
	except []string
	to     []string
	why    string
}

var rules = []rule{
	{
		from: []string{
			"internal/httpapi", "internal/wire", "internal/form", "internal/table", "internal/drawing", "internal/widget",
			"internal/shop", "internal/library", "internal/contract", "internal/quote", "internal/batch", "internal/batchjob", "internal/webhook",
		},
		to:  []string{"internal/postgres", "internal/pglocal", "internal/backup", "internal/jobs", "migrations", "github.com/jackc/pgx"},
		why: "only cmd knows both sides, and hands the store over",
	},
	{
		from: []string{"internal/postgres", "internal/pglocal", "internal/shop", "internal/library", "internal/table", "internal/quote", "internal/webhook", "internal/batchjob", "migrations"},
		to:   []string{"internal/httpapi", "internal/wire", "internal/form", "internal/widget"},
		why:  "what keeps data knows nothing of requests and browsers",
	},
	{
		from: []string{"internal/jobs"},
		to: []string{
			"internal/postgres", "internal/shop", "internal/quote", "internal/webhook", "internal/batch", "internal/httpapi", "internal/wire", "internal/form",
			"internal/library", "internal/catalog", "internal/fit",
		},
		why: "it knows how jobs are kept and done, and not what they do",
	},
	{
		from: []string{"internal/wire", "internal/form", "internal/drawing", "internal/widget", "internal/contract", "internal/batch"},
		to:   []string{"internal/httpapi"},
		why:  "httpapi uses them",
	},
	{from: []string{"internal/drawing"}, to: []string{"internal/wire"}, why: "a drawing knows no JSON"},
	{except: []string{"internal/httpapi"}, to: []string{"github.com/labstack/echo"}, why: "echo's types stay inside httpapi, so that a move to its next version is mechanical"},
	{except: []string{"api", "internal/contract", "internal/httpapi"}, to: []string{"github.com/getkin/kin-openapi"}, why: "contract checks exchanges against the document, and httpapi makes its page; nothing else reads it"},
	{from: []string{"internal/httpapi"}, to: []string{"github.com/getkin/kin-openapi/openapi3filter", "github.com/getkin/kin-openapi/routers"}, why: "contract alone checks exchanges against the document"},
	{except: []string{"internal/jobs"}, to: []string{"github.com/riverqueue/river"}, why: "River's types stay inside jobs"},
	{except: []string{"internal/widget/generate"}, to: []string{"internal/widget/bundle"}, why: "the bundles are made before the service is built"},
	{except: []string{"internal/postgres/pgtest/container"}, to: []string{"github.com/testcontainers", "github.com/moby"}, why: "a Docker client is large, and pgtest is linked into the tests of many packages"},
	{except: []string{"internal/widget/bundle"}, to: []string{"github.com/evanw/esbuild"}, why: "the bundler is no part of the service"},
}

// under says whether a package is one of those named or below one.
func under(pkg string, names []string) bool {
	return slices.ContainsFunc(names, func(name string) bool { return pkg == name || strings.HasPrefix(pkg, name+"/") })
}

// broken gives a sentence for every import of a package that a rule forbids.
func broken(pkg string, imports []string) []string {
	var told []string
	tell := func(imported, why string) { told = append(told, fmt.Sprintf("%s imports %s: %s", pkg, imported, why)) }
	allowed, isCore := core[pkg]
	for _, imported := range imports {
		ours, isOurs := strings.CutPrefix(imported, module)
		for _, r := range rules {
			if (r.from == nil || under(pkg, r.from)) && !under(pkg, r.except) && under(ours, r.to) {
				tell(imported, r.why)
			}
		}
		switch {
		case !isCore:
		case isOurs && !slices.Contains(allowed, ours):
			tell(imported, "the core imports nothing of the shell, and within the core imports go one way")
		case !isOurs && strings.Contains(imported, ".") && !under(imported, []string{"gonum.org/v1/gonum"}):
			tell(imported, "the core has the standard library and gonum alone")
		}
		for _, n := range notInCore {
			if isCore && under(imported, []string{n.pkg}) {
				tell(imported, n.why)
			}
		}
	}
	return told
}

func TestArrows(t *testing.T) {
	seen := map[string]bool{}
	for _, p := range list(t) {
		name := strings.TrimPrefix(p.ImportPath, module)
		seen[name] = true
		for _, told := range broken(name, p.Imports) {
			t.Error(told)
		}
	}
	var named []string
	for name := range core {
		named = append(named, name)
	}
	for _, r := range rules {
		named = append(append(named, r.from...), r.except...)
	}
	for _, name := range named {
		if !seen[name] {
			t.Errorf("%s is named in a rule and isn't there", name)
		}
	}
}

// TestForbiddenImportsAreFound tries each kind of rule.
func TestForbiddenImportsAreFound(t *testing.T) {
	for _, c := range []struct {
		pkg, imported string
		allowed       bool
	}{
		{"internal/unit", "strings", true},
		{"internal/unit", "time", false},
		{"internal/fit", "log/slog", false},
		{"internal/fit", "math/rand/v2", false},
		{"internal/fit", "math", true},
		{"internal/fit", "net/http", false},
		{"internal/linkage", "gonum.org/v1/gonum/spatial/r3", true},
		{"internal/linkage", "github.com/labstack/echo/v4", false},
		{"internal/note", "midstroke/internal/mount", false},
		{"internal/mount", "midstroke/internal/note", true},
		{"internal/catalog", "midstroke/internal/wire", false},
		{"internal/httpapi", "midstroke/internal/postgres", false},
		{"internal/httpapi", "github.com/jackc/pgx/v5/pgxpool", false},
		{"internal/httpapi", "github.com/labstack/echo/v4", true},
		{"internal/wire", "github.com/labstack/echo/v4", false},
		{"internal/postgres", "midstroke/internal/httpapi", false},
		{"internal/postgres", "midstroke/internal/shop", true},
		{"internal/postgres/pgtest", "midstroke/internal/wire", false},
		{"internal/postgres/pgtest", "github.com/testcontainers/testcontainers-go", false},
		{"internal/postgres/pgtest/container", "github.com/testcontainers/testcontainers-go", true},
		{"internal/drawing", "midstroke/internal/wire", false},
		{"internal/wire", "github.com/getkin/kin-openapi/openapi3", false},
		{"cmd/midstroke", "midstroke/internal/postgres", true},
		{"cmd/midstroke", "time", true},
	} {
		if told := broken(c.pkg, []string{c.imported}); (len(told) == 0) != c.allowed {
			t.Errorf("%s may import %s: %v, told %q", c.pkg, c.imported, c.allowed, told)
		}
	}
}

type listed struct {
	ImportPath string
	Imports    []string
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
