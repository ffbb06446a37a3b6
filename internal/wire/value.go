package wire

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"midstroke/internal/fault"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// value is a field that was asked for: at is its node, 0 where it is absent.
// The methods that read one give the zero value and false where the field is
// absent or at fault.
type value struct {
	f  *form
	at int32
}

func (v value) fail(code, detail string) { v.f.fail(v.at, code, detail) }

func (v value) given() bool { return v.at != 0 }

// wrong notes that the field isn't of the kind it must be.
func (v value) wrong(must string) {
	n := &v.f.tree.nodes[v.at]
	switch n.kind {
	case unread:
		v.fail(tooDeep, "objects and lists stand too deep in one another here")
	case boolean:
		v.fail(wrongType, "must be "+must+", not "+n.text)
	default:
		v.fail(wrongType, "must be "+must+", not "+n.kind.words())
	}
}

// object reads a record.
func (v value) object() object {
	if !v.given() {
		return object{f: v.f}
	}
	if v.f.tree.nodes[v.at].kind != record {
		v.wrong("an object")
		return object{f: v.f}
	}
	return object{v.f, v.at, true}
}

// items reads a list of least to most values.
func (v value) items(least, most int) []value {
	if !v.given() {
		return nil
	}
	t := v.f.tree
	if t.nodes[v.at].kind != list {
		v.wrong("a list")
		return nil
	}
	n := 0
	for c := t.nodes[v.at].first; c != 0; c = t.nodes[c].next {
		n++
	}
	switch {
	case n < least:
		v.fail(tooFew, fmt.Sprintf("must hold at least %d, and holds %d", least, n))
	case n > most:
		v.fail(tooMany, fmt.Sprintf("must hold at most %d, and holds %d", most, n))
	}
	items := make([]value, 0, min(n, most))
	for c := t.nodes[v.at].first; c != 0 && len(items) < most; c = t.nodes[c].next {
		items = append(items, value{v.f, c})
	}
	return items
}

// is says what kind the field has.
func (v value) is(k kind) bool { return v.given() && v.f.tree.nodes[v.at].kind == k }

func (v value) raw() string { return v.f.tree.nodes[v.at].text }

// text reads a text of least to most characters.
func (v value) text(least, most int) (string, bool) {
	if !v.given() {
		return "", false
	}
	if !v.is(text) && !v.is(loose) {
		v.wrong("a text")
		return "", false
	}
	s := v.raw()
	switch n := utf8.RuneCountInString(s); {
	case n < least:
		v.fail(isBlank, "must not be empty")
	case n > most:
		v.fail(textTooLong, fmt.Sprintf("must have at most %d characters, and has %d", most, n))
	default:
		return s, true
	}
	return "", false
}

// flag reads true or false. The flat form takes them in any case, as
// spreadsheets write them.
func (v value) flag() (flag, ok bool) {
	switch {
	case !v.given():
		return false, false
	case v.is(boolean):
		return v.raw() == "true", true
	case v.is(loose) && strings.EqualFold(v.raw(), "true"):
		return true, true
	case v.is(loose) && strings.EqualFold(v.raw(), "false"):
		return false, true
	}
	v.wrong("true or false")
	return false, false
}

// choice reads one of names and gives its place among them.
func (v value) choice(names []string) (int, bool) {
	if !v.given() {
		return 0, false
	}
	if !v.is(text) && !v.is(loose) {
		v.wrong("one of " + strings.Join(names, ", "))
		return 0, false
	}
	i := slices.Index(names, v.raw())
	if i < 0 {
		v.fail(notAllowed, "must be one of "+strings.Join(names, ", ")+", not "+quoted(v.raw()))
		return 0, false
	}
	return i, true
}

// quoted shows a caller's text back to him, cut short.
func quoted(s string) string {
	const most = 40
	return strconv.Quote(cut(s, most))
}

// cut shortens a text to so many characters.
func cut(s string, most int) string {
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	return string([]rune(s)[:most]) + "…"
}

// sign is which lengths a field takes.
type sign uint8

const (
	positive sign = iota
	noughtToo
	signed
)

// length reads a length: a number in the request's units, or a text that may
// carry a unit of its own.
func (v value) length(s sign) (unit.Length, bool) {
	if !v.given() {
		return 0, false
	}
	var l unit.Length
	var err error
	switch {
	case v.is(number):
		if v.beyond() {
			v.fail(outOfRange, "must be at most 10 m (10,000 mm, 393.7 in)")
			return 0, false
		}
		l, err = unit.ParseNumber(v.raw(), v.f.units)
	case v.is(text) || v.is(loose):
		l, err = unit.Parse(v.raw(), v.f.units)
	default:
		v.wrong(`a length: a number, or a text such as "17 1/4" or "438 mm"`)
		return 0, false
	}
	if v.f.unitless(err) {
		l, err = standIn(v.raw()), nil
	}
	switch {
	case err != nil:
		v.syntax(err)
	case s == positive && l <= 0:
		v.fail(notPositive, "must be greater than zero")
	case s == noughtToo && l < 0:
		v.fail(isNegative, "must not be less than zero")
	default:
		return l, true
	}
	return 0, false
}

