package damping

import "math"

// gate is a limit of the damping ratio as a search asks for it: one damper's
// coefficient, with its part of the friction, and the root mean square of its
// velocity where the damper takes the road's power with that coefficient.
//
// A curve's power σ² c(σ) grows with σ. So a curve has more than the coefficient
// exactly where it has more at that velocity, and the velocity that the curve itself
// would have needn't be found.
type gate struct{ sigma, coefficient float64 }

// gates are the two limits of the wanted range, for all loads together. They are
// no use where the motion ratios of the loads differ.
type gates struct {
	low, high gate
	jump      float64 // of the corner's friction, N: both directions together
	// crossed says that the limits cross, so that nothing is in range at every load. Both
	// gates are then where a damper is as far too soft at one load as too firm at another.
	crossed bool
	ok      bool
}

func (r *Rater) makeGates() gates {
	first := &r.states[0]
	wheel := r.corner.Count() * first.DamperRatio * first.DamperRatio
	low, high := 0.0, math.Inf(1)
	for i := range r.states {
		if r.states[i].DamperRatio != first.DamperRatio {
			return gates{}
		}
		low = max(low, r.targets.Ratio.Range.Low*r.states[i].Critical/wheel)
		high = min(high, r.targets.Ratio.Range.High*r.states[i].Critical/wheel)
	}
	at := func(c float64) gate { return gate{math.Sqrt(r.power / c), c} }
	g := gates{jump: 2 * r.corner.Friction / (r.corner.Count() * first.DamperRatio), ok: true}
	switch {
	case low < high:
		g.low, g.high = at(low*math.Exp(-slack)), at(high*math.Exp(slack))
	case low > high*math.Exp(4*slack):
		g.crossed = true
		g.low = at(math.Sqrt(low * high))
		g.high = g.low
	default: // whichever rounding makes of it
		return gates{}
	}
	return g
}

// GasCounts says whether a damper's gas force changes its verdict: it does where a
// motion ratio changes with travel.
func (r *Rater) GasCounts() bool {
	spring, damper := r.corner.SpringMotion(), r.corner.DamperMotion()
	return spring.Varies() || damper.Varies()
}

// Verdict gives the verdict of Judge alone, for much less work where it can: for a
// search, which asks it of many dampers. The table has the sums of both forces of one
// among powers; of may be nil.
func (r *Rater) Verdict(t *Table, of *OneOf) Verdict {
	if !r.gates.ok || t.GasForce != 0 && r.GasCounts() {
		return r.judgeAmong(t, of).Verdict
	}
	soft, firm := false, false
	for i := range t.Curves {
		switch r.gates.verdict(&t.Curves[i], r.power) {
		case InRange:
			return InRange
		case Soft:
			soft = true
		case Firm:
			firm = true
		default:
			return r.judgeAmong(t, of).Verdict
		}
	}
	switch {
	case soft && firm: // whichever is nearer to the range
		return r.judgeAmong(t, of).Verdict
	case soft:
		return Soft
	case firm:
		return Firm
	}
	return 0
}

// verdict is that of one curve, 0 where the table may not go far enough to be
// judged.
func (g *gates) verdict(c *Curve, power float64) Verdict {
	low := c.read(g.low.sigma, g.jump)
	if low.coefficient < g.low.coefficient {
		// The velocity is above the gate's: is it below half of the last one's?
		half := c.Points[len(c.Points)-1].Velocity / 2
		at := c.read(half, g.jump)
		if half*half*at.coefficient < power || !at.reaches(half) {
			return 0
		}
		return Soft
	}
	if 2*g.low.sigma > c.Points[len(c.Points)-1].Velocity || !low.reaches(g.low.sigma) {
		return 0
	}
	switch {
	case !g.crossed && c.read(g.high.sigma, g.jump).coefficient <= g.high.coefficient:
		return InRange
	case g.crossed && low.coefficient == g.low.coefficient:
		return 0
	}
	return Firm
}

// reading is a curve made linear at one velocity.
type reading struct{ coefficient, last, slope float64 }

// reaches says whether surely no more than mostBeyond of the damping comes from
// beyond the last point, at a root mean square of up to half of its velocity. The
// part grows with the velocity, and slopes.beyond gives it with φ(2) and Q(2).
func (d reading) reaches(sigma float64) bool {
	const density, tail = 0.053991, 0.022751
	return d.last*density/sigma+d.slope*tail <= mostBeyond*d.coefficient
}

// read makes a curve linear at a velocity, by the formula of slopes.coefficient,
// with a jump at rest of the corner's friction.
func (c *Curve) read(sigma, jump float64) reading {
	var d reading
	v, f, before := 0.0, 0.0, 0.0
	for i := range c.Points {
		p := &c.Points[i]
		sum := max(0, p.Compression+p.Rebound)
		if p.Velocity == 0 {
			f = sum
			jump += sum
			continue
		}
		after := 0.5
		d.slope = (sum - f) / (p.Velocity - v)
		if i < len(c.Points)-1 || d.slope < 0 {
			after, _ = normal(p.Velocity / sigma)
		}
		d.coefficient += d.slope * (after - before)
		v, f, before = p.Velocity, sum, after
	}
	d.coefficient += jump * perRoot2Pi / sigma
	d.last, d.slope = f, max(0, d.slope)
	return d
}
