package mount

import "midstroke/internal/unit"

// showing is how many threads show beyond the nut.
const showing = 2

// NutStandard names the standard of a thread's nut.
func (t Thread) NutStandard() string { return t.system().nut }

// WasherStandard names the standard of the plain washer for a thread.
func (t Thread) WasherStandard() string { return t.system().washer }

// Standard names the standard that the bolt is ordered by, "" for a plain pin. A
// metric bolt that is threaded up to its head has one of its own.
func (d *BoltDetail) Standard() string {
	t := d.Bolt.Thread
	switch {
	case !d.Bolt.Threaded():
		return ""
	case !t.Inch() && d.Length != 0 && d.ThreadLength == d.Length:
		return "ISO 4017"
	}
	return t.system().bolt
}

// order names the bolt as it is ordered: its thread and, where that is known, its
// length in the thread's own system, as "M12x1.75 × 70" or "1/2-13 UNC × 2 3/4".
func (d *BoltDetail) order() string {
	t := d.Bolt.Thread
	if d.Length == 0 {
		return t.String()
	}
	return t.String() + " × " + t.inOwnUnits(d.Length)
}

// Size names a thread's diameter, as a washer is ordered by it: "12" or "1/2".
func (t Thread) Size() string { return t.inOwnUnits(t.Diameter) }

// inOwnUnits writes a length in the thread's own units, without naming them.
func (t Thread) inOwnUnits(l unit.Length) string {
	if t.Inch() {
		return inchText(l)
	}
	return mmText(l)
}
