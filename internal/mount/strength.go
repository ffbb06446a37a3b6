package mount

import (
	"math"

	"midstroke/internal/unit"
)

// Tightening figures that stand where the caller gives none.
const (
	// DefaultTorqueFactor is K for a zinc-plated bolt: Shigley, Mechanical
	// Engineering Design, 9th ed., table 8-15. Other references give 0.295 for
	// zinc and 0.20 for bare steel, so a torque is good to TorqueSpread.
	DefaultTorqueFactor = 0.20
	// TorqueSpread is the share by which the torque for a preload scatters.
	TorqueSpread = 0.30
	// DefaultPreloadFraction is the share of the proof load for a joint that is
	// to be undone again: Shigley, 9th ed., p. 442.
	DefaultPreloadFraction = 0.75
)

// StressArea is the tensile stress area of a thread in mm²: for a metric one
// pi/4 (d - 0.9382 P)² of ISO 898-1, for an inch one pi/4 (D - 0.9743/n)² of
// ASME B1.1; d and D are the diameter, P the pitch, n the threads in an inch.
func StressArea(t Thread) float64 {
	if t.Inch() {
		return circle(t.Diameter.Mm() - 0.9743*unit.Inch.Mm()/float64(t.PerInch))
	}
	return circle(t.Diameter.Mm() - 0.9382*t.Pitch.Mm())
}

// minorArea is the area in mm² at the minor diameter, which bears the shear
// where threads lie in the plane: pi/4 (d - 1.226869 P)² for a metric thread,
// pi/4 (D - 1.299038/n)² for an inch one (Shigley, 9th ed., tables 8-1 and 8-2).
func minorArea(t Thread) float64 { return circle(minorDiameter(t)) }

// minorDiameter is the diameter in mm at the root of a thread.
func minorDiameter(t Thread) float64 {
	if t.Inch() {
		return t.Diameter.Mm() - 1.299038*unit.Inch.Mm()/float64(t.PerInch)
	}
	return t.Diameter.Mm() - 1.226869*t.Pitch.Mm()
}

// shankArea is the area in mm² of the bolt where it has no thread.
func shankArea(b Bolt) float64 { return circle(b.Diameter.Mm()) }

// circle is the area in mm² of a circle of diameter d mm.
func circle(d float64) float64 { return math.Pi / 4 * d * d }

// proofShear is the force in N that so many planes of area mm² bear in shear
// at a proof strength in MPa: 0.577 S_p A each, by the distortion energy theory
// (Shigley, 9th ed., p. 454). It decides.
func proofShear(proof, area float64, planes int) float64 {
	return 0.577 * proof * area * float64(planes)
}

// ultimateShear is the force in N at which so many planes of area mm² give way:
// 0.6 S_u A each, common practice. (EN 1993-1-8 table 3.4 has it too, but 0.5 for
// 10.9 with threads in the plane, divides by 1.25 and doesn't cover 12.9.) It is
// shown and decides nothing.
func ultimateShear(tensile, area float64, planes int) float64 {
	return 0.6 * tensile * area * float64(planes)
}

// Bearing is the pressure in MPa of a force in N between a bolt and so many
// plates of thickness mm, on the projected area: F/(n t d). Common practice.
func Bearing(force float64, plates int, thickness, diameter float64) float64 {
	return force / (float64(plates) * thickness * diameter)
}

// Bending is the stress in MPa at the root of a pin of diameter mm that stands
// out of one plate and bears a force in N at an arm of e mm: 32 F e/(pi d³).
func Bending(force, arm, diameter float64) float64 {
	return 32 * force * arm / (math.Pi * diameter * diameter * diameter)
}

// Torque is T = K d F in N·m for a preload in N on a bolt of that diameter in
// mm (Shigley, 9th ed., p. 442 and table 8-15).
func Torque(factor, diameter, preload float64) float64 { return factor * diameter * preload / 1000 }

// poundFoot is 1 lbf·ft in N·m.
const poundFoot = unit.NewtonsPerPound * 12 * unit.MmPerInch / 1000

// PoundFeet gives a torque in N·m as lbf·ft.
func PoundFeet(newtonMetres float64) float64 { return newtonMetres / poundFoot }
