package note_test

import (
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// TestSpanishTermsAreTheTrades holds every Spanish text, those of the pages too, to the
// terms in testdata/spanish.csv, which names the origin of each: a term is used, and the
// words that it stands for are not. "From memory" says that the document itself was not at
// hand. The second source is one that was read, and "none found" says that there is none.
func TestSpanishTermsAreTheTrades(t *testing.T) {
	file, err := os.Open("testdata/spanish.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	texts := spanishTexts(t)
	for _, row := range rows[1:] {
		english, spanish, instead, origin, second := row[0], row[1], row[2], row[3], row[4]
		if origin == "" || second == "" {
			t.Errorf("%s: no origin, or no word of a second source", english)
		}
		if used := saying(texts, spanish); len(used) == 0 {
			t.Errorf("%s: no text says %q", english, spanish)
		}
		for _, other := range strings.Split(instead, "|") {
			if other == "" {
				continue
			}
			for _, where := range saying(texts, other) {
				t.Errorf("%s is %q, and %s says %q", english, spanish, where, other)
			}
		}
	}
}

// values are the places of values, whose names are English.
var values = regexp.MustCompile(`\{[^}]*\}`)

// saying lists the places of texts that hold a word, in the singular or the plural.
func saying(texts map[string]string, word string) (places []string) {
	whole := regexp.MustCompile(`(?i)(^|\PL)` + regexp.QuoteMeta(word) + `(e?s)?(\PL|$)`)
	lower := strings.ToLower(word)
	for place, text := range texts {
		if strings.Contains(strings.ToLower(text), lower) && whole.MatchString(text) {
			places = append(places, place)
		}
	}
	return places
}

// spanishTexts gives every Spanish text by its place.
func spanishTexts(t *testing.T) map[string]string {
	t.Helper()
	texts := map[string]string{}
	var add func(place string, value any)
	add = func(place string, value any) {
		switch v := value.(type) {
		case string:
			texts[place] = values.ReplaceAllString(v, "")
		case map[string]any:
			for key, inner := range v {
				add(place+" "+key, inner)
			}
		}
	}
	read := func(pattern, member string) {
		files, err := filepath.Glob(pattern)
		if err != nil || len(files) == 0 {
			t.Fatalf("%s: %d files, %v", pattern, len(files), err)
		}
		for _, name := range files {
			raw, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			var all map[string]any
			if err := json.Unmarshal(raw, &all); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if member != "" {
				all, _ = all[member].(map[string]any)
			}
			add(name, all)
		}
	}
	read("es/*.json", "")
	read("../widget/src/messages.json", "es")
	read("../widget/src/*/messages.json", "es")
	return texts
}
