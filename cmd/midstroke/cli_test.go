package main_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"
)

// runFit runs "midstroke fit" without any database.
func runFit(t *testing.T, stdin string, args ...string) (out, err string, code int) {
	t.Helper()
	cmd := command(append([]string{"fit", "--data-dir", filepath.Join(t.TempDir(), "none")}, args...)...)
	cmd.Stdin = strings.NewReader(stdin)
	var stdout, stderr bytes.Buffer
	cmd.Stdout, cmd.Stderr = &stdout, &stderr
	var exit *exec.ExitError
	if e := cmd.Run(); errors.As(e, &exit) {
		code = exit.ExitCode()
	} else if e != nil {
		t.Fatal(e)
	}
	return stdout.String(), stderr.String(), code
}

func TestFitAnswersAsJSONWhereNobodyReads(t *testing.T) {
	out, _, code := runFit(t, request)
	var answer fits
	if err := json.Unmarshal([]byte(out), &answer); err != nil || answer.Outcome != "fits" || answer.Catalog.Revision != 1 || code != 0 {
		t.Errorf("exit %d, %v: %.500s", code, err, out)
	}
}

func TestExitCodesOfFit(t *testing.T) {
	for name, c := range map[string]struct {
		stdin string
		args  []string
		code  int
		says  string // on stderr, or where that is empty on stdout
	}{
		"something fits":       {request, nil, 0, `"outcome":"fits"`},
		"nothing fits":         {strings.Replace(request, "17 5/16", "100", 1), nil, 3, `"outcome":"no_fit"`},
		"outside the method":   {strings.Replace(request, `"style":"eye"`, `"style":"fork"`, 1), nil, 3, `"outcome":"outside_method"`},
		"not JSON":             {"{", nil, 2, "not JSON"},
		"a fault by its place": {strings.Replace(request, "17 5/16", "17,31", 1), nil, 2, "/readings/0: "},
		"no such revision":     {strings.Replace(request, `"top"`, `"revision":9,"top"`, 1), nil, 1, "revision 9"},
		"no such flag":         {request, []string{"--colour"}, 2, "--colour"},
		"two forms at once":    {request, []string{"--json", "--table"}, 2, "--json"},
	} {
		t.Run(name, func(t *testing.T) {
			out, stderr, code := runFit(t, c.stdin, c.args...)
			said := stderr
			if said == "" {
				said = out
			}
			if code != c.code || !strings.Contains(said, c.says) {
				t.Errorf("exit %d, want %d; said %q, want %q", code, c.code, said, c.says)
			}
		})
	}
}

func TestFitAsATable(t *testing.T) {
	for name, body := range map[string]string{
		"fits": request,
		"hardware": `{"units":"in","readings":["16 5/8","16 11/16"],"suspension":"solid_axle","top":2,
			"upper":{"style":"stud","measured_to":"frame_face","bushing_thickness":"3/8","washer_thickness":"1/16"},
			"lower":{"style":"eye","bolt":"M12","opening":"1 1/2"}}`,
		"metric": strings.Replace(strings.Replace(request, `"in"`, `"mm"`, 1), `"17 5/16"`, "440", 1),
	} {
		t.Run(name, func(t *testing.T) {
			out, _, code := runFit(t, body, "--table")
			if code != 0 {
				t.Errorf("exit %d", code)
			}
			// The picture's ride height lies between what is needed each way.
			if !regexp.MustCompile(`\[\.*=+R=+\.*\]`).MatchString(out) {
				t.Errorf("no picture in\n%s", out)
			}
			for line := range strings.Lines(out) {
				if strings.HasSuffix(line, " \n") {
					t.Errorf("a line ends in blanks: %q", line)
				}
				if n := utf8.RuneCountInString(line); n > 140 {
					t.Errorf("a line of %d characters: %s", n, line)
				}
			}
		})
	}
}

func TestImportOfAFileThatIsNotThere(t *testing.T) {
	missing := filepath.Join(t.TempDir(), "missing.csv")
	out, err := command("import", missing, "--catalog", "demo", "--data-dir", filepath.Join(t.TempDir(), "data")).CombinedOutput()
	var exit *exec.ExitError
	if !errors.As(err, &exit) || exit.ExitCode() != 1 || !strings.Contains(string(out), missing) || strings.Count(string(out), "\n") != 1 {
		t.Errorf("import: %v\n%s", err, out)
	}
}

