package note_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// file reads one language's file of words. The codes of a file with sections
// come as "section: code".
func file(t *testing.T, path string) map[string]string {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var content map[string]json.RawMessage
	if err := json.Unmarshal(raw, &content); err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	words := map[string]string{}
	for key, value := range content {
		var text string
		if json.Unmarshal(value, &text) == nil {
			words[key] = text
			continue
		}
		var section map[string]string
		if err := json.Unmarshal(value, &section); err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		for code, text := range section {
			words[key+": "+code] = text
		}
	}
	return words
}

var place = regexp.MustCompile(`\{[^}]*\}`)

// places lists what a template leaves open, each once, in a fixed order.
func places(template string) []string {
	all := place.FindAllString(template, -1)
	slices.Sort(all)
	return slices.Compact(all)
}

// TestLanguagesSayTheSame: every language has the files of English with the
// same codes, and each template the same places for values.
func TestLanguagesSayTheSame(t *testing.T) {
	if got := note.Languages(); !slices.Equal(got, []string{"en", "es"}) {
		t.Fatalf("languages %v", got)
	}
	for _, lang := range note.Languages()[1:] {
		english, err := filepath.Glob("en/*.json")
		if err != nil || len(english) < 8 {
			t.Fatalf("%d files of English: %v", len(english), err)
		}
		others, _ := filepath.Glob(lang + "/*.json")
		if len(others) != len(english) {
			t.Errorf("%s has %d files and English %d", lang, len(others), len(english))
		}
		for _, path := range english {
			t.Run(lang+"/"+filepath.Base(path), func(t *testing.T) {
				en, other := file(t, path), file(t, filepath.Join(lang, filepath.Base(path)))
				for code := range other {
					if _, ok := en[code]; !ok {
						t.Errorf("%s is no code", code)
					}
				}
				for code, template := range en {
					switch text, ok := other[code]; {
					case !ok:
						t.Errorf("%s has no words", code)
					case strings.TrimSpace(text) == "" || strings.Contains(text, "  ") || strings.TrimSpace(text) != text:
						t.Errorf("%s reads %q", code, text)
					case !slices.Equal(places(text), places(template)):
						t.Errorf("%s has the places %v, in English %v", code, places(text), places(template))
					case strings.HasSuffix(text, ".") != strings.HasSuffix(template, "."):
						t.Errorf("%s: a full stop in one language alone", code)
					}
				}
			})
		}
	}
}

// TestPlacesAreSpelt: a place is {name}, {name:term} or {name:fault}, in snake_case.
func TestPlacesAreSpelt(t *testing.T) {
	spelt := regexp.MustCompile(`^\{[a-z][a-z_]*(:term|:fault)?\}$`)
	paths, _ := filepath.Glob("*/*.json")
	for _, path := range paths {
		for code, text := range file(t, path) {
			for _, p := range place.FindAllString(text, -1) {
				if !spelt.MatchString(p) {
					t.Errorf("%s: %s has %s", path, code, p)
				}
			}
			if rest := place.ReplaceAllString(text, ""); strings.ContainsAny(rest, "{}") {
				t.Errorf("%s: %s has a stray brace", path, code)
			}
		}
	}
}

func TestTerms(t *testing.T) {
	for _, c := range []struct{ lang, word, want string }{
		{"en", "solid_axle", "solid axle"},
		{"es", "solid_axle", "de eje rígido"},
		{"xx", "solid_axle", "solid axle"}, // English where there is none
		{"es", "no_such_word", "no_such_word"},
	} {
		if got := note.Term(c.lang, c.word); got != c.want {
			t.Errorf("%s in %s is %q, want %q", c.word, c.lang, got, c.want)
		}
	}
}

// TestOnlyTermsAreTranslated: a part's code that happens to be one of the
// contract's words stays what it is.
func TestOnlyTermsAreTranslated(t *testing.T) {
	n := note.New("sleeve_too_long", note.Word("code", "solid_axle"),
		note.Len("length", 2*unit.Inch), note.Len("by", unit.Inch/4), note.Len("opening", 7*unit.Inch/4))
	const want = "el casquillo solid_axle de 2 in es 1/4 in más largo que la abertura de 1 3/4 in"
	if got := n.Text("es", unit.Inches); got != want {
		t.Errorf("reads %q, want %q", got, want)
	}
}

// TestAPartMayBeLeftOut: what stands in double brackets is told only with all of
// its values.
func TestAPartMayBeLeftOut(t *testing.T) {
	values := []note.Value{
		note.Len("bump", 4*unit.Inch), note.Len("droop", 3*unit.Inch), note.Len("limit", 75*unit.Millimetre), note.Num("motion_ratio", 1.25, ""),
		note.Len("compression", 5*unit.Inch), note.Len("extension", 3*unit.Inch+3*unit.Inch/4),
	}
	for _, lang := range note.Languages() {
		n := note.New("ratio_held_constant", values...)
		short := n.Text(lang, unit.Inches)
		n.Values = append(slices.Clone(values), note.Len("leaning_compression", 7*unit.Inch))
		if got := n.Text(lang, unit.Inches); got != short {
			t.Errorf("with one value of two the part is told: %q", got)
		}
		n.Values = append(n.Values, note.Len("leaning_extension", 8*unit.Inch))
		long := n.Text(lang, unit.Inches)
		if len(long) <= len(short) || !strings.Contains(long, "7 in") || !strings.Contains(long, "8 in") {
			t.Errorf("with both values: %q", long)
		}
		if strings.ContainsAny(short+long, "[]{}") || strings.Contains(short, "  ") {
			t.Errorf("stray brackets or blanks: %q, %q", short, long)
		}
	}
}

func TestFallBack(t *testing.T) {
	n := note.New("left_open", note.Word("field", "plate"))
	const english = "left open: measure the plate's thickness"
	if got := n.Text("xx", unit.Inches); got != english {
		t.Errorf("an unknown language reads %q", got)
	}
	unknown := note.New("no_such_code")
	if got := unknown.Text("es", unit.Inches); got != "no_such_code" {
		t.Errorf("an unknown code reads %q", got)
	}
	lacking := note.New("left_open", note.Word("other", "x"))
	if got := lacking.Text("en", unit.Inches); !strings.Contains(got, "{field:term}") {
		t.Errorf("a missing value is hidden: %q", got)
	}
}
