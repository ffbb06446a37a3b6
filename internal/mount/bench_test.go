package mount_test

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"midstroke/internal/mount"
	"midstroke/internal/mount/mounttest"
	"midstroke/internal/unit"
)

// stock is an invented catalogue's hardware of the sizes that the trade has:
// bores of bushings in steps, sleeves between them and common bolts.
func stock(sleeves, spacers, adapters int) ([]mount.Sleeve, []mount.Spacer, []mount.Adapter) {
	r := rand.New(rand.NewPCG(4411, 9000))
	bores := []unit.Length{14 * mm, 15875 * um, 16 * mm, 18 * mm, 19050 * um, 20 * mm, 22 * mm}
	bolts := mount.CoarseBolts()
	widths := []unit.Length{31 * mm, 31750 * um, 34 * mm, 38100 * um, 45 * mm}
	price := func() mount.Price { return mount.Price(200 + r.IntN(900)) }
	var tubes []mount.Sleeve
	for len(tubes) < sleeves {
		bolt := bolts[r.IntN(len(bolts))].Diameter
		bore := bores[r.IntN(len(bores))]
		s := mount.Sleeve{
			Code:  fmt.Sprintf("tube-%03d", len(tubes)),
			Outer: bore - unit.Length(r.IntN(8))*50*um, Bore: bolt + unit.Length(r.IntN(14))*50*um,
			Length: widths[r.IntN(len(widths))] + unit.Length(r.IntN(4))*250*um, Price: price(),
		}
		if s.Outer-s.Bore >= 1*mm {
			tubes = append(tubes, s)
		}
	}
	var rings []mount.Spacer
	for i := range spacers {
		rings = append(rings, mount.Spacer{
			Code: fmt.Sprintf("ring-%03d", i), Bore: bolts[r.IntN(len(bolts))].Diameter + 500*um,
			Thickness: unit.Length(1+r.IntN(160)) * 50 * um, Price: price(),
		})
	}
	var links []mount.Adapter
	for i := range adapters {
		eye := mount.End{Style: mount.Eye, Bore: bores[r.IntN(len(bores))], Width: widths[r.IntN(len(widths))]}
		other := mount.End{Style: mount.Eye, Bore: bores[r.IntN(len(bores))], Width: widths[r.IntN(len(widths))]}
		if i%3 == 0 {
			other = mount.End{Style: mount.BarPin, HoleSpacing: 60 * mm, Slot: 6 * mm, Hole: 13 * mm}
		}
		links = append(links, mount.Adapter{Code: fmt.Sprintf("link-%03d", i), From: eye, To: other, AddsLength: 20 * mm, Price: price()})
	}
	return tubes, rings, links
}

func BenchmarkNewShelf(b *testing.B) {
	sleeves, spacers, adapters := stock(500, 100, 60)
	b.ReportAllocs()
	for b.Loop() {
		mount.NewShelf(sleeves, spacers, adapters, mount.UsualLimits())
	}
}

// BenchmarkBothEnds is the hardware of one damper over 500 sleeves, 100 spacers
// and 60 adapters: both its own ends and every adapter on them.
func BenchmarkBothEnds(b *testing.B) {
	sleeves, spacers, adapters := stock(500, 100, 60)
	shelf := mount.NewShelf(sleeves, spacers, adapters, mount.UsualLimits())
	upper := mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 31 * mm}
	lower := mount.End{Style: mount.Eye, Bore: 19050 * um, Width: 38100 * um}
	m10, m12 := mount.Bracket{Bolt: bolt(b, "M10"), Opening: 36 * mm}, mount.Bracket{Bolt: bolt(b, "M12"), Opening: 42 * mm}
	for _, detail := range []bool{false, true} {
		name := "quick"
		if detail {
			name = "detail"
		}
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			opts := mount.Options{Detail: detail}
			solves := 0
			for b.Loop() {
				solves = 2
				shelf.BoltUp(upper, m10, opts)
				shelf.BoltUp(lower, m12, opts)
				for _, a := range shelf.Adapted(upper, mount.Eye) {
					shelf.BoltUpThrough(a, m10, opts)
					solves++
				}
				for _, a := range shelf.Adapted(lower, mount.Eye) {
					shelf.BoltUpThrough(a, m12, opts)
					solves++
				}
			}
			b.ReportMetric(float64(solves), "solves/op")
		})
	}
}

// BenchmarkBoltUp is one solve of each kind over 500 sleeves and 100 spacers.
func BenchmarkBoltUp(b *testing.B) {
	sleeves, spacers, _ := stock(500, 100, 0)
	shelf := mount.NewShelf(sleeves, spacers, nil, mount.UsualLimits())
	for _, c := range []struct {
		name    string
		bore    unit.Length
		width   unit.Length
		bolt    string
		opening unit.Length
	}{
		{"one sleeve", 16 * mm, 31 * mm, "M10", 36 * mm},
		{"no sleeve, filled", 12200 * um, 31 * mm, "M12", 36 * mm},
		{"nested", 20 * mm, 31 * mm, "3/8 in", 36 * mm},
		{"bolt too large", 16 * mm, 31 * mm, "M18", 36 * mm},
		{"nothing fits", 16 * mm, 31 * mm, "15.8 mm", 36 * mm},
		{"opening too wide", 16 * mm, 31 * mm, "M10", 150 * mm},
	} {
		end, bracket := mount.End{Style: mount.Eye, Bore: c.bore, Width: c.width}, mount.Bracket{Bolt: bolt(b, c.bolt), Opening: c.opening}
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				shelf.BoltUp(end, bracket, mount.Options{})
			}
		})
	}
}

// BenchmarkAgainstBruteForce reports how many times as long the brute force
// that checks the solver takes for the same question.
func BenchmarkAgainstBruteForce(b *testing.B) {
	sleeves, spacers, _ := stock(500, 100, 0)
	limits := mount.UsualLimits()
	shelf := mount.NewShelf(sleeves, spacers, nil, limits)
	end := mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 31 * mm}
	bracket := mount.Bracket{Bolt: bolt(b, "M10"), Opening: 36 * mm}
	began := time.Now()
	want := mounttest.Best(end, bracket, mounttest.Parts{Sleeves: sleeves, Spacers: spacers, Limits: limits})
	forced := time.Since(began)
	var r mount.Result
	for b.Loop() {
		r = shelf.BoltUp(end, bracket, mount.Options{})
	}
	if shown(r) != shownWay(want) {
		b.Fatalf("got %s, want %s", shown(r), shownWay(want))
	}
	b.ReportMetric(float64(forced)/(float64(b.Elapsed())/float64(b.N)), "times")
}
