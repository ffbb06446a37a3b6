package fit

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	_ "midstroke/internal/seeded"
)

// byDefinition integrates P = ∫∫ φ(x) φ(m) Φ((sc+rC·m+uL·x)/uC)
// Φ((se+rE·m−uL·x)/uE) dx dm with gonum's own normal distribution: an independent
// computation of the same figure.
func byDefinition(sc, se float64, u uncertainty) float64 {
	n := distuv.UnitNormal
	// The trapezoidal rule is as good as exact for smooth functions that vanish at
	// both ends.
	integral := func(step float64, f func(float64) float64) float64 {
		sum := 0.0
		for x := -9.0; x <= 9; x += step {
			sum += n.Prob(x) * f(x)
		}
		return sum * step
	}
	given := func(m float64) float64 {
		return integral(0.05, func(x float64) float64 {
			return n.CDF((sc+u.ratioC*m+u.length*x)/u.compressed) * n.CDF((se+u.ratioE*m-u.length*x)/u.extended)
		})
	}
	if u.ratioC == 0 && u.ratioE == 0 {
		return given(0)
	}
	return integral(0.05, given)
}

func TestJointLikelihoodIsItsDefiningIntegral(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		uL := rapid.Float64Range(0.05, 20).Draw(t, "uL")
		u := uncertainty{
			length:     uL,
			compressed: uL * rapid.Float64Range(0.2, 5).Draw(t, "uC"),
			extended:   uL * rapid.Float64Range(0.2, 5).Draw(t, "uE"),
		}
		sc := uL * rapid.Float64Range(-6, 8).Draw(t, "sc")
		se := uL * rapid.Float64Range(-6, 8).Draw(t, "se")
		want := byDefinition(sc, se, u)
		if got := jointLikelihood(sc, se, u); math.Abs(got-want) > 1e-6 {
			t.Fatalf("jointLikelihood = %.9f, the integral %.9f", got, want)
		}
	})
}

// The motion ratio's error moves both surpluses, the same way or opposite ways.
func TestJointLikelihoodWithTheRatioInDoubt(t *testing.T) {
	rnd := rand.New(rand.NewPCG(11, 4))
	between := func(low, high float64) float64 { return low + (high-low)*rnd.Float64() }
	for range 15 {
		u := uncertainty{
			length: 1, compressed: between(0.3, 2), extended: between(0.3, 2),
			ratioC: between(-4, 4), ratioE: between(-4, 4),
		}
		sc, se := between(-4, 8), between(-4, 8)
		want := byDefinition(sc, se, u)
		if got := jointLikelihood(sc, se, u); math.Abs(got-want) > 1e-5 {
			t.Errorf("%+v, surplus %g and %g: %.9f, the integral %.9f", u, sc, se, got, want)
		}
	}
	// Nothing but the ratio, which asks of both: by the normal distribution of
	// whichever holds less.
	phi := distuv.UnitNormal.CDF
	if got := jointLikelihood(6, 4, uncertainty{ratioC: -3, ratioE: -4}); math.Abs(got-phi(1)) > 1e-9 {
		t.Errorf("%.9f, want Φ(1) = %.9f", got, phi(1))
	}
	// One takes what the other gains.
	if got := jointLikelihood(6, 4, uncertainty{ratioC: -3, ratioE: 4}); math.Abs(got-(phi(2)+phi(1)-1)) > 1e-9 {
		t.Errorf("%.9f, want Φ(2) + Φ(1) - 1", got)
	}
}

func TestJointLikelihoodWithExactLimits(t *testing.T) {
	phi := distuv.UnitNormal.CDF
	for _, c := range []struct {
		name           string
		sc, se, uL     float64
		want, allowing float64
	}{
		// C 300, E 460, L 380, needs 78 each way: surplus 2 each way with u_L 2.
		// Origin: 2Φ(1) − 1, normal tables.
		{"two sigma apart", 2, 2, 2, 0.68269, 2e-4},
		// Origin: max(0, Φ(sc/uL) + Φ(se/uL) − 1), by gonum's normal.
		{"lopsided", 3, -0.5, 2, phi(1.5) + phi(-0.25) - 1, 1e-9},
		{"neither can hold", -1, -1, 2, 0, 1e-9},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := jointLikelihood(c.sc, c.se, uncertainty{length: c.uL}); math.Abs(got-c.want) > c.allowing {
				t.Errorf("got %.6f, want %.6f", got, c.want)
			}
		})
	}
}

func TestJointLikelihoodWithNothingUncertain(t *testing.T) {
	for _, c := range []struct{ sc, se, want float64 }{
		{0, 0, 1}, // exactly at both limits is inside
		{1, -1e-9, 0},
		{-1e-9, 1, 0},
	} {
		if got := jointLikelihood(c.sc, c.se, uncertainty{}); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("sc %g, se %g: got %g, want %g", c.sc, c.se, got, c.want)
		}
	}
}

func BenchmarkJointLikelihood(b *testing.B) {
	for b.Loop() {
		jointLikelihood(1.5, 2, uncertainty{length: 1.1, compressed: 0.9, extended: 0.9})
	}
}
