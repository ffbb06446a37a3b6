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
	gates  gates
	logs   Range // natural logarithms of the wanted damping ratio
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
	power := car.Response(road.Class.Roughness(), road.Speed()).DamperPower
	r.power = power / r.corner.Count()
	r.want(power)
	r.gates = r.makeGates()
	return r
}

// want works out the wanted damping. Wanted is between the loads: the geometric
// mean over them of what gives the wanted ratio. Low gives the low ratio at the
// load that needs most and High the high one at the load that needs least.
func (r *Rater) want(power float64) {
	n := r.corner.Count()
	atDamper := func(s *ride.State, ratio float64) float64 {
		c := ratio * s.Critical
		return max(0, c-r.frictionAtWheel(math.Sqrt(power/c))) / (n * s.DamperRatio * s.DamperRatio)
	}
	ratio := r.targets.Ratio.Range
	c := Range{0, 1, math.Inf(1)}
	for i := range r.states {
		s := &r.states[i]
		c.Low = max(c.Low, atDamper(s, ratio.Low))
		c.Wanted *= math.Pow(atDamper(s, ratio.Wanted), 1/float64(len(r.states)))
		c.High = min(c.High, atDamper(s, ratio.High))
	}
	unladen := &r.states[0]
	w := &r.wanted
	w.AtDamper = c
	wheel := n * unladen.DamperRatio * unladen.DamperRatio
	// The friction's share depends on the velocity, which depends on the whole.
	both := slopes{jump: 2 * r.corner.Friction / (n * unladen.DamperRatio), n: 1}
	both.end[0], both.slope[0], both.last = 1, 2*c.Wanted, 2*c.Wanted
	velocity, total := both.solve(r.power)
	w.Velocity = velocity
	w.AtWheel = total * wheel
	w.FrictionAtWheel = (total - c.Wanted) * wheel
	split := r.targets.Split
	w.Compression, w.Rebound = c.scaled(2/(1+split)), c.scaled(2*split/(1+split))
}

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
