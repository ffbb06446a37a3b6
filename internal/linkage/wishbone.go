package linkage

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"midstroke/internal/fault"
)

// wishbone carries the damper's lower end on one of the arms or the upright of
// a double wishbone. For an angle θ of the lower arm every joint follows in
// closed form:
//
//   - the lower outer joint C on its circle about the lower axis;
//   - the upper outer joint D where its circle about the upper axis meets the
//     sphere of the upright's length about C;
//   - the tie rod's outer joint T where its circle about the line CD meets the
//     sphere of the rod's length about the rod's inner joint;
//   - any point of the upright from the edges CD and CT and their cross
//     product, which move with it.
//
// Of each pair of roots the one that is continuous from ride is taken: its side
// is fixed, for the roots meet only where links stand in one line, and reach
// stops short of that. Only θ itself, for a given rise of the wheel centre, is
// iterated, by Newton's method with the analytic derivative inside a bracket in
// which that rise is monotonic.
//
// In the plane the axes are along x, and the upright's second edge is CD turned
// by 90° instead of CT.
//
// The closure of the planar loop is Freudenstein's equation, Trans. ASME 77
// (1955) 853-861; the spatial steps are derived here.
type wishbone struct {
	planar bool

	lower        axis
	lowerFoot    r3.Vec // of C on the lower axis
	out, forward r3.Vec // C from that foot at ride, and k × it

	upper     axis
	upperFoot r3.Vec  // of D on the upper axis
	upperR2   float64 // squared distance of D from it
	upright2  float64 // |CD|²
	upperSide float64 // ±1: on which side of the foot–C line D lies

	rod       r3.Vec  // the tie rod's inner joint
	rod2      float64 // squared length of the tie rod
	along     float64 // T's foot on CD, as a fraction of CD from C
	steerR2   float64 // squared distance of T from CD
	steerSide float64 // ±1

	wheelZ float64 // height of the wheel centre at ride
	wheel  onUpright

	damper carried

	slope     float64 // dθ/dz at ride, rad/mm
	low, high pose
	ends      [2]end
}

// joints is a wishbone at one angle of its lower arm, and the derivatives by
// that angle.
type joints struct {
	c, d, t    r3.Vec // t is D's edge turned by 90° from C where planar
	dc, dd, dt r3.Vec
	rise, per  float64 // of the wheel centre, mm and mm/rad
	speed2     float64 // |d wheel/dθ|², of which per² is the vertical part
	failed     closure
}

// closure says what keeps a wishbone from closing.
type closure uint8

const (
	closed closure = iota
	armsOpen
	rodOpen
	wheelTurns
	armTurns
)

// end gives the code of what ends the travel, with the point where it does.
func (c closure) end(z float64) end {
	switch c {
	case armsOpen:
		return end{z, "/upper_arm/outer", armsInLine}
	case rodOpen:
		return end{z, "/tie_rod/outer", rodInLine}
	case wheelTurns:
		return end{z, "/wheel", wheelAtEnd}
	case armTurns, closed:
	}
	return end{z, "/lower_arm/outer", armHalfRound}
}

// meet gives where a circle (centre m, unit axis n, squared radius r2) meets a
// sphere (centre s, squared radius t2), as a vector from m. side, +1 or -1,
// tells the two places apart: it is the sign of (n×(s-m))·r. ok is false where
// they do not meet or all but touch.
//
// With g = s-m, g⊥ its part square to n and κ = (r2 + |g|² - t2)/2,
//
//	r = [κ g⊥ + side √(r2 g⊥² - κ²) (n×g)] / g⊥².
func meet(m, n r3.Vec, r2 float64, s r3.Vec, t2, side float64) (r r3.Vec, ok bool) {
	g := r3.Sub(s, m)
	gn := r3.Dot(g, n)
	gg := r3.Norm2(g)
	k := (r2 + gg - t2) / 2
	g2 := gg - gn*gn
	disc := r2*g2 - k*k
	if !(disc >= deadCentre*deadCentre*r2*g2) || g2 == 0 {
		return r3.Vec{}, false
	}
	k /= g2
	root := side * math.Sqrt(disc) / g2
	kn := k * gn
	return r3.Vec{
		X: k*g.X - kn*n.X + root*(n.Y*g.Z-n.Z*g.Y),
		Y: k*g.Y - kn*n.Y + root*(n.Z*g.X-n.X*g.Z),
		Z: k*g.Z - kn*n.Z + root*(n.X*g.Y-n.Y*g.X),
	}, true
}

