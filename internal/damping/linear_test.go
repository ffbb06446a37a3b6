package damping_test

import (
	"fmt"
	"math"
	"math/rand"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"

	"midstroke/internal/damping"
	"midstroke/internal/ride"
	_ "midstroke/internal/seeded"
)

func near(tb rapid.TB, what string, got, want, tol float64) {
	tb.Helper()
	if !(math.Abs(got-want) <= tol) {
		tb.Errorf("%s is %.9g, want %.9g ± %g", what, got, want, tol)
	}
}

// van is an invented corner with a load, and a class of road that moves it well.
func van() damping.Question {
	return damping.Question{
		Corner: ride.Corner{
			SprungKg: 300, LadenKg: 450, UnsprungKg: 40, SpringRate: 45, SpringRatio: 0.7, TyreRate: 180, DamperRatio: 0.8,
		},
		Targets: damping.Targets{Class: 'C', SpeedKmh: 72},
	}
}

func rater(tb rapid.TB, q damping.Question) *damping.Rater {
	tb.Helper()
	r, faults := damping.NewRater(&q)
	if len(faults) > 0 {
		tb.Fatal(faults)
	}
	return r
}

func rate(tb rapid.TB, q damping.Question, t damping.Table) *damping.Rating {
	tb.Helper()
	if faults := t.Faults(); len(faults) > 0 {
		tb.Fatal(faults)
	}
	rating, ok := rater(tb, q).Rate(&t)
	if !ok {
		tb.Fatal("not rated")
	}
	return &rating
}

// table makes a table with one curve of a law, of equally spaced points.
func table(most float64, points int, law func(v float64) (compression, rebound float64)) damping.Table {
	var c damping.Curve
	for i := range points {
		v := most * float64(i+1) / float64(points)
		compression, rebound := law(v)
		c.Points = append(c.Points, damping.Point{Velocity: v, Compression: compression, Rebound: rebound})
	}
	return damping.Table{Curves: []damping.Curve{c}}
}

// TestLinearTable: a linear table gives its own coefficients on any road, and the
// ratio c MR²/(2√(k m)).
func TestLinearTable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		c, r := draw("compression", 300, 3000), draw("rebound", 300, 6000)
		q := van()
		q.Targets.Class = ride.Class('A' + rapid.IntRange(0, 3).Draw(t, "class"))
		q.Corner.Dampers = rapid.IntRange(1, 2).Draw(t, "dampers")
		n := float64(q.Corner.Dampers)
		got := rate(t, q, table(8, 5, func(v float64) (float64, float64) { return c * v, r * v })).Start()
		near(t, "coefficient", got.Coefficient, (c+r)/2, 1e-9*(c+r))
		near(t, "compression", got.Compression, c, 1e-9*c)
		near(t, "rebound", got.Rebound, r, 1e-9*r)
		// 45 N/mm · 0.7² = 22.05 N/mm at the wheel.
		wheel := n * 0.64 * (c + r) / 2
		near(t, "ratio", got.Loads[0].Ratio, wheel/(2*math.Sqrt(22050*300)), 1e-9)
		near(t, "laden ratio", got.Loads[1].Ratio, wheel/(2*math.Sqrt(22050*450)), 1e-9)
		near(t, "hop ratio", got.Loads[0].HopRatio, wheel/(2*math.Sqrt((22050.0+180000)*40)), 1e-9)
		// The velocity is the quarter car's, times the ratio (ride's closed form, which
		// has tests of its own).
		response := ride.QuarterCar{Sprung: 300, Unsprung: 40, Spring: 22050, Tyre: 180e3, Damping: wheel}.Response(q.Targets.Class.Roughness(), 20)
		near(t, "velocity", got.Velocity, 0.8*response.TravelSpeed, 1e-9)
		// E[R - C] is (r - c) σ/√(2π) for half of a Gaussian velocity.
		near(t, "pull down", got.PullDown, (r-c)*got.Velocity/math.Sqrt(2*math.Pi)*n*0.8/22050, 1e-9)
	})
}

// TestPowerLaws: for F = C |v|^p sign(v) the coefficient is
// C σ^(p-1) 2^((p+1)/2) Γ(p/2+1)/√π exactly, E|v|^(p+1)/σ² of a Gaussian v. For
// p = 2 that is 2√(2/π) = 1.596. Tables of straight pieces come near.
func TestPowerLaws(t *testing.T) {
	for _, p := range []float64{0.5, 1, 1.5, 2, 3} {
		const c = 1500
		q := van()
		got := rate(t, q, table(2.5, 64, func(v float64) (float64, float64) {
			f := c * math.Pow(v, p)
			return f, f
		})).Start()
		want := c * math.Pow(got.Velocity, p-1) * math.Pow(2, (p+1)/2) * math.Gamma(p/2+1) / math.Sqrt(math.Pi)
		near(t, fmt.Sprintf("coefficient of the power %g over the exact one", p), got.Coefficient/want, 1, 0.02)
	}
	near(t, "the factor for p = 2", math.Pow(2, 1.5)*math.Gamma(2)/math.Sqrt(math.Pi), 1.596, 5e-4)
}

// TestFriction: a table of friction alone has √(2/π) F/σ, and a corner's friction
// at the wheel does the same.
func TestFriction(t *testing.T) {
	dry := damping.Table{Curves: []damping.Curve{{Points: []damping.Point{{0, 300, 300}, {5, 300, 300}}}}}
	got := rate(t, van(), dry).Start()
	near(t, "coefficient of friction", got.Coefficient, math.Sqrt(2/math.Pi)*300/got.Velocity, 1e-6)
	q := van()
	weak := table(5, 2, func(v float64) (float64, float64) { return 0.01 * v, 0.01 * v })
	q.Corner.Friction = 300 * 0.8 // at the wheel
	same := rate(t, q, weak).Start()
	near(t, "velocity with the corner's friction", same.Velocity, got.Velocity, 1e-4*got.Velocity)
	near(t, "ratio with it", same.Loads[0].Ratio, got.Loads[0].Ratio, 1e-4*got.Loads[0].Ratio)
}

