package ride

import (
	"math"

	"midstroke/internal/enum"
	"midstroke/internal/fault"
	"midstroke/internal/note"
)

// Gravity is the standard acceleration of free fall, m/s² (ISO 80000-3).
const Gravity = 9.80665

// Corner is one corner of a vehicle: a body on a spring and a damper over a
// wheel on its tyre. Ratios are travel of the part over travel of the wheel,
// "damper per wheel", and their change is over the wheel's travel up. What isn't
// known is 0.
type Corner struct {
	// SprungKg is the body's mass on this wheel, unladen. LadenKg is the same with
	// the load, 0 for no load. UnsprungKg is the mass that moves with the wheel.
	SprungKg, LadenKg, UnsprungKg float64
	// WheelRate is the spring's rate at the wheel, N/mm, and SpringRate that of the
	// spring itself. One of the two is given.
	WheelRate, SpringRate float64
	TyreRate              float64 // N/mm
	// SpringRatio and DamperRatio are motion ratios at ride height, unladen, and
	// the changes are their derivatives by wheel travel up, 1/m. The ratios are
	// taken as linear in wheel travel, unless there is a curve.
	SpringRatio, SpringRatioChange float64
	DamperRatio, DamperRatioChange float64
	// SpringRatioHeld and DamperRatioHeld say that a change of 0 was given, which is
	// more than none.
	SpringRatioHeld, DamperRatioHeld bool
	// SpringCurve and DamperCurve are a linkage's, nil where none is known. Ratio and
	// change are then those of the curve at ride height.
	SpringCurve, DamperCurve Curve
	// SpringRollRatio and DamperRollRatio are the motion ratios where the wheels of
	// an axle move against each other. 0 stands for the same as in heave.
	SpringRollRatio, DamperRollRatio float64
	// RollBarRate is the force of the anti-roll bar at each wheel over that wheel's
	// travel, N/mm, where the wheels move equally far against each other.
	RollBarRate float64
	// Friction is the dry friction of leaves and joints at the wheel, N: half of
	// the width of the loop that a slow test up and down draws.
	Friction float64
	// Dampers is how many work on this wheel, 0 stands for one.
	Dampers int
	// Damping is that of the dampers there now, at the wheel, the mean of both
	// directions, N·s/m.
	Damping float64
}

// Load says how a corner is loaded.
type Load uint8

// The loads.
const (
	Unladen Load = iota
	Laden
)

// LoadNames names the loads in answers.
var LoadNames = enum.Names[Load]{"unladen", "laden"}

// String gives "unladen" or "laden".
func (l Load) String() string { return LoadNames[l] }

// Loads are the loads of a corner: one where no load is given.
func (c *Corner) Loads() []Load {
	if c.LadenKg == 0 || c.LadenKg == c.SprungKg {
		return []Load{Unladen}
	}
	return []Load{Unladen, Laden}
}

// Mass is the sprung mass at a load, kg.
func (c *Corner) Mass(load Load) float64 {
	if load == Laden && c.LadenKg > 0 {
		return c.LadenKg
	}
	return c.SprungKg
}

// Count is the number of dampers on the wheel.
func (c *Corner) Count() float64 { return float64(max(1, c.Dampers)) }

// The limits of what is answered are our choice: wide enough for anything on
// wheels, narrow enough to catch a wrong unit.
const (
	MostMass        = 50_000  // kg a corner
	MostRate        = 20_000  // N/mm
	MostDamping     = 200_000 // N·s/m
	MostRatio       = 5
	MostRatioChange = 100     // 1/m
	MostFriction    = 100_000 // N
	MostDampers     = 8
)