func TestImportNamesEveryFaultAndWritesNothing(t *testing.T) {
	dir := t.TempDir()
	const csv = "code,construction,compressed,extended,length_tolerance,body_diameter,upper_style,lower_style\n" +
		"a,twin_tube,20 in,10 in,1 mm,50 mm,eye,eye\n" + "b,hollow,300 mm,450,1 mm,50 mm,eye,eye\n"
	if err := os.WriteFile(filepath.Join(dir, "dampers.csv"), []byte(csv), 0o644); err != nil {
		t.Fatal(err)
	}
	data := filepath.Join(t.TempDir(), "data")
	out, err := command("import", dir, "--catalog", "demo", "--data-dir", data).CombinedOutput()
	var exit *exec.ExitError
	if !errors.As(err, &exit) || exit.ExitCode() != 2 {
		t.Fatalf("import: %v, want exit 2\n%s", err, out)
	}
	for _, place := range []string{"dampers.csv:2: ", "dampers.csv:3: construction: ", "dampers.csv:3: extended: "} {
		if !strings.Contains(string(out), place) {
			t.Errorf("no fault at %s:\n%s", place, out)
		}
	}
	if _, err := os.Stat(data); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a database was started for it: %v", err)
	}
}

func TestADatabaseURLThatIsNoneIsNamed(t *testing.T) {
	cmd := command("fit")
	cmd.Env = append(cmd.Environ(), "DATABASE_URL=foo")
	cmd.Stdin = strings.NewReader(request)
	out, err := cmd.CombinedOutput()
	if err == nil || !strings.Contains(string(out), "DATABASE_URL") {
		t.Errorf("%v: %s", err, out)
	}
}

// A name that the service couldn't be asked about is refused before anything is
// begun.
func TestNamesOnTheCommandLine(t *testing.T) {
	for flag, args := range map[string][]string{
		"--catalog": {"import", "--catalog", strings.Repeat("n", 65), "none.csv"},
		"--shop":    {"import", "--catalog", "north", "--shop", "a\nb", "none.csv"},
		"--shop:":   {"key", "create", "--use", "admin", "--shop", " \t"},
	} {
		out, err := command(args...).CombinedOutput()
		want := "midstroke: " + strings.TrimSuffix(flag, ":") + ": a name has 1 to 64 characters, all of which can be printed\n"
		var exit *exec.ExitError
		if !errors.As(err, &exit) || exit.ExitCode() != 2 || string(out) != want {
			t.Errorf("%q: %v, %q", args, err, out)
		}
	}
}

func TestSettingsBelowZero(t *testing.T) {
	for flag := range strings.FieldsSeq("--stop-delay=-1s --keep-drafts=-1h --keep-quotes=-1h --keep-batches=-1h --keep-revisions=-1 --most-revisions=-1 --most-parts=-1 --log-one-in=-1") {
		out, err := command("serve", "--listen", "127.0.0.1:0", "--database-url", "postgres://nobody@127.0.0.1:1/nothing", flag).CombinedOutput()
		name, _, _ := strings.Cut(flag, "=")
		var exit *exec.ExitError
		if !errors.As(err, &exit) || exit.ExitCode() != 2 || !strings.Contains(string(out), name+" must not be below 0") {
			t.Errorf("%s: %v, %q", flag, err, out)
		}
	}
	// Answers are kept for a day for requests that are sent again, by the contract.
	if out, err := command("serve", "--keep-quotes=23h59m").CombinedOutput(); err == nil || !strings.Contains(string(out), "--keep-quotes must be 0, or at least 24h") {
		t.Errorf("%v, %q", err, out)
	}
}

func TestVersionAndHelp(t *testing.T) {
	out, err := command("version").Output()
	if err != nil || !strings.HasPrefix(string(out), "midstroke ") {
		t.Errorf("version: %v: %s", err, out)
	}
	for _, args := range [][]string{{"--version"}, {"serve", "--version"}} {
		if same, err := command(args...).Output(); err != nil || string(same) != string(out) {
			t.Errorf("%q: %v: %s, version says %s", args, err, same, out)
		}
	}
	out, err = command("import", "--help").Output()
	if err != nil || !strings.Contains(string(out), "Publish files, or a folder of CSV files,") {
		t.Errorf("import --help: %v: %s", err, out)
	}
	out, err = command("serve", "--help").Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, setting := range []string{"MIDSTROKE_LISTEN", "MIDSTROKE_DATA_DIR", "DATABASE_URL", "MIDSTROKE_LOG_LEVEL", "MIDSTROKE_STOP_DELAY"} {
		if !strings.Contains(string(out), setting) {
			t.Errorf("serve --help doesn't name %s", setting)
		}
	}
}
