package note

import (
	"embed"
	"encoding/json"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"

	"midstroke/internal/unit"
)

// fallback is the language that every text is to be had in.
const fallback = "en"

// termsFile holds a language's words for the contract's own words, sourcesFile
// those for where rules come from, by the English that steps carry. A file whose
// name begins with faultsPrefix holds the words of one package's faults; every
// other file of its folder holds templates, one file a package.
const (
	termsFile    = "terms.json"
	sourcesFile  = "sources.json"
	faultsPrefix = "faults_"
)

// cureSuffix follows a fault's code where the words say what to do about it.
const cureSuffix = "/cure"

//go:embed */*.json
var files embed.FS

// decimalComma tells the languages in whose texts decimals begin with a comma.
// (Spanish in America has a point as often; either is understood.)
var decimalComma = map[string]bool{"es": true}

// language is the words of one language.
type language struct {
	templates, faults, terms, sources map[string]string
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
			all[tag] = language{templates: map[string]string{}, faults: map[string]string{}, terms: map[string]string{}, sources: map[string]string{}}
		}
		into := all[tag].templates
		switch base := path.Base(name); {
		case base == termsFile:
			into = all[tag].terms
		case base == sourcesFile:
			into = all[tag].sources
		case strings.HasPrefix(base, faultsPrefix):
			into = all[tag].faults
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

// FaultText gives the words for a fault's code in lang, English where lang has
// none, and the code itself where nobody has. Lengths are in the units of s.
func FaultText(lang string, s unit.System, code string, values []Value) string {
	if text := faultWords(lang, s, code, values); text != "" {
		return text
	}
	return code
}

// CureText gives the words for what to do about a fault, "" where it has none.
func CureText(lang string, s unit.System, code string, values []Value) string {
	return faultWords(lang, s, code+cureSuffix, values)
}

func faultWords(lang string, s unit.System, code string, values []Value) string {
	text, ok := languages[lang].faults[code]
	if !ok {
		text = languages[fallback].faults[code]
	}
	n := Note{Code: code, Values: values}
	return string(n.fill(nil, text, lang, s))
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