// randomTable is a table with forces that may sag a little.
func randomTable(t *rapid.T) damping.Table {
	var c damping.Curve
	v, compression, rebound := 0.0, 0.0, 0.0
	n := rapid.IntRange(2, 9).Draw(t, "points")
	for range n {
		v += rapid.Float64Range(0.02, 0.6).Draw(t, "velocity step")
		compression = max(5, compression+rapid.Float64Range(-20, 400).Draw(t, "compression step"))
		rebound = max(5, rebound+rapid.Float64Range(-20, 900).Draw(t, "rebound step"))
		c.Points = append(c.Points, damping.Point{Velocity: v, Compression: compression, Rebound: rebound})
	}
	return damping.Table{Curves: []damping.Curve{c}}
}

// force is a table's force at a signed velocity, compression positive, read here
// on its own: straight between points, from 0 at rest, and the last piece goes on
// where it rises. Both directions share a tail: it rises where their sum does.
func force(c damping.Curve, v float64) float64 {
	sign, at := 1.0, func(p damping.Point) float64 { return p.Compression }
	if v < 0 {
		sign, v, at = -1, -v, func(p damping.Point) float64 { return p.Rebound }
	}
	before := damping.Point{}
	for i, p := range c.Points {
		if v <= p.Velocity || i == len(c.Points)-1 {
			slope := (at(p) - at(before)) / (p.Velocity - before.Velocity)
			sum := (p.Compression + p.Rebound) - (before.Compression + before.Rebound)
			if v > p.Velocity && sum < 0 {
				return sign * at(p)
			}
			return sign * (at(before) + slope*(v-before.Velocity))
		}
		before = p
	}
	return 0
}

// TestAgainstIntegral: coefficient, power balance and mean against Gauss-Legendre
// integrals of the table over the Gaussian density, for random tables.
func TestAgainstIntegral(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := randomTable(t)
		r := rater(t, van())
		rating, ok := r.Rate(&u)
		if !ok {
			t.Fatal("not rated")
		}
		got := rating.Start()
		sigma := got.Velocity
		expect := func(of func(v float64) float64) float64 {
			f := func(v float64) float64 {
				return of(v) * math.Exp(-v*v/(2*sigma*sigma)) / (sigma * math.Sqrt(2*math.Pi))
			}
			kinks := []float64{0}
			for _, p := range u.Curves[0].Points {
				kinks = append(kinks, p.Velocity)
			}
			for edge := kinks[len(kinks)-1]; edge < 9*sigma; {
				edge += sigma
				kinks = append(kinks, edge)
			}
			sum := 0.0
			for i := 1; i < len(kinks); i++ {
				const parts = 8
				for j := range parts {
					a := kinks[i-1] + (kinks[i]-kinks[i-1])*float64(j)/parts
					b := kinks[i-1] + (kinks[i]-kinks[i-1])*float64(j+1)/parts
					sum += quad.Fixed(f, a, b, 12, quad.Legendre{}, 0) + quad.Fixed(f, -b, -a, 12, quad.Legendre{}, 0)
				}
			}
			return sum
		}
		curve := u.Curves[0]
		power := expect(func(v float64) float64 { return v * force(curve, v) })
		near(t, "coefficient over the integral", got.Coefficient/(power/(sigma*sigma)), 1, 1e-8)
		// Of one damper with a constant ratio: W k_t/2, W half of (2π·0.1)² Gd V.
		road := math.Pow(2*math.Pi*0.1, 2) * 256e-6 * 20
		near(t, "power over that of the road", power/(road/2*180e3/2), 1, 1e-8)
	})
}

// TestAgainstSimulation drives the quarter car with its nonlinear damper over a
// random road, step by step, and compares the velocity of the damper and the
// power with the linearisation. The velocity of a car with a nonlinear damper
// isn't quite Gaussian: 5 % is what such linearisations are good for, and a
// simulation of 400 s is sure to about 2 %.
func TestAgainstSimulation(t *testing.T) {
	u := digressive()
	u.Curves = u.Curves[:1]
	q := van()
	q.Corner.LadenKg = 0
	want := rate(t, q, u).Start()
	const h, steps, mr = 0.0005, 800_000, 0.8
	const ms, mu, k, kt = 300, 40, 22050, 180e3
	random := rand.New(rand.NewSource(7))
	// White velocity of one-sided density S has the variance S/(2h) in steps of h.
	noise := math.Sqrt(math.Pow(2*math.Pi*0.1, 2) * 256e-6 * 20 / (2 * h))
	var d, vs, tyre, vu, sum, power float64 // travel z_u - z_s up, speeds, tyre z_u - z_r
	for range steps {
		road := noise * random.NormFloat64()
		// Semi-implicit Euler: speeds first.
		v := vu - vs
		f := k*d + mr*force(u.Curves[0], mr*v)
		vs += h * f / ms
		vu += h * (-f - kt*tyre) / mu
		d += h * (vu - vs)
		tyre += h * (vu - road)
		v = mr * (vu - vs)
		sum += v * v
		power += v * force(u.Curves[0], v)
	}
	rms := math.Sqrt(sum / steps)
	near(t, "rms of the damper's velocity over the linearised one", rms/want.Velocity, 1, 0.05)
	near(t, "coefficient of equal power over the linearised one", power/sum/want.Coefficient, 1, 0.05)
}
