package linkage

import (
	"math"

	"midstroke/internal/unit"
)

// Extreme is the damper's least or greatest length over a range, correct to
// 0.001 mm, and where it lies.
type Extreme struct {
	Length unit.Length
	// WheelTravel is where it lies; not for an axle.
	WheelTravel unit.Length
	// Left and Right are where it lies for an axle: the travels of its two wheels.
	Left, Right unit.Length
	// Interior says that it lies between the ends of the range; for an axle,
	// that it lies at none of the four corners of the square of left and right
	// travel.
	Interior bool
}

// Extremes gives the damper's least and greatest length over all wheel travels
// from low to high in mm, interior ones included; for an axle over the whole
// square of left and right travels. The range need not include ride height. The error is a
// [*TravelError] where an end cannot be reached or the damper's ends meet on
// the way; low must not be above high.
func (l *Linkage) Extremes(low, high float64) (shortest, longest Extreme, err error) {
	if err := l.within(low, high); err != nil {
		return Extreme{}, Extreme{}, err
	}
	var found extent
	if a, ok := l.motion.(axle); ok {
		found = a.overSquare(low, high)
	} else {
		t := l.trace(low, high, max(coarse, 1+int((high-low)/apartAtMost)))
		found = t.extent()
	}
	if err := l.meets(found); err != nil {
		return Extreme{}, Extreme{}, err
	}
	return found.shortest.public(), found.longest.public(), nil
}

// within gives the error of a range that is reversed or can't be reached.
func (l *Linkage) within(low, high float64) error {
	switch {
	case math.IsNaN(low) || math.IsNaN(high):
		return &TravelError{Code: notANumber}
	case low > high:
		return &TravelError{Code: rangeReversed, Travel: low, Low: l.low.z, High: l.high.z}
	case low < l.low.z:
		return l.unreachable(low)
	case high > l.high.z:
		return l.unreachable(high)
	}
	if a, ok := l.Axle(); ok {
		if err := a.apart(high, low); err != nil {
			return err
		}
		return a.apart(low, high)
	}
	return nil
}

// meets gives an error if the damper's ends meet within the range.
func (l *Linkage) meets(e extent) error {
	if e.shortest.length >= tellApart {
		return nil
	}
	if e.shortest.axle {
		return &TravelError{
			Code: endsMeetAtCorner, Travel: e.shortest.left, Right: e.shortest.right, Point: "/damper/lower",
		}
	}
	return l.endsMeet(e.shortest.left)
}

// extreme is an Extreme in mm; left is also the wheel travel of any other kind than
// an axle.
type extreme struct {
	length, left, right float64
	interior, axle      bool
}

func (e extreme) public() Extreme {
	x := Extreme{Length: unit.FromMm(e.length), Interior: e.interior}
	if e.axle {
		x.Left, x.Right = unit.FromMm(e.left), unit.FromMm(e.right)
	} else {
		x.WheelTravel = unit.FromMm(e.left)
	}
	return x
}

// extent is the two extremes over a range.
type extent struct{ shortest, longest extreme }

// sameLength is the difference in mm below which two extremes are one length,
// and the one found first, at an end, keeps its place.
const sameLength = 1e-9

func newExtent(e extreme) extent { return extent{e, e} }

func (x *extent) take(e extreme) {
	if e.length < x.shortest.length-sameLength {
		x.shortest = e
	}
	if e.length > x.longest.length+sameLength {
		x.longest = e
	}
}

// How finely extremes are looked for. Turns between samples show in the cubic
// through them, which in a suspension of usual size errs by less than 1e-7 mm
// at 3 mm from sample to sample (h⁴/384 times the fourth derivative); so a turn
// that is missed would change an extreme by no more than that.
const (
	fewest      = 201 // samples of a curve
	coarse      = 41  // samples where only the extremes are wanted, or more:
	apartAtMost = 3.0 // mm
)

// trace is a linkage sampled at even steps over a range, and the places between
// the samples where the damper turns from shortening to lengthening or back.
type trace struct {
	// solve gives the damper at a wheel travel within the range from a pose
	// near it.
	solve   func(z float64, near pose) state
	samples []state
	turns   []state
}

