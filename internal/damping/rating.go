package damping

import (
	"math"

	"midstroke/internal/ride"
)

// Judgement is a damper's damping in short, for a search.
type Judgement struct {
	Verdict Verdict
	// Curve is the position to start from, as an index of the table's curves.
	Curve int
	// Outside is how far the damping ratio is from the wanted range, as the
	// logarithm of the factor that is lacking or too much; 0 within.
	Outside float64
	// Away is the size of the logarithm of the damper's coefficient over the wanted
	// one.
	Away float64
}

// Rating is a damper's damping on the corner and the road.
type Rating struct {
	Judgement
	Positions []Position // as the table's curves
	// GasRise is by how much the gas force of all dampers of the wheel raises the
	// unladen body, m at the wheel.
	GasRise float64
}

// Position is the damping at one position of the adjusters.
type Position struct {
	Name    string
	Verdict Verdict
	Outside float64
	// Velocity is the root mean square of the damper's velocity on the road,
	// unladen, m/s.
	Velocity float64
	Loads    []LoadRatio
	Detail
}

// Detail is what is worked out for a position once its velocity is known.
type Detail struct {
	// Coefficient is that of the linear damper of equal power at Velocity,
	// N·s/m, and Compression and Rebound the same in each direction.
	Coefficient, Compression, Rebound float64
	// Beyond is the part of the damping that comes from velocities beyond the
	// table.
	Beyond float64
	// PullDown is by how much the body goes down, because the damper pulls harder
	// than it pushes, m at the wheel.
	PullDown float64
}

// LoadRatio is the damping at one load.
type LoadRatio struct {
	Load ride.Load
	// Ratio is the damping ratio of the body in heave, with the corner's friction,
	// and HopRatio that of the wheel.
	Ratio, HopRatio float64
	// AtWheel is the damping of dampers and friction at the wheel, N·s/m.
	AtWheel float64
}

// mostBeyond is the part of the damping from beyond the table at which a table
// says too little to judge by (our choice).
const mostBeyond = 0.5

// tellBeyond is the part from which on the answer warns of it (our choice).
const tellBeyond = 0.1

// Least and Most are the least and the greatest damping ratio of all positions
// at a load, as an index of Loads.
func (r *Rating) Least(load int) float64 {
	least := math.Inf(1)
	for i := range r.Positions {
		least = min(least, r.Positions[i].Loads[load].Ratio)
	}
	return least
}

// Most is described at Least.
func (r *Rating) Most(load int) float64 {
	most := 0.0
	for i := range r.Positions {
		most = max(most, r.Positions[i].Loads[load].Ratio)
	}
	return most
}

// Start is the position to start from.
func (r *Rating) Start() *Position { return &r.Positions[r.Curve] }

// slack makes a ratio that is exactly at a limit count as inside.
const slack = 1e-9

// Judge gives a damper's verdict at the position to start from: the one that is
// least far outside the wanted range, and of those the one nearest to the wanted
// ratio. A table without curves isn't judged.
func (r *Rater) Judge(t *Table) Judgement { return r.judgeAmong(t, nil) }

// judgeAmong is Judge of one among powers, which may be nil.
func (r *Rater) judgeAmong(t *Table, of *OneOf) Judgement {
	best := notJudged
	var gas [2]ride.State
	states := r.withGas(t, &gas)
	var s slopes
	for i := range t.Curves {
		t.pieces(&t.Curves[i], bothForces, &s)
		made := r.linears(&s, states, of, i)
		if j := r.judge(&s, states, &made); j.betterThan(&best) {
			best = j
			best.Curve = i
		}
	}
	return best
}

var notJudged = Judgement{Curve: -1, Outside: math.Inf(1), Away: math.Inf(1)}

func (j *Judgement) betterThan(k *Judgement) bool {
	return j.Verdict != 0 && (j.Outside < k.Outside || j.Outside == k.Outside && j.Away < k.Away)
}

// withGas gives the corner at each load with a damper's gas force. That changes
// the wheel rate and the ratios where these change with travel. There are none
// where the corner never settles with it.
func (r *Rater) withGas(t *Table, room *[2]ride.State) []ride.State {
	if t.GasForce == 0 || !r.GasCounts() {
		return r.states
	}
	for i, load := range r.corner.Loads() {
		state, ok := r.corner.At(load, t.GasForce*r.corner.Count())
		if !ok {
			return nil
		}
		room[i] = state
	}
	return room[:len(r.states)]
}

// linear is a curve made linear at one load.
type linear struct {
	velocity, c float64 // root mean square at the damper; one damper with its part of the friction
	atWheel     float64 // all dampers and the friction
}

