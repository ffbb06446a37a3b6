package linkage

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"midstroke/internal/note"
)

// Sweep is a linkage solved over one range of wheel travel. It answers at little
// cost: the extremes of the damper's length,
// the same with one of its mounts moved along the damper, and where the travel
// must end for dampers of different lengths.
//
// Wheel travels that come out of it count from its own ride height, which need
// not be the one that the linkage was measured at. It is not safe for
// concurrent use.
type Sweep struct {
	linkage         *Linkage
	ride, low, high float64 // mm, on the linkage's own count

	line   r3.Vec // Direction
	second motion // holding a point that lies apart mm along it
	apart  float64

	atRide   station
	stations []station // from low to high; none for an axle
	samples  []state   // the same, mounts unmoved
	home     int       // the place of ride among them
	turns    []state   // in pure heave for an axle
	extent   extent
	ends     [2][2]lever // by mount, where it is shortest and longest

	beyond [2][]state // below low and above high, as far as anybody asked
	moved  trace      // kept for its room
}

// station is the damper at one wheel travel, with what its mounts do there.
type station struct {
	z float64
	// damper is the damper's lower end from its upper one, and per its
	// derivative by z.
	damper, per r3.Vec
	// line is the direction of the damper's line at ride, turned with the part that
	// carries the lower end, and turning its derivative by z.
	line, turning r3.Vec
	pose          pose
}

// stationsApart is how far in mm stations lie apart at first, two for each step;
// and interpolated how near in mm a cubic between two neighbours must come to
// the path of the damper's lower end, or there is another between them, down to
// nearest.
const (
	stationsApart = 20.0
	interpolated  = 1e-5
	nearest       = 0.5
)

// Sweep takes the linkage over r about a ride height, which is a wheel travel
// in mm on the linkage's own count. The error is a [*TravelError], on that
// count too, where an end cannot be reached or the damper's ends meet on the
// way; r may have no travel but must not be negative.
func (l *Linkage) Sweep(ride float64, r Range) (*Sweep, error) {
	s := &Sweep{
		linkage: l, line: l.Direction(),
		ride: ride, low: ride - r.Droop.Mm(), high: ride + r.Bump.Mm(),
	}
	if err := l.within(s.low, s.high); err != nil {
		return nil, err
	}
	// Two points of a moving part tell how a line that is fixed to it turns. One
	// of the two candidates for the second point may lie on the axis of its arm.
	for _, s.apart = range [2]float64{100, -100} {
		s.second = l.motion.holding(l.upper, r3.Add(l.lower, r3.Scale(s.apart, s.line)))
		if s.second != nil {
			break
		}
	}
	s.atRide = s.station(ride, pose{})
	if a, ok := l.motion.(axle); ok {
		s.extent = a.overSquare(s.low, s.high)
		if level := l.upper.Z - l.lower.Z; level > s.low && level < s.high {
			s.turns = []state{l.solve(level, pose{})}
		}
	} else {
		s.sample()
	}
	if err := l.meets(s.extent); err != nil {
		return nil, err
	}
	for _, m := range [2]Mount{UpperMount, LowerMount} {
		s.ends[m] = [2]lever{s.leverAt(m, s.extent.shortest), s.leverAt(m, s.extent.longest)}
	}
	return s, nil
}

func (s *Sweep) station(z float64, near pose) station {
	a, b, here := s.linkage.motion.carryBoth(s.second, z, near)
	return station{
		z: z, pose: here,
		damper: r3.Sub(a.at, s.linkage.upper), per: a.per,
		line: r3.Scale(1/s.apart, r3.Sub(b.at, a.at)), turning: r3.Scale(1/s.apart, r3.Sub(b.per, a.per)),
	}
}

// sample takes the stations. The range is split at ride, so that one stands there.
func (s *Sweep) sample() {
	below, above := parts(s.ride-s.low), parts(s.high-s.ride)
	s.stations = make([]station, 0, 2*(below+above)+3)
	from := s.station(s.low, s.atRide.pose)
	s.stations = append(s.stations, from)
	for i := 1; i <= below+above; i++ {
		z := s.ride + (s.high-s.ride)*float64(i-below)/float64(max(1, above))
		if i <= below {
			z = s.ride - (s.ride-s.low)*float64(below-i)/float64(below)
		}
		if i == below+above {
			z = s.high // rounding may have missed it
		}
		to := s.station(z, from.pose)
		s.fill(&from, &to)
		s.stations = append(s.stations, to)
		if i == below {
			s.home = len(s.stations) - 1
		}
		from = to
	}
	t := trace{solve: s.linkage.solve, samples: make([]state, len(s.stations))}
	for i := range s.stations {
		t.samples[i] = s.stations[i].state(r3.Vec{}, r3.Vec{}, 0)
	}
	t.findTurns()
	s.samples, s.turns, s.extent = t.samples, t.turns, t.extent()
}

// parts is into how many steps a stretch of travel is divided.
func parts(stretch float64) int { return int(math.Ceil(stretch / stationsApart)) }

// fill takes the stations between two neighbours: one, or more where a cubic isn't
// close enough. A cubic over half the way errs by a sixteenth of one over the
// whole.
func (s *Sweep) fill(a, b *station) {
	h := b.z - a.z
	m := s.station(a.z+h/2, a.pose)
	guess := r3.Add(r3.Scale(0.5, r3.Add(a.damper, b.damper)), r3.Scale(h/8, r3.Sub(a.per, b.per)))
	if length(r3.Sub(guess, m.damper)) <= 16*interpolated || h <= 2*nearest {
		s.stations = append(s.stations, m)
		return
	}
	s.fill(a, &m)
	s.stations = append(s.stations, m)
	s.fill(&m, b)
}

// state is the damper with its mounts farther apart by mm along a line, which
// turns as given.
func (s *station) state(line, turning r3.Vec, apart float64) state {
	r := r3.Sub(s.damper, r3.Scale(apart, line))
	n := length(r)
	return state{
		z: s.z, length: n, pose: s.pose,
		ratio: -r3.Dot(r, r3.Sub(s.per, r3.Scale(apart, turning))) / n,
	}
}

// Ride gives the damper's length in mm and its motion ratio at ride.
func (s *Sweep) Ride() (length, motionRatio float64) {
	at := s.atRide.state(r3.Vec{}, r3.Vec{}, 0)
	return at.length, at.ratio
}

// Extremes gives the damper's least and greatest length over the range, as
// [Linkage.Extremes] does.
func (s *Sweep) Extremes() (shortest, longest Extreme) {
	return s.public(s.extent.shortest), s.public(s.extent.longest)
}

// public counts from ride.
func (s *Sweep) public(e extreme) Extreme {
	e.left, e.right = e.left-s.ride, e.right-s.ride
	return e.public()
}

// Cautions gives the cautions that [Linkage.Travel] gives for the same range.
func (s *Sweep) Cautions() []note.Note {
	shortest, longest := s.Extremes()
	return s.linkage.cautions(shortest, longest, s.turns, s.ride)
}
