package damping

import (
	"math"

	"midstroke/internal/ride"
)

// Brief is what a list of fits tells of a damper's damping.
type Brief struct {
	Verdict Verdict
	// Start names the position to start from, and Curve is its place among the table's
	// curves.
	Start string
	Curve int
	// Ratio is the damping ratio there unladen, and LadenRatio that with the load, 0
	// for no load.
	Ratio, LadenRatio float64
	// Least and Greatest are the damping ratios of all positions, unladen.
	Least, Greatest float64
	// GasRise is that of Rating.
	GasRise float64
}

// Brief gives the figures of Rate that a list of fits tells, for much less work. The
// table has the sums of both forces of one among powers; of may be nil.
func (r *Rater) Brief(t *Table, of *OneOf) (Brief, bool) {
	var gas [2]ride.State
	states := r.withGas(t, &gas)
	if len(states) == 0 || len(t.Curves) == 0 {
		return Brief{}, false
	}
	b := Brief{Least: math.Inf(1), GasRise: r.riseOf(t, states)}
	best := notJudged
	var s slopes
	for i := range t.Curves {
		t.pieces(&t.Curves[i], bothForces, &s)
		made := r.linears(&s, states, of, i)
		ratio := made[0].atWheel / states[0].Critical
		b.Least, b.Greatest = min(b.Least, ratio), max(b.Greatest, ratio)
		j := r.judge(&s, states, &made)
		if i > 0 && !j.betterThan(&best) {
			continue
		}
		best = j
		b.Verdict, b.Start, b.Curve, b.Ratio = j.Verdict, t.Curves[i].Position, i, ratio
		if last := len(states) - 1; last > 0 {
			b.LadenRatio = made[last].atWheel / states[last].Critical
		}
	}
	return b, true
}
