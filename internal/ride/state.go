package ride

import "math"

// State is a corner at rest at a load. All figures are in SI units.
type State struct {
	Load     Load
	SprungKg float64
	// Sink is by how far the wheel has moved up from ride height, unladen and
	// without gas force, m. It is negative where the body has risen.
	Sink float64
	// SpringRatio and DamperRatio are the motion ratios there.
	SpringRatio, DamperRatio float64
	// SpringForce is the force in the spring, N, and SpringRate its rate, N/m.
	SpringForce, SpringRate float64
	// WheelRate is the change of the force at the wheel with its travel, N/m.
	WheelRate float64
	// RollRate is the same where the wheels of the axle move against each other,
	// with the anti-roll bar.
	RollRate float64
	// RideHz is the body's natural frequency on spring and tyre in series, and
	// BodyHz on the spring alone. HopHz is the wheel's, between spring and tyre.
	RideHz, BodyHz, HopHz float64
	// Critical is the critical damping of the body at the wheel, 2√(k_w m_s), N·s/m.
	Critical float64
	// Car is the corner as a linear quarter car, without damping.
	Car QuarterCar
}

// spring is a corner's spring and gas seen from the wheel. Wheel travel up z
// compresses the spring by x(z) = mr z + change z²/2 and so
//
//	F_wheel(z) = (f0 + k x) MR(z) + gas DR(z)     MR(z) = dx/dz = mr + change z
//	k_w(z) = dF_wheel/dz = k MR² + (f0 + k x) dMR/dz + gas dDR/dz
//
// by virtual work. The last two terms are often forgotten. MR is the spring's
// ratio and DR the damper's.
type spring struct {
	k, f0       float64 // N/m, N at z = 0
	mr, change  float64 // 1, 1/m
	gas         float64 // N, all dampers of the wheel
	dr, dchange float64 // of the damper
}

func (c *Corner) spring(gas float64) spring {
	const perMetre = 1000
	s := spring{mr: c.SpringRatio, change: c.SpringRatioChange, gas: gas, dr: c.DamperRatio, dchange: c.DamperRatioChange}
	if s.mr == 0 { // the spring as it is at the wheel
		s.mr, s.change = 1, 0
	}
	s.f0 = c.SprungKg * Gravity / s.mr
	s.k = c.SpringRate * perMetre
	if c.SpringRate == 0 {
		s.k = (c.WheelRate*perMetre - s.f0*s.change) / (s.mr * s.mr)
	}
	return s
}

func (s *spring) ratio(z float64) float64 { return s.mr + s.change*z }

func (s *spring) force(z float64) float64 { return s.f0 + s.k*(s.mr*z+s.change*z*z/2) }

func (s *spring) atWheel(z float64) float64 {
	return s.force(z)*s.ratio(z) + s.gas*(s.dr+s.dchange*z)
}

func (s *spring) rate(z float64) float64 {
	mr := s.ratio(z)
	return s.k*mr*mr + s.force(z)*s.change + s.gas*s.dchange
}

// mostSink is the farthest that a corner may settle from ride height, m (our
// choice).
const mostSink = 1

// settle gives the wheel travel at which spring and gas force carry a mass, by
// Newton's method. It says false where there is none nearby: the wheel rate or a
// ratio falls to 0 before.
func (c *Corner) settle(mass, gas float64) (float64, bool) {
	s := c.spring(gas)
	if s.k <= 0 {
		return 0, false
	}
	z := 0.0
	for range 60 {
		rate := s.rate(z)
		if !(rate > 0 && s.ratio(z) > 0 && (s.dr == 0 || s.dr+s.dchange*z > 0) && math.Abs(z) <= mostSink) {
			return 0, false
		}
		step := (mass*Gravity - s.atWheel(z)) / rate
		if math.Abs(step) < 1e-13 {
			return z, true
		}
		z += step
	}
	return 0, false
}

// At gives the corner at rest at a load, with a gas force in N that all its
// dampers together push with. The spring carries the unladen body at ride height
// without gas force, so gas raises the body. It says false where the corner never
// settles; without gas force that is one of Faults.
func (c *Corner) At(load Load, gas float64) (State, bool) {
	mass := c.Mass(load)
	z, ok := c.settle(mass, gas)
	if !ok {
		return State{}, false
	}
	const perMetre = 1000
	s := c.spring(gas)
	st := State{
		Load: load, SprungKg: mass, Sink: z,
		SpringRatio: s.ratio(z), DamperRatio: s.dr + s.dchange*z,
		SpringForce: s.force(z), SpringRate: s.k, WheelRate: s.rate(z),
	}
	gasRate := s.gas * s.dchange
	st.RollRate = (st.WheelRate-gasRate)*inRoll(c.SpringRollRatio, s.mr) + gasRate*inRoll(c.DamperRollRatio, s.dr) + c.RollBarRate*perMetre
	kt := c.TyreRate * perMetre
	st.RideHz = hertz(st.WheelRate*kt/(st.WheelRate+kt), mass)
	st.BodyHz = hertz(st.WheelRate, mass)
	st.HopHz = hertz(st.WheelRate+kt, c.UnsprungKg)
	st.Critical = 2 * math.Sqrt(st.WheelRate*mass)
	st.Car = QuarterCar{Sprung: mass, Unsprung: c.UnsprungKg, Spring: st.WheelRate, Tyre: kt}
	return st, true
}

// inRoll is what a part's rate or damping at the wheel in roll has of that in heave: the
// square of its ratio in roll over that in heave, 1 where none is given. A part that
// moves by ρ times as much in roll has the energy E(ρ z) for E(z) in heave, so that all
// of E″(z) is multiplied by ρ², the term of the force too.
func inRoll(roll, heave float64) float64 {
	if roll == 0 || heave == 0 {
		return 1
	}
	return roll * roll / (heave * heave)
}

// DampingInRoll is what the dampers' damping at the wheel has of itself where the wheels
// of the axle move against each other.
func (c *Corner) DampingInRoll() float64 { return inRoll(c.DamperRollRatio, c.DamperRatio) }

// hertz is the natural frequency of a mass in kg on a rate in N/m, √(k/m)/2π.
func hertz(rate, mass float64) float64 { return math.Sqrt(rate/mass) / (2 * math.Pi) }
