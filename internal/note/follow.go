package note

import (
	"math"

	"midstroke/internal/unit"
)

// Line is one result of a line of arithmetic with what it is worked out from.
type Line struct {
	Result Value
	Parts  []*Value
	// Of gives the result by the parts' figures in one unit.
	Of func(parts []float64) float64
}

// Follow gives the parts of lines of arithmetic as many decimals as a reader needs who
// works the results out from the parts as they are printed: rounded as the results are,
// his figures are those printed. Parts that are told in full stay as they are. A part may
// be in several lines.
func Follow(lines ...Line) {
	for _, s := range []unit.System{unit.Millimetres, unit.Inches} {
		for more := range unit.MoreDecimals(s) + 1 {
			all := true
			for i := range lines {
				for _, p := range lines[i].Parts {
					p.more[s] = uint8(more)
				}
			}
			for i := range lines {
				all = all && lines[i].follows(s)
			}
			if all {
				break
			}
		}
	}
}

// ColumnLine is a result in a column of arithmetic, where each line begins with the results of
// lines above it.
type ColumnLine struct {
	Result *Value
	// Of gives the result by the figures of the lines above in one system of units. It is
	// nil where the line begins with something else.
	Of func(above []float64, s unit.System) float64
}

// Column gives all results of a column as many decimals, the same in all lines, as a
// reader needs who works each out from those above it as they are printed.
func Column(lines []ColumnLine) {
	for _, s := range []unit.System{unit.Millimetres, unit.Inches} {
		for more := range unit.MoreDecimals(s) + 1 {
			for i := range lines {
				lines[i].Result.more[s] = uint8(more)
			}
			if addsUp(lines, s, more) {
				break
			}
		}
	}
}

func addsUp(lines []ColumnLine, s unit.System, more int) bool {
	above := make([]float64, 0, len(lines))
	step := float64(unit.SizeStep(s).Millionths(s)) / math.Pow10(more)
	for i := range lines {
		e := &lines[i]
		told := float64(e.Result.written(s))
		if e.Of != nil && math.Abs(1e6*e.Of(above, s)-told) > step/2+1 {
			return false
		}
		above = append(above, told/1e6)
	}
	return true
}

// Sum is the line of a sum.
func Sum(result Value, parts ...*Value) Line {
	return Line{result, parts, func(x []float64) float64 {
		sum := 0.0
		for _, one := range x {
			sum += one
		}
		return sum
	}}
}

// Difference is the line of a length less another one.
func Difference(result Value, from, less *Value) Line {
	return Line{result, []*Value{from, less}, func(x []float64) float64 { return x[0] - x[1] }}
}

// Times is the line of a length times a number that is told in full.
func Times(result Value, length *Value, by float64) Line {
	return Line{result, []*Value{length}, func(x []float64) float64 { return x[0] * by }}
}

// follows says whether the printed parts come to the printed result.
func (l *Line) follows(s unit.System) bool {
	parts := make([]float64, len(l.Parts))
	for i, p := range l.Parts {
		parts[i] = float64(p.written(s)) / 1e6
	}
	// The hair is for floating point: a hundredth of the last decimal that is ever told.
	const hair = 0.01
	got, step := 1e6*l.Of(parts), float64(unit.SizeStep(s).Millionths(s))
	told := float64(l.Result.written(s))
	if math.Abs(got-told) <= 1 {
		return true
	}
	var rounded float64
	switch l.Result.rounding() {
	case unit.Up:
		rounded = math.Ceil((got-hair)/step) * step
	case unit.Down:
		rounded = math.Floor((got+hair)/step) * step
	case unit.Nearest:
		return math.Abs(got-told) <= step/2+1
	}
	return rounded == told
}

// written is the figure that a line of arithmetic prints for a length, in millionths of
// the unit.
func (v *Value) written(s unit.System) int64 {
	if v.Form == FormGiven || v.Form == FormGivenUp && v.Length.Exact(s) {
		return v.Length.Millionths(s)
	}
	return v.Length.SizeAsWritten(s, v.rounding(), int(v.more[s]))
}
