package internal_test

import (
	"errors"
	"go/ast"
	"go/build"
	"go/parser"
	"go/token"
	"go/types"
	"path/filepath"
	"strings"
	"testing"
)

// TestEverySystemHasItsCode type-checks our packages as they are for other systems, so
// that a file for one system can't leave the others without a function. Compiling for
// them takes minutes. Packages of others aren't looked at.
func TestEverySystemHasItsCode(t *testing.T) {
	for _, system := range []string{"linux", "darwin", "windows"} {
		c := &checked{system: build.Default, packages: map[string]*types.Package{}}
		c.system.GOOS, c.system.CgoEnabled = system, false
		if _, err := c.Import(module + "cmd/midstroke"); err != nil {
			t.Errorf("%s: %v", system, err)
		}
		for _, missing := range c.missing {
			t.Errorf("%s: %s", system, missing)
		}
		if len(c.packages) < 25 {
			t.Errorf("%s: only %d packages were checked", system, len(c.packages))
		}
	}
}

// checked imports our packages from their sources, and no others.
type checked struct {
	system   build.Context
	packages map[string]*types.Package
	missing  []string
}

// Import is what go/types asks for.
func (c *checked) Import(path string) (*types.Package, error) {
	name, ours := strings.CutPrefix(path, module)
	if !ours {
		return nil, errors.New("not ours")
	}
	if p := c.packages[path]; p != nil {
		return p, nil
	}
	dir := filepath.Join("..", name)
	listed, err := c.system.ImportDir(dir, 0)
	if err != nil {
		return nil, err
	}
	set := token.NewFileSet()
	var files []*ast.File
	prefixes := map[token.Pos]bool{} // where a name stands before a full stop
	for _, file := range listed.GoFiles {
		parsed, err := parser.ParseFile(set, filepath.Join(dir, file), nil, parser.SkipObjectResolution)
		if err != nil {
			return nil, err
		}
		files = append(files, parsed)
		ast.Inspect(parsed, func(n ast.Node) bool {
			if n, ok := n.(*ast.SelectorExpr); ok {
				prefixes[n.X.Pos()] = true
			}
			return true
		})
	}
	// Most errors only tell that packages of others aren't there. Where such a package
	// has another name than its path, that name is undefined, before a full stop.
	told := func(err error) {
		var e types.Error
		if !errors.As(err, &e) {
			return
		}
		name, undefined := strings.CutPrefix(e.Msg, "undefined: ")
		if undefined && (strings.Contains(name, ".") || !prefixes[e.Pos]) {
			c.missing = append(c.missing, err.Error())
		}
	}
	config := types.Config{Importer: c, Error: told}
	p, _ := config.Check(path, set, files, nil) // told has the errors
	c.packages[path] = p
	return p, nil
}
