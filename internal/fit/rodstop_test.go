package fit_test

import (
	"slices"
	"strings"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/linkage"
	"midstroke/internal/unit"
)

// onRod gives a request a stop on the damper's rod.
func onRod(r *fit.Request, height unit.Length, squash float64) *fit.Request {
	r.BumpStop = &fit.BumpStop{OnRod: true, BumpStop: linkage.BumpStop{Height: height, Squash: squash}}
	return r
}

// A stop 40 mm high that squashes by 0.6 is 16 mm high when solid, so a damper of
// 300 mm is at least 316 mm long in use (definition, by hand). At 395 that is 79 mm of compression of a stroke of 184.
func TestAStopOnTheRod(t *testing.T) {
	a := find(t, onRod(metric(t, 395, 70), 40*mm, 0.6), stocked(eyes("one", 300*mm, 500*mm)))
	f := a.Fits[0]
	if f.Compressed != 316*mm || f.Extended != 500*mm || f.Stroke() != 184*mm {
		t.Errorf("usable from %v to %v, want 316 and 500 mm", f.Compressed.Mm(), f.Extended.Mm())
	}
	if want := (fit.Both{Compression: 79 * mm, Extension: 105 * mm}); f.Travel != want {
		t.Errorf("travel %v, want %v", f.Travel, want)
	}
	if want := (fit.Both{Compression: 9 * mm, Extension: 35 * mm}); f.Margin != want {
		t.Errorf("margin %v, want %v", f.Margin, want)
	}
	if want := 79.0 / 184; f.RidePosition < want-1e-12 || f.RidePosition > want+1e-12 {
		t.Errorf("ride position %v, want %v", f.RidePosition, want)
	}
	if f.Stops != nil {
		t.Errorf("stops %+v at the wheel, of which nothing is known", f.Stops)
	}
	step := a.Required.Steps[len(a.Required.Steps)-1]
	if step.Code != "rod_stop" || step.Result.Length != 16*mm {
		t.Errorf("last step %+v, want rod_stop of 16 mm", step)
	}
}

// By hand: 70 mm each way at 395 ± 1/16 in leaves a damper at most 325 mm; with 16
// mm of stop 309 mm, and one nanometre more is no fit but a near miss.
func TestAStopOnTheRodRulesOut(t *testing.T) {
	r := onRod(metric(t, 395, 70), 40*mm, 0.6)
	for compressed, want := range map[unit.Length]fit.Outcome{309 * mm: fit.Fits, 309*mm + 1: fit.NoFit} {
		a := find(t, r, stocked(eyes("one", compressed, 500*mm)))
		if a.Outcome != want {
			t.Errorf("%d nm compressed: %s, want %s", compressed, a.Outcome, want)
		}
		if want == fit.Fits {
			continue
		}
		if len(a.NearMisses) != 1 || a.NearMisses[0].ShortBy != (fit.Both{Compression: 1}) {
			t.Errorf("near misses %+v, want one short by 1 nm", a.NearMisses)
		}
		if most := a.Reasons[0].Values[0]; most.Name != "compressed_most" || most.Length != 309*mm {
			t.Errorf("told %+v, want at most 309 mm", most)
		}
	}
}

// A stop that leaves a damper no stroke is that damper's own reason: the others are
// judged all the same. By hand: 16 mm of a stroke of 16 and of 15, and nothing left
// of the travel to ask for but the stroke itself.
func TestAStopThatTakesAllStroke(t *testing.T) {
	short := eyes("short", 379*mm, 395*mm)
	shorter := eyes("shorter", 380*mm, 395*mm)
	r := onRod(metric(t, 395, 70), 40*mm, 0.6)
	r.Travel.Compression, r.Travel.Extension = 0, 0
	r.Codes = []string{"short", "shorter", "long"}
	a := find(t, r, stocked(short, shorter, eyes("long", 300*mm, 500*mm)))
	for i, want := range []string{fit.VerdictRuledOut, fit.VerdictRuledOut, fit.VerdictFits} {
		j := a.Judged[i]
		if j.Verdict != want || want == fit.VerdictRuledOut && j.Reasons[0].Code != "stroke_too_short" {
			t.Errorf("%s: %s %v, want %s", j.Code, j.Verdict, j.Reasons, want)
		}
	}
	r.Codes, r.Explain = nil, true
	a = find(t, r, stocked(short, shorter, eyes("long", 300*mm, 500*mm)))
	if a.Counts.Fits != 1 || a.Counts.RuledOut != 2 || a.RuledOut[0].Reason != "stroke_too_short" || len(a.Fits) != 1 || len(a.NearMisses) != 0 {
		t.Errorf("counts %+v, ruled out %v", *a.Counts, a.RuledOut)
	}
}