// linears makes a curve linear at each load. Only the damper's ratio tells the loads
// apart. of may be nil; with it less is to be done.
func (r *Rater) linears(s *slopes, states []ride.State, of *OneOf, curve int) (made [2]linear) {
	for i := range states {
		mr := states[i].DamperRatio
		if i > 0 && states[i-1].DamperRatio == mr {
			made[i] = made[i-1]
			continue
		}
		n, own := r.corner.Count(), s.jump
		friction := 2 * r.corner.Friction / (n * mr)
		begin := 0.0
		if of != nil {
			begin = of.velocity(curve, r.power, friction)
		}
		s.jump += friction
		if begin == 0 {
			begin = s.guess(r.power)
		}
		velocity, c := s.solveFrom(begin, r.power)
		s.jump = own
		made[i] = linear{velocity, c, c * n * mr * mr}
	}
	return made
}

// judge judges one curve. The verdict is that of the load at which it is farther
// outside; of two equal ones "soft" counts.
func (r *Rater) judge(s *slopes, states []ride.State, made *[2]linear) Judgement {
	if len(states) == 0 {
		return notJudged
	}
	away, low, high := 0.0, 0.0, 0.0 // the last two are how far below the range, and above
	for i := range states {
		l := &made[i]
		if s.beyond(l.velocity, l.c) > mostBeyond {
			return notJudged
		}
		ratio := math.Log(l.atWheel / states[i].Critical)
		low = max(low, r.logs.Low-ratio)
		high = max(high, ratio-r.logs.High)
		away += ratio - r.logs.Wanted
	}
	j := Judgement{Verdict: InRange, Away: math.Abs(away) / float64(len(states))}
	if outside := max(low, high); outside > slack {
		j.Outside, j.Verdict = outside, Firm
		if low >= high {
			j.Verdict = Soft
		}
	}
	return j
}

// Rate gives a damper's damping at every position. It says false for a table
// without curves, and where the corner never settles with the gas force.
func (r *Rater) Rate(t *Table) (Rating, bool) {
	var gas [2]ride.State
	states := r.withGas(t, &gas)
	if len(states) == 0 || len(t.Curves) == 0 {
		return Rating{}, false
	}
	rating := Rating{Judgement: notJudged, Positions: make([]Position, len(t.Curves))}
	rating.GasRise = r.riseOf(t, states)
	rating.Curve = 0
	loads := make([]LoadRatio, len(t.Curves)*len(states))
	for i := range t.Curves {
		p := &rating.Positions[i]
		p.Loads, loads = loads[:len(states):len(states)], loads[len(states):]
		if j := r.ratePosition(p, t, i, states); j.betterThan(&rating.Judgement) {
			rating.Judgement = j
			rating.Curve = i
		}
	}
	return rating, true
}

// riseOf is GasRise of a table, with the states that withGas gave.
func (r *Rater) riseOf(t *Table, states []ride.State) float64 {
	if r.GasCounts() {
		return -states[0].Sink
	}
	return r.plainRise(t.GasForce)
}

// GasRise is by how much a gas force in N of each damper raises the unladen body, m at
// the wheel. It says false where the corner never settles with it at some load.
func (r *Rater) GasRise(force float64) (float64, bool) {
	if !r.GasCounts() {
		return r.plainRise(force), true
	}
	t := Table{GasForce: force}
	var gas [2]ride.State
	states := r.withGas(&t, &gas)
	if len(states) == 0 {
		return 0, false
	}
	return r.riseOf(&t, states), true
}

// plainRise is F MR/k_w of all dampers together: the rise where no ratio changes.
func (r *Rater) plainRise(force float64) float64 {
	unladen := &r.states[0]
	return force * r.corner.Count() * unladen.DamperRatio / unladen.WheelRate
}

// ratePosition rates a curve. p has room for its loads.
func (r *Rater) ratePosition(p *Position, t *Table, curve int, states []ride.State) Judgement {
	var s slopes
	c := &t.Curves[curve]
	t.pieces(c, bothForces, &s)
	made := r.linears(&s, states, nil, curve)
	j := r.judge(&s, states, &made)
	p.Name, p.Verdict, p.Outside, p.Velocity = c.Position, j.Verdict, j.Outside, made[0].velocity
	for i := range states {
		state, atWheel := &states[i], made[i].atWheel
		p.Loads[i] = LoadRatio{
			Load: state.Load, AtWheel: atWheel, Ratio: atWheel / state.Critical,
			HopRatio: atWheel / (2 * math.Sqrt((state.WheelRate+state.Car.Tyre)*state.Car.Unsprung)),
		}
	}
	p.Detail = r.detail(t, c, &s, &made[0], &states[0])
	return j
}

// detail works out the rest of a curve, which was made linear at the unladen state.
func (r *Rater) detail(t *Table, c *Curve, s *slopes, made *linear, unladen *ride.State) Detail {
	d := Detail{Beyond: s.beyond(made.velocity, made.c)}
	d.Coefficient, _ = s.coefficient(made.velocity)
	t.pieces(c, weight{compression: 1}, s)
	half, _ := s.coefficient(made.velocity)
	d.Compression = 2 * half
	push := s.mean(made.velocity)
	t.pieces(c, weight{rebound: 1}, s)
	half, _ = s.coefficient(made.velocity)
	d.Rebound = 2 * half
	d.PullDown = (s.mean(made.velocity) - push) * r.corner.Count() * unladen.DamperRatio / unladen.WheelRate
	return d
}
