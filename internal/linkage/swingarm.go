package linkage

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"midstroke/internal/fault"
)

// turning is the angle t by which something must turn to lift a point by z:
//
//	A cos t + B sin t = A + z
//
// where A is the point's height over the axis and B > 0 how fast it rises per
// radian at ride. Of the two roots the one that is continuous from t = 0 is
// taken. With R = √(A²+B²) and s = (A+z)/R that is
//
//	cos t = (A s + B √(1-s²))/R,  sin t = (B s - A √(1-s²))/R,
//
// and dt/dz = 1/(R √(1-s²)). There is no root where |A+z| > R. Elementary
// trigonometry: A cos t + B sin t = R sin(t + atan2(A,B)).
type turning struct{ a, b, r float64 }

func newTurning(a, b float64) turning { return turning{a, b, math.Sqrt(a*a + b*b)} }

// by gives cos t, sin t and dt/dz for a rise z within span.
func (t turning) by(z float64) (cos, sin, per float64) {
	s := (t.a + z) / t.r
	c := math.Sqrt(1 - s*s)
	return (t.a*s + t.b*c) / t.r, (t.b*s - t.a*c) / t.r, 1 / (t.r * c)
}

// span is the rises that can be reached, stopping short of dead centre.
func (t turning) span() (low, high float64) {
	r := t.r * math.Sqrt(1-deadCentre*deadCentre)
	return -r - t.a, r - t.a
}

// swing carries the damper's lower end on one arm about an axis anywhere in
// space: by Rodrigues' formula a point v from the axis goes to
//
//	k(k·v) + v⊥ cos t + (k×v) sin t
//
// with the angle t that lifts the wheel centre by z. (Rodrigues' formula:
// textbooks of kinematics, from memory.)
type swing struct {
	pivot axis // turned so that a positive angle lifts the wheel
	wheel turning

	foot         r3.Vec // of the damper's lower end on the axis
	out, forward r3.Vec // v⊥ and k×v of that end
}

func newSwing(at place, faults *fault.List) motion {
	pivot, ok := axisThrough(at["/pivot_a"], at["/pivot_b"])
	if !ok {
		faults.Add("/pivot_b", pivotsMeet)
		return nil
	}
	wheel := at["/wheel"]
	if !pivot.off(wheel) {
		faults.Add("/wheel", wheelOnAxis)
	}
	if !pivot.off(at["/damper/lower"]) {
		faults.Add("/damper/lower", damperOnAxis)
	}
	if len(*faults) > 0 {
		return nil
	}
	v := r3.Sub(wheel, pivot.foot(wheel))
	rise := r3.Cross(pivot.unit, v).Z
	if math.Abs(rise) < deadCentre*length(v) {
		faults.Add("/wheel", armDeadCentre(pivot, v))
		return nil
	}
	// The order of the pivots must change nothing.
	if rise < 0 {
		pivot.unit, rise = r3.Scale(-1, pivot.unit), -rise
	}
	s := swing{pivot: pivot, wheel: newTurning(v.Z, rise)}
	return s.holding(at["/damper/upper"], at["/damper/lower"])
}

// armDeadCentre says why an arm doesn't lift the wheel at ride.
func armDeadCentre(pivot axis, v r3.Vec) fault.Code {
	if 1-math.Abs(pivot.unit.Z) < deadCentre*deadCentre {
		return axisUpright
	}
	if math.Abs(v.Z) > 0.5*length(v) {
		return wheelAboveAxis
	}
	return wheelNotLifted
}

func (s swing) carry(z float64, _ pose) (at, per r3.Vec, here pose) {
	c, sn, dt := s.wheel.by(z)
	arm := r3.Add(r3.Scale(c, s.out), r3.Scale(sn, s.forward))
	per = r3.Add(r3.Scale(-sn*dt, s.out), r3.Scale(c*dt, s.forward))
	return r3.Add(s.foot, arm), per, pose{z: z}
}

func (s swing) carryBoth(other motion, z float64, near pose) (a, b carriage, here pose) {
	a.at, a.per, here = s.carry(z, near)
	b.at, b.per, _ = other.carry(z, near)
	return a, b, here
}

func (s swing) reach() (low, high end) {
	lo, hi := s.wheel.span()
	return end{lo, "/wheel", wheelAtBottom},
		end{hi, "/wheel", wheelAtTop}
}

func (s swing) holding(_, lower r3.Vec) motion {
	s.foot = s.pivot.foot(lower)
	s.out = r3.Sub(lower, s.foot)
	s.forward = r3.Cross(s.pivot.unit, s.out)
	if length(s.out) < tellApart {
		return nil
	}
	return s
}
