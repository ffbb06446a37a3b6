package ride

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Obstacle is what a wheel drives over: a step up of Height, or where Length is
// above 0 a bump of that length, H/2 (1 - cos 2πx/L). Lengths are in m, Speed in
// m/s.
type Obstacle struct{ Height, Length, Speed float64 }

// Trace is a quarter car's movement over time after it reaches an obstacle at
// rest. All lists are as long as each other.
type Trace struct {
	// Interval is between two entries, s. The first is at 0.
	Interval float64
	// Road is the road's height, Body the body's movement up and Travel the wheel's
	// against it, m. TyreLoad is the tyre's load beside the load at rest, N: where
	// it is below minus that load, the wheel has left the road, which isn't computed.
	Road, Body, Travel, TyreLoad []float64
}

// Over drives the quarter car over an obstacle and follows it for a time in s with
// points entries, two or more. The equations are linear, and the bump is a part
// of a linear oscillation too, so each step is a product with a matrix exponential
// and exact, however long it is.
func (q QuarterCar) Over(o Obstacle, seconds float64, points int) Trace {
	h := seconds / float64(points-1)
	t := Trace{Interval: h}
	bump := 0.0 // how long it lasts
	if o.Length > 0 {
		bump = o.Length / o.Speed
	}
	system := q.system(bump)
	step := exponential(system, h)
	state := mat.NewVecDense(order, nil)
	// The road is h0 - h1 cos ωt, of a constant, a cosine and a sine.
	constant, cosine := o.Height, 0.0
	if bump > 0 {
		constant, cosine = o.Height/2, -o.Height/2
	}
	state.SetVec(atConstant, constant)
	state.SetVec(atCosine, cosine)
	for i := range points {
		now := float64(i) * h
		if before := now - h; bump > 0 && i > 0 && before < bump && now >= bump {
			move(state, exponential(system, bump-before))
			state.SetVec(atConstant, 0)
			state.SetVec(atCosine, 0)
			state.SetVec(atSine, 0)
			move(state, exponential(system, now-bump))
		} else if i > 0 {
			move(state, step)
		}
		road := state.AtVec(atConstant) + state.AtVec(atCosine)
		body, wheel := state.AtVec(atBody), state.AtVec(atWheel)
		t.Road, t.Body = append(t.Road, road), append(t.Body, body)
		t.Travel, t.TyreLoad = append(t.Travel, wheel-body), append(t.TyreLoad, q.Tyre*(road-wheel))
	}
	return t
}

// The state: heights and speeds of body and wheel, and the road's parts.
const (
	atBody = iota
	atBodySpeed
	atWheel
	atWheelSpeed
	atConstant
	atCosine
	atSine
	order
)

// system is the matrix of the equations of motion with a road that is a constant
// and a cosine of a period in s, 0 for none.
func (q QuarterCar) system(period float64) *mat.Dense {
	a := mat.NewDense(order, order, nil)
	a.Set(atBody, atBodySpeed, 1)
	a.Set(atWheel, atWheelSpeed, 1)
	for _, row := range []struct {
		at         int
		mass, sign float64
	}{{atBodySpeed, q.Sprung, 1}, {atWheelSpeed, q.Unsprung, -1}} {
		a.Set(row.at, atBody, -row.sign*q.Spring/row.mass)
		a.Set(row.at, atBodySpeed, -row.sign*q.Damping/row.mass)
		a.Set(row.at, atWheel, row.sign*q.Spring/row.mass)
		a.Set(row.at, atWheelSpeed, row.sign*q.Damping/row.mass)
	}
	a.Set(atWheelSpeed, atWheel, -(q.Spring+q.Tyre)/q.Unsprung)
	a.Set(atWheelSpeed, atConstant, q.Tyre/q.Unsprung)
	a.Set(atWheelSpeed, atCosine, q.Tyre/q.Unsprung)
	if period > 0 {
		w := 2 * math.Pi / period
		a.Set(atCosine, atSine, -w)
		a.Set(atSine, atCosine, w)
	}
	return a
}

func exponential(a *mat.Dense, time float64) *mat.Dense {
	var scaled, e mat.Dense
	scaled.Scale(time, a)
	e.Exp(&scaled)
	return &e
}

func move(state *mat.VecDense, by *mat.Dense) {
	var next mat.VecDense
	next.MulVec(by, state)
	state.CopyVec(&next)
}
