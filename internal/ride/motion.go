package ride

import "math"

// Curve is how a damper moves with its wheel where a linkage's points are known. Its
// dynamic type can be compared.
type Curve interface {
	// At gives at wheel travel z up from ride height, m, by how much the damper is
	// shorter than there, m, its motion ratio, and that one's change, 1/m; false where the
	// linkage doesn't get there.
	At(z float64) (shorter, ratio, change float64, ok bool)
}

// Moved is a part where the wheel is.
type Moved struct {
	// Shorter is by how much the part is shorter than at ride height, m.
	Shorter float64
	// Ratio is its motion ratio, the slope of Shorter over wheel travel, and Change
	// the slope of that, 1/m.
	Ratio, Change float64
}

// Motion is how a spring or a damper moves with its wheel: along a linkage's curve, or by
// a ratio that is linear in wheel travel, and then by MR z + MR' z²/2.
type Motion struct {
	ratio, change float64
	curve         Curve // nil where the ratio is linear
}

// SpringMotion is that of the spring; of a spring as it is at the wheel, that of the wheel.
func (c *Corner) SpringMotion() Motion {
	if c.SpringRatio == 0 {
		return Motion{ratio: 1}
	}
	return Motion{c.SpringRatio, c.SpringRatioChange, c.SpringCurve}
}

// DamperMotion is that of the damper. Without a ratio it doesn't move.
func (c *Corner) DamperMotion() Motion {
	return Motion{c.DamperRatio, c.DamperRatioChange, c.DamperCurve}
}

// Varies says whether the ratio changes with travel.
func (m *Motion) Varies() bool { return m.change != 0 || m.curve != nil }

// OnCurve says whether the part follows a linkage's curve.
func (m *Motion) OnCurve() bool { return m.curve != nil }

// At gives the part at wheel travel z up from ride height, m; false where its linkage
// doesn't get there.
func (m *Motion) At(z float64) (Moved, bool) {
	if m.curve != nil {
		shorter, ratio, change, ok := m.curve.At(z)
		return Moved{shorter, ratio, change}, ok
	}
	return Moved{m.ratio*z + m.change*z*z/2, m.ratio + m.change*z, m.change}, true
}

// MostShortened is the wheel travel from ride height up to most, m, at which the part is
// shortest: most, or where the ratio falls to 0 before and the part gets longer again, or
// where the linkage ends.
func (m *Motion) MostShortened(most float64) float64 {
	if m.curve == nil {
		if turns := -m.ratio / m.change; m.change < 0 && turns < most {
			return turns
		}
		return most
	}
	z, _ := m.along(0, most, math.Inf(1))
	return z
}

// WheelFor is the wheel's travel up in m that makes the part shorter by x m, from wheel
// travel z. It says false where there is none: the ratio falls to 0 before, or the linkage
// ends.
func (m *Motion) WheelFor(x, z float64) (float64, bool) {
	here, ok := m.At(z)
	if !ok || here.Ratio <= 0 {
		return 0, false
	}
	if m.curve == nil {
		// MR z + MR' z²/2 = x has the solution 2x/(MR + √(MR² + 2 MR' x)) that is 0 for
		// an x of 0.
		under := here.Ratio*here.Ratio + 2*m.change*x
		if under < 0 {
			return 0, false
		}
		return 2 * x / (here.Ratio + math.Sqrt(under)), true
	}
	if x < 0 {
		return m.back(here.Shorter+x, z)
	}
	to, found := m.along(z, math.Inf(1), here.Shorter+x)
	if !found {
		return 0, false
	}
	return to - z, true
}

// Strides along a curve, m: small beside what a ratio takes to change its sign and back.
const (
	stride  = 0.004
	halving = 40 // of a stride: to less than a picometre
)

// along goes from wheel travel z up the curve, and gives where the part is first shorter
// than at ride height by shorter. It ends, with false, at most, where the ratio falls to 0,
// or where the linkage ends.
func (m *Motion) along(z, most, shorter float64) (float64, bool) {
	stops := func(at Moved, ok bool) bool { return !ok || at.Ratio <= 0 || at.Shorter >= shorter }
	for z < most {
		next := min(z+stride, most)
		if at, ok := m.At(next); stops(at, ok) {
			low, high := z, next
			for range halving {
				if mid := (low + high) / 2; stops(m.At(mid)) {
					high = mid
				} else {
					low = mid
				}
			}
			at, ok = m.At(high)
			return high, ok && at.Shorter >= shorter
		}
		z = next
	}
	return most, false
}

// back is WheelFor down from wheel travel z, to where the part is shorter than at ride
// height by shorter, which is less than at z.
func (m *Motion) back(shorter, z float64) (float64, bool) {
	for low := z - stride; ; low -= stride {
		at, ok := m.At(low)
		if !ok || at.Ratio <= 0 {
			return 0, false
		}
		if at.Shorter > shorter {
			continue
		}
		high := low + stride
		for range halving {
			mid := (low + high) / 2
			if at, _ := m.At(mid); at.Shorter > shorter {
				high = mid
			} else {
				low = mid
			}
		}
		return low - z, true
	}
}
