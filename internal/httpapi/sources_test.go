package httpapi_test

import (
	"encoding/json"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"midstroke/testdata/examples"
)

// standard is a source that reads the same in every language: a standard's
// number or an article, without a word of English.
var standard = regexp.MustCompile(`^(ISO|ASME|SAE) [A-Z]?[\d.:-]+$`)

// sources lists every "source" of an answer, in the order in which they stand.
func sources(value any, into *[]string) {
	switch v := value.(type) {
	case map[string]any:
		if text, ok := v["source"].(string); ok {
			*into = append(*into, text)
		}
		// By working alone, which is a list: maps have no order.
		for _, name := range []string{"working_length", "required", "steps", "fits", "upper", "lower", "working", "stops", "bump_stop", "strap"} {
			sources(v[name], into)
		}
	case []any:
		for _, one := range v {
			sources(one, into)
		}
	}
}

// TestSourcesAreToldInTheReadersLanguage: in Spanish every source is told in
// Spanish, except the number of a standard.
func TestSourcesAreToldInTheReadersLanguage(t *testing.T) {
	s := newService(t)
	bodies := []string{strings.NewReplacer("UNITS", "mm", "PLANNED", "0").Replace(byPoints), `{
		"units": "in", "upper": {"style": "eye"}, "lower": {"style": "eye"}, "readings": ["16"], "suspension": "independent"}`}
	for _, e := range examples.All() {
		body, err := examples.Requests.ReadFile(e.File)
		if err != nil {
			t.Fatal(err)
		}
		bodies = append(bodies, string(body))
	}
	type question struct{ path, body string }
	var questions []question
	for _, body := range bodies {
		questions = append(questions, question{"/v1/fits", body})
	}
	for _, grade := range []string{"8.8", "SAE 5"} {
		bolt := map[string]string{"8.8": "M10", "SAE 5": "3/8 in"}[grade]
		questions = append(questions, question{"/v1/hardware", `{"units": "mm", "end": {"style": "eye", "bore": 16, "width": 31},
			"bracket": {"bolt": "` + bolt + `", "opening": 32, "plate": 5}, "bolt": {"grade": "` + grade + `"}, "load_n": 9000,
			"parts": {"sleeves": [{"code": "a", "outer": 15.9, "bore": 10.3, "length": 31}], "spacers": [{"code": "s", "bore": 10.5, "thickness": 0.4}]}}`})
	}
	translated := map[string]bool{}
	for _, q := range questions {
		var english, spanish []string
		for lang, into := range map[string]*[]string{"en": &english, "es": &spanish} {
			a := s.post(t, q.path, q.body, "Accept-Language", lang)
			if a.status != http.StatusOK {
				t.Fatalf("%d %s", a.status, a.body)
			}
			var value any
			if err := json.Unmarshal(a.body, &value); err != nil {
				t.Fatal(err)
			}
			sources(value, into)
		}
		if len(english) != len(spanish) {
			t.Fatalf("%d sources in English, %d in Spanish", len(english), len(spanish))
		}
		for i, text := range english {
			if text != spanish[i] {
				translated[text] = true
			} else if !standard.MatchString(text) {
				t.Errorf("%q is told in Spanish as it is in English", text)
			}
		}
	}
	if len(translated) < 8 {
		t.Errorf("only %d sources were met: %v", len(translated), translated)
	}
}
