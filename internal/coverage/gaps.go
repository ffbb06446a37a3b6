package coverage

import (
	"cmp"
	"slices"

	"midstroke/internal/unit"
)

// Point is where a demand lies: a damper that serves it is at most that long compressed
// and at least that long extended.
type Point struct {
	CompressedMost, ExtendedLeast unit.Length
	// Weight is the demand's, Served says whether some damper fits it.
	Weight int64
	Served bool
}

// Cell is a square of the heat map. Its lengths go from these to Step more.
type Cell struct {
	CompressedMost, ExtendedLeast unit.Length
	Weight, Unserved              int64
}

// Map is a heat map of demands over the two lengths that they ask for. Only squares with a
// demand are there, in the order of their lengths.
type Map struct {
	Step  unit.Length
	Cells []Cell
}

// mostSteps is how many squares a map has at most along each length.
const mostSteps = 24

// steps are the sizes of squares that read well, by units.
var steps = map[unit.System][]unit.Length{
	unit.Millimetres: {
		5 * unit.Millimetre, 10 * unit.Millimetre, 20 * unit.Millimetre, 25 * unit.Millimetre, 50 * unit.Millimetre,
		100 * unit.Millimetre, 200 * unit.Millimetre, 500 * unit.Millimetre,
	},
	unit.Inches: {unit.Inch / 4, unit.Inch / 2, unit.Inch, 2 * unit.Inch, 4 * unit.Inch, 8 * unit.Inch, 20 * unit.Inch},
}

// MapOf puts demands into squares of a size that fits their range and reads well in the
// units.
func MapOf(points []Point, units unit.System) Map {
	if len(points) == 0 {
		return Map{}
	}
	compressed := func(a, b Point) int { return cmp.Compare(a.CompressedMost, b.CompressedMost) }
	extended := func(a, b Point) int { return cmp.Compare(a.ExtendedLeast, b.ExtendedLeast) }
	span := max(
		slices.MaxFunc(points, compressed).CompressedMost-slices.MinFunc(points, compressed).CompressedMost,
		slices.MaxFunc(points, extended).ExtendedLeast-slices.MinFunc(points, extended).ExtendedLeast,
	)
	sizes := steps[units]
	m := Map{Step: sizes[len(sizes)-1]}
	for _, size := range slices.Backward(sizes) {
		if span <= (mostSteps-1)*size {
			m.Step = size
		}
	}
	at := map[[2]unit.Length]int{}
	for i := range points {
		p := &points[i]
		corner := [2]unit.Length{floor(p.CompressedMost, m.Step), floor(p.ExtendedLeast, m.Step)}
		place, ok := at[corner]
		if !ok {
			place = len(m.Cells)
			at[corner] = place
			m.Cells = append(m.Cells, Cell{CompressedMost: corner[0], ExtendedLeast: corner[1]})
		}
		m.Cells[place].Weight += p.Weight
		if !p.Served {
			m.Cells[place].Unserved += p.Weight
		}
	}
	slices.SortFunc(m.Cells, func(a, b Cell) int {
		return cmp.Or(cmp.Compare(a.CompressedMost, b.CompressedMost), cmp.Compare(a.ExtendedLeast, b.ExtendedLeast))
	})
	return m
}

// floor gives the largest multiple of step that isn't above l.
func floor(l, step unit.Length) unit.Length {
	n := l / step
	if l%step < 0 {
		n--
	}
	return n * step
}
