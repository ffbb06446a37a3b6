package main_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestATemplateIsFilledInAndChecked writes a template, checks it as it is, and
// checks files with faults.
func TestATemplateIsFilledInAndChecked(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	book := filepath.Join(dir, "catalogue.xlsx")
	const lone = "code,construction,compressed,extended,length_tolerance,body_diameter,upper_style,lower_style,price\n"
	write := func(name, rows string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(lone+rows), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	good := write("dampers.csv", "a,twin_tube,300 mm,450 mm,1 mm,50 mm,eye,eye,84.50\n")
	bad := write("bad.csv", "a,hollow,300 mm,450 mm,1 mm,50 mm,eye,eye,84.50\na,twin_tube,300,450 mm,1 mm,50 mm,eye,eye,84.50\n")
	for _, c := range []struct {
		args []string
		code int
		says []string
	}{
		{[]string{"template", "--to", book}, 0, []string{book, "midstroke check"}},
		{[]string{"template", "--to", book}, 1, []string{"exists already"}},
		{[]string{"template", "--to", filepath.Join(dir, "catalogue.csv")}, 2, []string{"--to", ".xlsx"}},
		{[]string{"template", "--to", filepath.Join(dir, "none", "catalogue.xlsx")}, 1, []string{"no such file or directory"}},
		{[]string{"check", book}, 0, []string{"2 dampers, 2 sleeves, 2 spacers, 2 adapters"}},
		{[]string{"check", good}, 2, []string{"currency"}},
		{[]string{"check", good, "--currency", "USD"}, 0, []string{"1 dampers"}},
		{[]string{"check", good, "--currency", "dollars"}, 2, []string{"--currency"}},
		{[]string{"check", bad, "--currency", "USD"}, 2, []string{"bad.csv:2: construction", "bad.csv:3: compressed", "bad.csv:3: code"}},
		{[]string{"check", filepath.Join(dir, "none.csv")}, 1, []string{"none.csv"}},
	} {
		said, code := run(t, c.args...)
		if code != c.code {
			t.Errorf("%q ends with %d, want %d: %s", c.args, code, c.code, said)
		}
		for _, want := range c.says {
			if !strings.Contains(said, want) {
				t.Errorf("%q doesn't say %q: %s", c.args, want, said)
			}
		}
	}
}
