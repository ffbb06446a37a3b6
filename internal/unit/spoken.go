package unit

import "strconv"

// Rounding says which way a length in a text is rounded.
type Rounding uint8

// The ways to round. What is to spare is rounded down and what is needed up, so
// that no text promises more than there is.
const (
	Nearest Rounding = iota
	Down
	Up
)

// AppendSpoken appends l as people say it, with its unit: to 1/32 in as a
// fraction, or to 0.1 mm.
func (l Length) AppendSpoken(b []byte, s System, r Rounding) []byte {
	return l.rounded(step(s, Spoken), r).AppendText(b, s)
}

// AppendSize appends a size to be bought or made, with its unit: a fraction of an
// inch where l is a whole number of 1/64 in, else l to 0.001 in or 0.01 mm.
func (l Length) AppendSize(b []byte, s System) []byte { return l.AppendSizeTo(b, s, Nearest, 0) }

// AppendSizeTo appends a size rounded to r, with so many more decimals than AppendSize
// has. There are six at most.
func (l Length) AppendSizeTo(b []byte, s System, r Rounding, more int) []byte {
	if s == Inches && l%(Inch/64) == 0 {
		return l.AppendText(b, s)
	}
	return l.sized(s, r, more).appendDecimals(b, s)
}

// SizeAsWritten gives the figure that AppendSizeTo writes, in millionths of the unit.
func (l Length) SizeAsWritten(s System, r Rounding, more int) int64 {
	if s == Inches && l%(Inch/64) == 0 {
		return l.Millionths(s)
	}
	return l.sized(s, r, more).Millionths(s)
}

// sized rounds a size. Six decimals need no rounding: they are all that is written.
func (l Length) sized(s System, r Rounding, more int) Length {
	if more >= MoreDecimals(s) {
		return l
	}
	to := step(s, Sized)
	for range more {
		to /= 10
	}
	return l.rounded(to, r)
}

// MoreDecimals is how many more decimals than a size has may be written: six in all.
func MoreDecimals(s System) int {
	if s == Inches {
		return 3
	}
	return 4
}

// SizeStep is the last digit of a size.
func SizeStep(s System) Length { return step(s, Sized) }

// Exact says whether six decimals of s are exactly l.
func (l Length) Exact(s System) bool { return s != Inches || l%Grain == 0 }

// AppendExact appends l in full, with its unit: a fraction of an inch where l is a whole
// number of 1/64 in, else with up to six decimals.
func (l Length) AppendExact(b []byte, s System) []byte {
	if s == Inches && l%(Inch/64) == 0 {
		return l.AppendText(b, s)
	}
	return l.appendDecimals(b, s)
}

// Precision says how finely a text tells a length.
type Precision uint8

// The precisions, each finer than the one before.
const (
	Spoken Precision = iota // 1/32 in, 0.1 mm
	Sized                   // 0.001 in, 0.01 mm
	Fine                    // 0.0001 in, 0.001 mm
)

// AppendWithin appends l, with its unit, as near to it as a text can be that is
// neither less than least nor more than most. Where nothing in the precision
// asked for lies between them it takes the next finer one, and in the end six
// decimals.
func (l Length) AppendWithin(b []byte, s System, p Precision, least, most Length) []byte {
	if p != Spoken && s == Inches && l%(Inch/64) == 0 && least <= l && l <= most {
		return l.AppendText(b, s)
	}
	for ; p <= Fine; p++ {
		told, ok := l.roundedWithin(step(s, p), least, most)
		switch {
		case !ok:
		case p == Spoken:
			return told.AppendText(b, s)
		default:
			return told.appendDecimals(b, s)
		}
	}
	return l.appendDecimals(b, s)
}

// roundedWithin gives the whole number of steps nearest to l, or one beside it,
// that is neither less than least nor more than most, if there is one.
func (l Length) roundedWithin(step, least, most Length) (Length, bool) {
	near := l.rounded(step, Nearest)
	for _, told := range [3]Length{near, near + step, near - step} {
		if least <= told && told <= most {
			return told, true
		}
	}
	return 0, false
}

// appendDecimals appends l with up to six decimals and its unit.
func (l Length) appendDecimals(b []byte, s System) []byte {
	b = strconv.AppendFloat(b, l.In(s), 'f', -1, 64)
	if s == Inches {
		return append(b, " in"...)
	}
	return append(b, " mm"...)
}

// rounded gives the whole number of steps at l, or beside it in the direction of r.
func (l Length) rounded(step Length, r Rounding) Length {
	below := l - (l%step+step)%step
	switch {
	case r == Nearest:
		return Length(divHalfEven(int64(l), int64(step))) * step
	case r == Down || below == l:
		return below
	}
	return below + step
}

// step is the smallest difference that is told.
func step(s System, p Precision) Length {
	in, mm := Inch/32, Millimetre/10
	switch p {
	case Sized:
		in, mm = Inch/1000, Millimetre/100
	case Fine:
		in, mm = Inch/10_000, Micrometre
	case Spoken:
	}
	if s == Inches {
		return in
	}
	return mm
}
