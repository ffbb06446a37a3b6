package linkage

import (
	"math"

	"midstroke/internal/unit"
)

// Stop is a wheel travel by which something must end the movement.
type Stop struct {
	WheelTravel unit.Length
	// Found is false where nothing need stop the wheel: the linkage itself
	// ends first, or the damper's length stays within its limits.
	Found bool
}

// Stops gives the first wheel travels above and below ride at which the
// damper's length leaves the limits least to most in mm: by the upper one a
// bump stop must be solid, by the lower one (negative) a strap must be tight.
// The caller draws its reserve off the damper's own lengths first.
//
// For an axle one wheel may be anywhere: the upper stop is the last that keeps
// the damper within the limits over the whole square of left and right travels
// from r.Droop up to it, and the lower one likewise from r.Bump down. Where r
// itself is too much, it is first shrunk as a whole until it is not. For the
// other kinds r is not used.
//
// ok is false where the damper is outside the limits at ride.
func (l *Linkage) Stops(least, most float64, r Range) (bump, droop Stop, ok bool) {
	if a, isAxle := l.motion.(axle); isAxle {
		return a.stops(least, most, r)
	}
	ride := l.solve(0, pose{})
	if ride.length < least || ride.length > most {
		return Stop{}, Stop{}, false
	}
	return l.leaves(ride, least, most, l.high.z), l.leaves(ride, least, most, l.low.z), true
}

// stride is the step in mm in which a stop is looked for. Turns between two
// steps show in the cubic through them.
const stride = 10

// leaves goes from ride towards the limit and finds where the damper's length
// first leaves least to most.
func (l *Linkage) leaves(ride state, least, most, limit float64) Stop {
	way := math.Copysign(stride, limit)
	for a := ride; a.z != limit; {
		z := a.z + way
		if (limit-z)*way < 0 {
			z = limit
		}
		b := l.solve(z, a.pose)
		if s := l.crossing(a, b, least, most); s.Found {
			return s
		}
		a = b
	}
	return Stop{}
}

// crossing finds where the damper leaves least to most between a, where it is
// inside, and b.
func (l *Linkage) crossing(a, b state, least, most float64) Stop {
	h := b.z - a.z
	c := cubic{y0: a.length, y1: b.length, d0: -a.ratio * h, d1: -b.ratio * h}
	at, n := c.stationary()
	for _, t := range append(at[:n:n], 1) {
		s := b
		if t < 1 {
			s = l.solve(a.z+t*h, a.pose)
		}
		limit := least
		switch {
		case s.length > most:
			limit = most
		case s.length >= least:
			continue
		}
		z := root(func(z float64) float64 { return l.solve(z, a.pose).length - limit },
			a.z, a.length-limit, s.z, s.length-limit, turnTolerance)
		return Stop{unit.FromMm(z), true}
	}
	return Stop{}
}

// stops is Stops for an axle. A larger square holds the smaller one, so what a
// square has to spare only ever falls as it grows.
func (a *axle) stops(least, most float64, r Range) (bump, droop Stop, ok bool) {
	// spare is how far in mm the damper is from its limits; negative beyond.
	spare := func(low, high float64) float64 {
		e := a.overSquare(low, high)
		return min(e.shortest.length-least, most-e.longest.length)
	}
	if spare(0, 0) < 0 {
		return Stop{}, Stop{}, false
	}
	low, high := -r.Droop.Mm(), r.Bump.Mm()
	if over := spare(low, high); over < 0 {
		f := root(func(f float64) float64 { return spare(f*low, f*high) }, 0, spare(0, 0), 1, over, turnTolerance)
		// A hair less than f may be out by, or nothing would be to spare for the
		// end that is not to blame.
		f = max(0, f-2*turnTolerance)
		low, high = f*low, f*high
	}
	// Either wheel may be the higher one, and they can be only so far apart.
	lowest, highest := a.tilt.span()
	widest := min(-lowest, highest)
	bump = lastWith(high, min(low+widest, a.high.z), func(z float64) float64 { return spare(low, z) })
	droop = lastWith(low, max(high-widest, a.low.z), func(z float64) float64 { return spare(z, high) })
	return bump, droop, true
}

// lastWith goes from a travel outwards to the end and gives the last one where
// spare, which falls on the way, is not below nought.
func lastWith(from, end float64, spare func(float64) float64) Stop {
	a, left := from, spare(from)
	if left < 0 { // by rounding alone
		return Stop{unit.FromMm(from), true}
	}
	// A damper moves about as far as the wheel does, so what is left says where
	// to look first.
	way := math.Copysign(1.5*left+1, end-from)
	for a != end {
		b := a + way
		if (end-b)*way < 0 {
			b = end
		}
		over := spare(b)
		if over < 0 {
			return Stop{unit.FromMm(root(spare, a, left, b, over, turnTolerance)), true}
		}
		a, left = b, over
		way *= 2
	}
	return Stop{}
}
