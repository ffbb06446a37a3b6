package linkage

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"midstroke/internal/fault"
)

// Shift is one mount of a damper moved along the line on which the damper
// stands where the linkage was measured.
type Shift struct {
	Mount Mount
	// Apart is how far in mm it moves away from the other mount; towards it
	// where negative. The damper there is then longer by just that.
	Apart float64
}

// Vector is how the mount's point moves, in mm: what [Linkage.Move] takes.
func (s *Sweep) Vector(shift Shift) r3.Vec {
	far := shift.Apart
	if shift.Mount == LowerMount {
		far = -far
	}
	return r3.Scale(far, s.linkage.Direction())
}

// Shifted is a sweep with one mount moved.
type Shifted struct {
	Shortest, Longest Extreme
	// MotionRatio is that at ride.
	MotionRatio float64
}

// Shifted gives what [Linkage.Move] by Vector and Sweep over the same range
// would, without solving the linkage again. The error tells that the damper's
// ends would meet, or that its lower one would lie on the axis of its arm.
func (s *Sweep) Shifted(shift Shift) (Shifted, error) {
	l := s.linkage
	if shift.Mount == LowerMount && l.motion.holding(l.upper, r3.Add(l.lower, s.Vector(shift))) == nil {
		return Shifted{}, fault.List{onAxis()}
	}
	x := s.shifted(shift)
	if err := l.meets(x); err != nil {
		return Shifted{}, err
	}
	line, turning := s.alongAt(shift.Mount, &s.atRide)
	return Shifted{s.public(x.shortest), s.public(x.longest), s.atRide.state(line, turning, shift.Apart).ratio}, nil
}

// shifted gives the extremes with one mount moved.
func (s *Sweep) shifted(shift Shift) extent {
	if a, ok := s.linkage.motion.(axle); ok {
		upper, lower, v := s.linkage.upper, s.linkage.lower, s.Vector(shift)
		if shift.Mount == UpperMount {
			upper = r3.Add(upper, v)
		} else {
			lower = r3.Add(lower, v)
		}
		a = a.held(upper, lower)
		return a.overSquare(s.low, s.high)
	}
	t := &s.moved
	t.solve = func(z float64, near pose) state {
		at := s.station(z, near)
		line, turning := s.alongAt(shift.Mount, &at)
		return at.state(line, turning, shift.Apart)
	}
	t.samples, t.turns = t.samples[:0], t.turns[:0]
	for i := range s.stations {
		line, turning := s.alongAt(shift.Mount, &s.stations[i])
		t.samples = append(t.samples, s.stations[i].state(line, turning, shift.Apart))
	}
	t.look()
	return t.extent()
}

// alongAt is the line that a mount is moved along, at a station: one that
// stands still for the upper mount, and one that turns with its part for the
// lower.
func (s *Sweep) alongAt(m Mount, at *station) (line, turning r3.Vec) {
	if m == LowerMount {
		return at.line, at.turning
	}
	return s.line, r3.Vec{}
}

// LeastShift gives how far a mount must be moved, at least and at most enough
// mm, so that the damper's length stays within least to most mm over the range:
// away from the other mount where apart, else towards it. It is 0 where it does
// so already; ok is false where no such move does it.
//
// With r the damper at some place of the range and e the unit vector that r
// loses for each mm moved, its length is |r - d e|, which is convex in d and
// changes by no more than d. So while one place has a length outside the limits,
// nothing can be right before the d at which that length comes back inside,
//
//	d = p ± √(limit² - |r|² + p²),  p = r·e,
//
// + at the lower limit and - at the upper one. Going on to that d, looking for
// the worst place anew and so forth passes no solution and ends at the first.
// Derived here.
func (s *Sweep) LeastShift(m Mount, apart bool, least, most, enough float64) (by float64, ok bool) {
	way := 1.0
	if !apart {
		way = -1
	}
	x := s.extent
	const mostSteps = 100 // far more than were ever seen
	for range mostSteps {
		var at extreme
		var limit, side float64
		switch {
		case x.shortest.length < least-sameLength:
			at, limit, side = x.shortest, least, +1
		case x.longest.length > most+sameLength:
			at, limit, side = x.longest, most, -1
		default:
			return by, true
		}
		r, line := s.place(m, at)
		p := way * r3.Dot(r, line)
		under := limit*limit - r3.Norm2(r) + p*p
		if !(under >= 0) {
			return 0, false
		}
		next := p + side*math.Sqrt(under)
		if !(next > by && next <= enough) {
			return 0, false
		}
		by = next
		x = s.shifted(Shift{m, way * by})
	}
	return 0, false
}

// place gives the damper, its mounts unmoved, and the line that a mount is moved
// along, where an extreme lies.
func (s *Sweep) place(m Mount, e extreme) (damper, line r3.Vec) {
	if a, ok := s.linkage.motion.(axle); ok {
		pose := a.corner(e.left, e.right)
		damper = a.damper(pose)
		if m == UpperMount {
			return damper, s.line
		}
		return damper, pose.turn(s.line)
	}
	at := s.near(e.left)
	line, _ = s.alongAt(m, &at)
	return at.damper, line
}

// near gives the station at a wheel travel within the range.
func (s *Sweep) near(z float64) station {
	best := &s.atRide
	for i := range s.stations {
		if at := &s.stations[i]; math.Abs(at.z-z) < math.Abs(best.z-z) {
			best = at
		}
	}
	if math.Abs(best.z-z) == 0 {
		return *best
	}
	return s.station(z, best.pose)
}

// Plain says that, for either mount, moving it apart by up to enough mm makes
// the damper nowhere shorter that counts, and together nowhere longer: then the
// greatest length cannot fall in moving apart nor the least rise in moving
// together, and a damper that is out both ways is beyond help. It is so but
// where the damper turns by about a right angle over the range.
//
// With c the cosine between the damper and the line it is moved along, the
// length L at a place is √(L² + 2cLd + d²) once moved apart by d and
// √(L² - 2cLd + d²) once moved together: no less than L for c ≥ 0, and no more
// for d ≤ 2cL.
func (s *Sweep) Plain(enough float64) bool {
	for _, m := range [2]Mount{UpperMount, LowerMount} {
		r, line := s.place(m, s.extent.longest)
		if r3.Dot(r, line) > 0 {
			return false
		}
		if r, line = s.place(m, s.extent.shortest); -2*r3.Dot(r, line) < enough {
			return false
		}
	}
	return true
}
