package fit

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	_ "midstroke/internal/seeded"
)

// byDefinition integrates P = ∫ φ(x) Φ((sc+uL·x)/uC) Φ((se−uL·x)/uE) dx by
// gonum's Gauss–Legendre rule in short panels, with gonum's own normal
// distribution: an independent reckoning of the same figure.
func byDefinition(sc, se, uL, uC, uE float64) float64 {
	n := distuv.UnitNormal
	f := func(x float64) float64 { return n.Prob(x) * n.CDF((sc+uL*x)/uC) * n.CDF((se-uL*x)/uE) }
	const from, to, panels = -9.0, 9.0, 600
	sum := 0.0
	for i := range panels {
		a := from + (to-from)*float64(i)/panels
		sum += quad.Fixed(f, a, a+(to-from)/panels, 12, quad.Legendre{}, 0)
	}
	return sum
}

func TestJointLikelihoodIsItsDefiningIntegral(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		uL := rapid.Float64Range(0.05, 20).Draw(t, "uL")
		uC := uL * rapid.Float64Range(0.05, 5).Draw(t, "uC")
		uE := uL * rapid.Float64Range(0.05, 5).Draw(t, "uE")
		sc := uL * rapid.Float64Range(-6, 8).Draw(t, "sc")
		se := uL * rapid.Float64Range(-6, 8).Draw(t, "se")
		want := byDefinition(sc, se, uL, uC, uE)
		if got := jointLikelihood(sc, se, uL, uC, uE); math.Abs(got-want) > 1e-6 {
			t.Fatalf("jointLikelihood = %.9f, the integral %.9f", got, want)
		}
	})
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
			if got := jointLikelihood(c.sc, c.se, c.uL, 0, 0); math.Abs(got-c.want) > c.allowing {
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
		if got := jointLikelihood(c.sc, c.se, 0, 0, 0); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("sc %g, se %g: got %g, want %g", c.sc, c.se, got, c.want)
		}
	}
}

func BenchmarkJointLikelihood(b *testing.B) {
	for b.Loop() {
		jointLikelihood(1.5, 2, 1.1, 0.9, 0.9)
	}
}
