package form

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"midstroke/internal/enum"
	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// Type is what a field takes. Read is asked only of a field that is given; it
// notes what is wrong with it and gives false where there is nothing to keep.
type Type[T any] struct {
	About About
	Read  func(Value) (T, bool)
}

// As makes a type whose values are turned into others.
//
//go:noinline
func As[A, B any](t Type[A], turn func(A) B) Type[B] {
	return Type[B]{t.About, func(v Value) (b B, ok bool) {
		a, ok := t.Read(v)
		if !ok {
			return b, false
		}
		return turn(a), true
	}}
}

// Checked makes a type that refuses, by a code, texts that aren't good.
//
//go:noinline
func Checked(t Type[string], good func(string) bool, code fault.Code) Type[string] {
	return Type[string]{t.About, func(v Value) (string, bool) {
		s, ok := t.Read(v)
		if ok && !good(s) {
			v.Fail(code)
			return "", false
		}
		return s, ok
	}}
}

// Text is a text of least to most characters, and none of them NUL, which Postgres
// doesn't keep.
//
//go:noinline
func Text(least, most int) Type[string] {
	return Type[string]{About{Kind: KindText, Least: least, Most: most}, func(v Value) (string, bool) {
		if !v.IsText() {
			v.Wrong("a_text")
			return "", false
		}
		switch n := utf8.RuneCountInString(v.Text()); {
		case n < least:
			v.Fail(Blank)
		case !utf8.ValidString(v.Text()):
			v.Fail(NotUTF8)
		case strings.ContainsRune(v.Text(), 0):
			v.Fail(NotText)
		case n > most:
			v.Fail(textTooLong, note.Num("most", float64(most), ""), note.Num("count", float64(n), ""))
		default:
			return v.Text(), true
		}
		return "", false
	}}
}

// Flag is true or false. The flat form takes them in any case, as spreadsheets
// write them.
var Flag = Type[bool]{About{Kind: KindFlag}, func(v Value) (bool, bool) {
	switch {
	case v.is(boolean):
		return v.Text() == "true", true
	case v.is(loose) && strings.EqualFold(v.Text(), "true"):
		return true, true
	case v.is(loose) && strings.EqualFold(v.Text(), "false"):
		return false, true
	}
	v.Wrong("a_flag")
	return false, false
}}

// OneOf is one of options, which parse knows.
//
//go:noinline
func OneOf[T any](options []string, parse func(string) (T, bool)) Type[T] {
	return Type[T]{About{Kind: KindChoice, Options: options}, func(v Value) (T, bool) {
		if !v.choose(options) {
			var none T
			return none, false
		}
		return parse(v.Text())
	}}
}

// Named is one of the values of a small type, by its name.
//
//go:noinline
func Named[T ~uint8](names enum.Names[T]) Type[T] { return OneOf(names.All(), names.Parse) }

// NameOf is one of options, kept as it is written.
//
//go:noinline
func NameOf(options []string) Type[string] {
	return OneOf(options, func(name string) (string, bool) { return name, true })
}

// Either is a choice of two, true for the second.
//
//go:noinline
func Either(no, yes string) Type[bool] {
	return OneOf([]string{no, yes}, func(name string) (bool, bool) { return name == yes, true })
}

// Units are those of the request's bare lengths.
var Units = OneOf([]string{unit.Inches.String(), unit.Millimetres.String()}, unit.ParseSystem)

// The types of a length: greater than zero; zero or greater; of any sign. Each
// is a number in the request's units, or a text that may carry its own unit.
var (
	Length       = lengthOf(Positive)
	LengthOrZero = lengthOf(ZeroOrMore)
	SignedLength = lengthOf(AnySign)
)

func lengthOf(s Sign) Type[unit.Length] {
	return Type[unit.Length]{About{Kind: KindLength, Sign: s}, func(v Value) (unit.Length, bool) {
		l, ok := v.length()
		switch {
		case ok && s == Positive && l <= 0:
			v.Fail(notPositive)
		case ok && s == ZeroOrMore && l < 0:
			v.Fail(isNegative)
		default:
			return l, ok
		}
		return 0, false
	}}
}

// length reads a length of any sign.
func (v Value) length() (unit.Length, bool) {
	parse := unit.Parse
	switch {
	case v.is(number):
		if v.beyond() {
			v.Fail(outOfRangeLength)
			return 0, false
		}
		parse = unit.ParseNumber
	case !v.IsText():
		v.Wrong("a_length")
		return 0, false
	}
	l, err := parse(v.Text(), v.form.units)
	if err != nil && v.form.guessed {
		// In the other units it may be a length.
		other := unit.Inches
		if v.form.units == other {
			other = unit.Millimetres
		}
		if in, otherErr := parse(v.Text(), other); otherErr == nil {
			return in, true
		}
	}
	if err != nil {
		v.FailSpelling(err)
		return 0, false
	}
	return l, true
}

