package fit_test

import (
	"fmt"
	"math/big"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
	"midstroke/testdata/demo"
)

// A few catalogues are grown once; each case draws its request.
var catalogues = func() []*catalog.Snapshot {
	var list []*catalog.Snapshot
	for seed := range int64(4) {
		list = append(list, catalog.NewSnapshot(fmt.Sprint("grown-", seed), 1, demo.Generate(100+seed, 400)))
	}
	return list
}()

var drawnStyles = []mount.Style{mount.Eye, mount.Stud, mount.BarPin}

// drawBolt draws one of the bolts that brackets have; none now and then.
func drawBolt(t *rapid.T, label string) mount.Bolt {
	text := rapid.SampledFrom([]string{"", "", "M10", "M12", "M12", "M14", "1/2 in", "7/16 in", "5/8 in"}).Draw(t, label)
	if text == "" {
		return mount.Bolt{}
	}
	b, err := mount.ParseBolt(text, unit.Inches)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func drawBracket(t *rapid.T, end string) mount.Bracket {
	b := mount.Bracket{Bolt: drawBolt(t, end+" bolt")}
	if rapid.Bool().Draw(t, end+" has an opening") {
		b.Opening = sixteenths(t, end+" opening", 20, 40)
	}
	return b
}

// sixteenths draws a whole number of 1/16 in.
func sixteenths(t *rapid.T, label string, least, most int) unit.Length {
	return unit.Length(rapid.IntRange(least, most).Draw(t, label)) * unit.Inch / 16
}

func drawLimits(t *rapid.T) fit.Limits {
	var l fit.Limits
	if rapid.IntRange(0, 7).Draw(t, "limit body") == 0 {
		l.MaxBodyDiameter = sixteenths(t, "body", 24, 48)
	}
	if rapid.IntRange(0, 7).Draw(t, "limit compressed") == 0 {
		l.MaxCompressed = sixteenths(t, "max compressed", 150, 300)
	}
	if rapid.IntRange(0, 7).Draw(t, "limit construction") == 0 {
		l.Construction = rapid.SampledFrom([]catalog.Construction{catalog.TwinTube, catalog.Monotube}).Draw(t, "construction")
	}
	if rapid.IntRange(0, 7).Draw(t, "limit adjusters") == 0 {
		l.Adjusters = rapid.SampledFrom([]catalog.Adjusters{catalog.Rebound, catalog.Compression | catalog.Rebound}).Draw(t, "adjusters")
	}
	l.InStock = rapid.IntRange(0, 7).Draw(t, "in stock") == 0
	if rapid.IntRange(0, 7).Draw(t, "limit price") == 0 {
		l.HasMaxPrice, l.MaxPrice = true, mount.Price(rapid.IntRange(2000, 30000).Draw(t, "price"))
	}
	l.Mounting = rapid.SampledFrom([]fit.Mounting{fit.AnyWayUp, fit.AnyWayUp, fit.AsListed, fit.Inverted}).Draw(t, "mounting")
	l.NoAdapters = rapid.Bool().Draw(t, "no adapters")
	return l
}

func drawRequest(t *rapid.T) *fit.Request {
	r := &fit.Request{
		Readings: measure.Readings{
			Readings:  []measure.Reading{{Length: sixteenths(t, "reading", 180, 340)}},
			Tolerance: sixteenths(t, "tolerance", 1, 4),
			Upper:     measure.EndReading{Style: rapid.SampledFrom(drawnStyles).Draw(t, "upper")},
			Lower:     measure.EndReading{Style: rapid.SampledFrom(drawnStyles).Draw(t, "lower")},
		},
		Upper: drawBracket(t, "upper"), Lower: drawBracket(t, "lower"),
		LeanDeg: rapid.SampledFrom([]float64{0, 45, 45.5, 60}).Draw(t, "lean"),
		Limits:  drawLimits(t),
		Top:     fit.MostListed, Dampers: 2,
	}
	if rapid.Bool().Draw(t, "by rule") {
		r.Suspension = rapid.SampledFrom([]fit.Suspension{fit.SolidAxle, fit.Independent}).Draw(t, "suspension")
	} else {
		r.Travel = fit.Travel{Basis: fit.Stated, Compression: sixteenths(t, "compression", 0, 80), Extension: sixteenths(t, "extension", 0, 80)}
	}
	if rapid.Bool().Draw(t, "prefers") {
		r.Prefer = &fit.Ratio{Num: rapid.Int64Range(0, 100).Draw(t, "ride position"), Den: 100}
	}
	return r
}

// needOf works out by hand what the drawn request asks for.
func needOf(r *fit.Request) need {
	reading, tol := r.Readings.Readings[0].Length, r.Readings.Tolerance
	n := need{
		value: reading, low: reading - tol, high: reading + tol,
		upperStyle: r.Readings.Upper.Style, lowerStyle: r.Readings.Lower.Style,
	}
	switch {
	case r.Travel.Basis == fit.Stated:
		n.leastC, n.wantedC = r.Travel.Compression, r.Travel.Compression
		n.leastE, n.wantedE = r.Travel.Extension, r.Travel.Extension
	case r.Suspension == fit.SolidAxle: // common practice, no source
		n.leastC, n.wantedC, n.leastE, n.wantedE = 2*unit.Inch, 5*unit.Inch/2, 2*unit.Inch, 5*unit.Inch/2
	default: // our choice
		n.leastC, n.wantedC, n.leastE, n.wantedE = 3*unit.Inch/2, 2*unit.Inch, 3*unit.Inch/2, 2*unit.Inch
	}
	switch {
	case r.Prefer != nil:
		n.prefer = big.NewRat(r.Prefer.Num, r.Prefer.Den)
	case n.wantedC+n.wantedE == 0:
		n.prefer = big.NewRat(1, 2)
	default:
		n.prefer = big.NewRat(int64(n.wantedC), int64(n.wantedC+n.wantedE))
	}
	return n
}

func find(t fataler, r *fit.Request, s *catalog.Snapshot) *fit.Answer {
	t.Helper()
	a, faults := fit.Find(r, s)
	if len(faults) > 0 {
		t.Fatalf("faults: %v", faults)
	}
	return a
}

type fataler interface {
	Helper()
	Fatalf(format string, args ...any)
}

func TestFindsWhatBruteForceFinds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(catalogues).Draw(t, "catalogue")
		r := drawRequest(t)
		r.Top = rapid.IntRange(1, fit.MostListed).Draw(t, "top")
		want := bruteForce(r, s, needOf(r))
		got := find(t, r, s).Fits
		if len(got) != min(len(want), r.Top) {
			t.Fatalf("%d fits, by brute force %d (top %d)", len(got), len(want), r.Top)
		}
		for i, f := range got {
			w := want[i]
			var codes [2]string
			for at, end := range []*mount.Result{f.Upper, f.Lower} {
				if end.Adapter != nil {
					codes[at] = end.Adapter.Code
				}
			}
			if codes != w.codes {
				t.Fatalf("rank %d: %s by the adapters %v, by brute force %v", i+1, f.Damper.Code, codes, w.codes)
			}
			if f.Damper.Code != w.code || int(f.Grade) != w.grade || f.Inverted != w.inverted || f.Parts != w.parts || f.Rank != i+1 {
				t.Fatalf("rank %d: %s %s inverted %v parts %d, by brute force %+v", i+1, f.Damper.Code, f.Grade, f.Inverted, f.Parts, w)
			}
		}
	})
}