// Faults tells what cannot be. Its pointers are names of the corner's fields:
// "/sprung_kg", "/wheel_rate_n_mm". Damping and the ratios of the damper may be
// unknown.
func (c *Corner) Faults() fault.List {
	var faults fault.List
	positive(&faults, "/sprung_kg", c.SprungKg, sprungOutOfRange, MostMass, "kg")
	switch {
	case !(c.LadenKg >= 0 && c.LadenKg <= MostMass):
		faults.Add("/sprung_laden_kg", sprungOutOfRange, note.Num("most", MostMass, "kg"))
	case c.LadenKg != 0 && c.LadenKg < c.SprungKg:
		faults.Add("/sprung_laden_kg", ladenBelowUnladen, note.Figure("laden", c.LadenKg, "kg"), note.Figure("unladen", c.SprungKg, "kg"))
	}
	positive(&faults, "/unsprung_kg", c.UnsprungKg, unsprungOutOfRange, MostMass, "kg")
	c.springFaults(&faults)
	positive(&faults, "/tyre_rate_n_mm", c.TyreRate, tyreRateOutOfRange, MostRate, "N/mm")
	upTo(&faults, "/damper_ratio", c.DamperRatio, RatioOutOfRange, MostRatio, "")
	within(&faults, "/damper_ratio_change_per_m", c.DamperRatioChange)
	upTo(&faults, "/spring_roll_ratio", c.SpringRollRatio, RatioOutOfRange, MostRatio, "")
	upTo(&faults, "/damper_roll_ratio", c.DamperRollRatio, RatioOutOfRange, MostRatio, "")
	upTo(&faults, "/roll_bar_rate_n_mm", c.RollBarRate, rollBarOutOfRange, MostRate, "N/mm")
	upTo(&faults, "/friction_n", c.Friction, frictionOutOfRange, MostFriction, "N")
	if c.Dampers < 0 || c.Dampers > MostDampers {
		faults.Add("/dampers", dampersOutOfRange, note.Num("most", MostDampers, ""))
	}
	upTo(&faults, "/damping_ns_m", c.Damping, dampingOutOfRange, MostDamping, "N·s/m")
	if len(faults) == 0 {
		for _, load := range c.Loads() {
			if _, ok := c.At(load, 0); !ok {
				faults.Add("", neverSettles, note.Figure("mass", c.Mass(load), "kg"))
				break
			}
		}
	}
	return faults
}

func (c *Corner) springFaults(faults *fault.List) {
	switch {
	case c.WheelRate == 0 && c.SpringRate == 0:
		faults.Add("/wheel_rate_n_mm", springMissing, note.Figure("rate", usualWheelRate(c.SprungKg), "N/mm"), note.Figure("mass", c.SprungKg, "kg"))
	case c.WheelRate != 0 && c.SpringRate != 0:
		faults.Add("/spring_rate_n_mm", springTwice)
	case c.SpringRate != 0:
		positive(faults, "/spring_rate_n_mm", c.SpringRate, springRateOutOfRange, MostRate, "N/mm")
		if c.SpringRatio == 0 {
			faults.Add("/spring_ratio", springRatioMissing)
		}
	default:
		positive(faults, "/wheel_rate_n_mm", c.WheelRate, wheelRateOutOfRange, MostRate, "N/mm")
		if c.SpringRatio == 0 && (c.SpringRatioChange != 0 || c.SpringRollRatio != 0) {
			faults.Add("/spring_ratio", springRatioMissingBeside)
		}
	}
	upTo(faults, "/spring_ratio", c.SpringRatio, RatioOutOfRange, MostRatio, "")
	within(faults, "/spring_ratio_change_per_m", c.SpringRatioChange)
}

// usualWheelRate is the wheel rate in N/mm at which a mass on it has 1.2 Hz, a
// common figure for cars (common practice, no source).
func usualWheelRate(mass float64) float64 {
	const usualHz, perMetre = 1.2, 1000
	return mass * math.Pow(2*math.Pi*usualHz, 2) / perMetre
}

// positive reports v unless it is above zero and no more than most.
func positive(faults *fault.List, pointer string, v float64, code fault.Code, most float64, unitName string) {
	if !(v > 0 && v <= most) {
		faults.Add(pointer, code, note.Num("most", most, unitName))
	}
}

// upTo reports v unless it is 0, for what isn't known, or above and no more than most.
func upTo(faults *fault.List, pointer string, v float64, code fault.Code, most float64, unitName string) {
	if v != 0 {
		positive(faults, pointer, v, code, most, unitName)
	}
}

// within reports the change of a ratio that can't be.
func within(faults *fault.List, pointer string, change float64) {
	if !(math.Abs(change) <= MostRatioChange) {
		faults.Add(pointer, ratioChangeOutOfRange, note.Num("most", MostRatioChange, "1/m"))
	}
}
