package linkage

import (
	"math"

	"midstroke/internal/unit"
)

// Stop is a wheel travel by which something must end the movement.
type Stop struct {
	WheelTravel unit.Length
	// Found is false where nothing has to stop the wheel: the linkage itself ends
	// first, or the damper's length stays within its limits.
	Found bool
}

// SolidBy gives the first wheel travel above ride at which the damper's length
// leaves the limits least to most in mm: a bump stop must be solid by then. The
// caller takes its reserve off the damper's own lengths first. The travel may lie
// outside the range.
//
// For an axle the other wheel may be anywhere: the travel is the largest with which
// the damper stays within the limits over the whole square of left and right travels
// from the range's droop up to it. Where the range itself is too much, it is first
// shrunk about ride until it isn't.
//
// ok is false where the damper is outside the limits at ride.
func (s *Sweep) SolidBy(least, most float64) (stop Stop, ok bool) {
	return s.stop(limits{least, most}, +1)
}

// TightBy is SolidBy for the first wheel travel below ride, negative: by then a
// strap must be tight. An axle's other wheel may be anywhere up to the range's
// bump.
func (s *Sweep) TightBy(least, most float64) (stop Stop, ok bool) {
	return s.stop(limits{least, most}, -1)
}

// stopTolerance is by how many mm the damper's length at a stop may be off: what a stop is
// found to and rounded to, with a margin.
const stopTolerance = 10 * turnTolerance

// limits are the least and the greatest length of a damper, mm.
type limits struct{ least, most float64 }

// spare is how far the lengths from shortest to longest are from the limits;
// negative beyond.
func (l limits) spare(shortest, longest float64) float64 {
	return min(shortest-l.least, l.most-longest)
}

func (s *Sweep) stop(l limits, way float64) (Stop, bool) {
	ride, _ := s.Ride()
	if l.spare(ride, ride) < 0 {
		return Stop{}, false
	}
	z, found := 0.0, false
	if a, ok := s.linkage.motion.(axle); ok {
		z, found = s.axleStop(&a, l, way)
	} else {
		z, found = s.leaves(l, way)
	}
	if !found {
		return Stop{}, true
	}
	return Stop{unit.FromMm(z - s.ride), true}, true
}

// stride is the step in mm in which a stop is looked for beyond the range.
// Turns between two steps show in the cubic through them.
const stride = 10

// leaves goes from ride outwards and finds where the damper's length first
// leaves the limits.
func (s *Sweep) leaves(l limits, way float64) (float64, bool) {
	a := s.samples[s.home]
	for i := 1; ; i++ {
		b, ok := s.outwards(i, way)
		if !ok {
			return 0, false
		}
		if z, found := s.linkage.crossing(a, b, l); found {
			return z, true
		}
		a = b
	}
}

// outwards gives the i-th sample from ride one way: those of the range, and
// then others in strides to the end of what can be reached.
func (s *Sweep) outwards(i int, way float64) (state, bool) {
	side, within, end := 0, s.home, s.linkage.low.z
	if way > 0 {
		side, within, end = 1, len(s.samples)-1-s.home, s.linkage.high.z
	}
	if i <= within {
		return s.samples[s.home+i*int(way)], true
	}
	past := i - within - 1
	for len(s.beyond[side]) <= past {
		last := s.samples[s.home+within*int(way)]
		if n := len(s.beyond[side]); n > 0 {
			last = s.beyond[side][n-1]
		}
		if last.z == end {
			return state{}, false
		}
		z := last.z + way*stride
		if (end-z)*way < 0 {
			z = end
		}
		s.beyond[side] = append(s.beyond[side], s.linkage.solve(z, last.pose))
	}
	return s.beyond[side][past], true
}

