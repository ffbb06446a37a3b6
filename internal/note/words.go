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

// fallback is the language that has every text.
const fallback = "en"

// A language's folder holds these files. termsFile translates the contract's own
// words, sourcesFile the sources of rules (their English text is the key), and
// problemsFile has the texts of problems. A file whose name begins with faultsPrefix
// has the texts of one package's faults. Every other file has the texts of one
// package's notes, in sections by where they are used.
const (
	termsFile    = "terms.json"
	sourcesFile  = "sources.json"
	problemsFile = "problems.json"
	faultsPrefix = "faults_"
)

// The sections of texts that aren't notes; those of notes are named in their
// files.
const (
	SectionFaults   = "faults"
	SectionProblems = "problems"
)

//go:embed */*.json
var files embed.FS

// decimalComma lists the languages that write decimals with a comma. (Spanish in
// America has a point as often; both are understood.)
var decimalComma = map[string]bool{"es": true}

// Decimal writes a figure that has a decimal point, or none, as a language does.
func Decimal(lang, figure string) string {
	if decimalComma[lang] {
		return strings.Replace(figure, ".", ",", 1)
	}
	return figure
}

// language is the words of one language, by code.
type language struct {
	templates, faults, problems, terms, sources map[string]string
	// parsed are templates, taken apart.
	parsed map[Code]template
}

// Entry is a code of the message files.
type Entry struct {
	// Package is the package that uses it.
	Package string
	// Section says where it is used: "steps", "cautions" and so on.
	Section string
	Code    string
}

// languages are all languages, by the names of their folders, which are tags of
// RFC 5646. entries are the codes of the default language. Both are read once and
// never change.
var languages, entries = load()

func load() (map[string]language, []Entry) {
	all := map[string]language{}
	var codes []Entry
	paths, err := fs.Glob(files, "*/*.json")
	if err != nil {
		panic(err)
	}
	for _, name := range paths {
		tag := path.Dir(name)
		if _, ok := all[tag]; !ok {
			all[tag] = language{map[string]string{}, map[string]string{}, map[string]string{}, map[string]string{}, map[string]string{}, map[Code]template{}}
		}
		found := all[tag].addFile(name)
		if tag == fallback {
			codes = append(codes, found...)
		}
	}
	for _, l := range all {
		for code, text := range l.templates {
			l.parsed[Code(code)] = parseTemplate(text)
		}
	}
	return all, codes
}

// addFile reads a file into l and gives its codes.
func (l language) addFile(name string) []Entry {
	raw, err := files.ReadFile(name)
	if err != nil {
		panic(err)
	}
	of := strings.TrimSuffix(path.Base(name), ".json")
	switch base := path.Base(name); {
	case base == termsFile:
		add(name, parse(name, raw), l.terms)
	case base == sourcesFile:
		add(name, parse(name, raw), l.sources)
	case base == problemsFile:
		return listed("httpapi", SectionProblems, add(name, parse(name, raw), l.problems))
	case strings.HasPrefix(base, faultsPrefix):
		return listed(strings.TrimPrefix(of, faultsPrefix), SectionFaults, add(name, separate(parse(name, raw)), l.faults))
	default:
		var sections map[string]json.RawMessage
		if err := json.Unmarshal(raw, &sections); err != nil {
			panic(name + ": " + err.Error())
		}
		var codes []Entry
		for _, section := range slices.Sorted(maps.Keys(sections)) {
			codes = append(codes, listed(of, section, add(name, parse(name, sections[section]), l.templates))...)
		}
		return codes
	}
	return nil
}

// parse reads an object of codes and words.
func parse(name string, raw []byte) map[string]string {
	var part map[string]string
	if err := json.Unmarshal(raw, &part); err != nil {
		panic(name + ": " + err.Error())
	}
	return part
}

// separate splits entries of several codes with the same text into one entry each.
// In the file such codes are separated by blanks; if the text is a cure, /cure follows
// the last code.
func separate(part map[string]string) map[string]string {
	all := make(map[string]string, len(part))
	for codes, text := range part {
		codes, cure := strings.CutSuffix(codes, cureSuffix)
		for _, code := range strings.Fields(codes) {
			if cure {
				code += cureSuffix
			}
			all[code] = text
		}
	}
	return all
}

// add adds the texts of part to a map, and gives their codes in order.
func add(name string, part, into map[string]string) []string {
	for code, text := range part {
		if _, twice := into[code]; twice {
			panic(name + ": the code " + code + " stands twice")
		}
		into[code] = text
	}
	return slices.Sorted(maps.Keys(part))
}

func listed(of, section string, codes []string) []Entry {
	list := make([]Entry, len(codes))
	for i, code := range codes {
		list[i] = Entry{of, section, code}
	}
	return list
}

// Entries lists every code that there are words for, by package, section and
// code. Callers change nothing in it.
func Entries() []Entry { return entries }

// Words gives the template of an entry in lang, with {name} or {name:term} where
// values go.
func (e Entry) Words(lang string) string {
	l := languages[lang]
	switch e.Section {
	case SectionFaults:
		return l.faults[e.Code]
	case SectionProblems:
		return l.problems[e.Code]
	}
	return l.templates[e.Code]
}

// Languages lists the languages that there are words in, the default first.
func Languages() []string {
	tags := slices.Sorted(maps.Keys(languages))
	tags = slices.DeleteFunc(tags, func(tag string) bool { return tag == fallback })
	return append([]string{fallback}, tags...)
}

// Template gives the words for a note's code in lang with {name} or {name:term}
// where values go, and whether there are any.
func Template(lang string, code Code) (string, bool) {
	text, ok := languages[lang].templates[string(code)]
	return text, ok
}

// The suffixes of codes. A fault's code with cureSuffix has the words for what to
// do about it; a kind of problem has a title and a meaning.
const (
	cureSuffix    = "/cure"
	titleSuffix   = "/title"
	meaningSuffix = "/meaning"
)

// FaultText gives the words for a fault's code in lang, English where lang has
// none, and the code itself where there are none at all. Lengths are in the units
// of s.
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
	n := Note{Values: values}
	return string(parseTemplate(text).fill(nil, &n, reader{lang, s, unit.Fine}))
}

// ProblemTitle gives the title of a kind of problem in lang.
func ProblemTitle(lang, kind string) string { return problemWords(lang, kind+titleSuffix) }

// ProblemMeaning gives the words that explain a kind of problem.
func ProblemMeaning(lang, kind string) string { return problemWords(lang, kind+meaningSuffix) }

// ProblemText gives the words for what a problem says about one occurrence, with
// lengths in the units of s.
func ProblemText(lang string, s unit.System, code string, values []Value) string {
	n := Note{Values: values}
	return string(parseTemplate(problemWords(lang, code)).fill(nil, &n, reader{lang, s, unit.Fine}))
}

// problemWords are in English where lang has none, and the code itself where
// there are none at all.
func problemWords(lang, code string) string {
	if text, ok := languages[lang].problems[code]; ok {
		return text
	}
	if text, ok := languages[fallback].problems[code]; ok {
		return text
	}
	return code
}

// Term gives lang's word for one of the contract's own words, English where lang
// has none, and the word itself where there are none at all.
func Term(lang, word string) string {
	if text, ok := languages[lang].terms[word]; ok {
		return text
	}
	if text, ok := languages[fallback].terms[word]; ok {
		return text
	}
	return word
}
