package mount

import (
	"midstroke/internal/unit"
)

// showing is how many threads show beyond the nut.
const showing = 2

// fastener are the sizes of a bolt's nut and washer.
type fastener struct {
	nut    unit.Length // greatest height of a plain hexagon nut
	washer unit.Length // nominal thickness of a plain washer
}

// metricFasteners are the nut heights, max, of ISO 4032 (not those of the older
// standard, which gives M10 8.0 and M12 10.0) and the washer thicknesses of
// ISO 7089, as fastener suppliers print them; the washer for M22 is from
// memory. The rows are those of metricSizes.
func metricFastener(row int) fastener {
	mm := [len(metricSizes)][2]float64{
		{5.2, 1.6}, {6.8, 1.6}, {8.4, 2}, {10.8, 2.5}, {12.8, 2.5},
		{14.8, 3}, {15.8, 3}, {18, 3}, {19.4, 3}, {21.5, 4},
	}[row]
	return fastener{nut: unit.FromMm(mm[0]), washer: unit.FromMm(mm[1])}
}

// inchFasteners are the hexagon nut heights, max, of ASME B18.2.2 and the
// washer thicknesses of ASME B18.21.1 type A narrow, as Machinery's Handbook,
// 31st ed., pp. 1677 and 1694, prints them; the washers below 7/16 in and above 3/4 in are from memory. The rows are those
// of inchSizes.
func inchFastener(row int) fastener {
	thousandths := [len(inchSizes)][2]unit.Length{
		{226, 65}, {273, 65}, {337, 65}, {385, 65}, {448, 95},
		{496, 95}, {559, 95}, {665, 134}, {776, 134}, {887, 134},
	}[row]
	return fastener{nut: thousandths[0] * unit.Inch / 1000, washer: thousandths[1] * unit.Inch / 1000}
}

// fastenerFor gives the nut and washer of a thread; false for a plain pin and
// for a thread that isn't in the tables.
func fastenerFor(t Thread) (fastener, bool) {
	if t.Inch() {
		row, ok := inchSize(t.Diameter)
		if !ok {
			return fastener{}, false
		}
		return inchFastener(row), true
	}
	row, ok := metricSizeOf(t.Diameter)
	if !ok {
		return fastener{}, false
	}
	return metricFastener(row), true
}

// NutStandard names the standard of a thread's nut.
func (t Thread) NutStandard() string {
	if t.Inch() {
		return "ASME B18.2.2"
	}
	return "ISO 4032"
}

// WasherStandard names the standard of the plain washer for a thread.
func (t Thread) WasherStandard() string {
	if t.Inch() {
		return "ASME B18.21.1, type A narrow"
	}
	return "ISO 7089"
}

// Standard names the standard that the bolt is ordered by, "" for a plain pin. A
// metric bolt that is threaded up to its head has one of its own.
func (d *BoltDetail) Standard() string {
	switch {
	case !d.Bolt.Threaded():
		return ""
	case d.Bolt.Thread.Inch():
		return "ASME B18.2.1"
	case d.Length != 0 && d.ThreadLength == d.Length:
		return "ISO 4017"
	}
	return "ISO 4014"
}

// order names the bolt as it is ordered: its thread and, where that is known, its
// length in the thread's own system, as "M12x1.75 × 70" or "1/2-13 UNC × 2 3/4".
func (d *BoltDetail) order() string {
	t := d.Bolt.Thread
	switch {
	case d.Length == 0:
		return t.String()
	case t.Inch():
		return t.String() + " × " + inchText(d.Length)
	}
	return t.String() + " × " + mmText(d.Length)
}

// Size names a thread's diameter, as a washer is ordered by it: "12" or "1/2".
func (t Thread) Size() string {
	if t.Inch() {
		return inchText(t.Diameter)
	}
	return mmText(t.Diameter)
}

// nutHeight gives the height of a thread's nut.
func nutHeight(t Thread) (unit.Length, bool) {
	f, ok := fastenerFor(t)
	return f.nut, ok
}

// preferredLength gives the shortest length of the preferred series that is at
// least least, 0 where the series has none: for metric bolts ISO 888 (20, 25 to
// 70 by 5, 80 to 160 by 10, 180 to 500 by 20; from memory), for inch bolts 1/2
// in to 5 in by quarters and to 8 in by halves (common practice, no source).
func preferredLength(least unit.Length, inch bool) unit.Length {
	if inch {
		for _, part := range [...]series{
			{unit.Inch / 2, 5 * unit.Inch, unit.Inch / 4},
			{5 * unit.Inch, 8 * unit.Inch, unit.Inch / 2},
		} {
			if l, ok := part.atLeast(least); ok {
				return l
			}
		}
		return 0
	}
	for _, part := range [...]series{
		{20 * unit.Millimetre, 70 * unit.Millimetre, 5 * unit.Millimetre},
		{70 * unit.Millimetre, 160 * unit.Millimetre, 10 * unit.Millimetre},
		{160 * unit.Millimetre, 500 * unit.Millimetre, 20 * unit.Millimetre},
	} {
		if l, ok := part.atLeast(least); ok {
			return l
		}
	}
	return 0
}

// series are equally spaced lengths.
type series struct{ first, last, step unit.Length }

func (s series) atLeast(l unit.Length) (unit.Length, bool) {
	l = max(l, s.first)
	l = s.first + (l-s.first+s.step-1)/s.step*s.step
	return l, l <= s.last
}

// threadLength is how much of a bolt is threaded, at most all of it: for metric
// bolts 2 d + 6 mm up to a length of 125 mm, 6 mm more up to 200 mm, 19 mm more
// above (ISO 4014); for inch bolts 2 D + 1/4 in up to 6 in and 2 D + 1/2 in
// above (ASME B18.2.1).
func threadLength(t Thread, length unit.Length) unit.Length {
	var b unit.Length
	switch {
	case t.Inch() && length <= 6*unit.Inch:
		b = 2*t.Diameter + unit.Inch/4
	case t.Inch():
		b = 2*t.Diameter + unit.Inch/2
	case length <= 125*unit.Millimetre:
		b = 2*t.Diameter + 6*unit.Millimetre
	case length <= 200*unit.Millimetre:
		b = 2*t.Diameter + 12*unit.Millimetre
	default:
		b = 2*t.Diameter + 25*unit.Millimetre
	}
	return min(b, length)
}
