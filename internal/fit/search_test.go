package fit_test

import (
	"fmt"
	"math/big"
	"slices"
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

// The search itself is also tried on awkward ones.
var allCatalogues = append(awkward(), catalogues...)

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
		l.Adjusters = rapid.SampledFrom([]catalog.Adjusters{catalog.Rebound, catalog.Compression | catalog.Rebound, catalog.RideHeight}).Draw(t, "adjusters")
	}
	l.InStock = rapid.IntRange(0, 3).Draw(t, "in stock") == 0
	if rapid.IntRange(0, 7).Draw(t, "limit price") == 0 {
		l.HasMaxPrice, l.MaxPrice = true, mount.Price(rapid.OneOf(rapid.IntRange(2000, 30000), rapid.SampledFrom([]int{3000, 9000})).Draw(t, "price"))
	}
	l.Mounting = rapid.SampledFrom([]fit.Mounting{fit.AnyWayUp, fit.AnyWayUp, fit.AsListed, fit.Inverted}).Draw(t, "mounting")
	l.NoAdapters = rapid.Bool().Draw(t, "no adapters")
	l.LoadCarrying = rapid.Bool().Draw(t, "load carrying")
	return l
}

func drawRequest(t *rapid.T) *fit.Request {
	r := &fit.Request{
		Readings: measure.Readings{
			Readings:  drawReadings(t),
			Tolerance: sixteenths(t, "tolerance", 1, 4),
			Upper:     measure.EndReading{Style: rapid.SampledFrom(drawnStyles).Draw(t, "upper")},
			Lower:     measure.EndReading{Style: rapid.SampledFrom(drawnStyles).Draw(t, "lower")},
		},
		Upper: drawBracket(t, "upper"), Lower: drawBracket(t, "lower"),
		LeanDeg: rapid.SampledFrom([]float64{-1, 45, 45.5, 60}).Draw(t, "lean"),
		Limits:  drawLimits(t),
		Top:     fit.MostListed, Dampers: 2,
	}
	if rapid.Bool().Draw(t, "knows the motion ratio") {
		drawHeights(t, r)
	}
	bases := []fit.Basis{fit.ByRule, fit.Stated, fit.Stated}
	if r.Readings.MotionRatio > 0 {
		bases = append(bases, fit.ByWheel, fit.ByWheel)
	}
	switch basis := rapid.SampledFrom(bases).Draw(t, "basis"); basis {
	case fit.ByRule:
		r.Suspension = rapid.SampledFrom([]fit.Suspension{fit.SolidAxle, fit.Independent}).Draw(t, "suspension")
	case fit.Stated:
		r.Travel = fit.Travel{Basis: basis, Compression: sixteenths(t, "compression", 0, 80), Extension: sixteenths(t, "extension", 0, 80)}
	default:
		r.Travel = fit.Travel{
			Basis: basis, Bump: sixteenths(t, "bump", 0, 80), Droop: sixteenths(t, "droop", 0, 80), Reserve: sixteenths(t, "reserve", 0, 8),
		}
	}
	r.BumpStop = drawBumpStop(t, r.Readings.MotionRatio > 0)
	r.DroopLimit = drawDroopLimit(t, r)
	if rapid.Bool().Draw(t, "prefers") {
		r.Prefer = &fit.Ratio{Num: rapid.Int64Range(0, 100).Draw(t, "ride position"), Den: 100}
	}
	return r
}

// drawReadings draws one reading, or one or two of each side, no farther apart
// than is measured again.
func drawReadings(t *rapid.T) []measure.Reading {
	middle := sixteenths(t, "reading", 180, 340)
	if rapid.Bool().Draw(t, "no sides") {
		return []measure.Reading{{Length: middle}}
	}
	var all []measure.Reading
	apart := sixteenths(t, "sides apart", -4, 4)
	for _, side := range []measure.Side{measure.Left, measure.Right} {
		middle += apart
		all = append(all, measure.Reading{Length: middle, Side: side})
		if rapid.Bool().Draw(t, "twice") {
			all = append(all, measure.Reading{Length: middle + sixteenths(t, "repeat", -2, 2), Side: side})
		}
	}
	return all
}

// drawHeights draws a motion ratio and what goes with it.
func drawHeights(t *rapid.T, r *fit.Request) {
	m := &r.Readings
	m.MotionRatio = float64(rapid.IntRange(30, 150).Draw(t, "motion ratio")) / 100
	if rapid.Bool().Draw(t, "ratio in doubt") {
		m.MotionRatioTolerance = m.MotionRatio * float64(rapid.IntRange(1, 30).Draw(t, "ratio tolerance")) / 100
	}
	if rapid.Bool().Draw(t, "not at ride") {
		m.Condition = measure.Condition{
			NotAtRide: true, ArchGap: 16*unit.Inch + sixteenths(t, "gap", -40, 40), ArchGapAtRide: 16 * unit.Inch,
			GapTolerance: sixteenths(t, "gap tolerance", 1, 3),
		}
	}
	if rapid.Bool().Draw(t, "planned") {
		m.PlannedChange = sixteenths(t, "planned change", -40, 40)
	}
	if rapid.Bool().Draw(t, "heights") {
		r.Heights = fit.Heights{Below: sixteenths(t, "below", 0, 32), Above: sixteenths(t, "above", 0, 32)}
	}
}

