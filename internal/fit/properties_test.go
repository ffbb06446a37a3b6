package fit_test

import (
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
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
		if !reflect.DeepEqual(a, b) {
			t.Fatalf("another order of rows, another answer:\n%s\n%s", fitCodes(a), fitCodes(b))
		}
	})
}

func shuffled[T any](order *rand.Rand, rows []T) {
	order.Shuffle(len(rows), func(i, j int) { rows[i], rows[j] = rows[j], rows[i] })
}

// Every fit listed is held against what was asked for, reckoned anew from its
// own figures.
func TestEveryFitHonoursEveryLimit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(catalogues).Draw(t, "catalogue")
		r := drawRequest(t)
		n := needOf(r)
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
			if f.Travel.Compression < n.leastC || f.Travel.Extension < n.leastE || f.Travel.Compression+f.Travel.Extension != d.Stroke() {
				t.Fatalf("%s has travel %v of a stroke of %d", d.Code, f.Travel, d.Stroke())
			}
			if !f.Upper.Possible || !f.Lower.Possible {
				t.Fatalf("%s is listed and doesn't bolt up", d.Code)
			}
			if clear := f.Worst.Compression+n.leastC >= n.wantedC && f.Worst.Extension+n.leastE >= n.wantedE; clear != (f.Grade == fit.Clear) {
				t.Fatalf("%s is graded %s with the worst margins %v", d.Code, f.Grade, f.Worst)
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

// A remedy that is listed must work: a damper that was short fits once its
// remedy is carried out, and not with a hair less of it: what it is rounded up
// by to be written exactly.
func TestRemediesOfLengthWork(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(catalogues).Draw(t, "catalogue")
		r := drawRequest(t)
		r.Limits.NoAdapters = false
		for _, m := range find(t, r, s).NearMisses {
			for _, remedy := range m.Remedies {
				change := remedy.By
				switch remedy.Kind {
				case fit.MoveMountsTogether:
					change = -change
				case fit.MoveMountsApart:
				default:
					continue
				}
				if !fitsAt(t, r, s, m.Damper.Code, change) {
					t.Fatalf("%s doesn't fit after %s by %d nm", m.Damper.Code, remedy.Kind, remedy.By)
				}
				// As an answer writes it in inches, figure and text, it still does: our
				// choice of grain, but where the other way has no room for one.
				if remedy.By%unit.Grain == 0 && unit.Inch.Scale(remedy.By.In(unit.Inches)) != remedy.By {
					t.Fatalf("%d nm is written %v in", remedy.By, remedy.By.In(unit.Inches))
				}
				if remedy.By%unit.Grain != 0 && min(remedy.Margin.Compression, remedy.Margin.Extension)+max(remedy.Margin.Compression, remedy.Margin.Extension) >= unit.Grain {
					t.Fatalf("%s by %d nm could be written exactly", remedy.Kind, remedy.By)
				}
				for _, v := range remedy.Text.Values {
					told, err := unit.Parse(v.Words(unit.Inches), unit.Inches)
					if v.Name != "by" || remedy.By%unit.Grain != 0 {
						continue
					}
					if change < 0 {
						told = -told
					}
					if err != nil || !fitsAt(t, r, s, m.Damper.Code, told) {
						t.Fatalf("%s doesn't fit after %s by %s", m.Damper.Code, remedy.Kind, v.Words(unit.Inches))
					}
				}
				hair := unit.Grain
				if change < 0 {
					hair = -hair
				}
				if straightFits(t, r, s, m.Damper.Code, change-hair) {
					t.Fatalf("%s fits with less than %s by %d nm", m.Damper.Code, remedy.Kind, remedy.By)
				}
			}
		}
	})
}

// fitsAt says whether a damper fits with the mounts moved apart by change.
func fitsAt(t fataler, r *fit.Request, s *catalog.Snapshot, code string, change unit.Length) bool {
	t.Helper()
	moved := *r
	moved.Readings.Readings = slices.Clone(r.Readings.Readings)
	moved.Readings.Readings[0].Length += change
	moved.Codes = []string{code}
	return find(t, &moved, s).Judged[0].Verdict == fit.VerdictFits
}

// straightFits is fitsAt without adapters, which a remedy doesn't reckon with.
func straightFits(t fataler, r *fit.Request, s *catalog.Snapshot, code string, change unit.Length) bool {
	t.Helper()
	plain := *r
	plain.Limits.NoAdapters = true
	return fitsAt(t, &plain, s, code, change)
}

// A sleeve that is said to cure must cure: with it on the shelf, the damper
// fits.
func TestASleeveThatCuresDoes(t *testing.T) {
	contents := demo.Generate(100, 400)
	s := catalog.NewSnapshot("grown", 1, contents)
	tried := 0
	for _, opening := range []string{"1 3/8", "1 1/2", "1 3/4"} {
		r := everyday()
		r.Lower.Opening = inch(t, opening)
		r.Top = fit.MostListed
		for _, m := range find(t, r, s).NearMisses {
			if m.Remedies[0].Kind != fit.AddSleeve {
				continue
			}
			end := m.Damper.Lower
			if m.Inverted {
				end = m.Damper.Upper
			}
			for _, cure := range s.Shelf().BoltUp(end, r.Lower, mount.Options{Detail: true}).Cures {
				if cure.Kind != mount.AddSleeve || !cure.Alone {
					continue
				}
				tried++
				w := cure.Sleeve
				with := demo.Generate(100, 400)
				with.Sleeves = append(with.Sleeves, mount.Sleeve{
					Code: "made for it", Outer: w.OuterLeast, Bore: w.BoreMost, Length: w.LengthLeast, Price: mount.NoPrice,
				})
				if !fitsAt(t, r, catalog.NewSnapshot("grown", 2, with), m.Damper.Code, 0) {
					t.Errorf("%s still doesn't fit with the sleeve that was to cure it", m.Damper.Code)
				}
			}
		}
	}
	if tried == 0 {
		t.Fatal("no near miss was cured by a sleeve: the test tried nothing")
	}
}
