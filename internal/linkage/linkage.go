package linkage

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"midstroke/internal/fault"
	"midstroke/internal/unit"
)

// motion is how a suspension carries the damper's lower end. All differences between
// the kinds are in it.
type motion interface {
	// carry gives where wheel travel z, which lies within reach, puts the
	// damper's lower end, in mm, and how far it moves there for each mm of
	// wheel travel. near is any pose already known, ride height being the zero
	// pose; a nearer one saves work and changes nothing.
	carry(z float64, near pose) (at, per r3.Vec, here pose)
	// carryBoth is carry for two points of the same part: here for the damper's
	// lower end, and there for that of other, which holding made.
	carryBoth(other motion, z float64, near pose) (a, b carriage, here pose)
	// reach gives the lowest and the highest wheel travel.
	reach() (low, high end)
	// holding is the same motion with the damper's ends elsewhere at ride; nil
	// where the lower one lies on the axis of its arm.
	holding(upper, lower r3.Vec) motion
}

// pose is a solved position of a linkage, from which the next one is solved.
type pose struct {
	z     float64 // wheel travel, mm
	angle float64 // of the arm that drives the solution, rad
	slope float64 // d angle/dz, rad/mm; 0 where the kind needs no iteration
}

// carriage is where a point is carried and how far it moves there for each mm
// of wheel travel.
type carriage struct{ at, per r3.Vec }

// end is one end of what a linkage can reach.
type end struct {
	z      float64
	at     string     // the pointer of the point that ends the travel
	reason fault.Code // one of the unreachable codes
}

// Linkage gives the length of one damper over the travel of its wheel. It is
// immutable and safe for concurrent use.
type Linkage struct {
	kind         Kind
	motion       motion
	upper, lower r3.Vec // the damper's ends at ride, mm
	bolts        bolts
	low, high    end
	planar       bool
	carried      []carriedPoint
}

// New gives the linkage of s. Its faults point into s; all that can be found
// are found at once.
func New(s Spec) (*Linkage, fault.List) {
	at, faults := check(&s)
	if len(faults) > 0 {
		return nil, faults
	}
	l := &Linkage{
		kind: s.Kind, planar: s.planar(),
		upper: at["/damper/upper"], lower: at["/damper/lower"],
	}
	if !apart(l.upper, l.lower) {
		faults.Add("/damper/lower", noLength)
	}
	l.bolts = newBolts(&s, r3.Sub(l.upper, l.lower), &faults)
	l.motion = s.layout().motion(at, &s, &faults)
	if len(faults) > 0 {
		return nil, faults
	}
	l.low, l.high = l.motion.reach()
	l.carried = s.layout().carriedPoints(at)
	return l, nil
}

// At gives the damper's length in mm and its motion ratio at wheel travel z in
// mm, positive up. For an axle z is pure heave: both wheels alike.
//
// It allocates nothing. The error is a [*TravelError] where z is not a number
// or cannot be reached, or where the damper's ends meet there.
func (l *Linkage) At(z float64) (length, motionRatio float64, err error) {
	if !(z >= l.low.z && z <= l.high.z) {
		return 0, 0, l.unreachable(z)
	}
	s := l.solve(z, pose{})
	if s.length < tellApart {
		return 0, 0, l.endsMeet(z)
	}
	return s.length, s.ratio, nil
}

// RatioInRoll is an axle's motion ratio over the travel of the wheel on the damper's
// side, while the other wheel moves as far the other way; 0 for other kinds.
func (l *Linkage) RatioInRoll() float64 {
	if a, ok := l.motion.(axle); ok {
		return a.rollRatio()
	}
	return 0
}

// state is the damper at one wheel travel.
type state struct {
	z, length, ratio float64
	pose             pose
}

// solve is At for a z within reach, from a pose near it.
func (l *Linkage) solve(z float64, near pose) state {
	p, per, here := l.motion.carry(z, near)
	r := r3.Sub(p, l.upper)
	n := length(r)
	return state{z: z, length: n, ratio: -r3.Dot(r, per) / n, pose: here}
}

// Reach gives the lowest and highest wheel travel in mm that the linkage can
// be moved to from ride without being taken apart, at most 10 m either way. It stops
// short of positions where links stand in one line, because the motion ratio has no
// bound there.
func (l *Linkage) Reach() (low, high float64) { return l.low.z, l.high.z }

// Direction is the unit vector at ride from the damper's lower end to its
// upper one.
func (l *Linkage) Direction() r3.Vec {
	d := r3.Sub(l.upper, l.lower)
	return r3.Scale(1/length(d), d)
}

// PointRounding is by how much a coordinate of a linkage's point may be off because it
// was taped and rounded: half of a tape's graduation of 1/16 in (common practice, no
// source).
const PointRounding = unit.Inch / 32

// LengthRounding is by how much the rounding of both mounts' coordinates may make the
// damper's length at ride wrong, to first order: with the damper's direction n and each
// coordinate off by a in the least favourable way,
//
//	2 a (|n_x| + |n_y| + |n_z|).
func (l *Linkage) LengthRounding() unit.Length {
	n := l.Direction()
	return unit.FromMm(2 * PointRounding.Mm() * (math.Abs(n.X) + math.Abs(n.Y) + math.Abs(n.Z)))
}

// Mount is one of the two ends of a damper.
type Mount uint8

// The mounts.
const (
	UpperMount Mount = iota // on the body
	LowerMount              // on what moves
)

// Move gives the linkage with one mount moved by v in mm, everything else as
// it is. It is far cheaper than New, because the suspension itself stays. A planar
// linkage ignores v.X. Moved along [Linkage.Direction], the upper
// mount by +d or the lower by -d makes the damper at ride longer by exactly d.
//
// There is an error where the damper's ends meet then, or where its lower end lies
// on the axis of its arm and never moves.
func (l *Linkage) Move(m Mount, v r3.Vec) (*Linkage, error) {
	if l.planar {
		v.X = 0
	}
	moved := *l
	if m == UpperMount {
		moved.upper = r3.Add(l.upper, v)
	} else {
		moved.lower = r3.Add(l.lower, v)
	}
	if !apart(moved.upper, moved.lower) {
		return nil, fault.List{fault.New("/damper/lower", noLength)}
	}
	moved.motion = l.motion.holding(moved.upper, moved.lower)
	if moved.motion == nil {
		return nil, fault.List{fault.New("/damper/lower", damperOnAxis)}
	}
	moved.low, moved.high = moved.motion.reach()
	return &moved, nil
}