// trace samples n ≥ 2 wheel travels from low to high, both within reach. The
// samples are taken upwards, each from the pose before it.
func (l *Linkage) trace(low, high float64, n int) trace {
	t := trace{solve: l.solve, samples: make([]state, n)}
	var near pose
	for i := range t.samples {
		// Exactly low and high at the ends.
		f := float64(i) / float64(n-1)
		s := l.solve(low*(1-f)+high*f, near)
		t.samples[i], near = s, s.pose
	}
	t.findTurns()
	return t
}

// findTurns finds the turns between the samples, and those that a sample stands on.
func (t *trace) findTurns() {
	for i := range len(t.samples) - 1 {
		t.between(t.samples[i], t.samples[i+1])
		// A sample may stand on a turn itself.
		if s := t.samples[i]; i > 0 && s.ratio == 0 && opposite(t.samples[i-1].ratio, t.samples[i+1].ratio) {
			t.turns = append(t.turns, s)
		}
	}
}

// between looks for turns between two neighbouring samples. A change of sign of
// the motion ratio is one; two that lie between the same samples show in the
// cubic through their lengths and slopes, and are then looked at in turn.
func (t *trace) between(a, b state) {
	if opposite(a.ratio, b.ratio) {
		t.turn(a, b)
		return
	}
	at, n := hermite(a, b).stationary()
	if n < 2 {
		return
	}
	mid := t.solve(a.z+(b.z-a.z)*(at[0]+at[1])/2, a.pose)
	if opposite(a.ratio, mid.ratio) {
		t.turn(a, mid)
		t.turn(mid, b)
	}
}

func opposite(p, q float64) bool { return p < 0 && q > 0 || p > 0 && q < 0 }

// turnTolerance is how near in mm of wheel travel a turn is found. There the
// length is flat: its error is the square of this over a length of damper.
const turnTolerance = 1e-6

func (t *trace) turn(a, b state) {
	last := a
	z := root(func(z float64) float64 {
		last = t.solve(z, a.pose)
		return last.ratio
	}, a.z, a.ratio, b.z, b.ratio, turnTolerance)
	if last.z != z {
		last = t.solve(z, a.pose)
	}
	t.turns = append(t.turns, last)
}

// extent gives the extremes. The ends of the range are taken first, and keep their
// place if a length between them is equal.
func (t *trace) extent() extent {
	n := len(t.samples)
	end := func(i int) extreme {
		return extreme{length: t.samples[i].length, left: t.samples[i].z}
	}
	x := newExtent(end(0))
	x.take(end(n - 1))
	for i := 1; i < n-1; i++ {
		x.take(extreme{length: t.samples[i].length, left: t.samples[i].z, interior: true})
	}
	for _, s := range t.turns {
		x.take(extreme{length: s.length, left: s.z, interior: true})
	}
	return x
}

// ratios gives the least and greatest motion ratio.
func (t *trace) ratios() (least, most float64) {
	lo, hi := 0, 0
	for i, s := range t.samples {
		if s.ratio < t.samples[lo].ratio {
			lo = i
		}
		if s.ratio > t.samples[hi].ratio {
			hi = i
		}
	}
	return -t.summit(lo, -1), t.summit(hi, +1)
}

// summit gives the greatest motion ratio times way about the sample i, which
// has the greatest of all, by golden section between its neighbours to a
// thousandth of their distance. (Interpolation would need fewer solutions, but
// near the end of a linkage's reach the ratio has peaks that no parabola fits.)
func (t *trace) summit(i int, way float64) float64 {
	best := way * t.samples[i].ratio
	ratio := func(z float64) float64 {
		r := way * t.solve(z, t.samples[i].pose).ratio
		best = max(best, r)
		return r
	}
	lo, hi := t.samples[max(0, i-1)].z, t.samples[min(len(t.samples)-1, i+1)].z
	const golden = 1 / math.Phi
	x, y := hi-golden*(hi-lo), lo+golden*(hi-lo)
	atX, atY := ratio(x), ratio(y)
	for end := (hi - lo) / 1000; hi-lo > end; {
		if atX > atY {
			hi, y, atY = y, x, atX
			x = hi - golden*(hi-lo)
			atX = ratio(x)
		} else {
			lo, x, atX = x, y, atY
			y = lo + golden*(hi-lo)
			atY = ratio(y)
		}
	}
	return best
}
