package fit_test

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/linkage"
	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// drawOnLinkage draws a request judged by one of the suspensions, its mounts
// shifted somewhat. The reading is off the points by up to off mm.
func drawOnLinkage(t *rapid.T, off float64) *fit.Request {
	r := drawRequest(t)
	s := rapid.SampledFrom(append(suspensions(), hardSuspensions()...)).Draw(t, "suspension")
	nudge := func(p linkage.Point, label string) linkage.Point {
		q := slices.Clone(p)
		for i := range q {
			q[i] += unit.FromMm(rapid.Float64Range(-40, 40).Draw(t, label))
		}
		return q
	}
	s.spec.Damper.Upper = nudge(s.spec.Damper.Upper, "upper")
	s.spec.Damper.Lower = nudge(s.spec.Damper.Lower, "lower")
	s.bump = s.bump * unit.Length(rapid.IntRange(2, 10).Draw(t, "bump")) / 10
	s.droop = s.droop * unit.Length(rapid.IntRange(2, 10).Draw(t, "droop")) / 10
	if _, faults := linkage.New(s.spec); len(faults) > 0 {
		t.Skip(faults)
	}
	// The linkage takes the motion ratio's place.
	r.Readings.MotionRatio, r.Readings.MotionRatioTolerance, r.Readings.PlannedChange = 0, 0, 0
	r.Readings.Condition, r.Heights, r.DroopLimit = measure.Condition{}, fit.Heights{}, nil
	r.BumpStop = drawBumpStop(t, true)
	onLinkage(r, s, rapid.Float64Range(-off, off).Draw(t, "off"))
	if rapid.Bool().Draw(t, "sides") {
		left := r.Readings.Readings[0].Length
		right := left + unit.Length(rapid.IntRange(-12, 12).Draw(t, "apart"))*mm
		r.Readings.Readings = []measure.Reading{{Length: left, Side: measure.Left}, {Length: right, Side: measure.Right}}
	}
	if rapid.Bool().Draw(t, "planned") {
		r.Readings.PlannedChange = unit.Length(rapid.IntRange(-30, 30).Draw(t, "change")) * mm
	}
	if rapid.IntRange(0, 3).Draw(t, "not at ride") == 0 {
		r.Readings.Condition = measure.Condition{
			NotAtRide: true, ArchGap: 400*mm + unit.Length(rapid.IntRange(-25, 25).Draw(t, "gap"))*mm, ArchGapAtRide: 400 * mm, GapTolerance: mm,
		}
	}
	if faults := fit.Check(r); len(faults) > 0 {
		t.Skip(faults)
	}
	return r
}

// draws picks what to follow up: all of a short list, some of a long one.
func draws[T any](t *rapid.T, of []T, most int, label string) []T {
	if len(of) <= most {
		return of
	}
	some := make([]T, most)
	for i := range some {
		some[i] = of[rapid.IntRange(0, len(of)-1).Draw(t, label)]
	}
	return some
}

// moved is the request once a mount has been moved by v and what was taped with
// it: the reading changes by what the moved linkage makes of the height at which
// the tape was held.
func moved(t *rapid.T, r *fit.Request, point string, v [3]unit.Length, code string) *fit.Request {
	m := *r
	spec := *r.Linkage
	end := &spec.Damper.Upper
	if point == "lower" {
		end = &spec.Damper.Lower
	}
	p := slices.Clone(*end)
	for i := range p {
		p[i] += v[i+3-len(p)]
	}
	*end = p
	m.Linkage, m.Codes = &spec, []string{code}
	c := r.Readings.Condition
	taped := (c.ArchGapAtRide - c.ArchGap).Mm()
	length := func(s linkage.Spec) float64 {
		l, faults := linkage.New(s)
		if len(faults) > 0 {
			t.Skip(faults)
		}
		n, _, err := l.At(taped)
		if err != nil {
			t.Skip(err)
		}
		return n
	}
	longer := unit.FromMm(length(spec) - length(*r.Linkage))
	m.Readings.Readings = slices.Clone(r.Readings.Readings)
	for i := range m.Readings.Readings {
		m.Readings.Readings[i].Length += longer
	}
	return &m
}

