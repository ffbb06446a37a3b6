package fit

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	_ "midstroke/internal/seeded"
	"midstroke/internal/unit"
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

// TestLikelihoodWhereANeedBends holds overRatio against its defining integral, with the
// needs as the larger of two lines, and no more than a third, written out anew.
func TestLikelihoodWhereANeedBends(t *testing.T) {
	rnd := rand.New(rand.NewPCG(21, 4))
	between := func(low, high float64) float64 { return low + (high-low)*rnd.Float64() }
	um := func(mm float64) unit.Length { return unit.FromMm(math.Round(mm*1000) / 1000) }
	n := distuv.UnitNormal
	bent := 0
	for range 40 {
		u := uncertainty{length: between(0.2, 2), compressed: between(0.2, 2), extended: between(0.2, 2)}
		d := doubt{shift: between(-3, 3)}
		least := map[*ratioNeed]func(e float64) float64{}
		for _, need := range []*ratioNeed{&d.compression, &d.extension} {
			need.lines = [2]ratioLine{{um(50), 0}, {um(between(47, 53)), um(between(0, 6))}}
			limit := ratioLine{um(between(49, 60)), um(between(0, 4))}
			if need == &d.extension {
				*need = need.atMost(limit.at, limit.at+limit.more, 0)
			}
			lines := need.lines
			least[need] = func(e float64) float64 {
				value := math.Max(lines[0].at.Mm(), lines[1].at.Mm()+e*lines[1].more.Mm())
				if need == &d.extension {
					value = math.Min(value, limit.at.Mm()+e*limit.more.Mm())
				}
				return value
			}
		}
		d.bends = slices.Concat(d.compression.bends(), d.extension.bends())
		if len(d.bends) > 0 {
			bent++
		}
		sc, se := between(-3, 6), between(-3, 6)
		// The trapezoidal rule over the ratio's error and over the length's. At a bend it is
		// off by some 1e-6.
		const step = 0.01
		want := 0.0
		for m := -7.0; m <= 7; m += step {
			e := m / math.Sqrt(3)
			c := sc + d.shift*e - least[&d.compression](e) + least[&d.compression](0)
			x := se - d.shift*e - least[&d.extension](e) + least[&d.extension](0)
			given := 0.0
			for l := -7.0; l <= 7; l += 0.05 {
				given += 0.05 * n.Prob(l) * n.CDF((c+u.length*l)/u.compressed) * n.CDF((x-u.length*l)/u.extended)
			}
			want += step * n.Prob(m) * given
		}
		if got := d.overRatio(sc, se, u); math.Abs(got-want) > 4e-6 {
			t.Errorf("%+v, %+v, surplus %g and %g: %.7f, the integral %.7f", d, u, sc, se, got, want)
		}
	}
	if bent < 20 {
		t.Errorf("only %d of 40 needs bend", bent)
	}
}

// With nothing uncertain but the ratio, the chance is that of the ratios at which both
// hold. By hand: a need of 50 that grows by 4 for the tolerance once the ratio is above
// its nominal holds with 2 to spare up to half of the tolerance, √3/2 standard
// uncertainties; below it never fails.
func TestLikelihoodOfARatioAlone(t *testing.T) {
	mm := unit.FromMm(1)
	need := ratioNeed{lines: [2]ratioLine{{50 * mm, 0}, {50 * mm, 4 * mm}}}
	d := doubt{compression: need, bends: []float64{0}}
	want := distuv.UnitNormal.CDF(math.Sqrt(3) / 2)
	if got := d.overRatio(2, 10, uncertainty{}); math.Abs(got-want) > 1e-6 {
		t.Errorf("%.8f, want Φ(√3/2) = %.8f", got, want)
	}
	// Exactly at the limit is inside, and at any smaller ratio the need is the same.
	if got := d.overRatio(0, 10, uncertainty{}); math.Abs(got-0.5) > 1e-6 {
		t.Errorf("%.8f, want one half", got)
	}
}

func BenchmarkLikelihoodWhereANeedBends(b *testing.B) {
	mm := unit.FromMm(1)
	need := ratioNeed{lines: [2]ratioLine{{50 * mm, 0}, {49 * mm, 4 * mm}}}
	d := doubt{compression: need, extension: need, bends: []float64{0.4, 0.4}}
	for b.Loop() {
		d.overRatio(1.5, 2, uncertainty{length: 1.1, compressed: 0.9, extended: 0.9})
	}
}