// at solves the wishbone for angle θ of its lower arm into j. j.failed tells
// whether it closes there.
func (w *wishbone) at(theta float64, j *joints) {
	sin, cos := math.Sincos(theta)
	j.failed = closed
	j.c = r3.Add(w.lowerFoot, r3.Add(r3.Scale(cos, w.out), r3.Scale(sin, w.forward)))
	j.dc = r3.Sub(r3.Scale(cos, w.forward), r3.Scale(sin, w.out))

	arm, ok := meet(w.upperFoot, w.upper.unit, w.upperR2, j.c, w.upright2, w.upperSide)
	if !ok {
		j.failed = armsOpen
		return
	}
	j.d = r3.Add(w.upperFoot, arm)
	cd := r3.Sub(j.d, j.c)
	// |CD| is constant, so CD·(D' - C') = 0, and D' is square to the arm.
	j.dd = r3.Cross(w.upper.unit, arm)
	j.dd = r3.Scale(r3.Dot(cd, j.dc)/r3.Dot(cd, j.dd), j.dd)

	if w.planar {
		dcd := r3.Sub(j.dd, j.dc)
		j.t = r3.Vec{X: j.c.X, Y: j.c.Y - cd.Z, Z: j.c.Z + cd.Y}
		j.dt = r3.Vec{Y: j.dc.Y - dcd.Z, Z: j.dc.Z + dcd.Y}
	} else if !w.steer(cd, j) {
		j.failed = rodOpen
		return
	}
	p, dp := w.wheel.at(j)
	j.rise, j.per = p.Z-w.wheelZ, dp.Z
	j.speed2 = r3.Norm2(dp)
}

// steer finds the tie rod's outer joint.
func (w *wishbone) steer(cd r3.Vec, j *joints) bool {
	foot := r3.Add(j.c, r3.Scale(w.along, cd))
	n := r3.Scale(1/math.Sqrt(w.upright2), cd)
	lever, ok := meet(foot, n, w.steerR2, w.rod, w.rod2, w.steerSide)
	if !ok {
		return false
	}
	j.t = r3.Add(foot, lever)
	// Three distances are constant: from C, from D and from the rod's inner
	// joint. Their derivatives are three linear equations for T', solved by
	// Cramer's rule.
	a, b, c := r3.Sub(j.t, j.c), r3.Sub(j.t, j.d), r3.Sub(j.t, w.rod)
	bc, ca := r3.Cross(b, c), r3.Cross(c, a)
	det := r3.Dot(a, bc)
	j.dt = r3.Add(r3.Scale(r3.Dot(a, j.dc)/det, bc), r3.Scale(r3.Dot(b, j.dd)/det, ca))
	return true
}

// onUpright is a point fixed to the upright: C + a·CD + b·CT + c·CD×CT.
type onUpright struct{ a, b, c float64 }

// fix gives the coordinates of p on the upright at j. The edges are never
// parallel: New has seen to that.
func fix(p r3.Vec, j *joints) onUpright {
	e1, e2, r := r3.Sub(j.d, j.c), r3.Sub(j.t, j.c), r3.Sub(p, j.c)
	n := r3.Cross(e1, e2)
	nn := r3.Norm2(n)
	return onUpright{
		a: r3.Dot(r3.Cross(r, e2), n) / nn,
		b: r3.Dot(r3.Cross(e1, r), n) / nn,
		c: r3.Dot(r, n) / nn,
	}
}