// A move that is offered gives the damper the grade that is told once it is done:
// the same request with the point there and the reading taken anew. The least move
// makes it a fit, and one a little shorter does not. (A micrometre and a half, for
// it is rounded up by somewhat more than one.)
func TestAMoveDoneMakesAFit(t *testing.T) {
	moves, rounded := 0, map[unit.System]unit.Length{}
	rapid.Check(t, func(t *rapid.T) {
		s := catalogues[rapid.IntRange(0, len(catalogues)-1).Draw(t, "catalogue")]
		r := drawOnLinkage(t, 4)
		r.Limits.NoAdapters = true // or a smaller move and an adapter might do
		for _, m := range draws(t, find(t, r, s).NearMisses, 4, "near miss") {
			for i := range m.Remedies {
				remedy := &m.Remedies[i]
				if remedy.Move == nil {
					continue
				}
				moves++
				after := find(t, moved(t, r, remedy.Move.Point, remedy.Move.Vector, m.Damper.Code), s)
				if after.Judged[0].Verdict != fit.VerdictFits {
					t.Fatalf("%s is %s after %+v: %v", m.Damper.Code, after.Judged[0].Verdict, *remedy, after.Judged[0].Reasons)
				}
				if got := after.Fits[0].Grade; got != remedy.Grade && !after.Fits[0].Inverted {
					t.Fatalf("%s is %s after %+v: %+v", m.Damper.Code, got, *remedy, after.Fits[0].Worst)
				}
				margin := after.Fits[0].Margin
				for _, d := range []unit.Length{margin.Compression - remedy.Margin.Compression, margin.Extension - remedy.Margin.Extension} {
					// The vector is in whole nanometres, and so is the reading.
					if d.Abs() > 5 && !after.Fits[0].Inverted {
						t.Fatalf("%s has margins %v after %+v", m.Damper.Code, margin, *remedy)
					}
				}
				for _, units := range []unit.System{unit.Inches, unit.Millimetres} {
					// As the text tells it, which is no better than it is.
					told := toldVector(t, remedy, units)
					worded := find(t, moved(t, r, remedy.Move.Point, told, m.Damper.Code), s)
					if worded.Judged[0].Verdict != fit.VerdictFits || worded.Fits[0].Grade > remedy.Grade {
						t.Fatalf("%s is %s after %v, told by %q: %v", m.Damper.Code, worded.Judged[0].Verdict, told, remedy.Text.Text("en", units), worded.Judged[0].Reasons)
					}
					rounded[units] += max(told[0].Abs()-remedy.Move.Vector[0].Abs(), 0)
				}
				scaled := func(to unit.Length) *fit.Answer {
					v := remedy.Move.Vector
					for i := range v {
						v[i] = v[i].Scale(float64(to) / float64(remedy.By))
					}
					return find(t, moved(t, r, remedy.Move.Point, v, m.Damper.Code), s)
				}
				// The vector is in whole nanometres: a hair over the least makes up
				// for what that takes off.
				if least := scaled(remedy.Least + 5); least.Judged[0].Verdict != fit.VerdictFits {
					t.Fatalf("%s is %s after the least of %+v", m.Damper.Code, least.Judged[0].Verdict, *remedy)
				}
				if remedy.Least < 1500 {
					continue
				}
				if before := scaled(remedy.Least - 1500); before.Judged[0].Verdict == fit.VerdictFits {
					t.Fatalf("%s fits by less than the least of %+v: %+v", m.Damper.Code, *remedy, before.Fits[0].Margin)
				}
			}
		}
	})
	if moves == 0 {
		t.Error("no case had a move to do")
	}
	for units, all := range rounded {
		if all == 0 {
			t.Errorf("in %v no text rounds a move", units)
		}
	}
}

// toldVector is the move that a text tells.
func toldVector(t fataler, remedy *fit.Remedy, units unit.System) (v [3]unit.Length) {
	t.Helper()
	for i, name := range []string{"x", "y", "z"} {
		at := slices.IndexFunc(remedy.Text.Values, func(v note.Value) bool { return v.Name == name })
		words := remedy.Text.Values[at].Words(units)
		l, err := unit.Parse(words, units)
		if err != nil {
			t.Fatalf("%q: %v", words, err)
		}
		v[i] = l
	}
	return v
}

// dense is a linkage with its mounts moved all ways that are tried, its lengths
// sampled closely: a computation of what a move does that shares nothing with the
// sweep but the solution of single poses.
type dense struct {
	ways []denseWay
}

type denseWay struct {
	by                unit.Length
	shortest, longest float64
}

const (
	denseMoves   = 16
	denseSamples = 60
)

