package linkage

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"midstroke/internal/fault"
)

// across is a place in the plane across the vehicle, mm.
type across struct{ y, z float64 }

// axle carries the damper's lower end on a rigid axle that heaves by h and
// rolls by φ about the line along x through its roll point R, which rides with
// it:
//
//	P(h,φ) = R + Rx(φ)(P₀ - R) + h·e_z
//
// with the exact rotation Rx: at 5° of roll the first-order estimate is already
// 0.4 mm out for a common axle. φ > 0 lifts the left end. The movements of the
// wheel centres follow from the same formula, so
//
//	z_L - z_R = (y_l - y_r) sin φ + (z_l - z_r)(cos φ - 1)
//	h = z_L - y_l sin φ - z_l (cos φ - 1)
//
// with the wheels' places taken from R. Derived here; ISO 8855 for the senses
// of rotation.
type axle struct {
	heave // pure heave is a straight line, so At needs nothing else

	upper       r3.Vec
	roll        across
	left, right across  // wheel centres from the roll point
	point       across  // the damper's lower end from the roll point
	tilt        turning // of the line from the right wheel centre to the left
}

func newAxle(at place, faults *fault.List) motion {
	roll, left, right := at["/roll_point"], at["/wheels/left"], at["/wheels/right"]
	switch track := left.Y - right.Y; {
	case track <= -tellApart:
		faults.Add("/wheels/left", wheelsSwapped)
		return nil
	case track < tellApart:
		faults.Add("/wheels/left", noTrack)
		return nil
	case math.Abs(left.Z-right.Z) > track:
		faults.Add("/wheels/left", axleLeans)
		return nil
	}
	a := axle{
		roll:  across{roll.Y, roll.Z},
		left:  across{left.Y - roll.Y, left.Z - roll.Z},
		right: across{right.Y - roll.Y, right.Z - roll.Z},
		tilt:  newTurning(left.Z-right.Z, left.Y-right.Y),
	}
	return a.held(at["/damper/upper"], at["/damper/lower"])
}

func (a axle) holding(upper, lower r3.Vec) motion { return a.held(upper, lower) }

// held is holding with the result's own type.
func (a axle) held(upper, lower r3.Vec) axle {
	a.heave = newHeave(upper, lower)
	a.upper = upper
	a.point = across{lower.Y - a.roll.y, lower.Z - a.roll.z}
	return a
}

// rolled is the axle at one pose: cos φ, sin φ and heave.
type rolled struct{ cos, sin, heave float64 }

// corner is the pose at the two wheel travels, whose difference lies within
// a.tilt.span().
func (a *axle) corner(left, right float64) rolled {
	c, s, _ := a.tilt.by(left - right)
	return rolled{c, s, left - a.left.y*s - a.left.z*(c-1)}
}

// wheels is the two wheel travels at a pose.
func (a *axle) wheels(p rolled) (left, right float64) {
	return p.heave + a.left.y*p.sin + a.left.z*(p.cos-1),
		p.heave + a.right.y*p.sin + a.right.z*(p.cos-1)
}

// turn turns a direction that is fixed to the axle.
func (p rolled) turn(v r3.Vec) r3.Vec {
	return r3.Vec{X: v.X, Y: v.Y*p.cos - v.Z*p.sin, Z: v.Y*p.sin + v.Z*p.cos}
}

// damper is the damper's lower end from its upper one at a pose.
func (a *axle) damper(p rolled) r3.Vec {
	return r3.Vec{
		X: a.lower.X - a.upper.X,
		Y: a.roll.y + a.point.y*p.cos - a.point.z*p.sin - a.upper.Y,
		Z: a.roll.z + a.point.y*p.sin + a.point.z*p.cos + p.heave - a.upper.Z,
	}
}

// length is the damper's at a pose.
func (a *axle) length(p rolled) float64 { return length(a.damper(p)) }

// rollRatio is the motion ratio at ride of the damper in roll: its travel over that
// of the wheel on its side, while the other wheel moves as far the other way. With
// the left wheel rising by z the axle rolls by 2z/track and heaves by
// z - y_l·2z/track, so the damper's lower end moves by
//
//	dP/dz = (h' + p_y φ') e_z - p_z φ' e_y,  φ' = 2/track,  h' = 1 - y_l φ'.
func (a *axle) rollRatio() float64 {
	phi := 2 / (a.left.y - a.right.y)
	heave := 1 - a.left.y*phi
	damper := a.damper(rolled{cos: 1})
	per := r3.Vec{Y: -a.point.z * phi, Z: heave + a.point.y*phi}
	ratio := -r3.Dot(damper, per) / length(damper)
	if math.Abs(a.point.y-a.right.y) < math.Abs(a.point.y-a.left.y) {
		return -ratio // the right wheel is the one on its side
	}
	return ratio
}

// RollRatioLeast is the motion ratio in roll below which a damper does little
// against roll: its damping falls with the square. Common practice, no source.
const RollRatioLeast = 0.5

// Axle answers what only a solid axle can be asked.
type Axle struct {
	linkage *Linkage
	axle    axle
}

// Axle gives the linkage as a solid axle; ok is false where it is another
// kind.
func (l *Linkage) Axle() (a Axle, ok bool) {
	x, ok := l.motion.(axle)
	return Axle{l, x}, ok
}

// Pose gives the damper's length in mm where the roll point has risen by heave
// mm and the axle has rolled by roll radians, positive lifting the left end;
// |roll| < π/2. The error is a [*TravelError].
func (a Axle) Pose(heave, roll float64) (float64, error) {
	if math.IsNaN(heave) || math.IsInf(heave, 0) {
		return 0, &TravelError{Code: notANumber, What: "heave"}
	}
	if !(math.Abs(roll) < math.Pi/2) {
		return 0, &TravelError{Code: rollOutOfRange}
	}
	s, c := math.Sincos(roll)
	l := a.axle.length(rolled{c, s, heave})
	if l < tellApart {
		return 0, &TravelError{Code: endsMeetAtRoll, What: "heave", Travel: heave, Point: "/damper/lower"}
	}
	return l, nil
}

// apart is the error that two wheels can't be so far apart in height.
func (a Axle) apart(left, right float64) error {
	low, high := a.axle.tilt.span()
	d := left - right
	if math.IsNaN(d) || math.IsInf(d, 0) {
		return &TravelError{Code: notANumber}
	}
	if d >= low && d <= high {
		return nil
	}
	return &TravelError{
		Code: axleOnEnd, Travel: d, relative: true,
		Low: low, High: high, Point: "/wheels/left",
	}
}
