package note_test

import (
	"encoding/json"
	"errors"
	"go/ast"
	"go/constant"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"midstroke/internal/note"
)

// codeType is a Go type whose constants are codes.
type codeType struct {
	name   string // with the path of its package
	prefix string // of its codes in the message files
	// sections are where the words of its codes stand. suffixes are those that
	// each code has words with; none stands for "".
	sections func(string) bool
	suffixes []string
	// some says that not every constant has words of its own.
	some bool
}

func ofNotes(section string) bool { return !ofFaults(section) && !ofProblems(section) }

func ofFaults(section string) bool { return section == note.SectionFaults }

func ofProblems(section string) bool { return section == note.SectionProblems }

// codeTypes are all types of codes.
var codeTypes = []codeType{
	{name: "midstroke/internal/note.Code", sections: ofNotes},
	{name: "midstroke/internal/fit.RemedyKind", sections: ofNotes, some: true},
	{name: "midstroke/internal/mount.CureKind", prefix: "cure_", sections: ofNotes, some: true},
	{name: "midstroke/internal/fault.Code", sections: ofFaults},
	{name: "midstroke/internal/unit.Code", sections: ofFaults},
	{name: "midstroke/internal/httpapi.detail", sections: ofProblems},
	{name: "midstroke/internal/httpapi.kindName", sections: ofProblems, suffixes: []string{"/title", "/meaning"}},
}

// TestCodesAndWordsAreTheSame finds every constant of a code in the sources, by
// the Go type checker, and holds the message files against them: each code has
// words in every language, and no words are there without a code.
func TestCodesAndWordsAreTheSame(t *testing.T) {
	entries := note.Entries()
	used := map[note.Entry]bool{}
	find := func(ct *codeType, code string, prefix bool) (found bool) {
		for _, e := range entries {
			if ct.sections(e.Section) && (e.Code == code || prefix && strings.HasPrefix(e.Code, code)) {
				used[e], found = true, true
			}
		}
		return found
	}
	for _, c := range codesOfTheTree(t) {
		ct := c.of
		for _, suffix := range append(ct.suffixes, "")[:max(1, len(ct.suffixes))] {
			if code := ct.prefix + c.text + suffix; !find(ct, code, c.prefix) && !ct.some {
				t.Errorf("%s: the code %s has no words", c.at, code)
			}
		}
		if ct.sections(note.SectionFaults) {
			find(ct, c.text+"/cure", false)
		}
	}
	for _, e := range entries {
		if !used[e] {
			t.Errorf("the words for %s, one of the %s of %s, have no code", e.Code, e.Section, e.Package)
		}
		for _, lang := range note.Languages() {
			if e.Words(lang) == "" {
				t.Errorf("%s has no words in %s", e.Code, lang)
			}
		}
	}
}

// foundCode is a constant of a code, or a prefix that one is made of at run time.
type foundCode struct {
	of     *codeType
	text   string
	prefix bool
	at     token.Position
}

// codesOfTheTree finds the codes in every package of the module.
func codesOfTheTree(t *testing.T) []foundCode {
	t.Helper()
	packages := listPackages(t)
	exports := map[string]string{}
	for _, p := range packages {
		exports[p.ImportPath] = p.Export
	}
	files := token.NewFileSet()
	imports := importer.ForCompiler(files, "gc", func(path string) (io.ReadCloser, error) { return os.Open(exports[path]) })
	byType := map[string]*codeType{}
	for i := range codeTypes {
		byType[codeTypes[i].name] = &codeTypes[i]
	}
	var found []foundCode
	seen := map[string]bool{}
	for _, p := range packages {
		if !strings.HasPrefix(p.ImportPath, "midstroke/") {
			continue
		}
		var parsed []*ast.File
		for _, name := range p.GoFiles {
			f, err := parser.ParseFile(files, filepath.Join(p.Dir, name), nil, parser.SkipObjectResolution)
			if err != nil {
				t.Fatal(err)
			}
			parsed = append(parsed, f)
		}
		info := &types.Info{Types: map[ast.Expr]types.TypeAndValue{}}
		config := types.Config{Importer: imports, Sizes: types.SizesFor("gc", "amd64")}
		if _, err := config.Check(p.ImportPath, files, parsed, info); err != nil {
			t.Fatal(err)
		}
		for _, c := range codesIn(parsed, info, byType) {
			c.at = files.Position(token.Pos(c.at.Offset))
			seen[c.of.name] = true
			found = append(found, c)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(byType)) {
		if !seen[name] {
			t.Errorf("the type %s has no constants", name)
		}
	}
	return found
}

// codesIn finds the constants of codes in a package, the largest constant
// expression of each, and the beginnings of codes that are made at run time.
// Positions are given as offsets alone.
func codesIn(parsed []*ast.File, info *types.Info, byType map[string]*codeType) []foundCode {
	var found []foundCode
	add := func(ct *codeType, n ast.Node, value constant.Value, prefix bool) {
		if text := constant.StringVal(value); text != "" {
			found = append(found, foundCode{of: ct, text: text, prefix: prefix, at: token.Position{Offset: int(n.Pos())}})
		}
	}
	look := func(n ast.Node) bool {
		e, ok := n.(ast.Expr)
		if !ok {
			return true
		}
		typed := info.Types[e]
		if typed.Type == nil || typed.IsType() {
			return true
		}
		ct := byType[typed.Type.String()]
		if ct == nil {
			return true
		}
		if typed.Value != nil {
			add(ct, n, typed.Value, false)
			return false
		}
		// A conversion of "prefix" + something.
		if call, ok := e.(*ast.CallExpr); ok && len(call.Args) == 1 && info.Types[call.Fun].IsType() {
			if sum, ok := call.Args[0].(*ast.BinaryExpr); ok {
				if left := info.Types[sum.X].Value; left != nil {
					add(ct, n, left, true)
				}
			}
			return false
		}
		return true
	}
	for _, f := range parsed {
		ast.Inspect(f, look)
	}
	return found
}

// listed is what go list says of a package.
type listed struct {
	ImportPath, Dir, Export string
	GoFiles                 []string
}

// listPackages lists the program's packages and what they import, compiled. What only tools
// and tests import has no codes, and its libraries are large.
func listPackages(t *testing.T) []listed {
	t.Helper()
	cmd := exec.Command("go", "list", "-export", "-deps", "-json=ImportPath,Dir,Export,GoFiles", "midstroke/cmd/midstroke")
	cmd.Stderr = os.Stderr
	cmd.Env = append(os.Environ(), "CGO_ENABLED=0") // what make build compiled does for it
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var all []listed
	for dec := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p listed
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			return all
		} else if err != nil {
			t.Fatal(err)
		}
		all = append(all, p)
	}
}
