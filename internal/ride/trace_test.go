package ride_test

import (
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"midstroke/internal/ride"
)

// anyCar draws a quarter car in SI units.
func anyCar(t *rapid.T) ride.QuarterCar {
	draw := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
	q := ride.QuarterCar{Sprung: draw("sprung", 50, 3000), Tyre: draw("tyre", 80e3, 1500e3)}
	q.Unsprung = draw("unsprung over sprung", 0.03, 0.8) * q.Sprung
	q.Spring = draw("spring over tyre", 0.03, 0.8) * q.Tyre
	q.Damping = draw("damping", 0.05, 2) * 2 * math.Sqrt(q.Spring*q.Sprung)
	return q
}

// eigen are the eigenvalues of the quarter car's 4 by 4 matrix by gonum, for the
// state z_s, v_s, z_u, v_u.
func eigen(t *rapid.T, q ride.QuarterCar) []complex128 {
	k, c, kt := q.Spring, q.Damping, q.Tyre
	a := mat.NewDense(4, 4, []float64{
		0, 1, 0, 0,
		-k / q.Sprung, -c / q.Sprung, k / q.Sprung, c / q.Sprung,
		0, 0, 0, 1,
		k / q.Unsprung, c / q.Unsprung, -(k + kt) / q.Unsprung, -c / q.Unsprung,
	})
	var e mat.Eigen
	if !e.Factorize(a, mat.EigenNone) {
		t.Fatal("no eigenvalues")
	}
	return e.Values(nil)
}

// TestModes: undamped frequencies against the eigenvalues without damping, and
// the bounds of the one-mass forms.
func TestModes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := anyCar(t)
		undamped := q
		undamped.Damping = 0
		var hz []float64
		for _, v := range eigen(t, undamped) {
			if imag(v) > 0 {
				hz = append(hz, imag(v)/(2*math.Pi))
			}
		}
		slices.Sort(hz)
		body, hop := q.Modes()
		near(t, "body", body, hz[0], 1e-6*hz[0])
		near(t, "hop", hop, hz[1], 1e-6*hz[1])
		series := math.Sqrt(q.Spring*q.Tyre/(q.Spring+q.Tyre)/q.Sprung) / (2 * math.Pi)
		between := math.Sqrt((q.Spring+q.Tyre)/q.Unsprung) / (2 * math.Pi)
		if !(body < series && hop > between) {
			t.Errorf("%g, %g Hz outside %g, %g", body, hop, series, between)
		}
		near(t, "product of both", body*hop, series*between, 1e-9*body*hop)
		// The damped eigenvalues decay: the sum of their real parts is the trace.
		sum := 0.0
		for _, v := range eigen(t, q) {
			if real(v) >= 0 {
				t.Errorf("eigenvalue %v", v)
			}
			sum += real(v)
		}
		near(t, "trace", sum, -q.Damping*(1/q.Sprung+1/q.Unsprung), 1e-6*math.Abs(sum))
	})
	// The car of 300 and 40 kg, 20 and 180 N/mm: the sum of both is 12.49352 Hz,
	// computed apart.
	body, hop := linear(car).Modes()
	near(t, "sum of the invented car's", body+hop, 12.49352, 1e-5)
}

// TestInvariantPoints: Hedrick and Butsuen, Proc. IMechE 204 (1990), from memory.
// Whatever spring and damper, the body's gain is m_u/m_s at ω² = k_t/m_u, and that
// of wheel travel (m_s + m_u)/m_s at ω² = k_t/(m_s + m_u).
func TestInvariantPoints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := anyCar(t)
		at := math.Sqrt(q.Tyre/q.Unsprung) / (2 * math.Pi)
		near(t, "body", q.Gains(at).Body, q.Unsprung/q.Sprung, 1e-9)
		at = math.Sqrt(q.Tyre/(q.Sprung+q.Unsprung)) / (2 * math.Pi)
		near(t, "travel", q.Gains(at).Travel, (q.Sprung+q.Unsprung)/q.Sprung, 1e-9)
		slow := q.Gains(1e-5)
		near(t, "body on a slow road", slow.Body, 1, 1e-6)
		near(t, "tyre on a slow road", slow.Tyre, 0, 1e-6)
	})
}

// TestStiffTyre: on a very stiff tyre the body alone is left, for which
// T = √((1 + (2ζr)²)/((1-r²)² + (2ζr)²)): 1 at r = √2 for every ζ, and for 0.3 at
// r = 1 √(1 + 1/(4·0.09)) = 1.943651 (textbook form).
func TestStiffTyre(t *testing.T) {
	for _, zeta := range []float64{0.1, 0.3, 0.7} {
		q := ride.QuarterCar{Sprung: 300, Unsprung: 0.001, Spring: 20e3, Tyre: 1e12, Damping: zeta * 2 * math.Sqrt(20e3*300)}
		natural := math.Sqrt(20e3/300.0) / (2 * math.Pi)
		near(t, "at √2", q.Gains(math.Sqrt2*natural).Body, 1, 1e-6)
		near(t, "at 1", q.Gains(natural).Body, math.Sqrt(1+1/(4*zeta*zeta)), 1e-6)
	}
}

