package main_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"midstroke/testdata/examples"
)

// soldLine is a line of what the till sells: quantity, text, code or standard, amount.
var soldLine = regexp.MustCompile(`(?m)^ *(\d+) × (.+?)  +(\S.*?)  +(\d+\.\d\d)?$`)

// TestATillSellsTheExamples builds the example till and runs it against the real
// service, with every example request. The sum of the lines is added up by itself.
func TestATillSellsTheExamples(t *testing.T) {
	t.Parallel()
	till := filepath.Join(t.TempDir(), "till")
	build := exec.Command("go", "build", "-o", till, "../../testdata/examples/till")
	build.Env = append(os.Environ(), "CGO_ENABLED=0") // as the program's own packages are built
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("build: %v\n%s", err, out)
	}
	s := serve(t, "--data-dir", usedDataDir(t))
	bolts := 0
	for _, example := range examples.All() {
		cmd := exec.Command(till, s.url, "../../testdata/examples/"+example.File)
		cmd.Stdin = strings.NewReader("1\n")
		raw, err := cmd.CombinedOutput()
		out := string(raw)
		if example.Outcome != "fits" {
			if err == nil || !strings.Contains(out, "Nothing to sell.") || strings.Count(out, "\n") < 2 {
				t.Errorf("%s: %v: %s", example.File, err, out)
			}
			continue
		}
		_, sold, asked := strings.Cut(out, "Which one? ")
		if err != nil || !asked {
			t.Errorf("%s: %v: %s", example.File, err, out)
			continue
		}
		var hundredths int
		for _, line := range soldLine.FindAllStringSubmatch(sold, -1) {
			if strings.Contains(line[2], "hexagon bolt") {
				bolts++
			}
			if line[4] != "" {
				var whole, cents int
				if _, err := fmt.Sscanf(line[4], "%d.%d", &whole, &cents); err != nil {
					t.Fatal(err)
				}
				hundredths += 100*whole + cents
			}
		}
		if want := fmt.Sprintf("Total %d.%02d USD\n", hundredths/100, hundredths%100); hundredths == 0 || !strings.Contains(sold, want) {
			t.Errorf("%s: want %sof\n%s", example.File, want, out)
		}
		if incomplete := strings.Contains(sold, "Next: "); incomplete && !strings.Contains(sold, "That is without") {
			t.Errorf("%s: the total is told as the whole:\n%s", example.File, out)
		}
	}
	if bolts == 0 {
		t.Error("no bolt was sold")
	}
	s.interrupt(t)
}