// beyond says that a bare number is longer than any length in any units, which
// is what the contract's schema can say.
func (v Value) beyond() bool {
	n, err := strconv.ParseFloat(v.Text(), 64)
	return err != nil || math.Abs(n) > unit.MaxLength.Mm()
}

// FailSpelling notes why a text couldn't be read.
func (v Value) FailSpelling(err error) {
	var length *unit.SyntaxError
	var other interface {
		Fault() (fault.Code, []note.Value)
	}
	switch {
	case errors.As(err, &length):
		v.Fail(fault.Code(length.Code))
	case errors.As(err, &other):
		code, values := other.Fault()
		v.Fail(code, values...)
	default:
		v.Wrong("a_length")
	}
}

// Spelled is a text in the request's units that parse reads; must is the term
// for what it has to be.
//
//go:noinline
func Spelled[T any](k Kind, must string, parse func(string, unit.System) (T, error)) Type[T] {
	return Type[T]{About{Kind: k}, func(v Value) (T, bool) {
		var none T
		if !v.IsText() {
			v.Wrong(must)
			return none, false
		}
		read, err := parse(v.Text(), v.form.units)
		if err != nil {
			v.FailSpelling(err)
			return none, false
		}
		return read, true
	}}
}

// Number is a number within s.
//
//go:noinline
func Number(s Span) Type[float64] {
	return Type[float64]{About{Kind: KindNumber, Span: s}, func(v Value) (float64, bool) {
		if !v.IsNumber() {
			v.Wrong("a_number")
			return 0, false
		}
		return v.number(s)
	}}
}

// NumberOr is Number with a code of its own for a number outside of s. Its words may
// name the number as {given}, and cure it.
//
//go:noinline
func NumberOr(s Span, code fault.Code) Type[float64] {
	return Type[float64]{About{Kind: KindNumber, Span: s}, func(v Value) (float64, bool) {
		if !v.IsNumber() {
			v.Wrong("a_number")
			return 0, false
		}
		n, err := strconv.ParseFloat(v.Text(), 64)
		if err != nil || !s.holds(n) {
			v.Fail(code, note.Num("least", s.Least, ""), note.Num("most", s.Most, ""), note.Word("given", v.Text()))
			return 0, false
		}
		return n, true
	}}
}

// Whole is a whole number from least to most.
//
//go:noinline
func Whole(least, most int) Type[int] {
	s := Span{Least: float64(least), Most: float64(most)}
	return Type[int]{About{Kind: KindWhole, Span: s}, func(v Value) (int, bool) {
		n, ok := Number(s).Read(v)
		if ok && n != math.Trunc(n) {
			v.Fail(notWhole)
			return 0, false
		}
		return int(n), ok
	}}
}

// Any is anything, for what is read elsewhere.
var Any = Type[struct{}]{About{Kind: KindRecord}, func(Value) (struct{}, bool) { return struct{}{}, true }}

// ListOf is a list of least to most entries. What is left of one that has faulty
// entries is kept.
//
//go:noinline
func ListOf[T any](t Type[T], least, most int) Type[[]T] {
	return Type[[]T]{About{Kind: KindList, Least: least, Most: most, Item: &t.About}, func(v Value) ([]T, bool) {
		n, ok := v.isList(least, most)
		if n == 0 {
			return nil, ok
		}
		all := make([]T, 0, n)
		for item := v.first(); n > 0; n, item = n-1, item.next() {
			if read, ok := t.Read(item); ok {
				all = append(all, read)
			}
		}
		return all, true
	}}
}

// CompleteListOf is ListOf, but one with a faulty entry isn't kept.
//
//go:noinline
func CompleteListOf[T any](t Type[T], least, most int) Type[[]T] {
	list := ListOf(t, least, most)
	return Type[[]T]{list.About, func(v Value) ([]T, bool) {
		all, ok := list.Read(v)
		return all, ok && len(all) > 0 && len(all) == min(v.form.tree.count(v.at), most)
	}}
}

// Records is a list of records, each of them begun as fresh.
//
//go:noinline
func Records[R any](t *Record[R], least, most int, fresh R) Type[[]R] {
	return ListOf(Type[R]{About{Kind: KindRecord, Fields: t.Fields()}, func(v Value) (R, bool) {
		r := fresh
		if v.isRecord() {
			t.read(v, &r)
		}
		return r, true // so that the others keep their indices
	}}, least, most)
}

// Or is a type that may also be written as a record, whose first field is of
// that type.
//
//go:noinline
func Or[T, R any](t Type[T], r *Record[R], of func(T) R) Type[R] {
	about := t.About
	about.Fields = r.Fields()
	return Type[R]{about, func(v Value) (read R, ok bool) {
		if v.is(record) {
			before := len(v.form.faults)
			r.read(v, &read)
			return read, len(v.form.faults) == before
		}
		one, ok := t.Read(v)
		return of(one), ok
	}}
}
