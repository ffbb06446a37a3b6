//go:build unix

package pglocal_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"midstroke/internal/pglocal"
)

// programs makes programs that print a version as the Postgres of real packages
// does.
func programs(t *testing.T, dir, says string) {
	t.Helper()
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	script := fmt.Sprintf("#!/bin/sh\necho '%s'\n", says)
	for _, name := range []string{"postgres", "initdb"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(script), 0o755); err != nil {
			t.Fatal(err)
		}
	}
}

func TestProgramsAreFoundNewestFirst(t *testing.T) {
	root := folder(t)
	at := func(name string) string { return filepath.Join(root, name, "bin") }
	programs(t, at("pg-13"), "postgres (PostgreSQL) 13.21")
	programs(t, at("pg-15"), "postgres (PostgreSQL) 15.18 (Debian 15.18-0+deb12u1)")
	programs(t, at("pg-16"), "postgres (PostgreSQL) 16.9 (Homebrew)")
	programs(t, at("pg-16b"), "postgres (PostgreSQL) 16.10")
	programs(t, at("pg-18"), "postgres (PostgreSQL) 18beta1")
	programs(t, at("pg-broken"), "segmentation fault")
	programs(t, at("mine"), "postgres (PostgreSQL) 14.0")
	if err := os.Symlink(at("pg-16"), filepath.Join(root, "pg-same")); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(filepath.Join(at("pg-18"), "initdb")); err != nil { // the client's half alone
		t.Fatal(err)
	}
	places := []string{filepath.Join(root, "nowhere", "*"), filepath.Join(root, "pg-*", "bin"), filepath.Join(root, "pg-same")}

	for _, c := range []struct {
		what, path string
		places     []string
		major      int
		found      []string
		chosen     string
	}{
		{
			what: "newest of the system's folders", path: "/nowhere:relative", places: places,
			found:  []string{"16.10 pg-16b", "16.9 pg-16", "15.18 pg-15", "13.21 pg-13"},
			chosen: "16.10 pg-16b",
		},
		{
			what: "PATH goes first", path: at("mine"), places: places,
			found:  []string{"14.0 mine", "16.10 pg-16b", "16.9 pg-16", "15.18 pg-15", "13.21 pg-13"},
			chosen: "14.0 mine",
		},
		{
			what: "the version that wrote the data", path: at("mine"), places: places, major: 15,
			found:  []string{"14.0 mine", "16.10 pg-16b", "16.9 pg-16", "15.18 pg-15", "13.21 pg-13"},
			chosen: "15.18 pg-15",
		},
		{
			what: "too old on PATH", path: at("pg-13"), places: []string{at("pg-15")},
			found:  []string{"13.21 pg-13", "15.18 pg-15"},
			chosen: "15.18 pg-15",
		},
	} {
		t.Run(c.what, func(t *testing.T) {
			full := func(short string) string {
				version, name, _ := strings.Cut(short, " ")
				return "Postgres " + version + " in " + at(name)
			}
			found, chosen, err := pglocal.FindIn(t.Context(), c.path, c.places, c.major)
			if err != nil {
				t.Fatal(err)
			}
			var want []string
			for _, f := range c.found {
				want = append(want, full(f))
			}
			if !slices.Equal(found, want) {
				t.Errorf("found  %v\nwanted %v", found, want)
			}
			if chosen != full(c.chosen) {
				t.Errorf("chosen %q, want %q", chosen, full(c.chosen))
			}
		})
	}
}

func TestMissingProgramsSayWhatToInstall(t *testing.T) {
	old := filepath.Join(folder(t), "bin")
	programs(t, old, "postgres (PostgreSQL) 13.21")
	_, _, err := pglocal.FindIn(t.Context(), "", []string{old}, 0)
	var missing *pglocal.MissingError
	if !errors.As(err, &missing) || missing.Major != 0 {
		t.Fatalf("%v, want a MissingError", err)
	}
	for _, want := range []string{"14 or newer", "Postgres 13.21 in " + old, "install", "DATABASE_URL"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%q lacks %q", err, want)
		}
	}
}
