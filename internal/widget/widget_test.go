package widget_test

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"crypto/sha512"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"midstroke/internal/widget"
	"midstroke/internal/widget/sums"
)

func load(tb testing.TB) *widget.Files {
	tb.Helper()
	f, err := widget.Load()
	if err != nil {
		tb.Fatal(err)
	}
	return f
}

// TestTheScriptIsSmall holds the script to the 45 KB by gzip that shops are
// promised.
func TestTheScriptIsSmall(t *testing.T) {
	const most = 45_000
	f := load(t)
	var zipped bytes.Buffer
	w, err := gzip.NewWriterLevel(&zipped, gzip.BestCompression)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.Write(f.Script.Body); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	n := zipped.Len()
	t.Logf("the web component is %d bytes, %d by gzip", len(f.Script.Body), n)
	if n >= most {
		t.Errorf("the web component takes %d bytes by gzip, want less than %d", n, most)
	}
}

func TestTheFilesAreWhatTheyAreNamedBy(t *testing.T) {
	a, b := load(t), load(t)
	if a.Hash != b.Hash || a.Integrity != b.Integrity || !bytes.Equal(a.Script.Body, b.Script.Body) {
		t.Error("loaded twice, they differ")
	}
	sum256, sum384 := sha256.Sum256(a.Script.Body), sha512.Sum384(a.Script.Body)
	if want := hex.EncodeToString(sum256[:16]); a.Hash != want {
		t.Errorf("the hash is %s, want %s", a.Hash, want)
	}
	if want := "sha384-" + base64.StdEncoding.EncodeToString(sum384[:]); a.Integrity != want {
		t.Errorf("the integrity is %s, want %s", a.Integrity, want)
	}
	var manifest struct{ Script, Integrity, Newest string }
	if err := json.Unmarshal(a.Manifest.Body, &manifest); err != nil {
		t.Fatal(err)
	}
	if manifest.Script != widget.VersionPath(a.Hash) || manifest.Integrity != a.Integrity || manifest.Newest != widget.ScriptPath {
		t.Errorf("the manifest says %+v", manifest)
	}
}

// TestThePagesLoadWhatIsBesideThem checks what the pages load. Scripts and styles
// within a page would be refused by its policy.
func TestThePagesLoadWhatIsBesideThem(t *testing.T) {
	f := load(t)
	loads := regexp.MustCompile(`(?:src|href)="(/widget/[^"]+)"`)
	for name, page := range map[string]widget.File{"counter": f.Counter, "sheet": f.Sheet, "batch page": f.Batch} {
		found := loads.FindAllSubmatch(page.Body, -1)
		if len(found) != 2 {
			t.Errorf("the %s loads %d files, want a script and a style sheet", name, len(found))
		}
		for _, m := range found {
			if _, ok := f.Beside[string(m[1])]; !ok {
				t.Errorf("the %s loads %s, which isn't there", name, m[1])
			}
		}
		if bytes.Contains(page.Body, []byte("<style")) || bytes.Contains(page.Body, []byte("style=")) || bytes.Contains(page.Body, []byte("<script>")) {
			t.Errorf("the %s holds a style or a script of its own", name)
		}
	}
}

// TestTheBundlesAreFresh compares the sums of sources and bundles with those that were
// listed when the bundles were made. Package bundle's own test makes them again.
func TestTheBundlesAreFresh(t *testing.T) {
	listed, err := os.ReadFile(sums.Name)
	if err != nil {
		t.Fatal(err)
	}
	now, err := sums.Of(".")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range sums.Changed(listed, now) {
		t.Errorf("%s has changed since the bundles were made: run go generate ./internal/widget", name)
	}
}

