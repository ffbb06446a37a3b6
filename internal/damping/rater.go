package damping

import (
	"math"

	"midstroke/internal/enum"
	"midstroke/internal/fault"
	"midstroke/internal/ride"
)

// Verdict says how a damper's damping ratio compares with the wanted range.
type Verdict uint8

// The verdicts. The zero value is for a damper that can't be judged.
const (
	Soft Verdict = iota + 1
	InRange
	Firm
)

// Verdicts names the verdicts in requests and answers.
var Verdicts = enum.Names[Verdict]{"", Soft: "soft", InRange: "in_range", Firm: "firm"}

// String gives "soft", "in_range", "firm" or "".
func (v Verdict) String() string { return Verdicts[v] }

// Rater judges force tables for one corner, target and road. It is safe for any
// number of users.
type Rater struct {
	corner  *ride.Corner
	targets Resolved
	states  []ride.State // at each load, without gas force
	// power is the mean that one damper takes on the road, W. It follows from the
	// road and the tyre alone (ride.Response), whatever the damper.
	power  float64
	wanted Wanted
	// atWheel is the damping at the wheel at each load with the wanted dampers,
	// friction included, N·s/m.
	atWheel []float64
	gates   gates
	logs    Range // natural logarithms of the wanted damping ratio
}

// NewRater prepares for the judging of dampers.
func NewRater(q *Question) (*Rater, fault.List) {
	if faults := q.Faults(); len(faults) > 0 {
		return nil, faults
	}
	return newRater(q), nil
}

// Targets are the resolved targets.
func (r *Rater) Targets() Resolved { return r.targets }

// Wanted is what dampers are compared with, without forces.
func (r *Rater) Wanted() Wanted { return r.wanted }

// newRater is NewRater for a question without faults.
func newRater(q *Question) *Rater {
	r := &Rater{corner: &q.Corner, targets: q.Targets.Resolve()}
	ratio := r.targets.Ratio.Range
	r.logs = Range{math.Log(ratio.Low), math.Log(ratio.Wanted), math.Log(ratio.High)}
	for _, load := range r.corner.Loads() {
		s, _ := r.corner.At(load, 0) // Faults has seen it settle
		r.states = append(r.states, s)
	}
	car := r.states[0].Car
	car.Damping = 1 // the power doesn't depend on it
	road := ride.Road{Class: r.targets.Class, SpeedKmh: r.targets.SpeedKmh}
	r.power = car.Response(road.Class.Roughness(), road.Speed()).DamperPower / r.corner.Count()
	r.want()
	r.gates = r.makeGates()
	return r
}

// want works out the wanted damping. With Wanted the geometric mean of the damping
// ratio over the loads is the wanted one, friction included. Low gives the low ratio at
// the load that needs most and High the high one at the load that needs least.
func (r *Rater) want() {
	n := r.corner.Count()
	atDamper := func(s *ride.State, atWheel float64) float64 {
		friction := r.frictionAtWheel(math.Sqrt(r.powerAtWheel() / atWheel))
		return max(0, atWheel-friction) / (n * s.DamperRatio * s.DamperRatio)
	}
	ratio := r.targets.Ratio.Range
	c := Range{High: math.Inf(1)}
	least, most := math.Inf(1), 0.0
	for i := range r.states {
		s := &r.states[i]
		c.Low = max(c.Low, atDamper(s, ratio.Low*s.Critical))
		c.High = min(c.High, atDamper(s, ratio.High*s.Critical))
		wanted := atDamper(s, ratio.Wanted*s.Critical)
		least, most = min(least, wanted), max(most, wanted)
	}
	if r.sameRatio() {
		c.Wanted = atDamper(&r.states[0], r.betweenLoads())
	} else {
		c.Wanted = r.byTrial(least, most)
	}
	w := &r.wanted
	w.AtDamper = c
	for i := range r.states {
		r.atWheel = append(r.atWheel, r.withFriction(r.ofDampers(r.states[i].DamperRatio)))
	}
	unladen := &r.states[0]
	w.AtWheel = r.atWheel[0]
	w.FrictionAtWheel = w.AtWheel - r.ofDampers(unladen.DamperRatio)
	w.Velocity = unladen.DamperRatio * math.Sqrt(r.powerAtWheel()/w.AtWheel)
	split := r.targets.Split
	w.Compression, w.Rebound = c.scaled(2/(1+split)), c.scaled(2*split/(1+split))
}

