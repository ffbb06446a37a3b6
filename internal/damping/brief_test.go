package damping_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/damping"
	"midstroke/internal/ride"
)

// TestBriefIsThatOfRate holds the short way against the long one, with powers known
// beforehand and without, for several tables one after the other: on good and poor
// roads, with friction, loads, gas force and changing ratios.
func TestBriefIsThatOfRate(t *testing.T) {
	rated := 0
	rapid.Check(t, func(t *rapid.T) {
		q := van()
		c := &q.Corner
		c.LadenKg = max(c.SprungKg, c.SprungKg*rapid.Float64Range(0.5, 2).Draw(t, "load"))
		c.Friction = max(0, rapid.Float64Range(-100, 300).Draw(t, "friction"))
		if rapid.Bool().Draw(t, "changing") {
			c.DamperRatioChange = rapid.Float64Range(-1, 1).Draw(t, "change")
		}
		q.Targets.Class = ride.Class('A' + rapid.IntRange(0, 7).Draw(t, "class"))
		q.Targets.SpeedKmh = rapid.Float64Range(5, 200).Draw(t, "speed")
		r := rater(t, q)
		tables := make([]*damping.Table, 6)
		for i := range tables {
			one := damping.Table{GasForce: max(0, rapid.Float64Range(-200, 400).Draw(t, "gas"))}
			for p := range rapid.IntRange(0, 4).Draw(t, "positions") {
				curve := scaled(randomTable(t), rapid.Float64Range(0.5, 8).Draw(t, "scale")).Curves[0]
				curve.Position = string(rune('a' + p))
				one.Curves = append(one.Curves, curve)
			}
			tables[i] = &one
		}
		of := damping.OneOf{Powers: damping.NewPowers(tables)}
		for i, table := range tables {
			of.Table = int32(i)
			rating, ok := r.Rate(table)
			for _, powers := range []*damping.OneOf{nil, &of} {
				brief, told := r.Brief(table, powers)
				if told != ok {
					t.Fatalf("told %t, rated %t", told, ok)
				}
				if !ok {
					continue
				}
				rated++
				start, laden := rating.Start(), 0.0
				if len(start.Loads) > 1 {
					laden = start.Loads[1].Ratio
				}
				if brief.Verdict != rating.Verdict || brief.Curve != rating.Curve || brief.Start != start.Name {
					t.Errorf("brief %+v\nfull %+v", brief, rating.Judgement)
				}
				for what, both := range map[string][2]float64{
					"ratio": {brief.Ratio, start.Loads[0].Ratio}, "with the load": {brief.LadenRatio, laden},
					"least": {brief.Least, rating.Least(0)}, "greatest": {brief.Greatest, rating.Most(0)},
				} {
					near(t, what, both[0], both[1], 1e-9*math.Abs(both[1]))
				}
				if brief.GasRise != rating.GasRise {
					t.Errorf("rise %g, want %g", brief.GasRise, rating.GasRise)
				}
			}
		}
	})
	if rated < 100 {
		t.Errorf("only %d were rated", rated)
	}
}

// BenchmarkBrief holds the damping in brief against that in full, with the powers of
// the table known beforehand.
func BenchmarkBrief(b *testing.B) {
	r, faults := damping.NewRater(&damping.Question{Corner: van().Corner})
	if len(faults) > 0 {
		b.Fatal(faults)
	}
	u := digressive()
	of := damping.OneOf{Powers: damping.NewPowers([]*damping.Table{&u})}
	b.Run("brief", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			r.Brief(&u, &of)
		}
	})
	b.Run("full", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			r.Rate(&u)
		}
	})
}
