// Package unit has the length type of the calculation, and reads and writes
// lengths as people do: "17 1/4", "1 ft 5 in", "476 mm".
package unit

import "math"

// Length is a length in whole nanometres, as time.Duration is a time in whole
// nanoseconds. Both 1/64 in (396 875 nm) and 1 µm are whole numbers of them,
// so inches and millimetres are exact, equality is equality, and a limit that
// is met exactly is met.
type Length int64

// Common lengths. 1 in = 25.4 mm exactly since 1 July 1959 (NBS Circular 572,
// addendum of 1960).
const (
	Nanometre  Length = 1
	Micrometre        = 1_000 * Nanometre
	Millimetre        = 1_000 * Micrometre
	Centimetre        = 10 * Millimetre
	Metre             = 1_000 * Millimetre
	Inch              = 25_400 * Micrometre
	Foot              = 12 * Inch
)

// System is the system of units of a caller. The zero value means that none was
// named; the service never guesses one.
type System uint8

// The systems of units.
const (
	Unset System = iota
	Inches
	Millimetres
)

// ParseSystem reads "in" or "mm".
func ParseSystem(s string) (System, bool) {
	switch s {
	case "in":
		return Inches, true
	case "mm":
		return Millimetres, true
	}
	return Unset, false
}

// String gives "in", "mm" or "".
func (s System) String() string {
	switch s {
	case Inches:
		return "in"
	case Millimetres:
		return "mm"
	case Unset:
	}
	return ""
}

// In gives l in the units of s, rounded to six decimals: every 1/64 in and
// every whole nanometre comes out exactly as a person writes it.
func (l Length) In(s System) float64 { return float64(l.Millionths(s)) / 1e6 }

// Millionths is In in whole millionths of the units.
func (l Length) Millionths(s System) int64 {
	if s != Inches {
		return int64(l) // a nanometre is a millionth of a millimetre
	}
	// One millionth of an inch is 127/5 nm. Taking the whole multiples of
	// 127 nm off first keeps every Length from overflowing; 127 is odd, so
	// there are no ties.
	return int64(l/127*5) + divHalfEven(int64(l%127)*5, 127)
}

// Grain is the least length of which every multiple is written exactly in six
// decimals of either system: 5 millionths of an inch.
const Grain = 127 * Nanometre

// Up gives the least multiple of Grain that is not less than l, or l itself where
// that is more than most: what is to be at least l, written so that it still is
// when it is read back. l is not negative.
func (l Length) Up(most Length) Length {
	if up := (l + Grain - 1) / Grain * Grain; up <= most {
		return up
	}
	return l
}

// Down gives the greatest multiple of Grain that is not more than l, or l itself
// where that is less than least. l is not negative.
func (l Length) Down(least Length) Length {
	if down := l / Grain * Grain; down >= least {
		return down
	}
	return l
}

// Mm gives l in millimetres, for geometry.
func (l Length) Mm() float64 { return float64(l) / float64(Millimetre) }

// FromMm gives the nearest length to mm millimetres, half to even. The caller
// keeps mm finite and within ±9e9.
func FromMm(mm float64) Length { return Length(math.RoundToEven(mm * float64(Millimetre))) }

// Abs gives l without its sign.
func (l Length) Abs() Length {
	if l < 0 {
		return -l
	}
	return l
}

// Mean gives the mean of ls, rounded half to even to a whole nanometre; 0 for
// none. The caller keeps their sum within a Length.
func Mean(ls ...Length) Length {
	if len(ls) == 0 {
		return 0
	}
	var sum int64
	for _, l := range ls {
		sum += int64(l)
	}
	return Length(divHalfEven(sum, int64(len(ls))))
}

// Scale gives l times f, rounded half to even to a whole nanometre. The caller
// keeps f finite and the product within ±9e15.
func (l Length) Scale(f float64) Length { return Length(math.RoundToEven(float64(l) * f)) }

// divHalfEven divides n by d > 0 and rounds half to even.
func divHalfEven(n, d int64) int64 {
	q, r := n/d, n%d
	if r < 0 {
		q, r = q-1, r+d
	}
	if 2*r > d || 2*r == d && q&1 != 0 {
		q++
	}
	return q
}
