package fit_test

import (
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/testdata/demo"
)

// everyCode asks for the verdict on every damper and gives those that fit.
func everyCode(t fataler, r fit.Request, s *catalog.Snapshot) map[string]bool {
	t.Helper()
	for _, d := range s.Dampers() {
		r.Codes = append(r.Codes, d.Code)
	}
	fits := map[string]bool{}
	for _, j := range find(t, &r, s).Judged {
		if j.Verdict == fit.VerdictFits {
			fits[j.Code] = true
		}
	}
	return fits
}

func TestAskingMoreNeverAddsAFit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(catalogues).Draw(t, "catalogue")
		r := drawRequest(t)
		r.Travel = fit.Travel{Basis: fit.Stated, Compression: sixteenths(t, "compression", 0, 60), Extension: sixteenths(t, "extension", 0, 60)}
		r.DroopLimit = nil // or more extension might contradict it
		before := everyCode(t, *r, s)
		switch rapid.IntRange(0, 4).Draw(t, "what more") {
		case 0:
			r.Travel.Compression += sixteenths(t, "more compression", 1, 16)
		case 1:
			r.Travel.Extension += sixteenths(t, "more extension", 1, 16)
		case 2:
			r.Limits.InStock = true
		case 3:
			r.Limits.NoAdapters = true
		case 4:
			r.Limits.Adjusters |= catalog.Rebound
		}
		for code := range everyCode(t, *r, s) {
			if !before[code] {
				t.Fatalf("%s fits only since more is asked for", code)
			}
		}
	})
}

func TestOrderOfRowsNeverMatters(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "order")
		contents := demo.Generate(7, 200)
		sorted := catalog.NewSnapshot("grown", 1, demo.Generate(7, 200))
		order := rand.New(rand.NewPCG(seed, 1))
		for _, shuffle := range []func(){
			func() { shuffled(order, contents.Dampers) }, func() { shuffled(order, contents.Sleeves) },
			func() { shuffled(order, contents.Spacers) }, func() { shuffled(order, contents.Adapters) },
		} {
			shuffle()
		}
		r := drawRequest(t)
		r.Explain = true
		a, b := find(t, r, sorted), find(t, r, catalog.NewSnapshot("grown", 1, contents))
		forgetSerials(a)
		forgetSerials(b)
		if !reflect.DeepEqual(a, b) {
			t.Fatalf("another order of rows, another answer:\n%s\n%s", fitCodes(a), fitCodes(b))
		}
	})
}

// forgetSerials takes out what tells equal results of two snapshots apart.
func forgetSerials(a *fit.Answer) {
	for i := range a.Hardware {
		a.Hardware[i].Result.Serial = 0
	}
	for i := range a.Fits {
		a.Fits[i].Upper.Result.Serial, a.Fits[i].Lower.Result.Serial = 0, 0
	}
}

func shuffled[T any](order *rand.Rand, rows []T) {
	order.Shuffle(len(rows), func(i, j int) { rows[i], rows[j] = rows[j], rows[i] })
}

// Every fit listed is compared with what was asked for, computed again from its
// own figures.
func TestEveryFitHonoursEveryLimit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(catalogues).Draw(t, "catalogue")
		r := drawRequest(t)
		n := needOf(t, r)
		a := find(t, r, s)
		var codes []string
		for _, f := range a.Fits {
			d := f.Damper
			codes = append(codes, d.Code)
			if !allowed(d, r.Limits, r.LeanDeg) {
				t.Fatalf("%s lies outside the limits %+v", d.Code, r.Limits)
			}
			if f.Inverted && (!d.Invertible || r.Limits.Mounting == fit.AsListed) || !f.Inverted && r.Limits.Mounting == fit.Inverted {
				t.Fatalf("%s is mounted as it must not be", d.Code)
			}
			if r.Limits.NoAdapters && (f.Upper.Adapter != nil || f.Lower.Adapter != nil) {
				t.Fatalf("%s has an adapter and none is wanted", d.Code)
			}
			if f.Travel.Compression < n.c.Least || f.Travel.Extension < n.e.Least ||
				f.Travel.Compression+f.Travel.Extension != d.Stroke()-n.rod-(n.longer-n.shorter) {
				t.Fatalf("%s has travel %v of a stroke of %d", d.Code, f.Travel, d.Stroke())
			}
			if !f.Upper.Possible || !f.Lower.Possible {
				t.Fatalf("%s is listed and doesn't bolt up", d.Code)
			}
			want := fit.Marginal
			if f.Worst.Compression >= 0 && f.Worst.Extension >= 0 {
				want = fit.Tight
			}
			if f.Worst.Compression+n.c.LeastWorst >= n.c.WantedWorst && f.Worst.Extension+n.e.LeastWorst >= n.e.WantedWorst {
				want = fit.Clear
			}
			if want < fit.Marginal && n.late(f.Compressed) {
				want = fit.Marginal
			}
			if f.Grade != want {
				t.Fatalf("%s is graded %s with the worst margins %v, want %s", d.Code, f.Grade, f.Worst, want)
			}
			if f.Likelihood < 0 || f.Likelihood > 1 || f.RidePosition < 0 || f.RidePosition > 1 {
				t.Fatalf("%s: likelihood %g, ride position %g", d.Code, f.Likelihood, f.RidePosition)
			}
		}
		slices.Sort(codes)
		if len(slices.Compact(codes)) != len(a.Fits) {
			t.Fatal("a damper is listed twice")
		}
	})
}
