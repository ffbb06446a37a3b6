package damping

import (
	"math"
	"slices"
	"strconv"

	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/ride"
)

// Question asks which damping and which spring a corner wants.
type Question struct {
	// Corner needs the ratio of its damper.
	Corner  ride.Corner
	Targets Targets
	// Velocities of the damper at which forces are wanted, m/s, beside those of
	// body motion, of wheel hop and of their peaks.
	Velocities []float64
	// Spring, where there is one to judge.
	Spring *Spring
}

// MostVelocities bounds the velocities of a question.
const MostVelocities = 20

// Answer says what a corner wants. Figures are in SI units.
type Answer struct {
	Targets  Resolved
	Loads    []LoadAnswer // unladen first
	Wanted   Wanted
	Spring   *SpringAnswer
	Cautions []note.Note
	Steps    []note.Step
}

// LoadAnswer is a corner at one load.
type LoadAnswer struct {
	ride.State
	// CriticalAtDamper is the critical damping seen from one damper, N·s/m.
	CriticalAtDamper float64
	// Ratio is the damping ratio of the body with the wanted damping. It is lower
	// with the load than without.
	Ratio float64
	// HopRatio is the damping ratio of the wheel with it, c/(2√((k_w+k_t) m_u)).
	HopRatio float64
	// RatioNow and HopRatioNow are those of the corner's own damping, 0 where that
	// isn't known.
	RatioNow, HopRatioNow float64
	// ComfortRatio is the damping ratio at which the body shakes least on a road:
	// a floor for a target and no target, since the wheel hops.
	ComfortRatio float64
	// RollDamping is the damping at the wheel where the wheels of the axle move
	// against each other, with the wanted damper, N·s/m.
	RollDamping float64
	// WantedWheelRate and WantedSpringRate give the wanted frequency, N/m. They are
	// 0 where no spring does: the tyre alone is too soft, or a spring's force and the
	// change of its ratio alone give more.
	WantedWheelRate, WantedSpringRate Range
}

// Wanted is the damping that the targets ask for, for all loads together.
type Wanted struct {
	// AtWheel is the damping at the wheel, of all dampers and of friction, N·s/m,
	// unladen. FrictionAtWheel is what dry friction has of it.
	AtWheel, FrictionAtWheel float64
	// AtDamper is the coefficient of one damper, N·s/m. With Wanted the geometric mean
	// of the damping ratios over the loads, friction included, is the wanted one.
	// Between Low and High the damping ratio is in its range at every load.
	AtDamper Range
	// Compression and Rebound are the coefficients of one damper in each direction.
	Compression, Rebound Range
	// Velocity is the root mean square of one damper's velocity on the road with
	// the wanted damping, m/s.
	Velocity float64
	Forces   []WantedForce
}

// Motion says what a reference velocity of a damper is.
type Motion string

// The reference velocities.
const (
	BodyMotion Motion = "body_motion" // of the body at its natural frequency, root mean square
	HopMotion  Motion = "hop_motion"  // of the wheel beside that, root mean square
	PeakMotion Motion = "peak_motion" // three times the root mean square of all
	AsGiven    Motion = "as_given"
)

// WantedForce is the force that one damper should have at a velocity.
type WantedForce struct {
	Motion               Motion
	Velocity             float64 // m/s
	Compression, Rebound Range   // N
}

// Faults tells what cannot be. Its pointers go into {"corner", "targets",
// "velocities", "spring"}.
func (q *Question) Faults() fault.List {
	var faults fault.List
	faults.AddUnder("/corner", q.Corner.Faults())
	if q.Corner.DamperRatio == 0 {
		faults.Add("/corner/damper_ratio", damperRatioMissing)
	}
	faults.AddUnder("/targets", q.Targets.Faults())
	if len(q.Velocities) > MostVelocities {
		faults.Add("/velocities", tooManyVelocities, note.Num("most", MostVelocities, ""))
	}
	for i, v := range q.Velocities {
		if !(v > 0 && v <= MostVelocity) {
			faults.Add("/velocities/"+strconv.Itoa(i), velocityOutOfRange, note.Num("most", MostVelocity, "m/s"))
		}
	}
	if q.Spring != nil {
		faults.AddUnder("/spring", q.Spring.Faults())
		const ratio = "/corner/spring_ratio" // of which the corner may have told already
		if q.Corner.SpringRatio == 0 && !slices.ContainsFunc(faults, func(f fault.Fault) bool { return f.Pointer == ratio }) {
			faults.Add(ratio, ratioOfSpringMissing)
		}
	}
	return faults
}

