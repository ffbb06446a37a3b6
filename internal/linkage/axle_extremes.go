package linkage

import "math"

// overSquare gives the extremes of the damper's length over all left and right
// wheel travels from low to high, without sampling.
//
// In an axle's own coordinates the length is L² = x² + Y² + Z² with
//
//	Y = R_y - U_y + p_y cos φ - p_z sin φ
//	Z = R_z - U_z + p_y sin φ + p_z cos φ + h
//
// so every stationary point can be named: the corners; on each edge, where one
// wheel stands still, the zeros of a polynomial of the fourth degree in
// tan(φ/2); inside, the few poses where the damper is level (Z = 0) and Y is
// stationary or zero. Derived here.
func (a *axle) overSquare(low, high float64) extent {
	x := newExtent(a.extreme(a.corner(low, low), low, high))
	x.take(a.extreme(a.corner(high, high), low, high))
	x.take(a.extreme(a.corner(low, high), low, high))
	x.take(a.extreme(a.corner(high, low), low, high))
	if low == high {
		return x
	}
	for _, still := range [2]float64{low, high} {
		a.alongEdge(&x, a.left, still, low, high, a.corner(still, high), a.corner(still, low))
		a.alongEdge(&x, a.right, still, low, high, a.corner(low, still), a.corner(high, still))
	}
	a.inside(&x, low, high)
	return x
}

// extreme is the damper at a pose in the square from low to high. Poses at a
// corner come out there but for rounding.
func (a *axle) extreme(p rolled, low, high float64) extreme {
	left, right := a.wheels(p)
	left, leftEnds := snapToRange(left, low, high)
	right, rightEnds := snapToRange(right, low, high)
	return extreme{length: a.length(p), left: left, right: right, interior: !leftEnds || !rightEnds, axle: true}
}

// snapToRange puts z on the end of the range that it misses by rounding alone.
func snapToRange(z, low, high float64) (float64, bool) {
	const rounding = 1e-6 // mm: the nanometre that a length is kept to
	if math.Abs(z-low) <= rounding {
		return low, true
	}
	if math.Abs(z-high) <= rounding {
		return high, true
	}
	return z, false
}

// alongEdge takes the stationary points where the wheel at w stands still at
// the travel still, between the poses from and to.
func (a *axle) alongEdge(x *extent, w across, still, low, high float64, from, to rolled) {
	// With that wheel fixed, h = still - w_y sin φ - w_z (cos φ - 1), and
	//	Y = e + p_y cos φ - p_z sin φ
	//	Z = g + (p_z - w_z) cos φ + (p_y - w_y) sin φ.
	p := a.point
	e := a.roll.y - a.upper.Y
	g := a.roll.z - a.upper.Z + still + w.z
	// By t = tan(φ/2) each is a parabola over 1 + t², and so are the
	// derivatives by φ.
	y := halfAngle(e, p.y, -p.z)
	dy := halfAngle(0, -p.z, -p.y)
	z := halfAngle(g, p.z-w.z, p.y-w.y)
	dz := halfAngle(0, p.y-w.y, w.z-p.z)
	slope := product(y, dy).plus(product(z, dz))

	t0, t1 := halfTangent(from), halfTangent(to)
	if t0 > t1 {
		t0, t1 = t1, t0
	}
	if slope.oneSign(t0, t1) {
		return // as it is on most edges
	}
	var buf [4]float64
	for _, t := range slope.roots(buf[:0], t0, t1) {
		pose := rolled{cos: (1 - t*t) / (1 + t*t), sin: 2 * t / (1 + t*t)}
		pose.heave = still - w.y*pose.sin - w.z*(pose.cos-1)
		x.take(a.extreme(pose, low, high))
	}
}

// parabola is c0 + c1 t + c2 t².
type parabola [3]float64

// halfAngle is the numerator of k + c cos φ + s sin φ over 1 + t², t = tan(φ/2).
func halfAngle(k, c, s float64) parabola { return parabola{k + c, 2 * s, k - c} }

func product(p, q parabola) (r polynomial) {
	for i := range p {
		for j := range q {
			r[i+j] += p[i] * q[j]
		}
	}
	return r
}

func (p polynomial) plus(q polynomial) polynomial {
	for i := range p {
		p[i] += q[i]
	}
	return p
}

// halfTangent is tan(φ/2) of a pose; φ is well within ±180°.
func halfTangent(p rolled) float64 { return p.sin / (1 + p.cos) }

// inside takes the stationary points within the square. L² is convex in h, so
// such a point has Z = 0, and with it Y·Y' = 0 by φ.
func (a *axle) inside(x *extent, low, high float64) {
	p := a.point
	radius := math.Hypot(p.y, p.z)
	toward := math.Atan2(p.z, p.y)
	e := a.roll.y - a.upper.Y
	var at [4]float64 // φ
	phis := at[:0]
	// Y' = 0: the damper's lower end is level with the roll point.
	phis = append(phis, -toward, math.Pi-toward)
	// Y = 0: it is straight before or behind its upper end.
	if math.Abs(e) <= radius && radius > 0 {
		turn := math.Acos(-e / radius)
		phis = append(phis, turn-toward, -turn-toward)
	}
	for _, phi := range phis {
		s, c := math.Sincos(phi)
		pose := rolled{cos: c, sin: s}
		pose.heave = a.upper.Z - a.roll.z - p.y*s - p.z*c
		left, right := a.wheels(pose)
		// An axle can't roll past vertical.
		standing := c*a.tilt.b-s*a.tilt.a > 0
		if standing && left >= low && left <= high && right >= low && right <= high {
			x.take(a.extreme(pose, low, high))
		}
	}
}
