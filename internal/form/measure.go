package form

import (
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// A Measure is a kind of figure in units that people write in more than one way.
// The first unit is that of a bare number; a text may have another one.
type Measure []MeasureUnit

// MeasureUnit is a unit, and by what a figure in it is multiplied to be in the
// first one.
type MeasureUnit struct {
	Name   string
	Factor float64
}

const (
	poundPerInch       = unit.NewtonsPerPound / unit.MmPerInch // N/mm
	poundPerSquareInch = poundPerInch / unit.MmPerInch         // MPa
)

// The measures of requests.
var (
	Mass     = Measure{{"kg", 1}, {"lb", unit.KgPerPound}, {"t", 1000}}
	Force    = Measure{{"N", 1}, {"kN", 1000}, {"lbf", unit.NewtonsPerPound}, {"lb", unit.NewtonsPerPound}}
	Rate     = Measure{{"N/mm", 1}, {"N/m", 0.001}, {"kN/m", 1}, {"lbf/in", poundPerInch}, {"lb/in", poundPerInch}}
	Damping  = Measure{{"N·s/m", 1}, {"N·s/mm", 1000}, {"kN·s/m", 1000}, {"lbf·s/in", poundPerInch * 1000}, {"lb·s/in", poundPerInch * 1000}}
	Velocity = Measure{{"m/s", 1}, {"mm/s", 0.001}, {"in/s", unit.MmPerInch / 1000}}
	Speed    = Measure{{"km/h", 1}, {"m/s", 3.6}, {"mph", unit.KmPerMile}}
	Stress   = Measure{{"MPa", 1}, {"N/mm²", 1}, {"psi", poundPerSquareInch}, {"ksi", poundPerSquareInch * 1000}}
	Modulus  = Measure{{"GPa", 1}, {"MPa", 0.001}, {"psi", poundPerSquareInch / 1000}, {"ksi", poundPerSquareInch}}
)

// names lists the units for people.
func (m Measure) names() string {
	all := make([]string, len(m))
	for i := range m {
		all[i] = m[i].Name
	}
	return strings.Join(all, ", ")
}

// parse reads a figure with its unit, "150 lbf/in".
func (m Measure) parse(text string) (n float64, ok bool) {
	name := strings.TrimLeft(text, "+-.0123456789 ")
	if name == "" {
		return 0, false
	}
	n, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(text, name)), 64)
	if err != nil {
		return 0, false
	}
	for i := range m {
		if sameUnit(name, m[i].Name) {
			return n * m[i].Factor, true
		}
	}
	return 0, false
}

// sameUnit says whether two texts name one unit. It passes over what people write in
// several ways: "N s/m" is "N·s/m". A request has many units, so this makes no texts.
func sameUnit(a, b string) bool {
	for {
		var first, second rune
		first, a = nextOfUnit(a)
		second, b = nextOfUnit(b)
		if first != second {
			return false
		}
		if first == endOfUnit {
			return true
		}
	}
}

const endOfUnit rune = -1

// nextOfUnit gives the next letter of a unit that counts, and what follows it.
func nextOfUnit(text string) (letter rune, rest string) {
	for text != "" {
		r, size := utf8.DecodeRuneInString(text)
		text = text[size:]
		switch r {
		case ' ', '·', '*', '-':
		default:
			return unicode.ToLower(r), text
		}
	}
	return endOfUnit, ""
}

// In is a figure of a measure within s: a number in its first unit, or a text that
// carries its own.
//
//go:noinline
func In(m Measure, s Span) Type[float64] {
	return Type[float64]{About{Kind: KindMeasure, Span: s, Units: m}, func(v Value) (float64, bool) {
		if v.IsNumber() {
			return v.number(s)
		}
		if !v.IsText() {
			v.Wrong("a_measure")
			return 0, false
		}
		n, ok := m.parse(strings.TrimSpace(v.Text()))
		switch {
		case !ok:
			v.Fail(measureUnread, note.Word("units", m.names()), note.Word("unit", m[0].Name))
		case !s.holds(n) || math.IsNaN(n):
			v.Fail(measureOutOfRange, note.Num("least", s.Least, m[0].Name), note.Num("most", s.Most, m[0].Name))
		default:
			return n, true
		}
		return 0, false
	}}
}

// The faults of a measure.
const (
	measureUnread     fault.Code = "measure_unread"
	measureOutOfRange fault.Code = "out_of_range.measure"
)
