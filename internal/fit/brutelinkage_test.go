package fit_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/fit"
	"midstroke/internal/linkage"
	"midstroke/internal/unit"
)

// onPoints is a request by a linkage as this file works it out: the needs from single
// poses, the readings brought along the curve, and whether a bump stop comes late.
type onPoints struct {
	linkage *linkage.Linkage
	ride    float64 // the wheel's travel at the ride height planned, mm
	offset  float64 // of the shorter side from the points, mm
}

// needOnPoints is needOf on a linkage. What depends on rounding to some nanometres is
// given up: see near.
func needOnPoints(t *rapid.T, r *fit.Request) need {
	l, faults := linkage.New(*r.Linkage)
	if len(faults) > 0 {
		t.Skip(faults)
	}
	at := func(z float64) float64 {
		n, _, err := l.At(z)
		if err != nil {
			t.Skip(err)
		}
		return n
	}
	plain := r.Readings
	plain.PlannedChange, plain.MotionRatio = 0, 0
	plain.Condition.NotAtRide, plain.Condition.ArchGap = false, plain.Condition.ArchGapAtRide
	plain.Condition.GapTolerance = 0
	n := lengthsOf(&plain)

	c, ride := r.Readings.Condition, -r.Readings.PlannedChange.Mm()
	taped := (c.ArchGapAtRide - c.ArchGap).Mm()
	to := unit.FromMm(at(ride) - at(taped))
	shorter := n.shorter.Mm() - at(taped)
	for _, length := range []*unit.Length{&n.value, &n.shorter, &n.longer, &n.low, &n.high} {
		*length += to
	}
	if c.NotAtRide {
		most := 2 * c.GapTolerance.Mm()
		least, greatest, ok := lengthsOver(l, r.Linkage, taped-most, taped+most)
		if _, isAxle := l.Axle(); isAxle { // both wheels alike
			least, greatest, ok = at(taped), at(taped), true
			for i := range 2001 {
				z := taped + most*float64(i-1000)/1000
				least, greatest = min(least, at(z)), max(greatest, at(z))
			}
		}
		if !ok {
			t.Skip("the wheel wasn't there")
		}
		n.low -= unit.FromMm(greatest - at(taped))
		n.high += unit.FromMm(at(taped) - least)
	}
	toEitherLength(t, r.Linkage.Damper, unit.FromMm(at(ride)), &n)
	shortest, longest, ok := lengthsOver(l, r.Linkage, ride-r.Travel.Droop.Mm(), ride+r.Travel.Bump.Mm())
	if !ok {
		t.Skip("the range can't be reached")
	}
	way := func(mm float64) fit.Need {
		least := unit.FromMm(max(0, mm))
		return fit.Need{Least: least, LeastWorst: least, Wanted: least + r.Travel.Reserve, WantedWorst: least + r.Travel.Reserve}
	}
	n.c, n.e = way(at(ride)-shortest), way(longest-at(ride))
	n.prefer = preferOf(r, n)
	n.upperStyle, n.lowerStyle = r.Readings.Upper.Style, r.Readings.Lower.Style
	n.rod = rodOf(r)
	p := onPoints{linkage: l, ride: ride, offset: shorter}
	n.late = func(compressed unit.Length) bool { return p.isLate(t, r, compressed) }
	n.unsure = func(f bruteFit, c, e, tolerance unit.Length) {
		if near(n, f, c, e, tolerance) {
			t.Skip("too close to call")
		}
	}
	return n
}

// toEitherLength makes the worst case reach to the length by the points, where the reading's
// bounds lie more apart from it than the mounts' coordinates explain, each within 1/32 in.
func toEitherLength(t *rapid.T, d linkage.Damper, points unit.Length, n *need) {
	var sum, squares float64
	for i, u := range d.Upper {
		apart := (u - d.Lower[i]).Mm()
		sum, squares = sum+math.Abs(apart), squares+apart*apart
	}
	explained := unit.FromMm(2 * 25.4 / 32 * sum / math.Sqrt(squares))
	for _, off := range []unit.Length{points - n.low + explained, n.high + explained - points} {
		if off.Abs() <= nearly {
			t.Skip("too close to call")
		}
		if off < 0 {
			n.low, n.high = min(n.low, points), max(n.high, points)
		}
	}
}