// newDense tries each mount, apart and together, in steps up to two inches.
func newDense(t *rapid.T, r *fit.Request) dense {
	var d dense
	for _, m := range []linkage.Mount{linkage.UpperMount, linkage.LowerMount} {
		for _, way := range []float64{1, -1} {
			for i := range denseMoves + 1 {
				by := 50.8 * float64(i) / denseMoves
				if shortest, longest, ok := sampled(r, m, way*by); ok {
					d.ways = append(d.ways, denseWay{unit.FromMm(by), shortest, longest})
				}
			}
		}
	}
	if len(d.ways) == 0 {
		t.Skip("nothing can be moved")
	}
	return d
}

// sampled gives the least and greatest of closely sampled lengths with a mount
// moved apart.
func sampled(r *fit.Request, m linkage.Mount, apart float64) (shortest, longest float64, ok bool) {
	l, faults := linkage.New(*r.Linkage)
	if len(faults) > 0 {
		return 0, 0, false
	}
	v := r3.Scale(apart, l.Direction())
	if m == linkage.LowerMount {
		v = r3.Scale(-1, v)
	}
	moved, err := l.Move(m, v)
	if err != nil {
		return 0, 0, false
	}
	ride := -r.Readings.PlannedChange.Mm()
	low, high := ride-r.Travel.Droop.Mm(), ride+r.Travel.Bump.Mm()
	shortest, longest = math.Inf(1), 0
	take := func(length float64, err error) bool {
		shortest, longest = min(shortest, length), max(longest, length)
		return err == nil
	}
	if a, isAxle := moved.Axle(); isAxle {
		const n = 12
		for i := range n + 1 {
			for j := range n + 1 {
				if !take(corner(a, r.Linkage, low+(high-low)*float64(i)/n, low+(high-low)*float64(j)/n)) {
					return 0, 0, false
				}
			}
		}
		return shortest, longest, true
	}
	for i := range denseSamples + 1 {
		length, _, err := moved.At(low + (high-low)*float64(i)/denseSamples)
		if !take(length, err) {
			return 0, 0, false
		}
	}
	return shortest, longest, true
}

// sampledLean is the damper's greatest angle from upright at the sampled places, in
// degrees. The damper's length grows by the cosine of it for each mm that its upper
// mount is raised.
func sampledLean(t *rapid.T, r *fit.Request) float64 {
	l, faults := linkage.New(*r.Linkage)
	if len(faults) > 0 {
		t.Skip(faults)
	}
	const rise = 1e-3
	var raised [2]*linkage.Linkage
	for i := range raised {
		var err error
		if raised[i], err = l.Move(linkage.UpperMount, r3.Vec{Z: rise * (2*float64(i) - 1)}); err != nil {
			t.Skip(err)
		}
	}
	greatest := 0.0
	take := func(length func(l *linkage.Linkage) (float64, error)) {
		below, err := length(raised[0])
		if err != nil {
			t.Skip(err)
		}
		above, _ := length(raised[1])
		greatest = max(greatest, math.Acos(max(-1, min(1, (above-below)/(2*rise))))*180/math.Pi)
	}
	ride := -r.Readings.PlannedChange.Mm()
	low, high := ride-r.Travel.Droop.Mm(), ride+r.Travel.Bump.Mm()
	const n = 24
	for i := range n + 1 {
		z := low + (high-low)*float64(i)/n
		if _, isAxle := l.Axle(); isAxle {
			for j := range n + 1 {
				right := low + (high-low)*float64(j)/n
				take(func(l *linkage.Linkage) (float64, error) { a, _ := l.Axle(); return corner(a, r.Linkage, z, right) })
			}
			continue
		}
		take(func(l *linkage.Linkage) (float64, error) { length, _, err := l.At(z); return length, err })
	}
	return greatest
}

// corner gives the damper's length at the travels of the two wheels. With the
// wheels' places from the roll point, A = y_l - y_r and B = z_l - z_r:
//
//	left - right = A sin φ + B (cos φ - 1) = √(A² + B²) sin(φ + atan2(B, A)) - B
func corner(a linkage.Axle, s *linkage.Spec, left, right float64) (float64, error) {
	across := func(p linkage.Point) (y, z float64) { return p[len(p)-2].Mm(), p[len(p)-1].Mm() }
	rollY, rollZ := across(s.RollPoint)
	leftY, leftZ := across(s.Wheels.Left)
	rightY, rightZ := across(s.Wheels.Right)
	apartY, apartZ := leftY-rightY, leftZ-rightZ
	roll := math.Asin((left-right+apartZ)/math.Hypot(apartY, apartZ)) - math.Atan2(apartZ, apartY)
	sin, cos := math.Sincos(roll)
	return a.Pose(left-(leftY-rollY)*sin-(leftZ-rollZ)*(cos-1), roll)
}

