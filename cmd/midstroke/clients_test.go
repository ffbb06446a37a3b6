package main_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestGeneratedClients makes a client of the contract with each of two generators
// and their default options, compiles it and lets it ask the real service for a
// pick list.
//
// The generators and what they make have a module of their own, so that the
// service's module needs neither. The clients are made anew each time, in a
// folder beside it, because they are far longer than the service itself.
func TestGeneratedClients(t *testing.T) {
	const module = "../../testdata/clients"
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS(module)); err != nil {
		t.Fatal(err)
	}
	contract, err := filepath.Abs("../../api/openapi.yaml")
	if err != nil {
		t.Fatal(err)
	}
	run := func(t *testing.T, name string, args ...string) string {
		t.Helper()
		cmd := exec.Command(name, args...)
		cmd.Dir = dir
		// The main module's settings of modules aren't this one's.
		cmd.Env = append(os.Environ(), "GOFLAGS=-trimpath -mod=readonly", "GOWORK=off")
		var said strings.Builder
		cmd.Stderr = &said
		out, err := cmd.Output()
		if err != nil {
			t.Fatalf("%s %s: %v\n%s%s", name, strings.Join(args, " "), err, out, said.String())
		}
		return string(out)
	}
	s := serve(t, "--data-dir", dataDir(t))
	defer s.interrupt(t)
	for generator, generate := range map[string][]string{
		"oapi": {"tool", "oapi-codegen", "-package", "gen", "-o", "oapi/gen/gen.go", contract},
		"ogen": {"tool", "ogen", "-target", "ogen/gen", "-package", "gen", "-clean", contract},
	} {
		t.Run(generator, func(t *testing.T) {
			if err := os.MkdirAll(filepath.Join(dir, generator, "gen"), 0o755); err != nil {
				t.Fatal(err)
			}
			run(t, "go", generate...)
			run(t, "go", "build", "-o", "client-of-"+generator, "./"+generator)
			list := run(t, filepath.Join(dir, "client-of-"+generator), s.url)
			// Two dampers for the axle, and for each a bolt at either end.
			for _, want := range []string{"2 invented demo damper", "4 hexagon bolt M12"} {
				if !strings.Contains(list, want) {
					t.Errorf("the pick list lacks %q:\n%s", want, list)
				}
			}
		})
	}
}
