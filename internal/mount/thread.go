package mount

import (
	"strconv"

	"midstroke/internal/unit"
)

// Thread is a screw thread; the zero value is none. It is comparable.
type Thread struct {
	Diameter unit.Length
	// Pitch is the distance between threads; for an inch thread it is 1 in
	// over PerInch, rounded to a nanometre.
	Pitch unit.Length
	// PerInch is the threads in an inch, 0 for a metric thread.
	PerInch uint8
}

// Bolt is a bolt or, where Thread is zero, a plain pin. The zero value means
// that none was given.
type Bolt struct {
	Diameter unit.Length
	Thread   Thread
}

// Threaded says whether the bolt has a thread, or is a plain pin or none.
func (b Bolt) Threaded() bool { return b.Thread != Thread{} }

// Inch says whether the thread is an inch one.
func (t Thread) Inch() bool { return t.PerInch != 0 }

// bolt is the bolt of that thread.
func (t Thread) bolt() Bolt { return Bolt{Diameter: t.Diameter, Thread: t} }

// String names the thread, "M10x1.5" or "1/2-13 UNC"; "" for none. ParseBolt
// reads it back.
func (t Thread) String() string {
	switch {
	case t == Thread{}:
		return ""
	case t.Inch():
		series := ""
		if i, ok := inchSize(t.Diameter); ok {
			switch t.PerInch {
			case inchSizes[i].coarse:
				series = " UNC"
			case inchSizes[i].fine:
				series = " UNF"
			}
		}
		return inchText(t.Diameter) + "-" + strconv.Itoa(int(t.PerInch)) + series
	}
	return "M" + mmText(t.Diameter) + "x" + mmText(t.Pitch)
}

// Text names the bolt: its thread, or the diameter of a plain pin in the units
// of s; "" for none.
func (b Bolt) Text(s unit.System) string {
	switch {
	case b.Threaded():
		return b.Thread.String()
	case b.Diameter == 0:
		return ""
	}
	return b.Diameter.Text(s)
}

func mmText(l unit.Length) string {
	return strconv.FormatFloat(l.In(unit.Millimetres), 'f', -1, 64)
}

// inchText writes an inch size as a fraction without its unit.
func inchText(l unit.Length) string {
	text := l.Text(unit.Inches)
	return text[:len(text)-len(" in")]
}

// metric makes a metric thread of sizes in millimetres.
func metric(diameter int, pitch float64) Thread {
	return Thread{Diameter: unit.Length(diameter) * unit.Millimetre, Pitch: unit.FromMm(pitch)}
}

// inch makes an inch thread of so many 16ths.
func inch(sixteenths int, perInch uint8) Thread {
	return Thread{
		Diameter: unit.Length(sixteenths) * unit.Inch / 16,
		Pitch:    unit.Inch.Scale(1 / float64(perInch)),
		PerInch:  perInch,
	}
}

// metricSize is a row of the metric thread table.
type metricSize struct {
	diameter int // mm
	// pitches in mm, the coarse one first.
	pitches []float64
}

// metricSizes are ISO 261's coarse pitches, and the fine ones that are common
// on dampers and brackets. From memory.
var metricSizes = [...]metricSize{
	{6, []float64{1}},
	{8, []float64{1.25, 1}},
	{10, []float64{1.5, 1.25, 1}},
	{12, []float64{1.75, 1.5, 1.25}},
	{14, []float64{2, 1.5}},
	{16, []float64{2, 1.5}},
	{18, []float64{2.5, 1.5}},
	{20, []float64{2.5, 1.5}},
	{22, []float64{2.5, 1.5}},
	{24, []float64{3, 2}},
}

// inchThreads is a row of the inch thread table.
type inchThreads struct {
	sixteenths   int   // diameter in 1/16 in
	coarse, fine uint8 // threads in an inch, UNC and UNF
}

// inchSizes are ASME B1.1's UNC and UNF. From memory.
var inchSizes = [...]inchThreads{
	{4, 20, 28}, {5, 18, 24}, {6, 16, 24}, {7, 14, 20}, {8, 13, 20},
	{9, 12, 18}, {10, 11, 18}, {12, 10, 16}, {14, 9, 14}, {16, 8, 12},
}

// inchSize finds the row of the inch table of that diameter.
func inchSize(diameter unit.Length) (int, bool) {
	for i := range inchSizes {
		if unit.Length(inchSizes[i].sixteenths)*unit.Inch/16 == diameter {
			return i, true
		}
	}
	return 0, false
}

// metricSizeOf finds the row of the metric table of that diameter.
func metricSizeOf(diameter unit.Length) (int, bool) {
	for i := range metricSizes {
		if unit.Length(metricSizes[i].diameter)*unit.Millimetre == diameter {
			return i, true
		}
	}
	return 0, false
}

// CoarseBolts lists the bolts of both tables with their coarse threads, metric
// first, ascending.
func CoarseBolts() []Bolt {
	bolts := make([]Bolt, 0, len(metricSizes)+len(inchSizes))
	for _, m := range metricSizes {
		bolts = append(bolts, metric(m.diameter, m.pitches[0]).bolt())
	}
	for _, i := range inchSizes {
		bolts = append(bolts, inch(i.sixteenths, i.coarse).bolt())
	}
	return bolts
}