// isLate says whether the damper has less than its reserve left somewhere on the way up
// to where the stop is solid.
func (p *onPoints) isLate(t *rapid.T, r *fit.Request, compressed unit.Length) bool {
	s := r.BumpStop
	if s == nil || s.OnRod {
		return false
	}
	solid := (s.Gap + s.Height - solidHeight(s)).Mm() / s.MotionRatio
	_, high := p.linkage.Reach()
	shortest, _, ok := lengthsOver(p.linkage, r.Linkage, p.ride, min(high, p.ride+solid))
	if !ok {
		t.Skip("the wheel can't be there")
	}
	spare := shortest + p.offset - (compressed + s.Reserve).Mm()
	if math.Abs(spare) < nearly.Mm() {
		t.Skip("too close to call")
	}
	return spare < 0
}

// nearly is how near a limit lengths may come for this file to tell the side.
const nearly = 50 * unit.Nanometre

// near says whether any damper is so near a limit that rounding decides.
func near(n need, f bruteFit, c, e, tolerance unit.Length) bool {
	for _, at := range []unit.Length{
		n.shorter - c - n.c.Least, e - n.longer - n.e.Least,
		n.low - c - tolerance - n.c.LeastWorst, e - tolerance - n.high - n.e.LeastWorst,
		n.low - c - tolerance - n.c.WantedWorst, e - tolerance - n.high - n.e.WantedWorst,
	} {
		if at.Abs() <= nearly {
			return true
		}
	}
	off, _ := n.prefer.Float64()
	steps := math.Abs(float64(n.value-c)/float64(f.stroke)-off) * 20
	return math.Abs(steps-math.Round(steps)) < 1e-5
}

// On a linkage the search finds what a loop over everything finds whose needs, stops
// and hardware are worked out in these tests. The hard suspensions, whose damper turns
// round within the range, and an axle's bump stop, which is drawn in with its strap,
// have tests of their own.
func TestFindsWhatBruteForceFindsOnALinkage(t *testing.T) {
	fits, late := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(catalogues).Draw(t, "catalogue")
		r := drawOnLinkage(t, 4)
		if stop := r.BumpStop; stop != nil && !stop.OnRod && (r.Linkage.Kind == linkage.SolidAxle || turnsRound(r)) {
			r.BumpStop = nil
		}
		r.LeanDeg = 60 // or the samples decide about what leans some 45°
		if sampledLean(t, r) > 60 {
			t.Skip("it leans more")
		}
		r.Top = fit.MostListed
		want := bruteForce(r, s, needOnPoints(t, r))
		everyAsBruteForce(t, r, s, want)
		a := find(t, r, s)
		if len(a.Fits) != min(len(want), r.Top) || a.More != (len(want) > r.Top) {
			t.Fatalf("%d fits, more %v, by brute force %d", len(a.Fits), a.More, len(want))
		}
		for i := range a.Fits {
			f, w := &a.Fits[i], want[i]
			if f.Damper.Code != w.code || int(f.Grade) != w.grade || f.Inverted != w.inverted || f.Parts != w.parts {
				t.Fatalf("rank %d: %s %s inverted %v parts %d, by brute force %+v", i+1, f.Damper.Code, f.Grade, f.Inverted, f.Parts, w)
			}
			fits++
			if f.Stops.BumpStop != nil && !f.Stops.BumpStop.InTime {
				late++
			}
		}
	})
	t.Log(fits, "fits,", late, "with a late bump stop")
	if fits < 50 || late == 0 {
		t.Errorf("%d fits to judge by, %d with a late bump stop", fits, late)
	}
}

// turnsRound says whether the damper gets longer again somewhere in bump.
func turnsRound(r *fit.Request) bool {
	l, _ := linkage.New(*r.Linkage)
	ride := -r.Readings.PlannedChange.Mm()
	_, high := l.Reach()
	before := math.Inf(1)
	for z := ride; z < min(high, ride+400); z += 0.5 {
		n, _, err := l.At(z)
		if err != nil || n >= before {
			return true
		}
		before = n
	}
	return false
}
