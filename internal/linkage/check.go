package linkage

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"midstroke/internal/fault"
	"midstroke/internal/unit"
)

const (
	// tellApart is the least distance in mm between two points that are two:
	// a tape cannot tell less, and an axis through nearer points points
	// anywhere. Our choice.
	tellApart = 0.1

	// deadCentre is the least sine of the angle between two links, or between
	// a wheel's path and the horizontal, that is still answered. Nearer to a
	// straight line than this the motion ratio grows without bound and the
	// branches of the solution meet. Our choice: 0.06°.
	deadCentre = 1e-3

	// farthest is the greatest coordinate, as for any length: 10 m.
	farthest = 10 * unit.Metre
)

// place is the points of a checked Spec in mm, by pointer; planar points stand
// at x = 0.
type place map[string]r3.Vec

// check gives the points of s, or everything that is wrong with them taken one
// by one.
func check(s *Spec) (place, fault.List) {
	var faults fault.List
	switch s.Kind {
	case Inclined, SwingArm, SolidAxle, DoubleWishbone:
	case "":
		faults.Add("/kind", "missing", "say which kind of suspension this is: inclined, swing_arm, solid_axle or double_wishbone")
		return nil, faults
	default:
		faults.Add("/kind", "unknown_value", "this kind of suspension is not known; use inclined, swing_arm, solid_axle or double_wishbone")
		return nil, faults
	}
	checkPart(s, &faults)

	planar := s.planar()
	wanted := needs(s.Kind, planar)
	at := make(place, len(wanted))
	for _, p := range s.points() {
		needed := slices.Contains(wanted, p.pointer)
		switch {
		case p.point == nil && needed:
			faults.Add(p.pointer, "missing", "%s is missing", p.name)
		case p.point != nil && !needed:
			faults.Add(p.pointer, "not_for_kind", "%s has no place in %s", p.name, kindName(s.Kind, planar))
		case p.point != nil:
			if v, ok := coordinates(p, planar, &faults); ok {
				at[p.pointer] = v
			}
		}
	}
	return at, faults
}

func checkPart(s *Spec, faults *fault.List) {
	switch s.Damper.On {
	case "":
	case LowerArm, UpperArm, Upright:
		if s.Kind != DoubleWishbone {
			faults.Add("/damper/on", "not_for_kind", "only a double wishbone has a choice of parts for the damper to stand on")
		}
	default:
		faults.Add("/damper/on", "unknown_value", "the damper stands on the lower_arm, the upper_arm or the upright")
	}
}

// coordinates gives p in mm.
func coordinates(p named, planar bool, faults *fault.List) (r3.Vec, bool) {
	if planar && len(p.point) != 2 {
		faults.Add(p.pointer, "wrong_dimension", "without a tie rod a double wishbone is planar, and %s is given as two lengths, [y, z]", p.name)
		return r3.Vec{}, false
	}
	if !planar && len(p.point) != 3 {
		faults.Add(p.pointer, "wrong_dimension", "%s is given as three lengths, [x, y, z]", p.name)
		return r3.Vec{}, false
	}
	ok := true
	for i, c := range p.point {
		// Not c.Abs(): the least int64 has no positive counterpart.
		if c > farthest || c < -farthest {
			faults.Add(fmt.Sprintf("%s/%d", p.pointer, i), "out_of_range", "%s lies more than 10 m away", p.name)
			ok = false
		}
	}
	if !ok {
		return r3.Vec{}, false
	}
	if planar {
		return r3.Vec{Y: p.point[0].Mm(), Z: p.point[1].Mm()}, true
	}
	return r3.Vec{X: p.point[0].Mm(), Y: p.point[1].Mm(), Z: p.point[2].Mm()}, true
}

func kindName(k Kind, planar bool) string {
	switch k {
	case Inclined:
		return "an inclined damper"
	case SwingArm:
		return "a swing arm"
	case SolidAxle:
		return "a solid axle"
	case DoubleWishbone:
		if planar {
			return "a planar double wishbone"
		}
	}
	return "a double wishbone in space"
}

// length is |v|. Coordinates are within 10 m, so squares cannot overflow.
func length(v r3.Vec) float64 { return math.Sqrt(r3.Norm2(v)) }

// apart says whether two points are two.
func apart(p, q r3.Vec) bool { return length(r3.Sub(p, q)) >= tellApart }

// axis is a line about which something turns.
type axis struct {
	through r3.Vec
	unit    r3.Vec
}

// axisThrough is the axis through two pivots; ok is false where they are one.
func axisThrough(p, q r3.Vec) (axis, bool) {
	d := r3.Sub(q, p)
	l := length(d)
	if l < tellApart {
		return axis{}, false
	}
	return axis{through: p, unit: r3.Scale(1/l, d)}, true
}

// foot is the point of the axis nearest p.
func (a axis) foot(p r3.Vec) r3.Vec {
	return r3.Add(a.through, r3.Scale(r3.Dot(r3.Sub(p, a.through), a.unit), a.unit))
}

// off says whether p is off the axis, so that turning moves it.
func (a axis) off(p r3.Vec) bool { return apart(p, a.foot(p)) }
