package fit_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/ride"
	"midstroke/internal/unit"
	"midstroke/testdata/demo"
)

// everyday is an ordinary request: a stud above, an eye with an M12 bolt below,
// a solid axle.
func everyday() *fit.Request {
	bolt, err := mount.ParseBolt("M12", unit.Inches)
	if err != nil {
		panic(err)
	}
	return &fit.Request{
		Readings: measure.Readings{
			Readings:  []measure.Reading{{Length: 16*unit.Inch + unit.Inch/4}},
			Tolerance: unit.Inch / 16,
			Upper:     measure.EndReading{Style: mount.Stud},
			Lower:     measure.EndReading{Style: mount.Eye},
		},
		Lower:      mount.Bracket{Bolt: bolt, Opening: unit.Inch + unit.Inch/2},
		Suspension: fit.SolidAxle,
		Top:        fit.DefaultTop, Dampers: fit.DefaultDampers,
	}
}

func BenchmarkFind(b *testing.B) {
	for _, n := range []int{480, 10_000, 100_000, 1_000_000} {
		s := catalog.NewSnapshot("grown", 1, demo.Generate(demo.Seed, n))
		r := everyday()
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, faults := fit.Find(r, s); len(faults) > 0 {
					b.Fatal(faults)
				}
			}
		})
	}
}

// BenchmarkLinkageOverRule compares a fit judged by a linkage, all of it from
// the points on, with one by the rule for the same reading, at 10,000 dampers
// and in the same run, turn by turn.
func BenchmarkLinkageOverRule(b *testing.B) {
	s := catalog.NewSnapshot("grown", 1, demo.Generate(demo.Seed, 10_000))
	find := func(r *fit.Request) {
		if _, faults := fit.Find(r, s); len(faults) > 0 {
			b.Fatal(faults)
		}
	}
	for _, one := range suspensions() {
		b.Run(one.name, func(b *testing.B) {
			byLinkage, byRule := onLinkage(everyday(), one, 0), everyday()
			byRule.Readings.Readings = byLinkage.Readings.Readings
			// Another machine's load comes and goes: the least of several turns
			// is what either takes.
			const turns, each = 15, 20
			var ratio, linkage float64
			for b.Loop() {
				least := [2]time.Duration{1 << 62, 1 << 62}
				for range turns {
					for i, r := range [2]*fit.Request{byLinkage, byRule} {
						start := time.Now()
						for range each {
							find(r)
						}
						least[i] = min(least[i], time.Since(start)/each)
					}
				}
				ratio, linkage = float64(least[0])/float64(least[1]), float64(least[0])
			}
			b.ReportMetric(0, "ns/op") // of the comparison itself: says nothing
			b.ReportMetric(linkage, "ns/fit")
			b.ReportMetric(ratio, "linkage/rule")
		})
	}
}

func BenchmarkNewSnapshot(b *testing.B) {
	contents := demo.Generate(demo.Seed, 100_000)
	b.ReportAllocs()
	for b.Loop() {
		catalog.NewSnapshot("grown", 1, contents)
	}
}

// BenchmarkRatedOverPlain compares a fit whose dampers are judged on a corner with
// one without, at 10,000 dampers and in the same run, turn by turn. "known" asks for
// the same corner again and again, as a page does while the rest of the request is
// typed. "new" asks for one that was never seen, with other masses and another tyre.
func BenchmarkRatedOverPlain(b *testing.B) {
	s := catalog.NewSnapshot("grown", 1, demo.Generate(demo.Seed, 10_000))
	plain, rated := everyday(), everyday()
	corner := ride.Corner{SprungKg: 350, LadenKg: 430, UnsprungKg: 50, WheelRate: 24, TyreRate: 210, DamperRatio: 0.85}
	find := func(r *fit.Request) time.Duration {
		from := time.Now()
		if _, faults := fit.Find(r, s); len(faults) > 0 {
			b.Fatal(faults)
		}
		return time.Since(from)
	}
	asked := 0.0
	for _, kind := range []string{"known", "new"} {
		b.Run(kind, func(b *testing.B) {
			rated.Corner = &corner
			const turns = 300
			var over []float64
			var took [2]time.Duration
			for b.Loop() {
				var with, without []time.Duration
				for range turns {
					without = append(without, find(plain))
					if kind == "new" {
						c := corner
						asked++
						c.SprungKg, c.LadenKg, c.TyreRate = 300+asked/100, 400+asked/90, 200+asked/300
						rated.Corner = &c
					}
					with = append(with, find(rated))
				}
				slices.Sort(with)
				slices.Sort(without)
				took = [2]time.Duration{with[turns/2], without[turns/2]}
				over = append(over, float64(took[0])/float64(took[1]))
			}
			slices.Sort(over)
			b.ReportMetric(0, "ns/op") // of the comparison itself: says nothing
			b.ReportMetric(float64(took[0]), "ns/rated")
			b.ReportMetric(float64(took[1]), "ns/plain")
			b.ReportMetric(over[len(over)/2], "rated/plain")
		})
	}
}

// BenchmarkExplain counts every damper of a catalogue.
func BenchmarkExplain(b *testing.B) {
	s := catalog.NewSnapshot("grown", 1, demo.Generate(demo.Seed, 200_000))
	r := everyday()
	r.Explain = true
	b.ReportAllocs()
	for b.Loop() {
		if _, faults := fit.Find(r, s); len(faults) > 0 {
			b.Fatal(faults)
		}
	}
}
