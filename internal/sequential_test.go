package internal_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// TestSequentialPackagesStartNoGoroutine looks at the packages that make test runs
// without the race detector.
func TestSequentialPackagesStartNoGoroutine(t *testing.T) {
	makefile, err := os.ReadFile("../Makefile")
	if err != nil {
		t.Fatal(err)
	}
	line := regexp.MustCompile(`(?m)^SEQUENTIAL = (.+)$`).FindSubmatch(makefile)
	if line == nil {
		t.Fatal("the Makefile doesn't list them")
	}
	for _, name := range strings.Fields(string(line[1])) {
		files, err := filepath.Glob(filepath.Join("..", name, "*.go"))
		if err != nil || len(files) == 0 {
			t.Fatalf("%s: %d files, %v", name, len(files), err)
		}
		for _, file := range files {
			set := token.NewFileSet()
			parsed, err := parser.ParseFile(set, file, nil, parser.SkipObjectResolution)
			if err != nil {
				t.Fatal(err)
			}
			for _, at := range goroutines(parsed) {
				t.Errorf("%s starts a goroutine: take %s from SEQUENTIAL in the Makefile", set.Position(at), name)
			}
		}
	}
}

// goroutines finds the places where a file starts goroutines.
func goroutines(file *ast.File) (found []token.Pos) {
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.GoStmt:
			found = append(found, n.Pos())
		case *ast.SelectorExpr:
			switch n.Sel.Name {
			case "Go", "Parallel", "RunParallel", "AfterFunc", "NewServer":
				found = append(found, n.Pos())
			}
		}
		return true
	})
	return found
}

func TestGoroutinesAreFound(t *testing.T) {
	const source = `package p
func f(t *testing.T, all *sync.WaitGroup) {
	go f(nil, nil)
	all.Go(func() {})
	t.Parallel()
	f(nil, nil)
}`
	file, err := parser.ParseFile(token.NewFileSet(), "p.go", source, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	if got := goroutines(file); len(got) != 3 {
		t.Errorf("found %d places, want 3", len(got))
	}
}
