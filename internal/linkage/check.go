package linkage

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

const (
	// tellApart is the least distance in mm between two different points: a tape
	// can't tell less, and the direction of an axis through nearer points is
	// arbitrary. Our choice.
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

// check gives the points of s, or everything that is wrong with single points.
func check(s *Spec) (place, fault.List) {
	var faults fault.List
	layout := s.layout()
	if layout == nil {
		code := kindUnknown
		if s.Kind == "" {
			code = kindMissing
		}
		faults.Add("/kind", code, note.Word("kinds", strings.Join(Kinds(), ", ")))
		return nil, faults
	}
	checkPart(s, &faults)

	at := make(place, len(layout.points)+2)
	for _, p := range s.points() {
		needed := layout.has(p.pointer)
		switch {
		case p.point == nil && needed:
			faults.Add(p.pointer, pointMissing, p.word())
		case p.point != nil && !needed:
			faults.Add(p.pointer, pointNotForKind, p.word(), note.Word("kind", layout.name))
		case p.point != nil:
			if v, ok := coordinates(p, layout.planar, &faults); ok {
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
			faults.Add("/damper/on", onNotForKind)
		}
	default:
		faults.Add("/damper/on", onUnknown)
	}
}

// coordinates gives p in mm.
func coordinates(p named, planar bool, faults *fault.List) (r3.Vec, bool) {
	if planar && len(p.point) != 2 {
		faults.Add(p.pointer, notInPlane, p.word())
		return r3.Vec{}, false
	}
	if !planar && len(p.point) != 3 {
		faults.Add(p.pointer, notInSpace, p.word())
		return r3.Vec{}, false
	}
	ok := true
	for i, c := range p.point {
		// Not c.Abs(): the least int64 has no positive counterpart.
		if c > farthest || c < -farthest {
			faults.Add(fmt.Sprintf("%s/%d", p.pointer, i), coordinateOutOfRange, p.word())
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

// length is |v|. Coordinates are within 10 m, so squares cannot overflow.
func length(v r3.Vec) float64 { return math.Sqrt(r3.Norm2(v)) }

// apart says whether two points are different ones.
func apart(p, q r3.Vec) bool { return length(r3.Sub(p, q)) >= tellApart }

// axis is a line about which something turns.
type axis struct {
	through r3.Vec
	unit    r3.Vec
}

// axisThrough is the axis through two pivots; ok is false where both are one
// point.
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