// at gives the point and its derivative by θ.
func (u onUpright) at(j *joints) (p, dp r3.Vec) {
	e1, e2 := r3.Sub(j.d, j.c), r3.Sub(j.t, j.c)
	d1, d2 := r3.Sub(j.dd, j.dc), r3.Sub(j.dt, j.dc)
	p = r3.Add(j.c, r3.Add(r3.Scale(u.a, e1), r3.Scale(u.b, e2)))
	dp = r3.Add(j.dc, r3.Add(r3.Scale(u.a, d1), r3.Scale(u.b, d2)))
	if u.c != 0 {
		p = r3.Add(p, r3.Scale(u.c, r3.Cross(e1, e2)))
		dp = r3.Add(dp, r3.Scale(u.c, r3.Add(r3.Cross(d1, e2), r3.Cross(e1, d2))))
	}
	return p, dp
}

// onArm is a point fixed to an arm: from its foot on the arm's axis, a along
// the arm's own radius and b square to that and to the axis.
type onArm struct {
	foot r3.Vec
	a, b float64
}

// carried is the damper's lower end on its part.
type carried struct {
	on    Part
	arm   onArm
	frame onUpright
}

// lowerEnd gives the damper's lower end and its derivative by θ.
func (w *wishbone) lowerEnd(j *joints) (p, dp r3.Vec) {
	if w.damper.on == Upright {
		return w.damper.frame.at(j)
	}
	arm, tangent, velocity := r3.Sub(j.c, w.lowerFoot), j.dc, j.dc
	if w.damper.on == UpperArm {
		arm = r3.Sub(j.d, w.upperFoot)
		tangent, velocity = r3.Cross(w.upper.unit, arm), j.dd
	}
	m := w.damper.arm
	p = r3.Add(m.foot, r3.Add(r3.Scale(m.a, arm), r3.Scale(m.b, tangent)))
	// The outer joint's velocity is rate × tangent, and what is square to the
	// tangent is -arm.
	rate := r3.Dot(velocity, tangent) / r3.Norm2(tangent)
	dp = r3.Add(r3.Scale(m.a*rate, tangent), r3.Scale(-m.b*rate, arm))
	return p, dp
}

func (w *wishbone) holding(_, lower r3.Vec) motion {
	moved := *w
	var ride joints
	moved.at(0, &ride)
	if w.damper.on == Upright {
		moved.damper.frame = fix(lower, &ride)
		return &moved
	}
	about, arm := w.lower, r3.Sub(ride.c, w.lowerFoot)
	if w.damper.on == UpperArm {
		about, arm = w.upper, r3.Sub(ride.d, w.upperFoot)
	}
	foot := about.foot(lower)
	v := r3.Sub(lower, foot)
	if length(v) < tellApart {
		return nil
	}
	r2 := r3.Norm2(arm)
	moved.damper.arm = onArm{
		foot: foot,
		a:    r3.Dot(v, arm) / r2,
		b:    r3.Dot(v, r3.Cross(about.unit, arm)) / r2,
	}
	return &moved
}

func (w *wishbone) reach() (low, high end) { return w.ends[0], w.ends[1] }

// newWishbone checks what New cannot see point by point, and measures the
// links at ride.
func newWishbone(at place, planar bool, on Part, faults *fault.List) motion {
	b := builder{at: at, planar: planar, faults: faults}
	w := b.wishbone()
	if len(*faults) > 0 {
		return nil
	}
	w.damper.on = on
	if on == "" {
		w.damper.on = LowerArm
	}
	m := w.holding(at["/damper/upper"], at["/damper/lower"])
	if m == nil {
		faults.Add("/damper/lower", damperOnAxis)
	}
	return m
}
