// Package note is what the service tells people: a code and values that
// software can act on, and words for them in each language it speaks.
//
// The calculation makes notes; only the shell asks for their words, so a
// formula never knows in which language or units it will be read.
package note

import (
	"embed"
	"encoding/json"
	"io/fs"
	"strconv"
	"strings"

	"midstroke/internal/unit"
)

// Kind says what a Value holds.
type Kind uint8

// The kinds of value.
const (
	Nothing Kind = iota
	AsLength
	AsNumber
	AsText
)

// Value is one named figure or word of a note.
type Value struct {
	Name   string
	Kind   Kind
	Length unit.Length // AsLength
	Number float64     // AsNumber, in Unit
	Text   string      // AsText
	Unit   string      // AsNumber: "" for a bare ratio, else as people write it ("N", "N·m", "mm²")
}

// Len is a length; the reader's units decide how it is shown.
func Len(name string, l unit.Length) Value { return Value{Name: name, Kind: AsLength, Length: l} }

// Num is a figure in a unit that is the same for every reader.
func Num(name string, n float64, unitName string) Value {
	return Value{Name: name, Kind: AsNumber, Number: n, Unit: unitName}
}

// Word is a code, a part's name or a term.
func Word(name, text string) Value { return Value{Name: name, Kind: AsText, Text: text} }

// Note is one thing said.
type Note struct {
	Code   string
	Values []Value
}

// New makes a note.
func New(code string, values ...Value) Note { return Note{Code: code, Values: values} }

// Step is one line of arithmetic that a person can check with a pencil.
type Step struct {
	Note
	// Result is what the line comes to.
	Result Value
	// Source is where the rule came from: a standard and its table, "common
	// practice" or "our choice"; "" for plain arithmetic.
	Source string
}

//go:embed */*.json
var files embed.FS

// messages holds, for each language, the template of every code. Templates
// stand one file a package, in a folder named by the language.
var messages = load()

func load() map[string]map[string]string {
	all := map[string]map[string]string{}
	paths, err := fs.Glob(files, "*/*.json")
	if err != nil {
		panic(err)
	}
	for _, path := range paths {
		raw, err := files.ReadFile(path)
		if err != nil {
			panic(err)
		}
		lang, _, _ := strings.Cut(path, "/")
		if all[lang] == nil {
			all[lang] = map[string]string{}
		}
		var part map[string]string
		if err := json.Unmarshal(raw, &part); err != nil {
			panic(path + ": " + err.Error())
		}
		for code, text := range part {
			if _, twice := all[lang][code]; twice {
				panic(path + ": the code " + code + " stands twice")
			}
			all[lang][code] = text
		}
	}
	return all
}

// Template gives the words for code in lang with {name} where values go, and
// whether there are any.
func Template(lang, code string) (string, bool) {
	text, ok := messages[lang][code]
	return text, ok
}

// Text gives the words for n in lang (English where lang has none) with
// lengths in the units of s.
func (n Note) Text(lang string, s unit.System) string {
	text, ok := messages[lang][n.Code]
	if !ok {
		if text, ok = messages["en"][n.Code]; !ok {
			return n.Code
		}
	}
	if len(n.Values) == 0 {
		return text
	}
	var b strings.Builder
	for {
		before, rest, found := strings.Cut(text, "{")
		b.WriteString(before)
		if !found {
			return b.String()
		}
		name, after, _ := strings.Cut(rest, "}")
		b.WriteString(n.word(name, s))
		text = after
	}
}

func (n Note) word(name string, s unit.System) string {
	for _, v := range n.Values {
		if v.Name == name {
			return v.Words(s)
		}
	}
	return "{" + name + "}"
}

// Words gives the value as a person writes it.
func (v Value) Words(s unit.System) string {
	switch v.Kind {
	case AsLength:
		return v.Length.Text(s)
	case AsNumber:
		t := strconv.FormatFloat(v.Number, 'f', -1, 64)
		if whole, frac, ok := strings.Cut(t, "."); ok && len(frac) > 4 {
			t = strconv.FormatFloat(v.Number, 'f', max(1, 4-len(whole)), 64)
		}
		if v.Unit != "" {
			t += " " + v.Unit
		}
		return t
	case AsText:
		return v.Text
	case Nothing:
	}
	return ""
}
