package damping_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/damping"
	"midstroke/internal/ride"
)

// scaled multiplies all forces of a table.
func scaled(t damping.Table, by float64) damping.Table {
	u := t
	u.Curves = nil
	for _, c := range t.Curves {
		points := append([]damping.Point(nil), c.Points...)
		for i := range points {
			points[i].Compression *= by
			points[i].Rebound *= by
		}
		u.Curves = append(u.Curves, damping.Curve{Position: c.Position, Points: points})
	}
	return u
}

// TestProperties: a softer damper never gives a higher ratio, a load none either
// (with a constant motion ratio and a linear spring), a rougher road lowers the
// ratio of a digressive table, and a corner scaled with its damper keeps its ratio.
func TestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := randomTable(t)
		q := van()
		q.Corner.Friction = rapid.Float64Range(0, 100).Draw(t, "friction")
		base := rate(t, q, u).Start()
		softer := rate(t, q, scaled(u, rapid.Float64Range(0.3, 0.99).Draw(t, "softer"))).Start()
		if softer.Loads[0].Ratio > base.Loads[0].Ratio {
			t.Errorf("softer: %g after %g", softer.Loads[0].Ratio, base.Loads[0].Ratio)
		}
		near(t, "laden over unladen", base.Loads[1].Ratio/base.Loads[0].Ratio, math.Sqrt(300.0/450), 1e-9)
		big := q
		c := &big.Corner
		c.SprungKg, c.LadenKg, c.UnsprungKg, c.SpringRate, c.TyreRate, c.Friction = 3*c.SprungKg, 3*c.LadenKg, 3*c.UnsprungKg, 3*c.SpringRate, 3*c.TyreRate, 3*c.Friction
		three := rate(t, big, scaled(u, 3)).Start()
		near(t, "ratio of three times everything", three.Loads[0].Ratio, base.Loads[0].Ratio, 1e-9*base.Loads[0].Ratio)
		near(t, "its velocity", three.Velocity, base.Velocity, 1e-9)
		// Two dampers of half the force each do what one does.
		pair := q
		pair.Corner.Dampers = 2
		near(t, "ratio of two halves", rate(t, pair, scaled(u, 0.5)).Start().Loads[0].Ratio, base.Loads[0].Ratio, 1e-9*base.Loads[0].Ratio)
	})
	rougher, smooth := van(), van()
	smooth.Targets.Class, rougher.Targets.Class = 'A', 'D'
	if a, b := rate(t, smooth, digressive()), rate(t, rougher, digressive()); b.Positions[0].Loads[0].Ratio >= a.Positions[0].Loads[0].Ratio {
		t.Error("a digressive damper doesn't soften on a rough road")
	}
}

// TestGasForce: a table that includes the gas force is judged as the same table
// without; the force goes into the rise.
func TestGasForce(t *testing.T) {
	plain, gas := rate(t, van(), digressive()), rate(t, van(), withGas(digressive(), 302))
	for i := range plain.Positions {
		p, g := plain.Positions[i], gas.Positions[i]
		near(t, "coefficient", g.Coefficient, p.Coefficient, 1e-9*p.Coefficient)
		near(t, "compression", g.Compression, p.Compression, 1e-9*p.Compression)
		near(t, "pull down", g.PullDown, p.PullDown, 1e-12)
	}
	// 302 N · 0.8 / 22.05 N/mm.
	near(t, "rise, mm", 1000*gas.GasRise, 302*0.8/22.05, 1e-9)
	if plain.GasRise != 0 {
		t.Error("a damper without gas force raises the body")
	}
	// With ratios that change, the rise shifts both ratios and the wheel rate.
	q := van()
	q.Corner.SpringRatioChange, q.Corner.DamperRatioChange = -0.6, -0.6
	plain, gas = rate(t, q, digressive()), rate(t, q, withGas(digressive(), 302))
	state, _ := q.Corner.At(ride.Unladen, 302)
	atWheel := gas.Positions[0].Loads[0].AtWheel
	near(t, "ratio with gas", gas.Positions[0].Loads[0].Ratio, atWheel/state.Critical, 1e-12)
	near(t, "damping at the wheel", atWheel, gas.Positions[0].Coefficient*state.DamperRatio*state.DamperRatio, 1e-6*atWheel)
	if plain.Positions[0].Loads[0].Ratio == gas.Positions[0].Loads[0].Ratio {
		t.Error("gas changes nothing")
	}
	q.Corner.SpringRatioChange, q.Corner.LadenKg = 5, 0
	huge := withGas(digressive(), 4900)
	if _, ok := rater(t, q).Rate(&huge); ok {
		t.Error("a corner that gas lifts off its spring is rated")
	}
	if j := rater(t, q).Judge(&huge); j.Verdict != 0 || j.Curve >= 0 {
		t.Errorf("and judged: %+v", j)
	}
}

