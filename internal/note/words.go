package note

import (
	"embed"
	"encoding/json"
	"io/fs"
	"maps"
	"path"
	"slices"
)

// fallback is the language that every text is to be had in.
const fallback = "en"

// termsFile holds a language's words for the contract's own words, sourcesFile
// those for where rules come from, by the English that steps carry; every other
// file of its folder holds templates, one file a package.
const (
	termsFile   = "terms.json"
	sourcesFile = "sources.json"
)

//go:embed */*.json
var files embed.FS

// decimalComma tells the languages in whose texts decimals begin with a comma.
// (Spanish in America has a point as often; either is understood.)
var decimalComma = map[string]bool{"es": true}

// language is the words of one language.
type language struct {
	templates, terms, sources map[string]string
}

// languages are all that there are, by their folders' names: tags of RFC 5646.
// They are read once and never changed.
var languages = load()

func load() map[string]language {
	all := map[string]language{}
	paths, err := fs.Glob(files, "*/*.json")
	if err != nil {
		panic(err)
	}
	for _, name := range paths {
		raw, err := files.ReadFile(name)
		if err != nil {
			panic(err)
		}
		var part map[string]string
		if err := json.Unmarshal(raw, &part); err != nil {
			panic(name + ": " + err.Error())
		}
		tag := path.Dir(name)
		if _, ok := all[tag]; !ok {
			all[tag] = language{templates: map[string]string{}, terms: map[string]string{}, sources: map[string]string{}}
		}
		into := all[tag].templates
		switch path.Base(name) {
		case termsFile:
			into = all[tag].terms
		case sourcesFile:
			into = all[tag].sources
		}
		for code, text := range part {
			if _, twice := into[code]; twice {
				panic(name + ": the code " + code + " stands twice")
			}
			into[code] = text
		}
	}
	return all
}

// Languages lists the languages that there are words in, the one that every
// text is to be had in first.
func Languages() []string {
	tags := slices.Sorted(maps.Keys(languages))
	tags = slices.DeleteFunc(tags, func(tag string) bool { return tag == fallback })
	return append([]string{fallback}, tags...)
}

// Template gives the words for code in lang with {name} or {name:term} where
// values go, and whether there are any.
func Template(lang, code string) (string, bool) {
	text, ok := languages[lang].templates[code]
	return text, ok
}

// Term gives the reader's word for one of the contract's own words, English
// where lang has none, and the word itself where nobody has.
func Term(lang, word string) string {
	if text, ok := languages[lang].terms[word]; ok {
		return text
	}
	if text, ok := languages[fallback].terms[word]; ok {
		return text
	}
	return word
}