// Answer works out what the corner wants.
func (q *Question) Answer() (Answer, fault.List) {
	if faults := q.Faults(); len(faults) > 0 {
		return Answer{}, faults
	}
	r := newRater(q)
	a := Answer{Targets: r.targets, Wanted: r.wanted}
	a.Wanted.Forces = r.forces(q.Velocities)
	a.Loads = r.loads()
	a.Cautions = r.Cautions()
	if q.Spring != nil {
		spring := q.Spring.judge(&q.Corner, r.states, a.Loads)
		a.Spring = &spring
		a.Cautions = append(a.Cautions, spring.Cautions...)
	}
	a.Steps = r.steps(&a)
	return a, nil
}

// loads describes the corner at all loads.
func (r *Rater) loads() []LoadAnswer {
	list := make([]LoadAnswer, len(r.states))
	for i := range r.states {
		list[i] = r.load(&r.states[i], r.atWheel[i])
	}
	return list
}

// load describes the corner at a load with the wanted damping, so much at the wheel.
func (r *Rater) load(s *ride.State, atWheel float64) LoadAnswer {
	n, mr := r.corner.Count(), s.DamperRatio
	hop := 2 * math.Sqrt((s.WheelRate+s.Car.Tyre)*s.Car.Unsprung)
	l := LoadAnswer{
		State:            *s,
		CriticalAtDamper: s.Critical / (n * mr * mr),
		Ratio:            atWheel / s.Critical,
		HopRatio:         atWheel / hop,
		ComfortRatio:     math.Sqrt(s.WheelRate*(s.SprungKg+s.Car.Unsprung)/(s.Car.Tyre*s.SprungKg)) / 2,
		RollDamping:      r.ofDampers(mr) * r.corner.DampingInRoll(),
	}
	if now := r.corner.Damping; now > 0 {
		l.RatioNow, l.HopRatioNow = now/s.Critical, now/hop
	}
	l.WantedWheelRate = wheelRates(s, r.targets.RideHz.Range)
	l.WantedSpringRate = springRates(s, l.WantedWheelRate)
	return l
}

// wheelRates gives the wheel rates in N/m at which the body has a frequency on
// spring and tyre in series: k = m (2πf)² is k_w k_t/(k_w + k_t), so k_w is
// k k_t/(k_t - k). It is 0 for a frequency that the tyre is too soft for.
func wheelRates(s *ride.State, hz Range) Range {
	rate := func(hz float64) float64 {
		w := 2 * math.Pi * hz
		k := s.SprungKg * w * w
		if k >= s.Car.Tyre {
			return 0
		}
		return k * s.Car.Tyre / (s.Car.Tyre - k)
	}
	return Range{rate(hz.Low), rate(hz.Wanted), rate(hz.High)}
}

// springRates gives the springs' own rates for wheel rates: (k_w - F dMR/dz)/MR²
// with the force that carries the body there. It is 0 where the wheel rate is.
func springRates(s *ride.State, wheel Range) Range {
	force := s.SprungKg * ride.Gravity / s.SpringRatio
	rate := func(k float64) float64 {
		if k == 0 {
			return 0
		}
		return max(0, (k-force*s.SpringRatioChange)/(s.SpringRatio*s.SpringRatio))
	}
	return Range{rate(wheel.Low), rate(wheel.Wanted), rate(wheel.High)}
}