// sameRatio says whether the dampers' motion ratio is the same at all loads.
func (r *Rater) sameRatio() bool {
	return r.states[0].DamperRatio == r.states[len(r.states)-1].DamperRatio
}

// betweenLoads is the damping at the wheel, friction included, at which the geometric
// mean of the damping ratio over the loads is the wanted one: ζ √(c_unladen c_laden) of
// the critical damping. It holds where the damping at the wheel is the same at all loads.
func (r *Rater) betweenLoads() float64 {
	critical := 1.0
	for i := range r.states {
		critical *= math.Pow(r.states[i].Critical, 1/float64(len(r.states)))
	}
	return r.targets.Ratio.Range.Wanted * critical
}

// byTrial is the coefficient of one damper between least and most that does the same
// where its motion ratio differs between the loads: the damping ratios rise with it.
func (r *Rater) byTrial(least, most float64) float64 {
	reaches := func(c float64) bool {
		product := 1.0
		for i := range r.states {
			s := &r.states[i]
			product *= r.withFriction(c*r.perWheel(s.DamperRatio)) / (s.Critical * r.targets.Ratio.Range.Wanted)
		}
		return product >= 1
	}
	if reaches(0) {
		return 0
	}
	const halvings = 60
	for range halvings {
		if c := (least + most) / 2; reaches(c) {
			most = c
		} else {
			least = c
		}
	}
	return most
}

// perWheel is what all dampers at a motion ratio give at the wheel for each N·s/m of one.
func (r *Rater) perWheel(ratio float64) float64 { return r.corner.Count() * ratio * ratio }

// ofDampers is what the wanted dampers give at the wheel.
func (r *Rater) ofDampers(ratio float64) float64 { return r.wanted.AtDamper.Wanted * r.perWheel(ratio) }

// withFriction is the damping at the wheel of dampers and friction together. Friction's
// share is √(2/π) F/σ and σ is √(P/c), so that
//
//	c = c_dampers + k √c, k = √(2/π) F/√P
func (r *Rater) withFriction(dampers float64) float64 {
	if r.corner.Friction == 0 {
		return dampers
	}
	k := r.frictionAtWheel(math.Sqrt(r.powerAtWheel()))
	root := (k + math.Sqrt(k*k+4*dampers)) / 2
	return root * root
}

// powerAtWheel is the mean that all dampers and the friction of the wheel take, W.
func (r *Rater) powerAtWheel() float64 { return r.power * r.corner.Count() }

// frictionAtWheel is the linear damping in N·s/m that takes as much power as the
// corner's dry friction at a root mean square of wheel velocity: √(2/π) F/σ, by
// the same linearisation as that of tables.
func (r *Rater) frictionAtWheel(sigma float64) float64 {
	return math.Sqrt(2/math.Pi) * r.corner.Friction / sigma
}

// forces are the wanted forces at the reference velocities and at others. The
// body moves with the root mean square of wheel travel at its own frequency; hop
// is the rest of the velocity's mean square.
func (r *Rater) forces(velocities []float64) []WantedForce {
	unladen := &r.states[0]
	car := unladen.Car
	car.Damping = r.wanted.AtWheel
	road := ride.Road{Class: r.targets.Class, SpeedKmh: r.targets.SpeedKmh}
	travel := car.Response(road.Class.Roughness(), road.Speed()).Travel
	v := r.wanted.Velocity
	body := min(v, unladen.DamperRatio*2*math.Pi*unladen.RideHz*travel)
	const peak = 3
	list := []WantedForce{
		{Motion: BodyMotion, Velocity: body},
		{Motion: HopMotion, Velocity: math.Sqrt(v*v - body*body)},
		{Motion: PeakMotion, Velocity: peak * v},
	}
	for _, given := range velocities {
		list = append(list, WantedForce{Motion: AsGiven, Velocity: given})
	}
	for i := range list {
		f := &list[i]
		f.Compression, f.Rebound = r.wanted.Compression.scaled(f.Velocity), r.wanted.Rebound.scaled(f.Velocity)
	}
	return list
}
