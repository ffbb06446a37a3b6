package fit_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/fit"
	"midstroke/internal/linkage"
	"midstroke/internal/unit"
)

// withStop gives a request a bump stop 40 mm high that squashes by half, at a
// ratio of 1, with a gap.
func withStop(r *fit.Request, gap unit.Length) *fit.Request {
	r.Readings.MotionRatio = 1
	r.BumpStop = &fit.BumpStop{Reserve: 6 * mm, BumpStop: linkage.BumpStop{Gap: gap, Height: 40 * mm, Squash: 0.5, MotionRatio: 1}}
	return r
}

// A damper of 300 mm at 395 has 95 mm of compression, so with 6 mm of reserve the
// stop must be solid by 89 mm: with 20 mm of squash a gap of 69 mm at most, by hand.
// A later stop makes a clear fit a marginal one, with the stop that is in time.
func TestALateBumpStopIsMarginal(t *testing.T) {
	s := stocked(eyes("one", 300*mm, 500*mm))
	for gap, want := range map[unit.Length]fit.Grade{69 * mm: fit.Clear, 69*mm + 1: fit.Marginal, 150 * mm: fit.Marginal} {
		a := find(t, withStop(metric(t, 395, 50), gap), s)
		f := a.Fits[0]
		if f.Grade != want || f.Stops.BumpStop.InTime != (want == fit.Clear) {
			t.Errorf("a gap of %v mm: %s, in time %v", gap.Mm(), f.Grade, f.Stops.BumpStop.InTime)
		}
		for _, list := range [][]string{codesOf(f.Notes), codesOf(a.Cautions)} {
			if slices.Contains(list, "stop_comes_late") != (want == fit.Marginal) {
				t.Errorf("a gap of %v mm: told %v", gap.Mm(), list)
			}
		}
		if f.Stops.BumpStop.Gap != 69*mm {
			t.Errorf("in time is a gap of %v mm, want 69", f.Stops.BumpStop.Gap.Mm())
		}
	}
}

// TestALateBumpStopIsToldWhatCuresIt does what the caution says: the gap or the height
// that it prints, each alone, brings the stop in time. By hand: solid by 89 mm, with a gap of
// 75.53 mm a stop 26.94 mm high is, printed 26.9; with 40 mm of height a gap of 69 mm is.
// With a gap of 95 no height is; a stop 200 mm high is at no gap.
func TestALateBumpStopIsToldWhatCuresIt(t *testing.T) {
	s := stocked(eyes("one", 300*mm, 500*mm))
	for _, c := range []struct {
		gap, height unit.Length
		want        string
	}{
		{75*mm + 530_000, 40 * mm, "the bump stop is solid at 95.6 mm of wheel travel, after the 89 mm by which it must be, so the damper bottoms first; " +
			"it would be in time with a gap of 69 mm at most; with the gap as it is, a height of 26.9 mm at most would be in time"},
		{95 * mm, 40 * mm, "the bump stop is solid at 115 mm of wheel travel, after the 89 mm by which it must be, so the damper bottoms first; it would be in time with a gap of 69 mm at most"},
		{10 * mm, 200 * mm, "the bump stop is solid at 110 mm of wheel travel, after the 89 mm by which it must be, so the damper bottoms first; with the gap as it is, a height of 158 mm at most would be in time"},
	} {
		r := withStop(metric(t, 395, 50), c.gap)
		r.BumpStop.Height = c.height
		caution := told(t, find(t, r, s).Fits[0].Notes, "stop_comes_late")
		if got := caution.Text("en", unit.Millimetres); got != c.want {
			t.Errorf("%s\nwant %s", got, c.want)
		}
		for _, v := range caution.Values {
			cured := withStop(metric(t, 395, 50), c.gap)
			cured.BumpStop.Height = c.height
			size, err := unit.Parse(v.Words(unit.Millimetres), unit.Millimetres)
			switch {
			case err != nil:
				t.Fatal(err)
			case v.Name == "gap":
				cured.BumpStop.Gap = size
			case v.Name == "height":
				cured.BumpStop.Height = size
			default:
				continue
			}
			if !find(t, cured, s).Fits[0].Stops.BumpStop.InTime {
				t.Errorf("with the %s told, %s, it is late", v.Name, v.Words(unit.Millimetres))
			}
		}
	}
}

