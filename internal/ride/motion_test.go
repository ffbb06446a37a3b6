package ride_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/ride"
)

// leaning is a damper a metres across and b up at ride height, over a wheel that goes
// straight up: by Pythagoras it is √(a² + (b - z)²) long, with the ratio (b - z)/L and its
// change -a²/L³. The linkage ends at most.
type leaning struct{ a, b, most float64 }

func (l leaning) length(z float64) float64 { return math.Hypot(l.a, l.b-z) }

func (l leaning) At(z float64) (shorter, ratio, change float64, ok bool) {
	n := l.length(z)
	return l.length(0) - n, (l.b - z) / n, -l.a * l.a / (n * n * n), z <= l.most
}

// fataler is a test, or a random case of one.
type fataler interface{ Fatal(args ...any) }

// onCurve is a corner whose damper is on a curve, with its spring.
func onCurve(t fataler, l ride.Curve) ride.Corner {
	c := ride.Corner{SprungKg: 280, LadenKg: 420, UnsprungKg: 38, SpringRate: 34, TyreRate: 190}
	if faults := c.PutOnLinkage(l); len(faults) > 0 {
		t.Fatal(faults)
	}
	c.PutSpringOnDamper()
	return c
}

// TestSinksAlongTheCurve: the spring's and the gas's energy along random leaning dampers,
// differentiated numerically, gives the weight and the wheel rate where the corner rests.
func TestSinksAlongTheCurve(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		l := leaning{draw("across", 0, 0.25), draw("up", 0.3, 0.5), 9}
		c := onCurve(t, l)
		c.SpringRate, c.LadenKg = draw("rate", 40, 60), draw("laden", 290, 420)
		gas := draw("gas", 0, 300)
		s, ok := c.At(ride.Laden, gas)
		if !ok {
			t.Skip("so far it doesn't go")
		}
		f0 := c.SprungKg * 9.80665 / (l.b / l.length(0))
		energy := func(z float64) float64 {
			x := l.length(0) - l.length(z)
			return f0*x + 1000*c.SpringRate*x*x/2 + gas*x
		}
		const h = 1e-4
		force := (energy(s.Sink+h) - energy(s.Sink-h)) / (2 * h)
		near(t, "force at the wheel over the weight", force/(c.LadenKg*9.80665), 1, 1e-6)
		rate := (energy(s.Sink+h) - 2*energy(s.Sink) + energy(s.Sink-h)) / (h * h)
		near(t, "wheel rate over the slope", s.WheelRate/rate, 1, 1e-4)
		near(t, "ratio", s.DamperRatio, (l.b-s.Sink)/l.length(s.Sink), 1e-12)
		near(t, "ratio of the spring", s.SpringRatio, s.DamperRatio, 0)
	})
}

// TestWheelForAlongTheCurve: by Pythagoras the damper has the length n at the wheel travel
// b - √(n² - a²), up to z = b where it stands across and is shortest.
func TestWheelForAlongTheCurve(t *testing.T) {
	l := leaning{0.12, 0.35, 9}
	c := onCurve(t, l)
	m := c.SpringMotion()
	for _, from := range []float64{-0.06, 0, 0.1} {
		for _, x := range []float64{0.001, 0.05, 0.129, -0.02, -0.07} {
			n := l.length(from) - x
			want := l.b - math.Sqrt(n*n-l.a*l.a) - from
			got, ok := m.WheelFor(x, from)
			if !ok || math.Abs(got-want) > 1e-9 {
				t.Errorf("%g m from %g: %v, %v, want %v", x, from, got, ok, want)
			}
		}
	}
	// 370 - 120 = 250 mm is all that it can get shorter.
	if z, ok := m.WheelFor(0.2499, 0); !ok || z > 0.35 {
		t.Errorf("249.9 mm at %v, %v", z, ok)
	}
	for _, x := range []float64{0.2501, 1} {
		if z, ok := m.WheelFor(x, 0); ok {
			t.Errorf("%g m at %v, but it never gets so short", x, z)
		}
	}
	if z, ok := m.WheelFor(0.01, 0.36); ok {
		t.Errorf("past its turn it gets shorter at %v", z)
	}
	near(t, "where it is shortest, m", m.MostShortened(0.5), 0.35, 1e-9)
	near(t, "where it is shortest up to a stop, m", m.MostShortened(0.1), 0.1, 0)
	near(t, "without a stop", m.MostShortened(0), 0, 0)
	// It ends before.
	short := onCurve(t, leaning{0.12, 0.35, 0.09})
	m = short.SpringMotion()
	near(t, "where the linkage ends, m", m.MostShortened(0.5), 0.09, 1e-9)
	if z, ok := m.WheelFor(0.129, 0); ok {
		t.Errorf("129 mm at %v, but the linkage ends before", z)
	}
}

// TestNeverSettlesBeyondTheLinkage: by hand, 420 kg need far more than 10 mm of travel.
func TestNeverSettlesBeyondTheLinkage(t *testing.T) {
	c := onCurve(t, leaning{0.12, 0.35, 0.01})
	if faults := c.Faults(); len(faults) != 1 || faults[0].Code.Public() != "never_settles" {
		t.Errorf("%v", faults)
	}
	c.LadenKg = 0
	if faults := c.Faults(); len(faults) != 0 {
		t.Errorf("%v unladen", faults)
	}
}

// stiffening is a rocker whose ratio grows with the square of travel, 0.5 + 50 z², and
// that ends at 150 mm: the spring is shorter by 0.5 z + 50 z³/3.
type stiffening struct{}

func (stiffening) At(z float64) (shorter, ratio, change float64, ok bool) {
	return 0.5*z + 50*z*z*z/3, 0.5 + 50*z*z, 100 * z, z <= 0.15
}

// TestSettlesWhereTheFirstStepGoesTooFar: at ride height the wheel rate is 20·0.5² =
// 5 N/mm, by which 100 kg more would take 196 mm, past the end of the linkage. But the
// spring stiffens. By hand, at 108 mm it is shorter by 54 + 20.995 = 74.995 mm and has
// 3922.66 + 1499.9 = 5422.6 N at the ratio 0.5 + 0.5832 = 1.0832: 5873.7 N carry 599 kg;
// the 300 kg of the load are carried well before.
func TestSettlesWhereTheFirstStepGoesTooFar(t *testing.T) {
	c := onCurve(t, stiffening{})
	c.SprungKg, c.LadenKg, c.SpringRate = 200, 300, 20
	s, ok := c.At(ride.Laden, 0)
	if !ok {
		t.Fatal("it never settles")
	}
	x := 500*s.Sink + 50000*s.Sink*s.Sink*s.Sink/3 // mm
	carried := (200*9.80665/0.5 + 20*x) * (0.5 + 50*s.Sink*s.Sink) / 9.80665
	near(t, "carried, kg", carried, 300, 1e-6)
}