// needOf works out by hand what the drawn request asks for.
func needOf(t skipper, r *fit.Request) need {
	n := lengthsOf(&r.Readings)
	n.upperStyle, n.lowerStyle = r.Readings.Upper.Style, r.Readings.Lower.Style
	n.rod = rodOf(r)
	n.late = func(compressed unit.Length) bool { return isLate(t, r, n.shorter-compressed) }
	ratio := r.Readings.MotionRatio
	most := ratio + r.Readings.MotionRatioTolerance
	switch {
	case r.Travel.Basis == fit.Stated:
		n.c, n.e = exactly(r.Travel.Compression, r.Travel.Compression), exactly(r.Travel.Extension, r.Travel.Extension)
	case r.Travel.Basis == fit.ByWheel:
		way := func(wheel unit.Length) fit.Need {
			least, worst := times(wheel, ratio), times(wheel, most)
			return fit.Need{Least: least, Wanted: least + r.Travel.Reserve, LeastWorst: worst, WantedWorst: worst + r.Travel.Reserve}
		}
		n.c, n.e = way(r.Travel.Bump), way(r.Travel.Droop)
	case r.Suspension == fit.SolidAxle: // common practice, no source
		n.c = exactly(2*unit.Inch, 5*unit.Inch/2)
		n.e = n.c
	default: // our choice
		n.c = exactly(3*unit.Inch/2, 2*unit.Inch)
		n.e = n.c
	}
	if r.Travel.Basis != fit.ByWheel { // whose stops are fixed in the vehicle
		more := func(n *fit.Need, wheel unit.Length) {
			n.Least, n.Wanted = n.Least+times(wheel, ratio), n.Wanted+times(wheel, ratio)
			n.LeastWorst, n.WantedWorst = n.LeastWorst+times(wheel, most), n.WantedWorst+times(wheel, most)
		}
		more(&n.c, r.Heights.Below)
		more(&n.e, r.Heights.Above)
	}
	n.e = limitedDroop(r, n.e)
	n.prefer = preferOf(r, n)
	return n
}

// preferOf is the ride position preferred: the caller's, or the one that shares the
// stroke in the ratio of the wanted travels.
func preferOf(r *fit.Request, n need) *big.Rat {
	switch {
	case r.Prefer != nil:
		return big.NewRat(r.Prefer.Num, r.Prefer.Den)
	case n.c.Wanted+n.e.Wanted == 0:
		return big.NewRat(1, 2)
	}
	return big.NewRat(int64(n.c.Wanted), int64(n.c.Wanted+n.e.Wanted))
}