func TestExplainAddsUpToTheCatalogue(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(catalogues).Draw(t, "catalogue")
		r := drawRequest(t)
		r.Explain = true
		a := find(t, r, s)
		ruledOut := 0
		for _, c := range a.RuledOut {
			ruledOut += c.Count
		}
		if total := a.Counts.Fits + a.Counts.NearMisses + ruledOut; total != len(s.Dampers()) || ruledOut != a.Counts.RuledOut {
			t.Fatalf("%d fits, %d near misses and %d ruled out of %d dampers", a.Counts.Fits, a.Counts.NearMisses, ruledOut, len(s.Dampers()))
		}
		if want := len(bruteForce(r, s, needOf(r))); a.Counts.Fits != want {
			t.Fatalf("%d fits counted, by brute force %d", a.Counts.Fits, want)
		}
		if want := min(a.Counts.NearMisses, r.Top); len(a.NearMisses) != want {
			t.Fatalf("%d near misses listed, want %d", len(a.NearMisses), want)
		}
	})
}

// Asking about every damper by its code must list the fits and near misses
// that the search lists.
func TestCodesAgreeWithTheSearch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(catalogues).Draw(t, "catalogue")
		r := drawRequest(t)
		searched := find(t, r, s)
		byCode := *r
		for _, d := range s.Dampers() {
			byCode.Codes = append(byCode.Codes, d.Code)
		}
		judged := find(t, &byCode, s)
		if len(judged.Judged) != len(s.Dampers()) {
			t.Fatalf("%d judged of %d asked about", len(judged.Judged), len(s.Dampers()))
		}
		if a, b := fitCodes(searched), fitCodes(judged); a != b {
			t.Fatalf("fits by search %s, by codes %s", a, b)
		}
		if a, b := missCodes(searched), missCodes(judged); a != b {
			t.Fatalf("near misses by search %s, by codes %s", a, b)
		}
	})
}

func fitCodes(a *fit.Answer) string {
	s := ""
	for _, f := range a.Fits {
		s += fmt.Sprint(f.Damper.Code, " ", f.Grade, " ", f.Inverted, " ", f.Parts, "; ")
	}
	return s
}

func missCodes(a *fit.Answer) string {
	s := ""
	for _, m := range a.NearMisses {
		s += fmt.Sprint(m.Damper.Code, " ", m.Remedies[0].Kind, " ", int64(m.Remedies[0].By), "; ")
	}
	return s
}
