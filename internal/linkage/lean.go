package linkage

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// LeanDeg is the damper's greatest angle from upright over the range, in
// degrees: 0 where it stands upright, 90 where it lies flat, and more where its
// upper end hangs below its lower one. It is right to a few thousandths of a
// degree.
func (s *Sweep) LeanDeg() float64 {
	if a, ok := s.linkage.motion.(axle); ok {
		return a.leanDeg(s.low, s.high)
	}
	greatest, at := 0.0, 0
	for i := range s.stations {
		if deg := leanDeg(s.stations[i].damper); deg > greatest {
			greatest, at = deg, i
		}
	}
	// The greatest may lie between stations.
	from, to := s.stations[max(0, at-1)], s.stations[min(len(s.stations)-1, at+1)]
	for i := range leanSteps {
		z := from.z + (to.z-from.z)*float64(i)/leanSteps
		between := s.station(z, from.pose)
		greatest = max(greatest, leanDeg(between.damper))
	}
	return greatest
}

// leanSteps is into how many steps a range is divided to look for the greatest
// lean: so near its greatest, it changes with the square of the distance.
const leanSteps = 16

// leanDeg looks at the axle all over the square of wheel travels.
func (a *axle) leanDeg(low, high float64) float64 {
	greatest := 0.0
	step := (high - low) / leanSteps
	for i := range leanSteps + 1 {
		for j := range leanSteps + 1 {
			pose := a.corner(low+step*float64(i), low+step*float64(j))
			greatest = max(greatest, leanDeg(a.damper(pose)))
		}
	}
	return greatest
}

// leanDeg is the angle from upright of a damper whose lower end lies at r from
// its upper one.
func leanDeg(r r3.Vec) float64 {
	return math.Atan2(math.Hypot(r.X, r.Y), -r.Z) * 180 / math.Pi
}
