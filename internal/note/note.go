// Package note has the texts of the service. A note is a code with values, which
// software can act on; its words stand in the message files of each language.
//
// The calculation makes notes and never words. The shell asks for the words, in
// the reader's language and units.
package note

import (
	"bytes"
	"slices"
	"strconv"

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
	// Least and Most, where Bounded, are what words may put for Length: it is to
	// be followed, and rounded the wrong way it would not do.
	Bounded     bool
	Least, Most unit.Length
	Number      float64 // AsNumber, in Unit
	Text        string  // AsText
	Unit        string  // AsNumber: "" for a bare ratio, else as people write it ("N", "N·m", "mm²")
}

// Len is a length; the reader's units decide how it is shown.
func Len(name string, l unit.Length) Value { return Value{Name: name, Kind: AsLength, Length: l} }

// Within is a length that is to be followed: words put one that is no less than
// least and no more than most.
func Within(name string, l, least, most unit.Length) Value {
	return Value{Name: name, Kind: AsLength, Length: l, Bounded: true, Least: least, Most: most}
}

// AtLeast is a length that words may round up and not down.
func AtLeast(name string, l unit.Length) Value { return Within(name, l, l, unit.MaxLength) }

// Num is a figure in a unit that is the same for every reader.
func Num(name string, n float64, unitName string) Value {
	return Value{Name: name, Kind: AsNumber, Number: n, Unit: unitName}
}

// Word is a code, a part's name or one of the contract's own words, such as
// "upper" or "solid_axle". Which of these it is the template says: {name} puts
// it as it is, {name:term} puts the reader's word for it.
func Word(name, text string) Value { return Value{Name: name, Kind: AsText, Text: text} }

// Code names what is said, such as "support_vehicle". Software acts on it, and
// the message files have its words. Each package writes its codes as constants.
type Code string

// Note is one thing said.
type Note struct {
	Code   Code
	Values []Value
}

// New makes a note.
func New(code Code, values ...Value) Note { return Note{Code: code, Values: values} }

// Equal says whether both notes say the same.
func (n Note) Equal(m Note) bool { return n.Code == m.Code && slices.Equal(n.Values, m.Values) }

// Step is one line of arithmetic that a person can check with a pencil.
type Step struct {
	Note
	// Result is what the line comes to.
	Result Value
	// Source is where the rule came from, in English: a standard and its table,
	// "common practice" or "our choice"; "" for plain arithmetic.
	Source string
}

// SourceText gives Source in lang, and as it stands where that has no words for
// it: a standard's number is the same in every language.
func (s *Step) SourceText(lang string) string {
	if text, ok := languages[lang].sources[s.Source]; ok {
		return text
	}
	return s.Source
}

// Text gives the words for n in lang (English where lang has none) with
// lengths in the units of s.
func (n *Note) Text(lang string, s unit.System) string {
	return string(n.AppendText(nil, lang, s))
}

// AppendText appends what Text gives.
func (n *Note) AppendText(b []byte, lang string, s unit.System) []byte {
	t, ok := languages[lang].parsed[n.Code]
	if !ok {
		if t, ok = languages[fallback].parsed[n.Code]; !ok {
			return append(b, n.Code...)
		}
	}
	return t.fill(b, n, lang, s)
}

// Words gives the value as a person writes it.
func (v Value) Words(s unit.System) string { return string(v.appendWords(nil, s)) }

func (v *Value) appendWords(b []byte, s unit.System) []byte {
	switch v.Kind {
	case AsLength:
		if v.Bounded {
			return v.Length.AppendTextWithin(b, s, v.Least, v.Most)
		}
		return v.Length.AppendText(b, s)
	case AsNumber:
		from := len(b)
		b = strconv.AppendFloat(b, v.Number, 'f', -1, 64)
		if whole := bytes.IndexByte(b[from:], '.'); whole >= 0 && len(b)-from-whole-1 > 4 {
			b = strconv.AppendFloat(b[:from], v.Number, 'f', max(1, 4-whole), 64)
		}
		if v.Unit != "" {
			b = append(append(b, ' '), v.Unit...)
		}
		return b
	case AsText:
		return append(b, v.Text...)
	case Nothing:
	}
	return b
}