// straight is a table of linear curves with the coefficients given.
func straight(coefficients ...float64) damping.Table {
	var u damping.Table
	for i, c := range coefficients {
		one := table(5, 3, func(v float64) (float64, float64) { return 2 * c * v / 3, 4 * c * v / 3 })
		one.Curves[0].Position = string(rune('a' + i))
		u.Curves = append(u.Curves, one.Curves[0])
	}
	return u
}

// TestVerdicts: with linear dampers the ratio is known by hand. Without a load
// 2√(22050·300) = 5143.9 is critical at the wheel and 8037.4 at the damper, so 0.25
// to 0.4 is 2009.3 to 3214.9 N·s/m.
func TestVerdicts(t *testing.T) {
	q := van()
	q.Corner.LadenKg = 0
	r := rater(t, q)
	w := r.Wanted()
	near(t, "low", w.AtDamper.Low, 2009.3, 0.1)
	near(t, "wanted", w.AtDamper.Wanted, 0.32*8037.4, 0.1)
	near(t, "high", w.AtDamper.High, 3214.9, 0.1)
	for _, c := range []struct {
		name         string
		coefficients []float64
		want         damping.Verdict
		start        int
	}{
		{"soft", []float64{2005}, damping.Soft, 0},
		{"just in range", []float64{2010}, damping.InRange, 0},
		{"still in range", []float64{3214}, damping.InRange, 0},
		{"firm", []float64{3220}, damping.Firm, 0},
		{"adjustable", []float64{1500, 2100, 2600, 3100, 4000}, damping.InRange, 2},
		{"all soft", []float64{900, 1500}, damping.Soft, 1},
		{"all firm", []float64{3500, 5000}, damping.Firm, 0},
		{"from soft to firm", []float64{1900, 4000}, damping.Soft, 0},
	} {
		u := straight(c.coefficients...)
		got, ok := r.Rate(&u)
		if !ok || got.Verdict != c.want || got.Curve != c.start {
			t.Errorf("%s: %v at %d, want %v at %d", c.name, got.Verdict, got.Curve, c.want, c.start)
		}
		if j := r.Judge(&u); j != got.Judgement {
			t.Errorf("%s: judged %+v and rated %+v", c.name, j, got.Judgement)
		}
		least, most := c.coefficients[0], c.coefficients[len(c.coefficients)-1]
		near(t, c.name+", least ratio", got.Least(0), least/8037.4, 1e-5)
		near(t, c.name+", greatest ratio", got.Most(0), most/8037.4, 1e-5)
		if p := got.Start(); got.Outside != p.Outside || got.Verdict != p.Verdict {
			t.Errorf("%s: %+v at start", c.name, p)
		}
	}
	soft := straight(2009.3 / 2)
	near(t, "outside of half of the low one", r.Judge(&soft).Outside, math.Ln2, 1e-4)
}

// TestLoads: with the load the low limit counts, without it the high one. Critical
// with 450 kg is 6300.0 at the wheel, 9843.8 at the damper.
func TestLoads(t *testing.T) {
	r := rater(t, van())
	w := r.Wanted()
	near(t, "low", w.AtDamper.Low, 0.25*9843.8, 0.1)
	near(t, "high", w.AtDamper.High, 0.4*8037.4, 0.1)
	near(t, "wanted", w.AtDamper.Wanted, 0.32*math.Sqrt(9843.8*8037.4), 0.1)
	for c, want := range map[float64]damping.Verdict{2455: damping.Soft, 2470: damping.InRange, 3210: damping.InRange, 3220: damping.Firm} {
		u := straight(c)
		if got := r.Judge(&u).Verdict; got != want {
			t.Errorf("%g is %v, want %v", c, got, want)
		}
	}
}