// With the upright linkage of 400 mm the stop on the rod is solid at 400 - 336 = 64
// mm of bump, by hand; nothing comes late, and no reserve is asked beside the stop.
func TestAStopOnTheRodOfALinkage(t *testing.T) {
	r := onRod(upright(t), 40*mm, 0.6)
	f := find(t, r, stocked(eyes("one", 320*mm, 480*mm))).Fits[0]
	if f.Stops == nil || f.Stops.Bump == nil || f.Stops.BumpStop != nil {
		t.Fatalf("stops %+v, want where the stop is solid", f.Stops)
	}
	within(t, "solid at", *f.Stops.Bump, 64, 1e-5)
	for _, n := range f.Notes {
		if n.Code == "bump_stop_within_range" || n.Code == "no_room_for_bump_stop" {
			t.Errorf("note %s", n.Code)
		}
	}
}

// By hand: at a ratio of 0.8 the 79 mm of compression are 98.75 mm at the wheel.
func TestAStopOnTheRodByTheMotionRatio(t *testing.T) {
	r := onRod(metric(t, 395, 70), 40*mm, 0.6)
	r.Readings.MotionRatio = 0.8
	f := find(t, r, stocked(eyes("one", 300*mm, 500*mm))).Fits[0]
	if f.Stops == nil || *f.Stops.Bump != 98*mm+mm*3/4 {
		t.Errorf("stops %+v, want 98.75 mm", f.Stops)
	}
}

// A stop 120 mm high on a damper of 300 mm is touched at 420 mm: at 395 it is
// squashed by 25 mm, by hand.
func TestAVehicleThatRestsOnItsRodStop(t *testing.T) {
	f := find(t, onRod(metric(t, 395, 30), 120*mm, 0.7), stocked(eyes("one", 300*mm, 500*mm))).Fits[0]
	i := slices.Index(notesOf(&f), "rod_stop_at_ride")
	if i < 0 {
		t.Fatalf("notes %v", notesOf(&f))
	}
	if v := f.Notes[i].Values; v[0].Length != 420*mm || v[1].Length != 25*mm {
		t.Errorf("%+v, want 420 and 25 mm", v)
	}
	f = find(t, onRod(metric(t, 395, 30), 95*mm, 0.7), stocked(eyes("one", 300*mm, 500*mm))).Fits[0]
	if slices.Contains(notesOf(&f), "rod_stop_at_ride") {
		t.Error("a stop that is just touched at ride height isn't squashed")
	}
}

func TestFaultsOfAStopOnTheRod(t *testing.T) {
	for _, c := range []struct {
		height unit.Length
		squash float64
		want   []string
	}{
		{40 * mm, 0, []string{"/bump_stop/squash out_of_range"}},
		{40 * mm, 1, []string{"/bump_stop/squash out_of_range"}},
		{40 * mm, 1.5, []string{"/bump_stop/squash out_of_range"}},
		{0, -0.5, []string{"/bump_stop/height out_of_range", "/bump_stop/squash out_of_range"}},
	} {
		_, faults := fit.Find(onRod(metric(t, 395, 70), c.height, c.squash), stocked())
		var got []string
		for i := range faults {
			got = append(got, faults[i].Pointer+" "+faults[i].Code.Public())
			if text := faults[i].Text("en", unit.Millimetres); strings.ContainsAny(text, "{}") {
				t.Errorf("%q", text)
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("height %v, squash %v: %v, want %v", c.height.Mm(), c.squash, got, c.want)
		}
	}
}

// The body's gaps count from its dead length, which a stop on the rod doesn't
// change: the cylinder is as long as the damper is compressed.
func TestAStopOnTheRodIsNoBody(t *testing.T) {
	gaps := func(r *fit.Request, d catalog.Damper) unit.Length {
		r.Obstacles = []linkage.Obstacle{{Name: "rail", Point: pt(60, 0, 330), Radius: 5 * mm}}
		return find(t, r, stocked(d)).Fits[0].Clearances[0].Gap.Gap
	}
	d := eyes("one", 320*mm, 480*mm)
	if with, without := gaps(onRod(upright(t), 40*mm, 0.6), d), gaps(upright(t), d); with != without {
		t.Errorf("gap %v mm with a stop on the rod, %v without", with.Mm(), without.Mm())
	}
}