// crossing finds where the damper leaves the limits between a, where it is
// inside, and b.
func (l *Linkage) crossing(a, b state, within limits) (float64, bool) {
	at, n := hermite(a, b).stationary()
	for _, t := range append(at[:n:n], 1) {
		s := b
		if t < 1 {
			s = l.solve(a.z+t*(b.z-a.z), a.pose)
		}
		switch {
		case s.length > within.most:
			return l.passes(a, s, within.most), true
		case s.length < within.least:
			return l.passes(a, s, within.least), true
		}
	}
	return 0, false
}

// hermite is the cubic through two states, from 0 at a to 1 at b.
func hermite(a, b state) cubic {
	h := b.z - a.z
	return cubic{y0: a.length, y1: b.length, d0: -a.ratio * h, d1: -b.ratio * h}
}

// passes gives where the damper has a length that lies between its lengths at
// a and at b: where the cubic has it, corrected by one step of Newton's method.
func (l *Linkage) passes(a, b state, length float64) float64 {
	c := hermite(a, b)
	t := root(func(t float64) float64 { return c.at(t) - length }, 0, c.y0-length, 1, c.y1-length, 1e-9)
	s := l.solve(a.z+t*(b.z-a.z), a.pose)
	// Newton's error is half the curvature over the slope, times the square of
	// the step: after so short a step it is negligible even near a turn.
	const short = 1e-4 // mm
	if step := (s.length - length) / s.ratio; math.Abs(step) <= short {
		return s.z + step
	}
	return root(func(z float64) float64 { return l.solve(z, a.pose).length - length },
		a.z, a.length-length, b.z, b.length-length, turnTolerance)
}

// axleStop finds how far one end of the square of left and right travels may
// go out. A larger square holds the smaller one, so what a square has to spare
// only ever falls as it grows.
func (s *Sweep) axleStop(a *axle, l limits, way float64) (float64, bool) {
	square := func(low, high float64) (extent, float64) {
		e := a.overSquare(low, high)
		return e, l.spare(e.shortest.length, e.longest.length)
	}
	low, high := s.low, s.high
	left := l.spare(s.extent.shortest.length, s.extent.longest.length)
	if left < 0 {
		shrunk := func(f float64) (low, high float64) { return s.ride + f*(s.low-s.ride), s.ride + f*(s.high-s.ride) }
		spare := func(f float64) float64 {
			_, spare := square(shrunk(f))
			return spare
		}
		f := root(spare, 0, spare(0), 1, left, turnTolerance)
		// Slightly less than f, by more than its error, so that the other end has
		// something to spare.
		low, high = shrunk(max(0, f-2*turnTolerance))
		_, left = square(low, high)
	}
	// Either wheel may be the higher one, up to the axle's largest difference.
	lowest, highest := a.tilt.span()
	widest := min(-lowest, highest)
	o := outer{axle: a, limits: l, still: low, end: min(low+widest, a.high.z)}
	from := high
	if way < 0 {
		o.still, o.end = high, max(high-widest, a.low.z)
		from = low
	}
	return o.last(from, left)
}