// offsets are how much longer the shorter and the longer reading are than the points
// at the height that they were taken at.
func offsets(r *fit.Request) (shorter, longer float64) {
	l, _ := linkage.New(*r.Linkage)
	c := r.Readings.Condition
	length, _, _ := l.At((c.ArchGapAtRide - c.ArchGap).Mm())
	all := r.Readings.Readings
	a, b := all[0].Length.Mm()-length, all[len(all)-1].Length.Mm()-length
	return min(a, b), max(a, b)
}

// Whatever a dense trial of moves says can be made to fit is a fit or a near
// miss, and its least remedy is no more than the least that was tried. Samples
// miss a little of the extremes, so only what has a little to spare counts.
func TestMovesAgainstADenseTrial(t *testing.T) {
	const hair = 0.25 // mm
	tried := 0
	rapid.Check(t, func(t *rapid.T) {
		s := catalogues[rapid.IntRange(0, len(catalogues)-1).Draw(t, "catalogue")]
		r := drawOnLinkage(t, 4)
		r.Limits.NoAdapters = true
		trial := newDense(t, r)
		shorter, longer := offsets(r)
		lean := max(r.LeanDeg, sampledLean(t, r))
		if math.Abs(lean-45) < 0.2 {
			t.Skip("samples don't tell which side of the limit it leans")
		}
		all := *r
		for _, d := range s.Dampers() {
			all.Codes = append(all.Codes, d.Code)
		}
		verdicts := map[string]fit.Judgement{}
		for _, j := range find(t, &all, s).Judged {
			verdicts[j.Code] = j
		}
		bolted := map[[2]mount.End]bool{}
		dampers := s.Dampers()
		for i := range dampers {
			d := &dampers[i]
			if !allowed(d, r.Limits, lean) || r.Limits.Mounting == fit.Inverted {
				continue
			}
			ends := [2]mount.End{d.Upper, d.Lower}
			goes, known := bolted[ends]
			if !known {
				goes = goesStraight(s, d, r)
				bolted[ends] = goes
			}
			if !goes {
				continue
			}
			for _, w := range trial.ways {
				if w.shortest+shorter-(d.Compressed+rodOf(r)).Mm() < hair || d.Extended.Mm()-longer-w.longest < hair {
					continue
				}
				tried++
				if v := verdicts[d.Code]; v.Verdict == fit.VerdictRuledOut {
					t.Fatalf("%s is ruled out for %v, and would fit moved by %v mm", d.Code, v.Reasons, w.by.Mm())
				}
				break
			}
		}
	})
	if tried == 0 {
		t.Error("no damper could be made to fit")
	}
}

// goesStraight says whether a damper bolts up as it is.
func goesStraight(s *catalog.Snapshot, d *catalog.Damper, r *fit.Request) bool {
	for _, c := range newHardware(s, r.Limits.InStock).choices(d.Upper, r.Readings.Upper.Style, r.Upper, false) {
		for _, e := range newHardware(s, r.Limits.InStock).choices(d.Lower, r.Readings.Lower.Style, r.Lower, false) {
			if c.ok && e.ok {
				return true
			}
		}
	}
	return false
}

