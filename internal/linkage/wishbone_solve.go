package linkage

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// riseTolerance is how near in mm the wheel centre must come to the travel
// asked for: a thousandth of the nanometre that a length is kept to, so that
// rounding hides it.
const riseTolerance = 1e-9

// carry solves for the angle that lifts the wheel by z.
func (w *wishbone) carry(z float64, near pose) (at, per r3.Vec, here pose) {
	var j joints
	here = w.solve(z, near, &j)
	p, dp := w.lowerEnd(&j)
	return p, r3.Scale(here.slope, dp), here
}

// carryBoth solves once for both points. other is a *wishbone whose links are
// the same.
func (w *wishbone) carryBoth(other motion, z float64, near pose) (a, b carriage, here pose) {
	var j joints
	here = w.solve(z, near, &j)
	a.at, a.per = w.lowerEnd(&j)
	b.at, b.per = other.(*wishbone).lowerEnd(&j)
	a.per, b.per = r3.Scale(here.slope, a.per), r3.Scale(here.slope, b.per)
	return a, b, here
}

// solve finds the angle at which the wheel centre has risen by z, from a pose
// near it. z lies between w.low and w.high, where the rise is monotonic in the
// angle, so that there is one root; Newton's steps that leave the bracket are
// replaced by bisection.
func (w *wishbone) solve(z float64, near pose, j *joints) pose {
	if near.slope == 0 {
		near.slope = w.slope
	}
	lo, hi := w.low.angle, w.high.angle
	theta := max(lo, min(hi, near.angle+near.slope*(z-near.z)))
	const enough = 100 // bisection alone takes half of it
	for range enough {
		w.at(theta, j)
		miss := j.rise - z
		if math.Abs(miss) <= riseTolerance {
			break
		}
		if miss > 0 {
			hi = theta
		} else {
			lo = theta
		}
		next := theta - miss/j.per
		if !(next >= lo && next <= hi) {
			next = lo + (hi-lo)/2
		}
		if next == theta {
			break
		}
		theta = next
	}
	return pose{z: z, angle: theta, slope: 1 / j.per}
}

// march goes from ride one way, in steps, to the last pose that can be reached
// without leaving the branch, and says what ends it.
//
// A step counts only where the joints come out near where their velocities
// sent them, and where the wheel rose throughout. Without that a step could
// jump over a narrow gap in which the links do not close, or onto the other
// branch behind it.
func (w *wishbone) march(way float64) (pose, closure) {
	const (
		longest  = 0.06  // rad
		shortest = 1e-10 // rad: nearer than this the end is found
	)
	var from, to joints
	w.at(0, &from)
	theta, step := 0.0, longest
	why := armTurns
	for step > shortest {
		next := theta + way*step
		ends := armTurns
		if math.Abs(next) <= math.Pi {
			w.at(next, &to)
			ends = follows(&from, &to, way*step)
		}
		if ends != closed {
			why = ends
			step /= 2
			continue
		}
		theta, from = next, to
		step = min(longest, 1.5*step)
	}
	return pose{z: from.rise, angle: theta, slope: 1 / from.per}, why
}

// follows says what breaks in a step from one solution to the next; closed
// where nothing does: the joints are where those of from were heading, to a
// quarter of the way that the fastest of them went, and the wheel rises all
// the way.
func follows(from, to *joints, step float64) closure {
	const quarter = 0.25
	if to.failed != closed {
		return to.failed
	}
	way := math.Abs(step) * math.Sqrt(max(r3.Norm2(from.dc), r3.Norm2(from.dd), r3.Norm2(from.dt)))
	switch {
	case length(r3.Sub(to.d, r3.Add(from.d, r3.Scale(step, from.dd)))) > quarter*way:
		return armsOpen
	case length(r3.Sub(to.t, r3.Add(from.t, r3.Scale(step, from.dt)))) > quarter*way:
		return rodOpen
	case !(to.per >= deadCentre*math.Sqrt(to.speed2)):
		return wheelTurns
	}
	c := cubic{y0: from.rise, y1: to.rise, d0: from.per * step, d1: to.per * step}
	if _, n := c.stationary(); n > 0 {
		return wheelTurns
	}
	return closed
}
