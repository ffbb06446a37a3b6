package widget_test

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"crypto/sha512"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"midstroke/internal/widget"
)

func build(tb testing.TB) *widget.Files {
	tb.Helper()
	f, err := widget.Build()
	if err != nil {
		tb.Fatal(err)
	}
	return f
}

// TestTheScriptIsSmall: under 40 KB by gzip, as was promised to shops.
func TestTheScriptIsSmall(t *testing.T) {
	const most = 40_000
	f := build(t)
	t.Logf("the web component is %d bytes, %d by gzip", len(f.Script.Body), len(f.Script.Zipped))
	if n := len(f.Script.Zipped); n >= most {
		t.Errorf("the web component takes %d bytes by gzip, want less than %d", n, most)
	}
}

func TestEveryBuildIsTheSame(t *testing.T) {
	a, b := build(t), build(t)
	if a.Hash != b.Hash || a.Integrity != b.Integrity || !bytes.Equal(a.Script.Zipped, b.Script.Zipped) {
		t.Error("two builds differ")
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
	files := maps.Clone(a.Beside)
	files["script"], files["manifest"], files["counter"], files["sheet"] = a.Script, a.Manifest, a.Counter, a.Sheet
	for path, file := range files {
		r, err := gzip.NewReader(bytes.NewReader(file.Zipped))
		if err != nil {
			t.Fatal(err)
		}
		if plain, err := io.ReadAll(r); err != nil || !bytes.Equal(plain, file.Body) {
			t.Errorf("%s unpacked isn't what was packed", path)
		}
	}
}

// TestThePagesLoadWhatIsBesideThem and hold no script and no style of their
// own, which their policy would refuse.
func TestThePagesLoadWhatIsBesideThem(t *testing.T) {
	f := build(t)
	loads := regexp.MustCompile(`(?:src|href)="(/widget/[^"]+)"`)
	for name, page := range map[string]widget.File{"counter": f.Counter, "sheet": f.Sheet} {
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

func TestTheBuildRefusesWhatItDoesNotKnow(t *testing.T) {
	for name, c := range map[string]struct {
		files map[string]string
		want  string
	}{
		"a default export":           {map[string]string{"a.js": "export default 1;"}, "a.js:1: only declarations"},
		"a renamed import":           {map[string]string{"a.js": `import { x as y } from "./b.js";`, "b.js": "export const x = 1;"}, "no x as y"},
		"an import of all":           {map[string]string{"a.js": `import * as b from "./b.js";`}, "doesn't know"},
		"an import from elsewhere":   {map[string]string{"a.js": `import { x } from "https://other.example/b.js";`}, "doesn't know"},
		"an import of what isn't":    {map[string]string{"a.js": `import { x } from "./b.js";`, "b.js": "const x = 1;"}, "b.js exports no x"},
		"a file that is missing":     {map[string]string{"a.js": `import { x } from "./b.js";`}, "b.js"},
		"two names alike":            {map[string]string{"a.js": "import { x } from \"./b.js\";\nconst y = x;", "b.js": "export const x = 1;\nfunction y() {}"}, "a.js:2: y is declared in b.js too"},
		"a style under two names":    {map[string]string{"a.js": "import s from \"./s.css\" with { type: \"css\" };\nimport r from \"./s.css\" with { type: \"css\" };", "s.css": ""}, "under two names"},
		"a template over two lines":  {map[string]string{"a.js": "const x = `1\n2`;"}, "a.js:1: a template"},
		"code behind a comment":      {map[string]string{"a.js": "/* a */ let x;"}, "a.js:1: nothing may follow"},
		"messages that are no table": {map[string]string{"a.js": `import m from "./m.json" with { type: "json" };`, "m.json": "[]"}, "a.js:1"},
	} {
		files := fstest.MapFS{}
		for file, text := range c.files {
			files[file] = &fstest.MapFile{Data: []byte(text)}
		}
		if script, err := widget.Bundle(files, "a.js"); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want an error with %q\n%s", name, err, c.want, script)
		}
	}
}

func TestABundle(t *testing.T) {
	script, err := widget.Bundle(fstest.MapFS{
		"a.js":   {Data: []byte("// What a is.\nimport { x, f } from \"./b.js\";\nimport words from \"./m.json\" with { type: \"json\" };\n\n/**\n * Comment.\n */\nexport function g() {\n  return f(x, words); // kept\n}\n")},
		"b.js":   {Data: []byte("import words from \"./m.json\" with { type: \"json\" };\nimport styles from \"./s.css\" with { type: \"css\" };\nexport const x = styles;\nexport async function f() {}\n")},
		"m.json": {Data: []byte(`{"en": {"k": "<b> & \"q\""}}`)},
		"s.css":  {Data: []byte("/* a\n comment */\na {\n  b: c;\n}\n")},
	}, "a.js")
	if err != nil {
		t.Fatal(err)
	}
	want := `(() => {
"use strict";
const words = {"en":{"k":"<b> & \"q\""}};
const styles = new CSSStyleSheet();
styles.replaceSync("a {\nb: c;\n}");
const x = styles;
async function f() {}
function g() {
return f(x, words); // kept
}
})();
`
	if string(script) != want {
		t.Errorf("the bundle is\n%s\nwant\n%s", script, want)
	}
}

// TestMessages holds the languages against each other and against the keys
// that the modules ask for.
func TestMessages(t *testing.T) {
	src := widget.Source()
	raw, err := fs.ReadFile(src, "messages.json")
	if err != nil {
		t.Fatal(err)
	}
	var words map[string]map[string]string
	if err := json.Unmarshal(raw, &words); err != nil {
		t.Fatal(err)
	}
	placeholder := regexp.MustCompile(`\{\w+\}`)
	places := func(text string) []string {
		found := placeholder.FindAllString(text, -1)
		slices.Sort(found)
		return found
	}
	for language, texts := range words {
		for key, text := range texts {
			english, ok := words["en"][key]
			if !ok {
				t.Errorf("%s has %s, which English hasn't", language, key)
			}
			if !slices.Equal(places(text), places(english)) {
				t.Errorf("%s has %v in %s, English %v", language, places(text), key, places(english))
			}
			if strings.TrimSpace(text) == "" {
				t.Errorf("%s has nothing for %s", language, key)
			}
		}
		if len(texts) != len(words["en"]) {
			t.Errorf("%s has %d messages, English %d", language, len(texts), len(words["en"]))
		}
	}

	literal := regexp.MustCompile(`words\.(t|count)\("([\w.]+)"(,|\)| \+)`)
	mentioned := map[string]bool{}
	var prefixes []string
	err = fs.WalkDir(src, ".", func(name string, _ fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(name, ".js") {
			return err
		}
		text, err := fs.ReadFile(src, name)
		if err != nil {
			return err
		}
		for _, m := range literal.FindAllStringSubmatch(string(text), -1) {
			switch kind, key := m[1], m[2]; {
			case m[3] == " +":
				prefixes = append(prefixes, key)
			case kind == "count":
				for _, form := range []string{"_one", "_other"} {
					mentioned[key+form] = true
				}
			default:
				mentioned[key] = true
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for key := range mentioned {
		if _, ok := words["en"][key]; !ok {
			t.Errorf("%s is asked for and isn't there", key)
		}
	}
	for _, prefix := range prefixes {
		if !slices.ContainsFunc(slices.Collect(maps.Keys(words["en"])), func(key string) bool { return strings.HasPrefix(key, prefix) }) {
			t.Errorf("no message begins with %s", prefix)
		}
	}
}

// A service adds the files to its routes.
func ExampleBuild() {
	files, err := widget.Build()
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
	// [/widget/counter.css /widget/counter.js /widget/sheet.css /widget/sheet.js]
}

func BenchmarkBuild(b *testing.B) {
	for b.Loop() {
		build(b)
	}
}