// TestEveryChangeMakesTheBundlesStale changes copies of what bundles are made from, by
// and to, one at a time.
func TestEveryChangeMakesTheBundlesStale(t *testing.T) {
	t.Parallel()
	root := t.TempDir()
	folder := filepath.Join(root, "internal", "widget")
	for _, name := range []string{"src", "third_party", "bundle", "generate", "dist"} {
		if err := os.CopyFS(filepath.Join(folder, name), os.DirFS(name)); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Mkdir(filepath.Join(folder, "testdata"), 0o755); err != nil {
		t.Fatal(err)
	}
	copied := []string{"package.json", "package-lock.json", "tsconfig.json", "testdata/exposed.ts", "testdata/exposed.js", "../../go.mod", "../../go.sum"}
	for _, name := range copied {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(folder, name), text, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	sumsOf := func() []byte {
		list, err := sums.Of(folder)
		if err != nil {
			t.Fatal(err)
		}
		return list
	}
	fresh := sumsOf()
	if changed := sums.Changed(fresh, sumsOf()); len(changed) > 0 {
		t.Errorf("nothing was changed, and %v are told", changed)
	}
	const bundler = "github.com/evanw/esbuild"
	version := []byte(bundler + " v0.")
	for _, c := range []struct {
		name, told string // told is name where it is ""
		change     func([]byte) []byte
	}{
		{name: "src/length.ts"}, {name: "src/counter/counter.css"}, {name: "src/sheet/messages.json"}, {name: "third_party/preact/index.mjs"},
		{name: "package.json"}, {name: "package-lock.json"}, {name: "tsconfig.json"}, {name: "bundle/bundle.go"}, {name: "generate/main.go"},
		{name: "testdata/exposed.ts"}, {name: "testdata/exposed.js"}, {name: "dist/counter.js"}, {name: "dist/sheet.css"},
		{name: "dist/new.js"}, {name: "src/batch/new.ts"}, // not there before
		{name: "../../go.mod", told: bundler, change: func(text []byte) []byte { return bytes.ReplaceAll(text, version, []byte(bundler+" v1.")) }},
		{name: "../../go.sum", told: bundler, change: func(text []byte) []byte { return bytes.ReplaceAll(text, version, []byte(bundler+" v1.")) }},
	} {
		path := filepath.Join(folder, filepath.FromSlash(c.name))
		before, err := os.ReadFile(path)
		isNew := errors.Is(err, fs.ErrNotExist)
		if err != nil && !isNew {
			t.Fatal(err)
		}
		after := append(bytes.Clone(before), ' ')
		if c.change != nil {
			after = c.change(before)
		}
		if err := os.WriteFile(path, after, 0o644); err != nil {
			t.Fatal(err)
		}
		if c.told == "" {
			c.told = c.name
		}
		if changed := sums.Changed(fresh, sumsOf()); !slices.Equal(changed, []string{c.told}) {
			t.Errorf("%s was changed, and %v are told", c.name, changed)
		}
		if err := os.Remove(path); err != nil {
			t.Fatal(err)
		}
		if isNew {
			continue
		}
		if strings.HasPrefix(c.name, "src/") {
			if changed := sums.Changed(fresh, sumsOf()); !slices.Equal(changed, []string{c.told}) {
				t.Errorf("%s was removed, and %v are told", c.name, changed)
			}
		}
		if err := os.WriteFile(path, before, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// TestMessages holds the languages against each other and against the keys
// that the sources name.
func TestMessages(t *testing.T) {
	english := map[string]bool{}
	for _, name := range []string{"messages.json", "widget/messages.json", "counter/messages.json", "counter/livingmessages.json", "sheet/messages.json", "batch/messages.json"} {
		raw, err := os.ReadFile("src/" + name)
		if err != nil {
			t.Fatal(err)
		}
		var words map[string]map[string]string
		if err := json.Unmarshal(raw, &words); err != nil {
			t.Fatal(err)
		}
		for language, texts := range words {
			sameMessages(t, name+" in "+language, texts, words["en"])
		}
		for key := range words["en"] {
			if english[key] {
				t.Errorf("%s stands in two files", key)
			}
			english[key] = true
		}
	}

	literal := regexp.MustCompile(`words\.(t|count|find)\(["\x60](\w+)(["\x60]|\$\{)`)
	sources, err := filepath.Glob("src/**/*.ts*")
	if err != nil {
		t.Fatal(err)
	}
	top, err := filepath.Glob("src/*.ts*")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range append(sources, top...) {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range literal.FindAllStringSubmatch(string(text), -1) {
			beginsWith := func(key string) bool { return strings.HasPrefix(key, m[2]) }
			switch {
			case m[3] == "${" || m[1] == "count":
				if !slices.ContainsFunc(slices.Collect(maps.Keys(english)), beginsWith) {
					t.Errorf("%s: no message begins with %s", name, m[2])
				}
			case !english[m[2]]:
				t.Errorf("%s: there is no message %s", name, m[2])
			}
		}
	}
}

// TestEveryFieldHasALabel looks in the messages for the label of each field and
// the name of each option. Bolt grades and road classes need no other name.
func TestEveryFieldHasALabel(t *testing.T) {
	raw, err := os.ReadFile("src/messages.json")
	if err != nil {
		t.Fatal(err)
	}
	var words map[string]map[string]string
	if err := json.Unmarshal(raw, &words); err != nil {
		t.Fatal(err)
	}
	list, err := os.ReadFile("src/requestfields.json")
	if err != nil {
		t.Fatal(err)
	}
	var fields []struct {
		Name    string
		Options []string
	}
	if err := json.Unmarshal(list, &fields); err != nil || len(fields) == 0 {
		t.Fatalf("%d fields, %v", len(fields), err)
	}
	for _, field := range fields {
		called := strings.TrimPrefix(strings.TrimPrefix(field.Name, "upper_"), "lower_")
		switch called {
		case "units":
			continue
		case "upper", "lower":
			called = "style"
		}
		if words["en"]["field_"+called] == "" {
			t.Errorf("%s has no label", field.Name)
		}
		for _, option := range field.Options {
			if called != "grade" && !strings.HasSuffix(called, "_class") && words["en"]["option_"+called+"_"+option] == "" {
				t.Errorf("option %s of %s has no name", option, field.Name)
			}
		}
	}
}

var placeholder = regexp.MustCompile(`\{\w+\}`)

// sameMessages fails where texts and English differ in keys or in places, or a
// text is empty.
func sameMessages(t *testing.T, of string, texts, english map[string]string) {
	t.Helper()
	places := func(text string) []string { return slices.Sorted(slices.Values(placeholder.FindAllString(text, -1))) }
	for key, text := range texts {
		switch want, ok := english[key]; {
		case !ok:
			t.Errorf("%s: English has no %s", of, key)
		case !slices.Equal(places(text), places(want)):
			t.Errorf("%s: %s has %v, in English %v", of, key, places(text), places(want))
		case strings.TrimSpace(text) == "":
			t.Errorf("%s: %s is empty", of, key)
		}
	}
	if len(texts) != len(english) {
		t.Errorf("%s: %d messages, in English %d", of, len(texts), len(english))
	}
}

// A service adds the files to its routes.
func ExampleLoad() {
	files, err := widget.Load()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(widget.ScriptPath, files.Script.ContentType)
	fmt.Println(len(widget.VersionPath(files.Hash)), len(files.Integrity))
	fmt.Println(slices.Sorted(maps.Keys(files.Beside)))
	// Output:
	// /widget/midstroke.js text/javascript; charset=utf-8
	// 55 71
	// [/widget/batch.css /widget/batch.js /widget/counter.css /widget/counter.js /widget/sheet.css /widget/sheet.js]
}

func BenchmarkLoad(b *testing.B) {
	for b.Loop() {
		load(b)
	}
}
