package damping

import (
	"math"
)

// Powers are how much power the curves of some force tables take at each velocity of
// a ladder. With them a rater is sure of most verdicts without working one out. A
// Powers never changes once made.
type Powers struct {
	tables []int32 // where the curves of each table begin, and where those of the last end
	// at has the power of each curve in W, by the rung of the ladder.
	at [ladderRungs][]float32
	// A table says enough to be judged where the power is no more than judged at the
	// velocity judgedTo, by curve.
	judged, judgedTo []float32
}

// The ladder of velocities, m/s, reaches from a very good road to a very poor one.
const (
	ladderRungs = 120
	ladderFirst = 0.01
	ladderStep  = 1.05
)

var lnLadderStep = math.Log(ladderStep)

var ladder = func() (v [ladderRungs]float64) {
	for i := range v {
		v[i] = ladderFirst * math.Pow(ladderStep, float64(i))
	}
	return v
}()

// PowersSize is how many bytes Powers take for each curve.
const PowersSize = 4 * (ladderRungs + 2)

// NewPowers works out the powers of tables, in some 30 µs for each curve.
func NewPowers(tables []*Table) *Powers {
	p := &Powers{tables: make([]int32, 1, len(tables)+1)}
	for _, t := range tables {
		for i := range t.Curves {
			p.add(&t.Curves[i])
		}
		p.tables = append(p.tables, int32(len(p.judged)))
	}
	return p
}

func (p *Powers) add(c *Curve) {
	before, rises := 0.0, true
	for i, sigma := range ladder {
		power := sigma * sigma * c.read(sigma, 0).coefficient
		rises = rises && power >= before
		before = power
		p.at[i] = append(p.at[i], float32(power))
	}
	half := c.Points[len(c.Points)-1].Velocity / 2
	d := c.read(half, 0)
	power := half * half * d.coefficient
	if !rises || !d.reaches(half) {
		power = math.Inf(-1) // nothing is sure
	}
	p.judged, p.judgedTo = append(p.judged, float32(power)), append(p.judgedTo, float32(half))
}

// Undecided is in place of a verdict that isn't sure.
const Undecided Verdict = math.MaxUint8

// hair is more than the rounding of powers, as a part of them.
const hair = 1e-6

// Verdicts appends the verdict on each table, or Undecided.
func (r *Rater) Verdicts(p *Powers, to []Verdict) []Verdict {
	g := &r.gates
	low, lowOK := rungBelow(g.low.sigma)
	high, highOK := rungBelow(g.high.sigma)
	if !g.ok || r.GasCounts() || !lowOK || !highOK {
		for range p.tables[1:] {
			to = append(to, Undecided)
		}
		return to
	}
	l := limits{
		low: float32(g.power(&g.low)), high: float32(g.power(&g.high)), all: float32(r.power * (1 + hair)), jump: float32(g.jump / math.Sqrt(2*math.Pi)),
		atLow: p.at[low], aboveLow: p.at[low+1], atHigh: p.at[high], aboveHigh: p.at[high+1],
	}
	for i := range p.tables[1:] {
		to = append(to, p.verdict(&l, p.tables[i], p.tables[i+1]))
	}
	return to
}

// limits are the gates of a rater beside the rungs of the ladder next to them.
type limits struct {
	low, high       float32 // W
	all, jump       float32 // the road's power; the friction's for each m/s
	atLow, aboveLow []float32
	// and those next to the high gate
	atHigh, aboveHigh []float32
}

// verdict is that on the table with some curves.
func (p *Powers) verdict(l *limits, from, to int32) Verdict {
	soft, firm, unsure := false, false, false
	for c := from; c < to; c++ {
		switch {
		case p.judged[c]+l.jump*p.judgedTo[c] < l.all:
			unsure = true
		case l.atLow[c] > l.low*(1+hair) && l.aboveHigh[c] < l.high*(1-hair):
			return InRange
		case l.aboveLow[c] < l.low*(1-hair):
			soft = true
		case l.atHigh[c] > l.high*(1+hair):
			firm = true
		default:
			unsure = true
		}
	}
	switch {
	case unsure || soft == firm: // whichever is nearer to the range
		return Undecided
	case soft:
		return Soft
	}
	return Firm
}

// OneOf is a table among those of Powers, by its place there. It is for one user at a
// time: it remembers where the last velocity was found, since the next one is near.
type OneOf struct {
	*Powers
	Table int32

	rung int
}

// velocity is near to the root mean square at which a curve takes a power, with a jump
// at rest of the corner's friction; 0 where the ladder doesn't reach it. It is near
// enough for one step of slopes.solveFrom to be the last.
func (o *OneOf) velocity(curve int, power, jump float64) float64 {
	c := o.tables[o.Table] + int32(curve)
	jump /= math.Sqrt(2 * math.Pi)
	at := func(rung int) float64 { return float64(o.at[rung][c]) + jump*ladder[rung] }
	const first, last = 1, ladderRungs - 3 // of those with a rung below and two above
	k := o.rung
	if k == 0 {
		k = ladderRungs / 2
	}
	for k < last && at(k+1) < power {
		k++
	}
	for k > first && at(k) >= power {
		k--
	}
	o.rung = k
	low, high := at(k), at(k+1)
	if low >= power || high < power {
		return 0
	}
	return ladder[k] * math.Exp(lnLadderStep*along(at(k-1), low, high, at(k+2), power))
}

// along says where between the second and the third of four values in equal steps a
// cubic through them has the value y, from 0 to 1.
func along(before, low, high, after, y float64) float64 {
	// p(t) = low + t (d1 + (t-1) (d2 + (t+1) d3)) by Newton's differences, then his method.
	d1 := high - low
	d2 := (before - low + d1) / 2
	d3 := (after - 3*high + 3*low - before) / 6
	t := (y - low) / d1
	for range 2 {
		inner := d2 + (t+1)*d3
		p := low + t*(d1+(t-1)*inner)
		slope := d1 + (2*t-1)*inner + t*(t-1)*d3
		t -= (p - y) / slope
	}
	if !(t >= 0 && t <= 1) {
		return (y - low) / d1
	}
	return t
}

// rungBelow finds the rung at a velocity or next below it; false outside the ladder.
func rungBelow(sigma float64) (int, bool) {
	i := int(math.Floor(math.Log(sigma/ladderFirst) / lnLadderStep))
	if i < 0 || i > ladderRungs-2 {
		return 0, false
	}
	// Rounding of the logarithm may be off by one.
	for i > 0 && ladder[i] > sigma {
		i--
	}
	for i < ladderRungs-2 && ladder[i+1] < sigma {
		i++
	}
	return i, true
}

// power is what a curve without the corner's friction takes at a gate.
func (g *gates) power(at *gate) float64 {
	return at.sigma * (at.sigma*at.coefficient - g.jump/math.Sqrt(2*math.Pi))
}

// Firmness is the damping at a usual velocity in N·s/m, by which tables can be sorted.
func (t *Table) Firmness() float64 {
	const usual = 0.1 // m/s
	if len(t.Curves) == 0 {
		return 0
	}
	return t.Curves[len(t.Curves)/2].read(usual, 0).coefficient
}
