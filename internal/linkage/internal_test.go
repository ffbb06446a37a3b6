package linkage

import (
	"math"
	"sort"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// TestMeet: two circles with centres 400 apart and radii 300 and 200 meet
// (300² - 200² + 400²)/800 = 262.5 along the line of centres and 145.2369
// beside it: Pythagoras.
func TestMeet(t *testing.T) {
	for _, side := range []float64{1, -1} {
		r, ok := meet(r3.Vec{}, r3.Vec{X: 1}, 300*300, r3.Vec{Y: 400}, 200*200, side)
		if !ok {
			t.Fatal("the circles do not meet")
		}
		if math.Abs(r.Y-262.5) > 1e-9 || math.Abs(r.Z-side*145.2369) > 1e-4 || r.X != 0 {
			t.Errorf("side %g: %v", side, r)
		}
	}
	for _, r := range []float64{99, 100, 700, 701} { // apart, touching inside, touching outside, apart
		if _, ok := meet(r3.Vec{}, r3.Vec{X: 1}, 300*300, r3.Vec{Y: 400}, r*r, 1); ok {
			t.Errorf("circles of 300 and %g, 400 apart, are said to cross", r)
		}
	}
}

// TestMeetInSpace: the point is on the circle and on the sphere.
func TestMeetInSpace(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(by float64) r3.Vec {
			c := rapid.Float64Range(-by, by)
			return r3.Vec{X: c.Draw(t, "x"), Y: c.Draw(t, "y"), Z: c.Draw(t, "z")}
		}
		n := draw(1)
		if r3.Norm(n) < 0.1 {
			t.Skip("no axis")
		}
		n = r3.Unit(n)
		m, s := draw(500), draw(500)
		r2, t2 := rapid.Float64Range(1, 1e6).Draw(t, "r2"), rapid.Float64Range(1, 1e6).Draw(t, "t2")
		for _, side := range []float64{1, -1} {
			r, ok := meet(m, n, r2, s, t2, side)
			if !ok {
				continue
			}
			// Where they cross at a small angle rounding is magnified, by at
			// most 1/deadCentre.
			const tol = 1e-6
			if off := math.Abs(r3.Dot(r, n)); off > tol {
				t.Errorf("%g off the circle's plane", off)
			}
			if off := math.Abs(r3.Norm(r) - math.Sqrt(r2)); off > tol {
				t.Errorf("%g off the circle", off)
			}
			if off := math.Abs(r3.Norm(r3.Sub(r3.Add(m, r), s)) - math.Sqrt(t2)); off > tol {
				t.Errorf("%g off the sphere", off)
			}
			if r3.Dot(r3.Cross(n, r3.Sub(s, m)), r)*side < 0 {
				t.Error("on the other side")
			}
		}
	})
}

// TestPolynomialRoots: a polynomial multiplied out of its zeros gives them
// back.
func TestPolynomialRoots(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		degree := rapid.IntRange(0, 4).Draw(t, "degree")
		var zeros []float64
		for range degree {
			z := rapid.Float64Range(-2, 2).Draw(t, "zero")
			for _, other := range append(zeros, -1, 1) {
				if math.Abs(z-other) < 0.01 {
					t.Skip("too near another zero or an end to be told apart")
				}
			}
			zeros = append(zeros, z)
		}
		p := polynomial{rapid.Float64Range(0.1, 10).Draw(t, "scale")}
		for _, z := range zeros { // p *= x - z
			for i := len(p) - 1; i >= 0; i-- {
				p[i] *= -z
				if i > 0 {
					p[i] += p[i-1]
				}
			}
		}
		sort.Float64s(zeros)
		var want []float64
		for _, z := range zeros {
			if z > -1 && z < 1 {
				want = append(want, z)
			}
		}
		if len(want) > 0 && p.oneSign(-1, 1) {
			t.Errorf("said to have one sign, though it is zero at %v", want)
		}
		got := p.roots(nil, -1, 1)
		if len(got) != len(want) {
			t.Fatalf("got %v, want %v", got, want)
		}
		for i := range got {
			if math.Abs(got[i]-want[i]) > 1e-8 {
				t.Errorf("got %v, want %v", got, want)
			}
		}
	})
}

// TestRoot: functions whose zeros are known, some of them hard on
// interpolation.
func TestRoot(t *testing.T) {
	for name, c := range map[string]struct {
		f    func(float64) float64
		a, b float64
		want float64
		most int // calls
	}{
		"straight":  {func(x float64) float64 { return 3*x - 1 }, -5, 9, 1.0 / 3, 4},
		"cosine":    {math.Cos, 1, 2, math.Pi / 2, 8},
		"flat":      {func(x float64) float64 { return math.Pow(x-0.3, 9) }, -1, 4, 0.3, 60},
		"steep":     {func(x float64) float64 { return math.Atan(1e6 * (x - 0.7)) }, -3, 5, 0.7, 60},
		"step":      {func(x float64) float64 { return math.Copysign(1, x-0.2) }, -1, 1, 0.2, 60},
		"at an end": {func(x float64) float64 { return x }, 0, 1, 0, 0},
	} {
		t.Run(name, func(t *testing.T) {
			calls := 0
			f := func(x float64) float64 { calls++; return c.f(x) }
			got := root(f, c.a, c.f(c.a), c.b, c.f(c.b), 1e-9)
			if math.Abs(got-c.want) > 1e-8 && math.Abs(c.f(got)) > 1e-60 {
				t.Errorf("got %g, want %g", got, c.want)
			}
			if calls > c.most {
				t.Errorf("%d calls, want at most %d", calls, c.most)
			}
		})
	}
}

// TestCubicStationary: x³ - 3x scaled into [0, 1] has its turns where they were
// put.
func TestCubicStationary(t *testing.T) {
	for _, c := range []struct {
		name string
		c    cubic
		want []float64
	}{
		// y = (t-1/4)(t-3/4) integrated: y = t³/3 - t²/2 + 3t/16
		{"two turns", cubic{0, 1.0/3 - 1.0/2 + 3.0/16, 3.0 / 16, 3.0 / 16}, []float64{0.25, 0.75}},
		{"a parabola", cubic{0, 0, -1, 1}, []float64{0.5}}, // y = t² - t
		{"a straight line", cubic{0, 1, 1, 1}, nil},
		{"level", cubic{2, 2, 0, 0}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			at, n := c.c.stationary()
			if n != len(c.want) {
				t.Fatalf("got %v, want %v", at[:n], c.want)
			}
			for i := range c.want {
				if math.Abs(at[i]-c.want[i]) > 1e-12 {
					t.Errorf("got %v, want %v", at[:n], c.want)
				}
			}
		})
	}
}