// beyond says that a bare number is longer than any length in any units, which
// the contract's schema can say, too.
func (v value) beyond() bool {
	n, err := strconv.ParseFloat(v.raw(), 64)
	return err != nil || math.Abs(n) > unit.MaxLength.Mm()
}

// unitless says that a quantity couldn't be read for want of the request's
// units, which is a fault of its own already. Something is put in its place, so
// that the rest can be judged.
func (f *form) unitless(err error) bool { return f.units == unit.Unset && codeOf(err) == unitMissing }

// standIn gives a length for a bare one in units that aren't known. It is zero
// or less where that one is in any units.
func standIn(raw string) unit.Length {
	for _, s := range [...]unit.System{unit.Inches, unit.Millimetres} {
		if l, err := unit.Parse(raw, s); err == nil {
			return l
		}
		if l, err := unit.ParseNumber(raw, s); err == nil {
			return l // as JSON writes numbers, 1e2 among them
		}
	}
	return unit.Millimetre
}

// settled keeps of the core's faults those that hold whatever the request's
// units are.
func (f *form) settled(core fault.List) fault.List {
	if f.units != unit.Unset {
		return core
	}
	return slices.DeleteFunc(core, func(c fault.Fault) bool {
		return !slices.Contains(settledCodes, c.Code.Public()) && c.Pointer != "/motion_ratio_tolerance"
	})
}

// settledCodes are the codes of the core's faults in which no length's size
// plays a part.
var settledCodes = []string{
	missingField, "wrong_plane", "side_mixed", "out_of_place", // measure
	"unknown_grade", "grade_of_other_thread", "style_outside_method", "not_of_this_style", // mount
	"not_for_kind", "wrong_dimension", "unknown_value", "no_travel", // linkage
}

// unitMissing is package unit's code for a bare quantity without units.
const unitMissing = "unit_missing"

func codeOf(err error) string {
	var syntax *unit.SyntaxError
	if errors.As(err, &syntax) {
		return syntax.Code
	}
	return ""
}

// syntax notes why a spelling couldn't be read.
func (v value) syntax(err error) {
	var syntax *unit.SyntaxError
	var bolt *mount.BoltError
	switch {
	case errors.As(err, &syntax):
		v.fail(syntax.Code, syntax.Detail)
	case errors.As(err, &bolt):
		v.fail(bolt.Code, bolt.Detail)
	default:
		v.fail(wrongType, err.Error())
	}
}

// span bounds a number: from least to most, without least where above and
// without most where below.
type span struct {
	least, most  float64
	above, below bool
}

func (s span) holds(n float64) bool {
	return (n > s.least || !s.above && n == s.least) && (n < s.most || !s.below && n == s.most)
}

func (s span) words() string {
	short := func(n float64) string { return strconv.FormatFloat(n, 'f', -1, 64) }
	from, to := "at least ", " and at most "
	if s.above {
		from = "above "
	}
	if s.below {
		to = " and below "
	}
	return "must be " + from + short(s.least) + to + short(s.most)
}

// number reads a number within s.
func (v value) number(s span) (float64, bool) {
	if !v.given() {
		return 0, false
	}
	if !v.is(number) && !(v.is(loose) && isNumber(v.raw())) {
		v.wrong("a number")
		return 0, false
	}
	return v.bounded(s)
}

// bounded reads the number that the field's text is known to be.
func (v value) bounded(s span) (float64, bool) {
	n, err := strconv.ParseFloat(v.raw(), 64)
	if err != nil || !s.holds(n) {
		v.fail(outOfRange, s.words())
		return 0, false
	}
	return n, true
}

// isNumber says whether a text of the flat form is a decimal number, which
// leaves out the other things that strconv reads.
func isNumber(s string) bool {
	return s != "" && strings.Trim(s, "+-.0123456789eE") == "" && strings.ContainsAny(s, "0123456789")
}

// whole reads a whole number.
func (v value) whole(least, most int) (int, bool) {
	n, ok := v.number(span{least: float64(least), most: float64(most)})
	if ok && n != math.Trunc(n) {
		v.fail(wrongType, "must be a whole number")
		return 0, false
	}
	return int(n), ok
}

// bolt reads a bolt.
func (v value) bolt() (mount.Bolt, bool) {
	s, ok := v.spelling("a bolt such as \"M12\" or \"1/2 in\"")
	if !ok {
		return mount.Bolt{}, false
	}
	b, err := mount.ParseBolt(s, v.f.units)
	if v.f.unitless(err) {
		// A plain pin, for whether it has a thread depends on the units.
		b, err = mount.Bolt{Diameter: max(standIn(s), unit.Millimetre)}, nil
	}
	if err != nil {
		v.syntax(err)
		return mount.Bolt{}, false
	}
	return b, true
}

// spelling reads a text whose content another judge decides.
func (v value) spelling(must string) (string, bool) {
	if !v.given() {
		return "", false
	}
	if !v.is(text) && !v.is(loose) {
		v.wrong(must)
		return "", false
	}
	return v.raw(), true
}