// TestShortTables: a table that ends far below what the road asks for isn't
// judged, and says how much of the damping it lacks.
func TestShortTables(t *testing.T) {
	q := van()
	q.Targets.Class, q.Targets.SpeedKmh = 'E', 100
	u := damping.Table{Curves: []damping.Curve{{Points: []damping.Point{{0.05, 90, 200}, {0.1, 160, 380}}}}}
	got, ok := rater(t, q).Rate(&u)
	if !ok || got.Verdict != 0 || got.Start().Beyond < 0.9 {
		t.Errorf("%+v", got)
	}
	if long := rate(t, van(), straight(2500)).Start(); long.Beyond > 1e-9 {
		t.Errorf("%g of a long table is beyond it", long.Beyond)
	}
	if _, ok := rater(t, q).Rate(&damping.Table{GasForce: 100}); ok {
		t.Error("a table without curves is rated")
	}
	if j := rater(t, q).Judge(&damping.Table{GasForce: 100}); j.Verdict != 0 || j.Curve != -1 {
		t.Errorf("and judged: %+v", j)
	}
}

// TestVerdictIsThatOfJudge holds the short way against the long one, for tables
// of several positions, short ones, friction, loads and changing ratios.
func TestVerdictIsThatOfJudge(t *testing.T) {
	count := map[damping.Verdict]int{}
	rapid.Check(t, func(t *rapid.T) {
		q := van()
		c := &q.Corner
		c.LadenKg = c.SprungKg * rapid.Float64Range(1, 2).Draw(t, "load")
		c.Friction = max(0, rapid.Float64Range(-100, 200).Draw(t, "friction"))
		if rapid.Bool().Draw(t, "changing") {
			c.DamperRatioChange = rapid.Float64Range(-1, 1).Draw(t, "change")
		}
		q.Targets.Class = ride.Class('A' + rapid.IntRange(0, 5).Draw(t, "class"))
		q.Targets.RatioLow, q.Targets.RatioHigh = 0.2, 0.6
		r := rater(t, q)
		var u damping.Table
		for range rapid.IntRange(0, 4).Draw(t, "positions") {
			u.Curves = append(u.Curves, randomTable(t).Curves[0])
		}
		u = scaled(u, rapid.Float64Range(0.5, 8).Draw(t, "scale"))
		u.GasForce = max(0, rapid.Float64Range(-200, 200).Draw(t, "gas"))
		want := r.Judge(&u).Verdict
		count[want]++
		if got := r.Verdict(&u, nil); got != want {
			t.Errorf("%v, want %v", got, want)
		}
	})
	for _, v := range []damping.Verdict{0, damping.Soft, damping.InRange, damping.Firm} {
		if count[v] < 2 {
			t.Errorf("%d of %v", count[v], v)
		}
	}
}

// TestSureVerdicts: what is sure without a look at a table is what Judge says of it.
func TestSureVerdicts(t *testing.T) {
	count := map[damping.Verdict]int{}
	rapid.Check(t, func(t *rapid.T) {
		q := van()
		c := &q.Corner
		c.LadenKg = c.SprungKg * rapid.Float64Range(1, rapid.SampledFrom([]float64{1.3, 4}).Draw(t, "most load")).Draw(t, "load")
		c.Friction = max(0, rapid.Float64Range(-50, 60).Draw(t, "friction"))
		q.Targets.Class = ride.Class('A' + rapid.IntRange(0, 4).Draw(t, "class"))
		r := rater(t, q)
		tables := make([]*damping.Table, 12)
		for i := range tables {
			one := scaled(randomTable(t), rapid.Float64Range(1, 12).Draw(t, "scale"))
			if i%3 == 0 {
				one.Curves = append(one.Curves, scaled(one, 1.3).Curves...)
			}
			tables[i] = &one
		}
		for i, sure := range r.Verdicts(damping.NewPowers(tables), nil) {
			count[sure]++
			if want := r.Judge(tables[i]).Verdict; sure != damping.Undecided && sure != want {
				t.Errorf("surely %v, want %v: %+v", sure, want, tables[i])
			}
		}
	})
	for _, v := range []damping.Verdict{damping.Soft, damping.InRange, damping.Firm} {
		if count[v] < 10 {
			t.Errorf("%d times surely %v", count[v], v)
		}
	}
}
