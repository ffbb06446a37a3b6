package catalog

import (
	"unique"

	"midstroke/internal/damping"
)

// Forces is what a list says of a damper's forces: its force table, and what was
// known of the test. It is comparable, and takes the room of one pointer: many
// dampers of a list have the same valving, so equal ones share their memory. The
// zero value says nothing.
type Forces struct{ listed unique.Handle[listedForces] }

type listedForces struct {
	// curves are as damping.FormatCurves writes them, zero for none. Texts are long,
	// and so compared once.
	curves           unique.Handle[string]
	gasForce         float64
	celsius          float64
	temperatureKnown bool
}

// NewForces takes what Forces holds from a table. Whether the gas force is included,
// and where the gas is, are fields of a damper.
func NewForces(t *damping.Table) Forces {
	return forcesOf(listedForces{
		curves: listedCurves(t.Curves), gasForce: t.GasForce,
		celsius: t.Celsius, temperatureKnown: t.TemperatureKnown,
	})
}

func listedCurves(curves []damping.Curve) unique.Handle[string] {
	if len(curves) == 0 {
		return unique.Handle[string]{}
	}
	return unique.Make(damping.FormatCurves(curves))
}

func forcesOf(l listedForces) Forces {
	if l == (listedForces{}) {
		return Forces{}
	}
	return Forces{unique.Make(l)}
}

func (f Forces) value() listedForces {
	if f == (Forces{}) {
		return listedForces{}
	}
	return f.listed.Value()
}

// Text gives the force table as damping.FormatCurves writes it, "" where there is
// none.
func (f Forces) Text() string {
	if curves := f.value().curves; curves != (unique.Handle[string]{}) {
		return curves.Value()
	}
	return ""
}

// Curves gives the force table, none where there is none.
func (f Forces) Curves() []damping.Curve {
	text := f.Text()
	if text == "" {
		return nil
	}
	curves, _, _ := damping.ParseCurves(text) // which was written by FormatCurves
	return curves
}

// CurvesOnly is a force table without anything else about its test.
func CurvesOnly(curves []damping.Curve) Forces {
	return NewForces(&damping.Table{Curves: curves})
}

// SetCurvesOf sets the force table to that of other, and leaves the rest.
func (f *Forces) SetCurvesOf(other Forces) {
	l := f.value()
	l.curves = other.value().curves
	*f = forcesOf(l)
}

// GasForce is in N, and known says whether it is.
func (f Forces) GasForce() (n float64, known bool) {
	n = f.value().gasForce
	return n, n != 0
}

// SetGasForce sets the gas force in N; 0 is for one that isn't known, or isn't there.
func (f *Forces) SetGasForce(n float64) {
	l := f.value()
	l.gasForce = n
	*f = forcesOf(l)
}

// Celsius is the temperature of the test, and known says whether it is.
func (f Forces) Celsius() (n float64, known bool) {
	l := f.value()
	return l.celsius, l.temperatureKnown
}

// SetCelsius sets the temperature of the test.
func (f *Forces) SetCelsius(n float64) {
	l := f.value()
	l.celsius, l.temperatureKnown = n, true
	*f = forcesOf(l)
}

// ForceTable gives everything that the list says of the damper's forces.
func (d *Damper) ForceTable() damping.Table {
	t := damping.Table{Curves: d.Forces.Curves(), GasIncluded: d.GasIncluded, Reservoir: d.Reservoir}
	t.GasForce, _ = d.Forces.GasForce()
	t.Celsius, t.TemperatureKnown = d.Forces.Celsius()
	return t
}

// forceTables are the different force tables of a snapshot's dampers.
type forceTables struct {
	tables []damping.Table
	// numbers has each damper's place in tables, by its place in the list by code;
	// -1 where it has none. It is nil where no damper has one.
	numbers []int32
}

// gathered finds the force tables of dampers.
func gathered(dampers []Damper) forceTables {
	type key struct {
		forces      Forces
		gasIncluded bool
	}
	var f forceTables
	known := map[key]int32{}
	for i := range dampers {
		d := &dampers[i]
		if d.Forces == (Forces{}) || d.Forces.Text() == "" {
			continue
		}
		if f.numbers == nil {
			f.numbers = make([]int32, len(dampers))
			for j := range f.numbers {
				f.numbers[j] = -1
			}
		}
		k := key{d.Forces, d.GasIncluded}
		number, ok := known[k]
		if !ok {
			number = int32(len(f.tables))
			known[k] = number
			f.tables = append(f.tables, d.ForceTable())
		}
		f.numbers[i] = number
	}
	return f
}

// ForceTables lists the different force tables of the dampers. Callers change
// nothing in it.
func (s *Snapshot) ForceTables() []damping.Table { return s.forces.tables }

// ForceTable gives the place in ForceTables of the force table of a damper, by its
// place in the list by code; -1 where it has none.
func (s *Snapshot) ForceTable(damper int32) int32 {
	if s.forces.numbers == nil {
		return -1
	}
	return s.forces.numbers[damper]
}