// Of two dampers the one whose stop is in time comes first, though the other is
// nearer the preferred ride position.
func TestADamperWithItsStopInTimeComesFirst(t *testing.T) {
	s := stocked(eyes("late", 310*mm, 480*mm), eyes("soon", 280*mm, 560*mm))
	a := find(t, withStop(metric(t, 395, 50), 70*mm), s)
	if got := fitCodes(a); len(a.Fits) != 2 || a.Fits[0].Damper.Code != "soon" || a.Fits[1].Grade != fit.Marginal {
		t.Errorf("fits %s", got)
	}
}

// With a linkage the same is judged along its curve: an upright damper moves as the
// wheel does.
func TestALateBumpStopOnALinkage(t *testing.T) {
	for gap, want := range map[unit.Length]fit.Grade{54 * mm: fit.Clear, 54*mm + 10_000: fit.Marginal} {
		r := upright(t)
		r.BumpStop = withStop(upright(t), gap).BumpStop
		// 400 - 320 = 80 mm of compression, less 6 and 20.
		if f := find(t, r, stocked(eyes("one", 320*mm, 480*mm))).Fits[0]; f.Grade != want {
			t.Errorf("a gap of %v mm: %s, want %s", gap.Mm(), f.Grade, want)
		}
	}
}

// A move of a mount that makes the lengths clear may leave the bump stop late, and a
// farther one brings it in time. By hand: upright, 400 mm at ride height, 60 mm each
// way; a damper of 346 mm has 54 of compression and lacks 6. Moved apart by d it has 54
// + d, less 6 of reserve; the stop is solid after 60 + 20, so in time from d = 32 on.
// With a gap of 90 it would take 62 mm, and then the damper lacks extension for a clear
// fit: 540 - 462 is less than 60 + 10 of reserve and 1/8 in of tolerances; for a tight
// one as well with 515.
func TestAMoveBringsTheBumpStopInTime(t *testing.T) {
	for _, c := range []struct {
		gap, extended unit.Length
		by            float64
		grade         fit.Grade
	}{
		{60 * mm, 540 * mm, 32, fit.Clear},
		{90 * mm, 530 * mm, 62, fit.Tight},
		{90 * mm, 515 * mm, 6, fit.Marginal},
	} {
		r := upright(t)
		r.BumpStop = withStop(upright(t), c.gap).BumpStop
		moves := 0
		for _, remedy := range find(t, r, stocked(eyes("one", 346*mm, c.extended))).NearMisses[0].Remedies {
			if remedy.Move == nil {
				continue
			}
			moves++
			within(t, "least", remedy.Least, 6, 2e-3)
			within(t, "by", remedy.By, c.by, 4e-3)
			if remedy.Grade != c.grade {
				t.Errorf("%s with a gap of %v mm, want %s", remedy.Grade, c.gap.Mm(), c.grade)
			}
		}
		if moves != 2 {
			t.Errorf("%d moves, want both mounts'", moves)
		}
	}
}

// A move of the mounts does what is told of it where there is a bump stop, and
// search, codes and explain agree on the grades.
func TestRemediesWithABumpStop(t *testing.T) {
	moves := 0
	rapid.Check(t, func(t *rapid.T) {
		s := catalogues[rapid.IntRange(0, len(catalogues)-1).Draw(t, "catalogue")]
		r := drawRequest(t)
		withStop(r, sixteenths(t, "gap", 0, 60))
		r.DroopLimit = nil // of another motion ratio
		r.Readings.MotionRatio = rapid.SampledFrom([]float64{0.7, 1}).Draw(t, "ratio")
		a := find(t, r, s)
		for i := range a.Fits {
			if stop := a.Fits[i].Stops.BumpStop; stop != nil && !stop.InTime && a.Fits[i].Grade < fit.Marginal {
				t.Fatalf("%s is %s with a late stop", a.Fits[i].Damper.Code, a.Fits[i].Grade)
			}
		}
		for i := range a.NearMisses {
			m := &a.NearMisses[i]
			for _, remedy := range m.Remedies {
				if remedy.Kind != fit.MoveMountsApart && remedy.Kind != fit.MoveMountsTogether {
					continue
				}
				moves++
				if grade, ok := again(t, changed(r, m, remedy.Kind, remedy.By), s, m.Damper.Code); !ok || grade > remedy.Grade {
					t.Fatalf("%s after %s by %v mm: %s, want %s", m.Damper.Code, remedy.Kind, remedy.By.Mm(), grade, remedy.Grade)
				}
			}
		}
	})
	if moves == 0 {
		t.Error("no move was tried")
	}
}