// lengthsOf works out the working length of drawn readings: the mean of the
// sides, each side's mean, and the bounds, all brought to the planned height.
func lengthsOf(m *measure.Readings) need {
	sums, counts := map[measure.Side]unit.Length{}, map[measure.Side]unit.Length{}
	least, greatest := m.Readings[0].Length, m.Readings[0].Length
	for _, one := range m.Readings {
		sums[one.Side] += one.Length
		counts[one.Side]++
		least, greatest = min(least, one.Length), max(greatest, one.Length)
	}
	var means []unit.Length
	for side, sum := range sums {
		means = append(means, sum/counts[side]) // of whole sixteenths, so exact
	}
	slices.Sort(means)
	n := need{shorter: means[0], longer: means[len(means)-1], low: least - m.Tolerance, high: greatest + m.Tolerance}
	n.value = (n.shorter + n.longer) / 2

	delta, gaps := m.Condition.ArchGap-m.Condition.ArchGapAtRide, 2*m.Condition.GapTolerance
	by := times(m.PlannedChange, m.MotionRatio) - times(delta, m.MotionRatio)
	doubt := times(gaps, m.MotionRatio) + times((delta-m.PlannedChange).Abs()+gaps, m.MotionRatioTolerance)
	for _, l := range []*unit.Length{&n.value, &n.shorter, &n.longer, &n.low, &n.high} {
		*l += by
	}
	n.low, n.high = n.low-doubt, n.high+doubt
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

// Each request is asked of every catalogue, for one, for a few and for many fits: a
// bound that is wrong loses a fit only where a search ends before it has seen all.
func TestFindsWhatBruteForceFinds(t *testing.T) {
	cutShort := 0
	rapid.Check(t, func(t *rapid.T) {
		r := drawRequest(t)
		few := rapid.IntRange(2, fit.MostListed-1).Draw(t, "top")
		for _, s := range allCatalogues {
			want := bruteForce(r, s, needOf(t, r))
			everyAsBruteForce(t, r, s, want)
			for _, r.Top = range []int{1, few, fit.MostListed} {
				asBruteForce(t, r, s, want)
				if len(want) > r.Top {
					cutShort++
				}
			}
		}
	})
	if t.Log(cutShort, "searches that ended before they had seen all that fits"); cutShort < 100 {
		t.Error("too few of them to tell whether bounds are right")
	}
}

// asBruteForce compares the fits that are found with the first of those wanted.
func asBruteForce(t *rapid.T, r *fit.Request, s *catalog.Snapshot, want []bruteFit) {
	t.Helper()
	a := find(t, r, s)
	got := a.Fits
	if len(got) != min(len(want), r.Top) || a.More != (len(want) > r.Top) {
		t.Fatalf("%s: %d fits, more %v, by brute force %d (top %d)", s.Name(), len(got), a.More, len(want), r.Top)
	}
	for i, f := range got {
		w := want[i]
		var codes [2]string
		for at, end := range []fit.End{f.Upper, f.Lower} {
			if end.Adapter != nil {
				codes[at] = end.Adapter.Code
			}
		}
		if codes != w.codes {
			t.Fatalf("%s, rank %d: %s by the adapters %v, by brute force %v", s.Name(), i+1, f.Damper.Code, codes, w.codes)
		}
		if f.Damper.Code != w.code || int(f.Grade) != w.grade || f.Inverted != w.inverted || f.Parts != w.parts || f.Rank != i+1 {
			t.Fatalf("%s, rank %d: %s %s inverted %v parts %d, by brute force %+v", s.Name(), i+1, f.Damper.Code, f.Grade, f.Inverted, f.Parts, w)
		}
	}
}

// everyAsBruteForce compares the dampers that fit, and their grades, with all of those
// wanted.
func everyAsBruteForce(t *rapid.T, r *fit.Request, s *catalog.Snapshot, want []bruteFit) {
	t.Helper()
	every, faults := fit.FindEvery(r, s)
	if len(faults) > 0 {
		t.Fatalf("faults: %v", faults)
	}
	grades := map[string]int{}
	for i, one := range every.Served {
		if i > 0 && one.Damper <= every.Served[i-1].Damper {
			t.Fatalf("%s: damper %d comes after %d", s.Name(), one.Damper, every.Served[i-1].Damper)
		}
		grades[s.Dampers()[one.Damper].Code] = int(one.Grade)
	}
	if len(grades) != len(want) || (every.Outcome == fit.Fits) != (len(want) > 0) {
		t.Fatalf("%s: %s, %d dampers fit, by brute force %d", s.Name(), every.Outcome, len(grades), len(want))
	}
	for _, w := range want {
		if grade, fits := grades[w.code]; !fits || grade != w.grade {
			t.Fatalf("%s: %s fits %v with grade %d, by brute force %d", s.Name(), w.code, fits, grade, w.grade)
		}
	}
}

func TestExplainAddsUpToTheCatalogue(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(allCatalogues).Draw(t, "catalogue")
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
		if want := len(bruteForce(r, s, needOf(t, r))); a.Counts.Fits != want {
			t.Fatalf("%d fits counted, by brute force %d", a.Counts.Fits, want)
		}
		if a.More != (a.Counts.Fits > r.Top) {
			t.Fatalf("more %v, of %d fits %d listed", a.More, a.Counts.Fits, len(a.Fits))
		}
		if want := min(a.Counts.NearMisses, r.Top-len(a.Fits)); len(a.NearMisses) != want {
			t.Fatalf("%d near misses listed, want %d", len(a.NearMisses), want)
		}
	})
}

// Asking about every damper by its code must list the fits and near misses
// that the search lists.
func TestCodesAgreeWithTheSearch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(allCatalogues).Draw(t, "catalogue")
		r := drawRequest(t)
		nearMisses := rapid.IntRange(0, fit.MostListed).Draw(t, "near misses")
		r.NearMisses = &nearMisses
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

// By hand: of 40 dampers the first 26 are at most 395 - 70 mm compressed, and their
// eyes of 32 mm go into an opening of 31 mm once it is opened. The others lack length
// as well, which takes more than one change.
func TestNearMissesWhereNoEndBoltsUp(t *testing.T) {
	var dampers []catalog.Damper
	for i := range 40 {
		dampers = append(dampers, eyes(fmt.Sprintf("d-%02d", i), unit.Length(300+i)*mm, unit.Length(500+i)*mm))
	}
	r := metric(t, 395, 70)
	bolt, err := mount.ParseBolt("M12", unit.Millimetres)
	if err != nil {
		t.Fatal(err)
	}
	r.Upper = mount.Bracket{Bolt: bolt, Opening: 31 * mm}
	all := fit.MostListed
	r.NearMisses = &all
	a := find(t, r, stocked(dampers...))
	if len(a.Fits) != 0 || len(a.NearMisses) != 26 {
		t.Fatalf("%d fits and %d near misses, want none and 26", len(a.Fits), len(a.NearMisses))
	}
	for i, m := range a.NearMisses {
		if want := fmt.Sprintf("d-%02d", i); m.Damper.Code != want || m.Remedies[0].Kind != fit.OpenBracket {
			t.Errorf("near miss %d is %s by %s, want %s by %s", i, m.Damper.Code, m.Remedies[0].Kind, want, fit.OpenBracket)
		}
	}
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
		s += fmt.Sprint(m.Damper.Code, " ", m.Remedies[0].Kind, " ", int64(m.Remedies[0].Least), "; ")
	}
	return s
}
