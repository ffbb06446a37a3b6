package fit_test

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// studs is a stock of dampers with studs at both ends and adapters to eyes for
// them, whose lengths differ or not.
func studs(groups, each, adapters int, adds func(i int) unit.Length, price func(i int) mount.Price) *catalog.Snapshot {
	c := catalog.Contents{Currency: "USD", Limits: mount.UsualLimits()}
	for g := range groups {
		for i := range each {
			d := eyes(fmt.Sprintf("d-%03d-%02d", g, i), 250*mm+unit.Length(i)*mm, 460*mm+unit.Length(i)*mm)
			d.Upper = mount.End{Style: mount.Stud, UsableLength: 30*mm + unit.Length(g)*mm}
			d.Lower, d.Invertible, d.Gas = d.Upper, true, true
			c.Dampers = append(c.Dampers, d)
		}
	}
	for i := range adapters {
		c.Adapters = append(c.Adapters, mount.Adapter{
			Code: fmt.Sprintf("a%03d", i), From: mount.End{Style: mount.Stud}, To: eyes("", 0, 0).Upper, AddsLength: adds(i), Price: price(i),
		})
	}
	return catalog.NewSnapshot("studs", 1, c)
}

// However adapters pair up, the fits are those of trying all: of equal ones the
// cheapest hardware, then the first by code.
func TestAdaptersThatPairUp(t *testing.T) {
	asked := metric(t, 395, 70)
	rapid.Check(t, func(t *rapid.T) {
		step := unit.Length(rapid.IntRange(0, 3).Draw(t, "step")) * mm
		kinds := rapid.IntRange(1, 8).Draw(t, "kinds")
		prices := rapid.SliceOfN(rapid.SampledFrom([]mount.Price{mount.NoPrice, 100, 200}), 12, 12).Draw(t, "prices")
		s := studs(2, 8, 10, func(i int) unit.Length { return unit.Length(i%kinds) * step }, func(i int) mount.Price { return prices[i] })
		r := *asked
		r.Top = rapid.SampledFrom([]int{1, 2, fit.MostListed}).Draw(t, "top")
		want := bruteForce(&r, s, needOf(t, &r))
		got := find(t, &r, s).Fits
		if len(got) != min(len(want), r.Top) {
			t.Fatalf("%d fits, by brute force %d", len(got), len(want))
		}
		for i, f := range got {
			w := want[i]
			codes := [2]string{f.Upper.Adapter.Code, f.Lower.Adapter.Code}
			if f.Damper.Code != w.code || f.Inverted != w.inverted || codes != w.codes {
				t.Fatalf("rank %d: %s by %v, by brute force %+v", i+1, f.Damper.Code, codes, w)
			}
		}
	})
}

// Adapters that add alike are one way to bolt up, so that a pile of them takes no
// room: what a search hands out grows not with their pairs.
func BenchmarkAdaptersThatPairUp(b *testing.B) {
	for name, step := range map[string]unit.Length{"alike": 0, "apart": unit.Micrometre} {
		s := studs(100, 40, 200, func(i int) unit.Length { return unit.Length(i) * step }, func(int) mount.Price { return mount.NoPrice })
		r := metric(b, 395, 70)
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if len(find(b, r, s).Fits) == 0 {
					b.Fatal("no fit")
				}
			}
		})
	}
}