// TestGainsAgainstMatrix solves the equations with gonum as a real system of twice
// the order, which shares nothing with the closed form.
func TestGainsAgainstMatrix(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := anyCar(t)
		hz := math.Pow(10, rapid.Float64Range(-1, 2).Draw(t, "log of the frequency"))
		w := 2 * math.Pi * hz
		k, c, kt := q.Spring, q.Damping, q.Tyre
		// Unknown: real and imaginary part of z_s, then of z_u.
		a := mat.NewDense(4, 4, []float64{
			k - q.Sprung*w*w, -c * w, -k, c * w,
			c * w, k - q.Sprung*w*w, -c * w, -k,
			-k, c * w, k + kt - q.Unsprung*w*w, -c * w,
			-c * w, -k, c * w, k + kt - q.Unsprung*w*w,
		})
		var x mat.VecDense
		if err := x.SolveVec(a, mat.NewVecDense(4, []float64{0, 0, kt, 0})); err != nil {
			t.Fatal(err)
		}
		zs, zu := complex(x.AtVec(0), x.AtVec(1)), complex(x.AtVec(2), x.AtVec(3))
		g := q.Gains(hz)
		near(t, "body", g.Body, cmplx.Abs(zs), 1e-7*(1+g.Body))
		near(t, "travel", g.Travel, cmplx.Abs(zu-zs), 1e-7*(1+g.Travel))
		near(t, "tyre", g.Tyre, cmplx.Abs(zu-1), 1e-7*(1+g.Tyre))
	})
}

// integrate drives a quarter car over a road by Runge and Kutta's method of fourth
// order in small steps, and gives z_s and z_u at each of the times.
func integrate(q ride.QuarterCar, road func(t float64) float64, interval float64, points int) (body, wheel []float64) {
	type state [4]float64
	slope := func(x state, t float64) state {
		f := q.Spring*(x[2]-x[0]) + q.Damping*(x[3]-x[1])
		return state{x[1], f / q.Sprung, x[3], (q.Tyre*(road(t)-x[2]) - f) / q.Unsprung}
	}
	plus := func(x, d state, h float64) state {
		for i := range x {
			x[i] += h * d[i]
		}
		return x
	}
	var x state
	const parts = 400
	h := interval / parts
	for i := range points {
		body, wheel = append(body, x[0]), append(wheel, x[2])
		for j := range parts {
			t := float64(i)*interval + float64(j)*h
			a := slope(x, t)
			b := slope(plus(x, a, h/2), t+h/2)
			c := slope(plus(x, b, h/2), t+h/2)
			d := slope(plus(x, c, h), t+h)
			for n := range x {
				x[n] += h / 6 * (a[n] + 2*b[n] + 2*c[n] + d[n])
			}
		}
	}
	return body, wheel
}

// TestOver holds step and bump against the integrator. The bump's length is no
// whole number of intervals, so its end falls between two.
func TestOver(t *testing.T) {
	for _, q := range []ride.QuarterCar{linear(car), {Sprung: 900, Unsprung: 120, Spring: 90e3, Tyre: 700e3, Damping: 15e3}} {
		for _, o := range []ride.Obstacle{{Height: 0.05}, {Height: 0.06, Length: 1.234, Speed: 7}, {Height: 0.06, Length: 0.05, Speed: 14}} {
			const points = 61
			got := q.Over(o, 1.2, points)
			near(t, "interval", got.Interval, 0.02, 1e-12)
			road := func(t float64) float64 {
				switch at := o.Speed * t; {
				case o.Length == 0:
					return o.Height
				case at < o.Length:
					return o.Height / 2 * (1 - math.Cos(2*math.Pi*at/o.Length))
				}
				return 0
			}
			body, wheel := integrate(q, road, got.Interval, points)
			for i := range body {
				near(t, "road", got.Road[i], road(float64(i)*got.Interval), 1e-9)
				near(t, "body", got.Body[i], body[i], 1e-7)
				near(t, "travel", got.Travel[i], wheel[i]-body[i], 1e-7)
				near(t, "tyre load, N", got.TyreLoad[i], q.Tyre*(got.Road[i]-wheel[i]), 1e-7*q.Tyre)
			}
		}
	}
}

// TestStepSettles: after a long time the body stands on the step, and with little
// damping it swings by the period of the damped mode on the way.
func TestStepSettles(t *testing.T) {
	tr := linear(car).Over(ride.Obstacle{Height: 0.05}, 30, 301)
	last := len(tr.Body) - 1
	near(t, "body at the end", tr.Body[last], 0.05, 1e-6)
	near(t, "travel at the end", tr.Travel[last], 0, 1e-6)
	if tr.Body[0] != 0 || tr.Travel[0] != 0 {
		t.Errorf("starts at %g and %g", tr.Body[0], tr.Travel[0])
	}
}
