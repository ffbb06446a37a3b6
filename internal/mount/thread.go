package mount

import (
	"slices"
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
		name := inchText(t.Diameter) + "-" + strconv.Itoa(int(t.PerInch))
		if size := t.size(); size != nil {
			if i := slices.Index(size.threads, t); i >= 0 {
				name += " " + inchSeries[i]
			}
		}
		return name
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

// inchSeries names the threads of an inch size, in the order of the table.
var inchSeries = [...]string{"UNC", "UNF"}

func mmText(l unit.Length) string {
	return strconv.FormatFloat(l.In(unit.Millimetres), 'f', -1, 64)
}

// inchText writes an inch size as a fraction without its unit.
func inchText(l unit.Length) string {
	text := l.Text(unit.Inches)
	return text[:len(text)-len(" in")]
}
