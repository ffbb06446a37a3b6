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
	// Apart is how far in mm it moves away from the other mount, negative for
	// towards it. The damper is then longer by exactly that where the linkage was
	// measured.
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

// Shifted gives the same as [Linkage.Move] by Vector and a Sweep over the same range,
// without solving the linkage again. There is an error where the damper's ends meet
// then, or where its lower one lies on the axis of its arm.
func (s *Sweep) Shifted(shift Shift) (Shifted, error) {
	l := s.linkage
	if shift.Mount == LowerMount && l.motion.holding(l.upper, r3.Add(l.lower, s.Vector(shift))) == nil {
		return Shifted{}, fault.List{fault.New("/damper/lower", damperOnAxis)}
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
	t.findTurns()
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
// While the length at one place of the range is outside the limits, no solution lies
// before the move that brings that length back inside: see lever.cut. So the search
// goes on to that move and looks for the worst place again. It passes no solution and
// ends at the first. Derived here.
func (s *Sweep) LeastShift(m Mount, apart bool, least, most, enough float64) (by float64, ok bool) {
	if by, ok = s.ShiftBound(m, apart, least, most, enough); !ok {
		return 0, false
	}
	way, l := wayOf(apart), limits{least, most}
	const mostSteps = 100 // far more than were ever seen
	for range mostSteps {
		x := s.shifted(Shift{m, way * by})
		at := x.shortest
		if l.least-x.shortest.length < x.longest.length-l.most {
			at = x.longest
		}
		next, ok := s.leverAt(m, at).cut(l, way, by)
		switch {
		case !ok || next > enough:
			return 0, false
		case next <= by:
			return by, true
		}
		by = next
	}
	return 0, false
}

// ShiftBound gives at little cost a lower bound of LeastShift, or that there is no
// such move: it looks only at the two places that are extreme with the mounts
// unmoved.
func (s *Sweep) ShiftBound(m Mount, apart bool, least, most, enough float64) (by float64, ok bool) {
	way, l := wayOf(apart), limits{least, most}
	const mostTurns = 10 // what is left of two places then, LeastShift finds
	for range mostTurns {
		before := by
		for i := range s.ends[m] {
			next, ok := s.ends[m][i].cut(l, way, by)
			if !ok || next > enough {
				return 0, false
			}
			by = next
		}
		if by <= before {
			break
		}
	}
	return by, true
}

func wayOf(apart bool) float64 {
	if apart {
		return 1
	}
	return -1
}

// lever is how a move of a mount changes the length at a place of the range: with r
// the damper there, its mounts unmoved, and e the unit vector that r loses for each
// mm moved apart, along is r·e and square |r|².
type lever struct{ along, square float64 }

func newLever(r, line r3.Vec) lever { return lever{r3.Dot(r, line), r3.Norm2(r)} }

// cut gives the least move, not less than by, at which the damper has a length
// within the limits at this place; ok is false where there is none.
//
// The length after a move d is |r ∓ d e|, which is convex in d. It is below the
// lower limit between the two roots of |r ∓ d e| = limit, and above the upper
// one outside them:
//
//	d = p ± √(limit² - |r|² + p²),  p = ±r·e.
func (v lever) cut(l limits, way, by float64) (next float64, ok bool) {
	p := way * v.along
	length := math.Sqrt(max(0, v.square+by*(by-2*p)))
	switch {
	case length < l.least-sameLength:
		return p + math.Sqrt(max(0, l.least*l.least-v.square+p*p)), true
	case length > l.most+sameLength:
		under := l.most*l.most - v.square + p*p
		if !(under >= 0) || l.most < 0 {
			return 0, false
		}
		next = p - math.Sqrt(under)
		return next, next > by
	}
	return by, true
}

// leverAt gives the lever of a mount where an extreme lies.
func (s *Sweep) leverAt(m Mount, e extreme) lever {
	if a, ok := s.linkage.motion.(axle); ok {
		pose := a.corner(e.left, e.right)
		if m == UpperMount {
			return newLever(a.damper(pose), s.line)
		}
		return newLever(a.damper(pose), pose.turn(s.line))
	}
	at := s.near(e.left)
	line, _ := s.alongAt(m, &at)
	return newLever(at.damper, line)
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

// Plain says that, for either mount, moving it apart by up to enough mm makes the
// damper shorter nowhere, and moving it together longer nowhere. Then the greatest
// length can't fall when a mount is moved apart, nor the least rise when it is moved
// together, so no move helps a damper that is outside the limits both ways. It holds
// unless the damper turns by about a right angle over the range.
//
// With c the cosine between the damper and the line it is moved along, the
// length L at a place is √(L² + 2cLd + d²) once moved apart by d and
// √(L² - 2cLd + d²) once moved together: no less than L for c ≥ 0, and no more
// for d ≤ 2cL.
func (s *Sweep) Plain(enough float64) bool {
	for _, at := range s.ends {
		if atShortest, atLongest := at[0], at[1]; atLongest.along > 0 || -2*atShortest.along < enough {
			return false
		}
	}
	return true
}
