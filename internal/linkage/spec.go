package linkage

import (
	"slices"

	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// Part names the part of a double wishbone that carries the damper's lower
// end.
type Part string

// The parts that may carry a damper. An empty Part means LowerArm.
const (
	LowerArm Part = "lower_arm"
	UpperArm Part = "upper_arm"
	Upright  Part = "upright"
)

var damperParts = []Part{LowerArm, UpperArm, Upright}

// Parts lists the parts that may carry a damper by their names in requests.
func Parts() []string {
	names := make([]string, len(damperParts))
	for i, p := range damperParts {
		names[i] = string(p)
	}
	return names
}

// ParsePart finds a part by its name.
func ParsePart(name string) (Part, bool) { return Part(name), slices.Contains(damperParts, Part(name)) }

// Point is a place at ride height: [x, y, z], or [y, z] for a planar double
// wishbone. nil means that it was not given.
type Point []unit.Length

// Direction is [x, y, z] of any length, nil where it was not given.
type Direction []float64

// Spec is a suspension as it was measured, at ride height. Which points it
// needs depends on its kind; one that its kind does not have is a fault.
type Spec struct {
	Kind   Kind
	Damper Damper

	// PivotA and PivotB are two points on a swing arm's axis, in either order.
	PivotA, PivotB Point
	// Wheel is the wheel centre of a swing arm or a double wishbone.
	Wheel Point

	// RollPoint rides with a solid axle, which rolls about the line along x
	// through it.
	RollPoint Point
	// Wheels are the wheel centres of a solid axle, left being the one of
	// greater y. They need not be symmetric about the roll point.
	Wheels Wheels

	LowerArm, UpperArm Arm
	// TieRod makes a double wishbone spatial; without it the wishbone is
	// planar.
	TieRod TieRod

	// UpperAxis and LowerAxis are the directions of the bolts through the damper's
	// eyes at ride height, one way or the other. The upper one stands still with
	// the body. The lower one turns with the part that carries it.
	UpperAxis, LowerAxis Direction
}

// Damper is where a damper is attached: Upper on the body, Lower on what
// moves.
type Damper struct {
	Upper, Lower Point
	// On is for a double wishbone alone.
	On Part
}

// Wheels are the two wheel centres of a solid axle.
type Wheels struct{ Left, Right Point }

// Arm is one arm of a double wishbone. In space it turns about the line
// through Front and Rear; in the plane about Inner.
type Arm struct{ Front, Rear, Inner, Outer Point }

// TieRod holds the upright's steering: Inner on the body, Outer on the
// upright.
type TieRod struct{ Inner, Outer Point }

// named is a point with its JSON pointer in the request.
type named struct {
	pointer string
	point   Point
}

// word is the point's name in a fault; the message files say what people call
// it.
func (p *named) word() note.Value { return note.Word("point", p.pointer[1:]) }

// points lists every point that a Spec has room for, in the order of the request.
func (s *Spec) points() []named {
	return []named{
		{"/damper/upper", s.Damper.Upper},
		{"/damper/lower", s.Damper.Lower},
		{"/pivot_a", s.PivotA},
		{"/pivot_b", s.PivotB},
		{"/wheel", s.Wheel},
		{"/roll_point", s.RollPoint},
		{"/wheels/left", s.Wheels.Left},
		{"/wheels/right", s.Wheels.Right},
		{"/lower_arm/front", s.LowerArm.Front},
		{"/lower_arm/rear", s.LowerArm.Rear},
		{"/lower_arm/inner", s.LowerArm.Inner},
		{"/lower_arm/outer", s.LowerArm.Outer},
		{"/upper_arm/front", s.UpperArm.Front},
		{"/upper_arm/rear", s.UpperArm.Rear},
		{"/upper_arm/inner", s.UpperArm.Inner},
		{"/upper_arm/outer", s.UpperArm.Outer},
		{"/tie_rod/inner", s.TieRod.Inner},
		{"/tie_rod/outer", s.TieRod.Outer},
	}
}

// planar says whether a double wishbone was given in the plane across the
// vehicle: it has no tie rod and none of its arms has a front or a rear pivot.
func (s *Spec) planar() bool {
	if s.Kind != DoubleWishbone {
		return false
	}
	for _, p := range []Point{
		s.TieRod.Inner, s.TieRod.Outer,
		s.LowerArm.Front, s.LowerArm.Rear, s.UpperArm.Front, s.UpperArm.Rear,
	} {
		if p != nil {
			return false
		}
	}
	return true
}
