package licences_test

import (
	"bytes"
	"os/exec"
	"strings"
	"testing"

	"midstroke/internal/licences"
)

// TestEveryModuleIsThere holds the notices against what the program is built from on
// this system.
func TestEveryModuleIsThere(t *testing.T) {
	t.Parallel()
	var text bytes.Buffer
	if err := licences.Write(&text); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("go", "list", "-deps", "-f", "{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}}{{end}}{{end}}", "midstroke/cmd/midstroke").Output()
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(out)) {
		if line = strings.TrimSpace(line); line != "" && !strings.Contains(text.String(), "\n"+line+"\n") {
			t.Errorf("%s isn't in the notices; run go generate ./internal/licences", line)
		}
	}
	for _, want := range []string{"The Go programming language", "preact", "Permission is hereby granted", "Apache License"} {
		if !strings.Contains(text.String(), want) {
			t.Errorf("the notices lack %q", want)
		}
	}
}
