package ride

import "math"

// State is a corner at rest at a load. All figures are in SI units.
type State struct {
	Load     Load
	SprungKg float64
	// Sink is by how far the wheel has moved up from ride height, unladen and
	// without gas force, m. It is negative where the body has risen.
	Sink float64
	// SpringRatio and DamperRatio are the motion ratios there, and SpringRatioChange is
	// the change of the first, 1/m.
	SpringRatio, DamperRatio, SpringRatioChange float64
	// Shorter is by how much the spring is shorter than at ride height, m.
	Shorter float64
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

// spring is a corner's spring and gas seen from the wheel. Wheel travel up z makes the
// spring shorter by x(z) and so
//
//	F_wheel(z) = (f0 + k x) MR(z) + gas DR(z)     MR(z) = dx/dz
//	k_w(z) = dF_wheel/dz = k MR² + (f0 + k x) dMR/dz + gas dDR/dz
//
// by virtual work. The last two terms are often forgotten. MR is the spring's
// ratio and DR the damper's.
type spring struct {
	k, f0        float64 // N/m, N at z = 0
	gas          float64 // N, all dampers of the wheel
	part, damper Motion
	together     bool // part and damper move along one curve
}

func (c *Corner) spring(gas float64) spring {
	const perMetre = 1000
	s := spring{part: c.SpringMotion(), damper: c.DamperMotion(), gas: gas}
	s.together = s.part.curve != nil && s.part.curve == s.damper.curve
	mr := s.part.ratio
	s.f0 = c.SprungKg * Gravity / mr
	s.k = c.SpringRate * perMetre
	if c.SpringRate == 0 {
		s.k = (c.WheelRate*perMetre - s.f0*s.part.change) / (mr * mr)
	}
	return s
}

// pressed is a corner's spring and gas at one wheel travel.
type pressed struct {
	part, damper Moved
	force        float64 // in the spring, N
	atWheel      float64 // N, with the gas
	rate         float64 // at the wheel, N/m
}

// at gives them at wheel travel z; false where a linkage doesn't get there.
func (s *spring) at(z float64) (p pressed, ok bool) {
	if p.part, ok = s.part.At(z); !ok {
		return p, false
	}
	p.damper = p.part
	if !s.together {
		if p.damper, ok = s.damper.At(z); !ok {
			return p, false
		}
	}
	mr := p.part.Ratio
	p.force = s.f0 + s.k*p.part.Shorter
	p.atWheel = p.force*mr + s.gas*p.damper.Ratio
	p.rate = s.k*mr*mr + p.force*p.part.Change + s.gas*p.damper.Change
	return p, true
}

// mostSink is the farthest that a corner may settle from ride height, m (our
// choice).
const mostSink = 1

// settle gives the wheel travel at which spring and gas force carry a mass, by
// Newton's method. A step that goes too far is halved: a stiffening spring makes the
// first ones too long. It says false where there is no such travel nearby: the wheel rate
// or a ratio falls to 0 before, or a linkage ends.
func (s *spring) settle(mass float64) (z float64, p pressed, ok bool) {
	if s.k <= 0 {
		return 0, p, false
	}
	from := 0.0
	for range mostSteps {
		p, ok = s.at(z)
		if !(ok && p.rate > 0 && p.part.Ratio > 0 && (s.damper.ratio == 0 || p.damper.Ratio > 0) && math.Abs(z) <= mostSink) {
			if math.Abs(z-from) < nearEnough {
				return 0, p, false
			}
			z = (from + z) / 2
			continue
		}
		step := (mass*Gravity - p.atWheel) / p.rate
		if math.Abs(step) < nearEnough {
			return z, p, true
		}
		from, z = z, z+step
	}
	return 0, p, false
}

// nearEnough is the last step of settle, m, and mostSteps bounds them.
const (
	nearEnough = 1e-11
	mostSteps  = 100
)

// At gives the corner at rest at a load, with a gas force in N that all its
// dampers together push with. The spring carries the unladen body at ride height
// without gas force, so gas raises the body. It says false where the corner never
// settles; without gas force that is one of Faults.
func (c *Corner) At(load Load, gas float64) (State, bool) {
	mass := c.Mass(load)
	s := c.spring(gas)
	z, p, ok := s.settle(mass)
	if !ok {
		return State{}, false
	}
	const perMetre = 1000
	st := State{
		Load: load, SprungKg: mass, Sink: z,
		SpringRatio: p.part.Ratio, DamperRatio: p.damper.Ratio, SpringRatioChange: p.part.Change, Shorter: p.part.Shorter,
		SpringForce: p.force, SpringRate: s.k, WheelRate: p.rate,
	}
	gasRate := s.gas * p.damper.Change
	st.RollRate = (st.WheelRate-gasRate)*inRoll(c.SpringRollRatio, s.part.ratio) + gasRate*inRoll(c.DamperRollRatio, s.damper.ratio) + c.RollBarRate*perMetre
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
