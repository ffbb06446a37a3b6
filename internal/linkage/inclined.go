package linkage

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// heave carries the damper's lower end straight up with the wheel. With a the
// horizontal and b the vertical distance between the ends at ride,
//
//	L(z) = √(a² + (b-z)²),  MR(z) = (b-z)/L,
//
// MR being the cosine of the damper's angle from upright. L has its least
// value |a| at z = b, where the damper lies flat. Pythagoras; no other source
// is needed.
type heave struct {
	lower r3.Vec
	// low and high are where a damper that stands upright would have no
	// length left.
	low, high end
}

func newHeave(upper, lower r3.Vec) heave {
	h := heave{
		lower: lower,
		low:   end{z: -farthest.Mm(), at: "/damper/lower", reason: travelBound},
		high:  end{z: farthest.Mm(), at: "/damper/lower", reason: travelBound},
	}
	d := r3.Sub(upper, lower)
	if math.Hypot(d.X, d.Y) >= tellApart {
		return h
	}
	if d.Z > 0 {
		h.high = end{z: d.Z - tellApart, at: "/damper/upper", reason: endsMeet}
	} else {
		h.low = end{z: d.Z + tellApart, at: "/damper/upper", reason: endsMeet}
	}
	return h
}

func (h heave) carry(z float64, _ pose) (at, per r3.Vec, here pose) {
	return r3.Vec{X: h.lower.X, Y: h.lower.Y, Z: h.lower.Z + z}, r3.Vec{Z: 1}, pose{z: z}
}

func (h heave) carryBoth(other motion, z float64, near pose) (a, b carriage, here pose) {
	a.at, a.per, here = h.carry(z, near)
	b.at, b.per, _ = other.carry(z, near)
	return a, b, here
}

func (h heave) reach() (low, high end) { return h.low, h.high }

func (h heave) holding(upper, lower r3.Vec) motion { return newHeave(upper, lower) }
