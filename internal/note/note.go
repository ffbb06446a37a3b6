// Package note has the texts of the service. A note is a code with values, which
// software can act on; its words stand in the message files of each language.
//
// The calculation makes notes and never words. The shell asks for the words, in
// the reader's language and units.
package note

import (
	"bytes"
	"cmp"
	"math"
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
	AsFigure
	AsText
)

// Form says how words put a length.
type Form uint8

// The forms of a length in words.
const (
	// FormNearest is to 1/32 in or 0.1 mm, as people say a length.
	FormNearest Form = iota
	// FormUp is the same, never less than the length: what is needed.
	FormUp
	// FormDown is the same, never more than the length: what is to spare.
	FormDown
	// FormWithin is the same, no less than Least and no more than Most: what
	// somebody is to follow.
	FormWithin
	// FormSize is a size to be bought, made or compared with a limit: to 0.001 in
	// or 0.01 mm.
	FormSize
	// FormSizeWithin is such a size, no less than Least and no more than Most.
	FormSizeWithin
	// FormGiven is in full, as the caller gave it: to six decimals.
	FormGiven
	// FormGivenUp is the same, and as FormUp where six decimals aren't exact.
	FormGivenUp
)

// Value is one named figure or word of a note.
type Value struct {
	Name   string
	Kind   Kind
	Length unit.Length // AsLength
	// Form says how words put Length. Least and Most are for the forms within bounds.
	Form        Form
	Least, Most unit.Length
	Number      float64 // AsNumber and AsFigure, in Unit
	Text        string  // AsText
	Unit        string  // AsNumber: "" for a bare ratio, else as people write it ("N", "N·m", "mm²")
	// Digits is to how many significant digits a figure is told; 0 stands for four. A
	// number with Digits is told in full.
	Digits int
	// more is how many more decimals than a size a part of a line of arithmetic has, in
	// each system of units: see Follow.
	more [3]uint8
}

// Len is a length, told in the reader's units to 1/32 in or 0.1 mm.
func Len(name string, l unit.Length) Value { return Value{Name: name, Kind: AsLength, Length: l} }

// AtLeast is a length that words may round up and not down.
func AtLeast(name string, l unit.Length) Value {
	return Value{Name: name, Kind: AsLength, Length: l, Form: FormUp}
}

// AtMost is a length that words may round down and not up.
func AtMost(name string, l unit.Length) Value {
	return Value{Name: name, Kind: AsLength, Length: l, Form: FormDown}
}

// Within is a length that is to be followed: words put one that is no less than
// least and no more than most.
func Within(name string, l, least, most unit.Length) Value {
	return Value{Name: name, Kind: AsLength, Length: l, Form: FormWithin, Least: least, Most: most}
}

// Size is a size to be bought, made or compared with a limit, told to 0.001 in or
// 0.01 mm.
func Size(name string, l unit.Length) Value {
	return Value{Name: name, Kind: AsLength, Length: l, Form: FormSize}
}

// SizeWithin is a size to be bought or made: words put one that is no less than
// least and no more than most.
func SizeWithin(name string, l, least, most unit.Length) Value {
	return Value{Name: name, Kind: AsLength, Length: l, Form: FormSizeWithin, Least: least, Most: most}
}

// Given is a length that the caller gave, told in full.
func Given(name string, l unit.Length) Value {
	return Value{Name: name, Kind: AsLength, Length: l, Form: FormGiven}
}

// GivenAtLeast is a length that the caller needs, told in full, and rounded up where it
// was given in other units than the reader's.
func GivenAtLeast(name string, l unit.Length) Value {
	return Value{Name: name, Kind: AsLength, Length: l, Form: FormGivenUp}
}

// GivenNum is a number that the caller gave, told in full.
func GivenNum(name string, n float64, unitName string) Value {
	return Value{Name: name, Kind: AsNumber, Number: n, Unit: unitName, Digits: usualDigits}
}

// Num is a figure in a unit that is the same for every reader.
func Num(name string, n float64, unitName string) Value {
	return Value{Name: name, Kind: AsNumber, Number: n, Unit: unitName}
}

// Figure is a figure in a unit that is another one beside inches
// (unit.System.Figure), told to four significant digits.
func Figure(name string, n float64, unitName string) Value {
	return Value{Name: name, Kind: AsFigure, Number: n, Unit: unitName}
}

// FigureTo is a figure told to so many significant digits: more than four where
// another figure is worked out from it.
func FigureTo(name string, n float64, unitName string, digits int) Value {
	return Value{Name: name, Kind: AsFigure, Number: n, Unit: unitName, Digits: digits}
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
	return n.appendFilled(b, reader{lang, s, unit.Spoken})
}