// Together moves an axle's bump stop and strap closer to ride until one wheel may be
// at the one and the other wheel at the other: no travels between the two take the
// damper outside the limits, mm. (Each was found with the other wheel within the
// range.) Both move by the same share of their way to the range, or to ride where the
// range itself is too much. A stop that wasn't Found counts as the end of what can be
// reached, and becomes a stop if it has to move. Any other linkage has one wheel, so
// its stops stay as they are.
func (s *Sweep) Together(solid, tight Stop, least, most float64) (_, _ Stop) {
	a, ok := s.linkage.motion.(axle)
	if !ok {
		return solid, tight
	}
	far := limits{a.low.z, a.high.z}
	if tight.Found {
		far.least = s.ride + tight.WheelTravel.Mm()
	}
	if solid.Found {
		far.most = s.ride + solid.WheelTravel.Mm()
	}
	lowest, highest := a.tilt.span()
	widest := min(-lowest, highest)
	// Each stop has nothing to spare by itself, and was rounded: that alone is no reason
	// to move it.
	within := limits{least - stopTolerance, most + stopTolerance}
	spare := func(square limits) float64 {
		if square.most-square.least > widest {
			return -(square.most - square.least - widest) // the wheels can't be so far apart
		}
		e := a.overSquare(square.least, square.most)
		return within.spare(e.shortest.length, e.longest.length)
	}
	left := spare(far)
	if left >= 0 {
		return solid, tight
	}
	near := limits{max(far.least, s.low), min(far.most, s.high)}
	inside := spare(near)
	if inside < 0 {
		far, left = near, inside
		near = limits{s.ride, s.ride}
		if inside = spare(near); inside < 0 {
			return solid, tight
		}
	}
	drawn := func(f float64) limits {
		return limits{near.least + f*(far.least-near.least), near.most + f*(far.most-near.most)}
	}
	f := root(func(f float64) float64 { return spare(drawn(f)) }, 0, inside, 1, left, turnTolerance)
	at := drawn(max(0, f-2*turnTolerance)) // slightly less, by more than the error of f
	return Stop{unit.FromMm(at.most - s.ride), true}, Stop{unit.FromMm(at.least - s.ride), true}
}

// outer is a square of left and right travels, one end of which moves out.
type outer struct {
	axle       *axle
	limits     limits
	still, end float64
}

// spare gives what the square to z has to spare, and the extreme that is
// nearest its limit.
func (o *outer) spare(z float64) (float64, extreme) {
	e := o.axle.overSquare(min(o.still, z), max(o.still, z))
	if below, above := e.shortest.length-o.limits.least, o.limits.most-e.longest.length; below < above {
		return below, e.shortest
	} else {
		return above, e.longest
	}
}

// last goes from a travel, where so much is left, outwards to the end and gives
// the last one where the square has anything to spare.
func (o *outer) last(from, left float64) (float64, bool) {
	if left < 0 { // by rounding alone
		return from, true
	}
	// A damper moves about as far as the wheel does, so the first step is what is
	// left.
	good := from
	way := math.Copysign(1.5*left+1, o.end-from)
	for good != o.end {
		bad := good + way
		if (o.end-bad)*way < 0 {
			bad = o.end
		}
		over, worst := o.spare(bad)
		if over < 0 {
			return o.between(good, left, bad, over, worst), true
		}
		good, left = bad, over
		way *= 2
	}
	return 0, false
}

// between finds where the square's spare passes zero. It follows the pose that is
// worst at bad back to where that pose is within the limits. If the whole square is
// within them there, that is the place. So few squares have to be searched.
func (o *outer) between(good, left, bad, over float64, worst extreme) float64 {
	for math.Abs(bad-good) > turnTolerance {
		spare := o.following(worst)
		atGood := spare(good)
		if !(atGood >= 0) {
			break // it is within the limits nowhere between
		}
		z := root(spare, good, atGood, bad, over, turnTolerance/4)
		spareThere, worstThere := o.spare(z)
		if spareThere >= -sameLength || math.Abs(z-bad) <= turnTolerance {
			return z
		}
		bad, over, worst = z, spareThere, worstThere
	}
	return root(func(z float64) float64 {
		spare, _ := o.spare(z)
		return spare
	}, good, left, bad, over, turnTolerance)
}

// following gives what the pose of e has to spare as the moving end comes in and
// takes with it the wheels that it reaches. Every square contains such a pose, so
// where the pose has nothing to spare neither has the square.
func (o *outer) following(e extreme) func(z float64) float64 {
	inside := func(wheel, z float64) float64 {
		if z > o.still {
			return min(wheel, z)
		}
		return max(wheel, z)
	}
	toLeast := e.length < o.limits.least
	return func(z float64) float64 {
		length := o.axle.length(o.axle.corner(inside(e.left, z), inside(e.right, z)))
		if toLeast {
			return length - o.limits.least
		}
		return o.limits.most - length
	}
}