// The search lists, of all near misses, those with the least remedies, and
// explain and codes count and name the same ones.
func TestNearMissesByALinkageAreTheSameAllRound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := catalogues[rapid.IntRange(0, len(catalogues)-1).Draw(t, "catalogue")]
		r := drawOnLinkage(t, 4)
		r.Top = rapid.IntRange(1, fit.MostListed).Draw(t, "top")
		r.Explain = true
		searched := find(t, r, s)
		byCode := *r
		for _, d := range s.Dampers() {
			byCode.Codes = append(byCode.Codes, d.Code)
		}
		judged := find(t, &byCode, s)
		if a, b := fitCodes(searched), fitCodes(judged); a != b {
			t.Fatalf("fits by search %s, by codes %s", a, b)
		}
		if a, b := missCodes(searched), missCodes(judged); a != b {
			t.Fatalf("near misses by search %s, by codes %s", a, b)
		}
		if *searched.Counts != *judged.Counts {
			t.Fatalf("explain counts %+v, codes %+v", *searched.Counts, *judged.Counts)
		}
		c := searched.Counts
		if c.Fits+c.NearMisses+c.RuledOut != len(s.Dampers()) || len(searched.NearMisses) != min(r.Top-len(searched.Fits), c.NearMisses) {
			t.Fatalf("counts %+v of %d dampers, %d near misses listed", *c, len(s.Dampers()), len(searched.NearMisses))
		}
		last := unit.Length(0)
		for _, m := range searched.NearMisses {
			for i, remedy := range m.Remedies {
				if remedy.Margin.Compression < 0 || remedy.Margin.Extension < 0 {
					t.Fatalf("%s: margins %v after %s", m.Damper.Code, remedy.Margin, remedy.Kind)
				}
				if i > 0 && remedy.Least < m.Remedies[i-1].Least {
					t.Fatalf("%s: remedies not the least first: %+v", m.Damper.Code, m.Remedies)
				}
			}
			if m.Remedies[0].Least < last {
				t.Fatalf("%s stands behind a near miss with a greater remedy", m.Damper.Code)
			}
			last = m.Remedies[0].Least
		}
	})
}

// No remedy by a linkage is less than what is lacking, which is what lets the
// search bound them by lengths alone. (Where one change mends both ways it may
// be the greater of the two.)
func TestNoMoveIsLessThanWhatIsLacking(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := catalogues[rapid.IntRange(0, len(catalogues)-1).Draw(t, "catalogue")]
		for _, m := range find(t, drawOnLinkage(t, 4), s).NearMisses {
			for _, r := range m.Remedies {
				if r.Move != nil && r.Least < max(m.ShortBy.Compression, m.ShortBy.Extension) {
					t.Fatalf("%s is short by %v and mended by %v", m.Damper.Code, m.ShortBy, r.By)
				}
				if r.Kind == fit.RaiseBody || r.Kind == fit.LowerBody {
					t.Fatalf("%s offered to stops that stay where they are", r.Kind)
				}
			}
		}
	})
}

// A damper that turns by more than a right angle may be too long and too short
// at once and be mended both ways by one move. By hand: inclined by 200 across
// and 200 up it is shortest, 200, where it lies level; up by 750 it is longest,
// √(200² + 550²) = 585.235. Its upper mount moved apart by d stands at 200 + d/√2
// both ways, so that 203 compressed is right from d = 3√2 = 4.243 on, where the
// longest is √(203² + 547²) = 583.453, within 583.5. Giving up travel takes 3 +
// 1.735, which is more.
func TestOneMoveMendsBothWays(t *testing.T) {
	r := onLinkage(asked(t, "16"), suspension{
		"turns far", linkage.Spec{Kind: linkage.Inclined, Damper: linkage.Damper{Upper: pt(200, 0, 200), Lower: pt(0, 0, 0)}},
		750 * mm, 10 * mm,
	}, 0)
	// The other one lacks 4 1/2 mm of travel.
	s := stocked(gas(eyes("a", 204*mm+mm/2, 700*mm)), gas(eyes("b", 203*mm, 583*mm+mm/2)))
	for _, top := range []int{1, 2} {
		r.Top = top
		misses := find(t, r, s).NearMisses
		if len(misses) != top || misses[0].Damper.Code != "b" {
			t.Fatalf("%d near misses, the first %s, want b first", len(misses), misses[0].Damper.Code)
		}
		b := misses[0]
		within(t, "short in compression", b.ShortBy.Compression, 3, 1e-5)
		within(t, "short in extension", b.ShortBy.Extension, math.Hypot(200, 550)-583.5, 1e-5)
		if first := b.Remedies[0]; first.Kind != fit.MoveMountsApart || first.Move == nil {
			t.Fatalf("first remedy %+v, want a move apart", first)
		}
		within(t, "moved at least", b.Remedies[0].Least, 3*math.Sqrt2, 2e-3)
		last := b.Remedies[len(b.Remedies)-1]
		if last.Kind != fit.LessTravel {
			t.Errorf("last remedy %s, want less_travel", last.Kind)
		}
		within(t, "travel given up", last.Least, 3+math.Hypot(200, 550)-583.5, 3e-4) // each rounded up to 127 nm
	}
}