// appendFilled appends n's words: in English where the reader's language has none,
// and the code itself where there are none at all.
func (n *Note) appendFilled(b []byte, r reader) []byte {
	t, ok := languages[r.lang].parsed[n.Code]
	if !ok {
		if t, ok = languages[fallback].parsed[n.Code]; !ok {
			return append(b, n.Code...)
		}
	}
	return t.fill(b, n, r)
}

// Text gives the words for a line of arithmetic. Its lengths are sizes, so that a
// pencil comes to the same.
func (s *Step) Text(lang string, units unit.System) string {
	return string(s.AppendText(nil, lang, units))
}

// AppendText appends what Text gives.
func (s *Step) AppendText(b []byte, lang string, units unit.System) []byte {
	return s.appendFilled(b, reader{lang, units, unit.Sized})
}

// AppendResult appends what the line comes to, as the lines after it tell it.
func (s *Step) AppendResult(b []byte, lang string, units unit.System) []byte {
	return s.Result.appendFor(b, reader{lang, units, unit.Sized})
}

// reader says for whom words are made, and how finely lengths are told: spoken in
// sentences, sized in arithmetic, and fine in faults, where what is said of a limit
// must be true.
type reader struct {
	lang    string
	units   unit.System
	lengths unit.Precision
}

// For gives a figure as a number in the unit that it has beside the lengths of s. Any
// other value stays as it is.
func (v Value) For(s unit.System) Value {
	if v.Kind == AsFigure {
		v.Kind = AsNumber
		v.Number, v.Unit = s.Figure(v.Number, v.Unit)
		v.Digits = cmp.Or(v.Digits, usualDigits)
		v.Number = significant(v.Number, v.Digits)
	}
	return v
}

// usualDigits are as many as people write.
const usualDigits = 4

// significant rounds to so many significant digits.
func significant(n float64, digits int) float64 {
	if n == 0 || math.IsNaN(n) || math.IsInf(n, 0) {
		return n
	}
	p := math.Pow(10, float64(digits)-1-math.Floor(math.Log10(math.Abs(n))))
	return math.Round(n*p) / p
}

// Words gives the value of a line of arithmetic as a person writes it.
func (v Value) Words(s unit.System) string { return string(v.appendWords(nil, s, unit.Sized)) }

func (v *Value) appendWords(b []byte, s unit.System, lengths unit.Precision) []byte {
	switch v.Kind {
	case AsLength:
		return v.appendLength(b, s, lengths)
	case AsNumber:
		from := len(b)
		b = strconv.AppendFloat(b, v.Number, 'f', -1, 64)
		if whole := bytes.IndexByte(b[from:], '.'); whole >= 0 && len(b)-from-whole-1 > 4 && v.Digits == 0 {
			b = strconv.AppendFloat(b[:from], v.Number, 'f', max(1, 4-whole), 64)
		}
		if v.Unit != "" {
			b = append(append(b, ' '), v.Unit...)
		}
		return b
	case AsFigure:
		told := v.For(s)
		return told.appendWords(b, s, lengths)
	case AsText:
		return append(b, v.Text...)
	case Nothing:
	}
	return b
}

// appendLength appends a length in the form that it is told in.
func (v *Value) appendLength(b []byte, s unit.System, told unit.Precision) []byte {
	switch v.Form {
	case FormWithin, FormSizeWithin:
		return v.Length.AppendWithin(b, s, v.precision(told), v.Least, v.Most)
	case FormGiven:
		return v.Length.AppendExact(b, s)
	case FormGivenUp:
		if v.Length.Exact(s) {
			return v.Length.AppendExact(b, s)
		}
	case FormNearest, FormUp, FormDown, FormSize:
	}
	switch v.precision(told) {
	case unit.Fine:
		return v.Length.AppendText(b, s)
	case unit.Sized:
		return v.Length.AppendSizeTo(b, s, v.rounding(), int(v.more[s]))
	case unit.Spoken:
	}
	return v.Length.AppendSpoken(b, s, v.rounding())
}

// rounding is the one of the form.
func (v *Value) rounding() unit.Rounding {
	switch v.Form {
	case FormUp, FormGivenUp:
		return unit.Up
	case FormDown:
		return unit.Down
	case FormNearest, FormWithin, FormSize, FormSizeWithin, FormGiven:
	}
	return unit.Nearest
}

// precision is that of the text, or the finer one of a size.
func (v *Value) precision(told unit.Precision) unit.Precision {
	if v.Form == FormSize || v.Form == FormSizeWithin {
		return max(told, unit.Sized)
	}
	return told
}
