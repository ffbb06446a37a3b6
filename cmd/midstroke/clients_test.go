package main_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"midstroke/internal/pglocal"
)

// TestGeneratedClients makes a client of the contract with each of two generators
// and their default options, compiles it and lets it ask the real service for a
// pick list.
//
// The generators and what they make have a module of their own, so that the
// service's module needs neither. The clients are made anew each time, in a
// folder beside it, because they are far longer than the service itself.
func TestGeneratedClients(t *testing.T) {
	skipUnlessLong(t)
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
		return runIn(t, dir, "", name, args...)
	}
	s := serve(t, "--data-dir", usedDataDir(t))
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

// skipUnlessLong skips a test that compiles much.
func skipUnlessLong(t *testing.T) {
	t.Helper()
	if os.Getenv("MIDSTROKE_TEST_LONG") == "" {
		t.Skip("make test-long runs it")
	}
}

// runIn runs a program in a module of its own, with a text as its input, and gives what
// it prints.
func runIn(t *testing.T, dir, input, name string, args ...string) string {
	t.Helper()
	cmd := exec.Command(name, args...)
	cmd.Dir, cmd.Stdin = dir, strings.NewReader(input)
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

// TestTheGoClientAndItsTill generates the package of api/clients/go, and lets the till
// that is built on it keep a quote and open its sheet.
func TestTheGoClientAndItsTill(t *testing.T) {
	skipUnlessLong(t)
	dir := t.TempDir()
	for _, folder := range []string{"api/clients/go", "testdata/examples/till-go"} {
		if err := os.CopyFS(filepath.Join(dir, folder), os.DirFS("../../"+folder)); err != nil {
			t.Fatal(err)
		}
	}
	contract, err := os.ReadFile("../../api/openapi.yaml")
	if err == nil {
		err = os.WriteFile(filepath.Join(dir, "api/openapi.yaml"), contract, 0o644)
	}
	if err != nil {
		t.Fatal(err)
	}
	_ = os.Remove(filepath.Join(dir, "api/clients/go/contract.go")) // of an earlier "make clients"
	runIn(t, filepath.Join(dir, "api/clients/go"), "", "go", "generate", ".")
	client := filepath.Join(dir, "testdata/examples/till-go")
	runIn(t, client, "", "go", "build", "-o", "till", ".")

	data := usedDataDir(t)
	s := serve(t, "--data-dir", data)
	defer s.interrupt(t)
	url, err := pglocal.Attach(t.Context(), data)
	if err != nil {
		t.Fatal(err)
	}
	t.Setenv("MIDSTROKE_KEY", demoKey(t, url))
	example, err := filepath.Abs("../../testdata/examples/rear-axle-two-eyes.json")
	if err != nil {
		t.Fatal(err)
	}
	said := runIn(t, client, "1\n", filepath.Join(client, "till"), s.url, "rear", example)
	for _, want := range []string{"Which one? ", "\nTotal ", "\nQuote ", "\nSheet " + s.url + "/sheet?quote="} {
		if !strings.Contains(said, want) {
			t.Errorf("the till doesn't say %q:\n%s", want, said)
		}
	}
	lines, err := os.ReadFile("../../testdata/examples/till-go/main.go")
	if n := strings.Count(string(lines), "\n"); err != nil || n > 80 {
		t.Errorf("the till has %d lines, %v", n, err)
	}
}
