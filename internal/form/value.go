package form

import (
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"midstroke/internal/fault"
	"midstroke/internal/note"
)

// Value is one field of a request, as it was written.
type Value struct {
	form *Form
	at   int32 // 0 where it isn't given
}

// Given says whether the field is there.
func (v Value) Given() bool { return v.at != 0 }

// Fail notes a fault of the field.
func (v Value) Fail(code fault.Code, values ...note.Value) {
	v.form.failAt(v.form.pointer(v.at), code, values...)
}

// Wrong notes that the field isn't of the type it must be; must is a term, as
// "a_number".
func (v Value) Wrong(must string) {
	v.Fail(wrongType, note.Word("must", must), v.written())
}

// written tells what stands there.
func (v Value) written() note.Value {
	n := &v.form.tree.nodes[v.at]
	if n.kind == boolean {
		return note.Word("is", n.text)
	}
	return note.Word("is", n.kind.term())
}

// is says what kind of node the field is.
func (v Value) is(k kind) bool { return v.at != 0 && v.form.tree.nodes[v.at].kind == k }

// Text gives a text or a number as it is written.
func (v Value) Text() string { return v.form.tree.nodes[v.at].text }

// IsText says whether the field is written as a text.
func (v Value) IsText() bool { return v.is(text) || v.is(loose) }

// IsNumber says whether the field is written as a number; in the flat form, as
// a decimal number.
func (v Value) IsNumber() bool { return v.is(number) || v.is(loose) && isDecimal(v.Text()) }

// isDecimal leaves out the other things that strconv reads.
func isDecimal(s string) bool {
	return s != "" && strings.Trim(s, "+-.0123456789eE") == "" && strings.ContainsAny(s, "0123456789")
}

// isRecord says whether the field is an object, and notes a fault where not.
func (v Value) isRecord() bool {
	if v.form.tree.nodes[v.at].kind != record {
		v.Wrong("an_object")
		return false
	}
	return true
}

// Member gives a member of a record, for what several fields show together.
func (v Value) Member(name string) Value { return Value{v.form, v.form.tree.child(v.at, name)} }

// FailMember notes a fault of a member of a record that need not be given.
func (v Value) FailMember(name string, code fault.Code, values ...note.Value) {
	v.form.failAt(v.form.pointer(v.at)+"/"+name, code, values...)
}

// isList says whether the field is a list of least to most entries, and notes a
// fault where not; n is how many of them to read.
func (v Value) isList(least, most int) (n int, ok bool) {
	if !v.is(list) {
		v.Wrong("a_list")
		return 0, false
	}
	n = v.form.tree.count(v.at)
	switch {
	case n < least:
		v.Fail(tooFew, note.Num("least", float64(least), ""), note.Num("count", float64(n), ""))
	case n > most:
		v.Fail(tooMany, note.Num("most", float64(most), ""), note.Num("count", float64(n), ""))
	}
	return min(n, most), true
}

// count gives how many entries a list has, 0 where it isn't given.
func (v Value) count() int {
	if !v.Given() {
		return 0
	}
	return v.form.tree.count(v.at)
}

// first gives the first entry of a list, and next the one after it.
func (v Value) first() Value { return Value{v.form, v.form.tree.nodes[v.at].first} }
func (v Value) next() Value  { return Value{v.form, v.form.tree.nodes[v.at].next} }

// Items gives the entries of a list.
func (v Value) Items() []Value {
	var items []Value
	for item := v.first(); item.Given(); item = item.next() {
		items = append(items, item)
	}
	return items
}

// number gives the number that the field is known to be, within s.
func (v Value) number(s Span) (float64, bool) {
	n, err := strconv.ParseFloat(v.Text(), 64)
	if err != nil || !s.holds(n) {
		v.Fail(s.code(), note.Num("least", s.Least, ""), note.Num("most", s.Most, ""))
		return 0, false
	}
	return n, true
}

// Within says whether the number that the field is known to be lies within s, and
// notes a fault where not.
func (v Value) Within(s Span) bool {
	_, ok := v.number(s)
	return ok
}

// code is that of the fault of a number outside of s.
func (s Span) code() fault.Code {
	switch {
	case s.Above && s.Below:
		return outOfRangeOpen
	case s.Above:
		return outOfRangeAbove
	case s.Below:
		return outOfRangeBelow
	}
	return outOfRange
}

// choose notes a fault where the field is none of options.
func (v Value) choose(options []string) bool {
	switch {
	case !v.IsText():
		v.Fail(wrongTypeChoice, note.Word("options", strings.Join(options, ", ")), v.written())
	case !slices.Contains(options, v.Text()):
		v.Fail(NotAllowed, note.Word("options", strings.Join(options, ", ")), note.Word("text", Quoted(v.Text())))
	default:
		return true
	}
	return false
}

// Quoted quotes a caller's text, cut short.
func Quoted(s string) string {
	const most = 40
	return strconv.Quote(Shortened(s, most))
}

// Shortened gives at most so many characters of s, with an ellipsis where some
// are left out.
func Shortened(s string, most int) string {
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	return string([]rune(s)[:most]) + "…"
}
