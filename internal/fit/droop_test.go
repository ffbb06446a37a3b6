package fit_test

import (
	"slices"
	"strings"
	"testing"

	"midstroke/internal/fit"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// The extension needed is at most the limit's travel times the ratio plus the
// reserve of 10 mm, by hand.
func TestADroopLimitBoundsTheExtension(t *testing.T) {
	limited := func(r *fit.Request, travel unit.Length) *fit.Request {
		r.Readings.MotionRatio = 0.8
		r.DroopLimit = &fit.DroopLimit{By: "hose", Travel: travel}
		return r
	}
	rule := limited(asked(t, "395 mm"), 40*mm)
	wheel := limited(asked(t, "395 mm"), 60*mm)
	wheel.Travel = fit.Travel{Basis: fit.ByWheel, Bump: 50 * mm, Droop: 60 * mm, Reserve: fit.DefaultReserve}
	points := upright(t)
	points.DroopLimit = &fit.DroopLimit{By: "strap", Travel: 60 * mm}
	roomy := limited(metric(t, 395, 50), 200*mm)
	for what, c := range map[string]struct {
		r             *fit.Request
		least, wanted unit.Length
		step          string
	}{
		"rule of 2 and 2 1/2 in": {rule, 42 * mm, 42 * mm, "droop_limited"}, // 40 × 0.8 + 10
		"wheel, up to the limit": {wheel, 48 * mm, 58 * mm, ""},
		"linkage, up to it":      {points, 60 * mm, 70 * mm, ""},
		"a limit beyond":         {roomy, 50 * mm, 50 * mm, ""},
	} {
		a := find(t, c.r, stocked(eyes("one", 300*mm, 520*mm)))
		if e := a.Required.Extension; e.Least != c.least || e.Wanted != c.wanted {
			t.Errorf("%s: extension %v and %v mm, want %v and %v", what, e.Least.Mm(), e.Wanted.Mm(), c.least.Mm(), c.wanted.Mm())
		}
		var steps []string
		for _, s := range a.Required.Steps {
			steps = append(steps, string(s.Code))
		}
		if c.step != "" && !slices.Contains(steps, c.step) {
			t.Errorf("%s: steps %v, want %s", what, steps, c.step)
		}
	}
}

// A damper of 520 mm at 395 extends by 125 mm; the limit at 100 mm of droop lets it
// by 80, so a strap must be tight there. One of 470 mm ends before.
func TestADamperPastTheDroopLimit(t *testing.T) {
	for extended, past := range map[unit.Length]bool{520 * mm: true, 475 * mm: false} {
		r := metric(t, 395, 50)
		r.Readings.MotionRatio = 0.8
		r.DroopLimit = &fit.DroopLimit{By: "joint", Travel: 100 * mm}
		a := find(t, r, stocked(eyes("one", 300*mm, extended)))
		if got := slices.Contains(codesOf(a.Cautions), "droop_past_limit"); got != past {
			t.Errorf("extended to %v mm: caution %v", extended.Mm(), got)
		}
		if f := a.Fits[0]; past && *f.Stops.Droop != -100*mm {
			t.Errorf("a strap must be tight at %v mm, want -100", f.Stops.Droop.Mm())
		}
	}
}

// Travel that the request itself asks for beyond the limit contradicts it. By hand: a
// limit of 60 mm at a ratio of 0.8 ± 0.1 leaves the damper 54 and the reserve of 10 mm,
// and one that leans arccos(0.8) 237 mm across and 316 up, 395 long, √(237² + 376²) -
// 395 = 49.46 mm, which is less.
func TestTravelBeyondTheDroopLimit(t *testing.T) {
	limited := func(travel fit.Travel) *fit.Request {
		r := asked(t, "395 mm")
		r.Readings.MotionRatio, r.Readings.MotionRatioTolerance = 0.8, 0.1
		r.DroopLimit = &fit.DroopLimit{By: "hose", Travel: 60 * mm}
		r.Travel = travel
		return r
	}
	byWheel := func(droop unit.Length) *fit.Request {
		return limited(fit.Travel{Basis: fit.ByWheel, Bump: 50 * mm, Droop: droop, Reserve: fit.DefaultReserve})
	}
	stated := func(extension unit.Length) *fit.Request {
		return limited(fit.Travel{Basis: fit.Stated, Compression: 50 * mm, Extension: extension})
	}
	taped := func(extension unit.Length) *fit.Request {
		return limited(fit.Travel{Basis: fit.Measured, AtBump: 345 * mm, AtDroop: 395*mm + extension, Reserve: fit.DefaultReserve})
	}
	points := func(limit unit.Length) *fit.Request {
		r := upright(t) // whose range has 60 mm of droop
		r.DroopLimit = &fit.DroopLimit{By: "strap", Travel: limit}
		return r
	}
	heights := func(above unit.Length) *fit.Request {
		r := limited(fit.Travel{Basis: fit.ByRule})
		r.Heights.Above = above
		return r
	}
	for what, c := range map[string]struct {
		within, beyond *fit.Request
		field          string
	}{
		"at the wheel":       {byWheel(60 * mm), byWheel(60*mm + 1), "travel.droop"},
		"by a linkage":       {points(60 * mm), points(60*mm - 1), "travel.range.droop"},
		"stated":             {stated(64 * mm), stated(64*mm + 1), "travel.extension"},
		"taped":              {taped(64 * mm), taped(64*mm + 1), "travel.at_droop"},
		"a height beyond it": {heights(60 * mm), heights(60*mm + 1), "ride_height_range.above"},
	} {
		if faults := fit.Check(c.within); len(faults) > 0 {
			t.Errorf("%s, within the limit: %v", what, faults)
		}
		faults := fit.Check(c.beyond)
		if len(faults) != 1 || faults[0].Pointer != "/droop_limit/travel" || faults[0].Code.Public() != "contradiction" {
			t.Errorf("%s: %v, want a contradiction of the droop limit", what, faults)
			continue
		}
		for _, lang := range []string{"en", "es"} {
			text := faults[0].Text(lang, unit.Millimetres)
			if !strings.Contains(text, c.field) || strings.ContainsAny(text, "{}") {
				t.Errorf("%s: %q doesn't name %s", what, text, c.field)
			}
		}
		if _, found := fit.Find(c.beyond, stocked()); len(found) != 1 {
			t.Errorf("%s: Find gives %v", what, found)
		}
	}
}

// A long droop on a damper that leans much needs more than the ratio says: 400 mm at
// 45° and 150 mm of droop come to 117.1 mm (closed form: √(282.84² + 432.84²) - 400)
// where 0.7071 gives 106.1. Both were taped right, so they don't contradict.
func TestATapedDroopOnALeaningDamper(t *testing.T) {
	r := asked(t, "400 mm")
	r.Readings.MotionRatio = 0.7071
	r.DroopLimit = &fit.DroopLimit{By: "strap", Travel: 150 * mm}
	r.Travel = fit.Travel{Basis: fit.Measured, AtBump: 350 * mm, AtDroop: 517*mm + mm/20}
	if faults := fit.Check(r); len(faults) > 0 {
		t.Errorf("faults %v", faults)
	}
	if got := find(t, r, stocked()).Required.Extension.Least; got != 117*mm+mm/20 {
		t.Errorf("%v mm of extension needed, want what was taped", got.Mm())
	}
}

// What the request states is needed whatever the ratio makes of the limit. By hand: a strap
// at 114 mm of droop, at a ratio of 0.521, ends at 59.394 mm and 10 of reserve, and lets a
// damper that leans extend by more than the 74 that are stated: 360 mm long it stands 187.56
// up and 307.28 across, and √(301.56² + 307.28²) - 360 = 70.53, and the reserve. Driven 20 mm
// higher at times, 10.42 more would be needed, and the limit gives no more than was stated.
func TestAStatedExtensionIsNotLowered(t *testing.T) {
	for _, above := range []unit.Length{0, 20 * mm} {
		r := asked(t, "360 mm")
		r.Suspension = fit.Independent
		r.Readings.MotionRatio = 0.521
		r.Travel = fit.Travel{Basis: fit.Stated, Compression: 40 * mm, Extension: 74 * mm}
		r.Heights.Above = above
		r.DroopLimit = &fit.DroopLimit{By: "strap", Travel: 114 * mm}
		d := eyes("one", 300*mm, 433*mm) // 73 of extension
		d.LengthTolerance = 0
		a := find(t, r, stocked(d))
		if e := a.Required.Extension; e.Least != 74*mm || e.Wanted != 74*mm || e.LeastWorst != 74*mm || e.WantedWorst != 74*mm {
			t.Errorf("driven %v mm higher: %+v needed", above.Mm(), e)
		}
		if a.Outcome == fit.Fits {
			t.Errorf("driven %v mm higher: a damper with 73 mm of extension is %s", above.Mm(), a.Fits[0].Grade)
		}
	}
}

// The ratio is held constant as far as the limit lets the wheel go, and not over the
// road's travel beyond it.
func TestARatioIsHeldToTheDroopLimit(t *testing.T) {
	r := onARoad(t, 'D')
	r.DroopLimit = &fit.DroopLimit{By: "hose", Travel: 40 * mm}
	r.Readings.MotionRatio = 0.6
	a := find(t, r, stocked())
	at := slices.IndexFunc(a.Cautions, func(n note.Note) bool { return n.Code == "ratio_held_constant" })
	if at < 0 {
		t.Fatalf("cautions %v", codesOf(a.Cautions))
	}
	if text := a.Cautions[at].Text("en", unit.Millimetres); !strings.Contains(text, "40 mm") {
		t.Errorf("the caution says %q", text)
	}
}

func TestFaultsOfADroopLimit(t *testing.T) {
	r := metric(t, 395, 50)
	r.DroopLimit = &fit.DroopLimit{By: "rope"}
	_, faults := fit.Find(r, stocked())
	var got []string
	for i := range faults {
		got = append(got, faults[i].Pointer+" "+faults[i].Code.Public())
	}
	if want := []string{"/droop_limit/by unknown_value", "/droop_limit/travel out_of_range", "/droop_limit motion_unknown"}; !slices.Equal(got, want) {
		t.Errorf("faults %v, want %v", got, want)
	}
}

// By hand: 50 mm at 0.8 and 10 of reserve is 50, at 0.85 it is 52.5.
func TestTheDroopLimitShowsWhatDecides(t *testing.T) {
	r := asked(t, "395 mm")
	r.Readings.MotionRatio, r.Readings.MotionRatioTolerance = 0.8, 0.05
	r.DroopLimit = &fit.DroopLimit{By: "strap", Travel: 50 * mm}
	n := find(t, r, stocked()).Required
	if e := n.Extension; e.Least != 50*mm || e.WantedWorst != 52*mm+mm/2 {
		t.Errorf("%+v needed", e)
	}
	const want = "the droop limit of 50 mm by the strap times motion ratio 0.8, with a reserve of 10 mm, leaves at most 50 mm of extension to be needed, " +
		"and at the largest that the ratio may be, 0.85, at most 52.5 mm"
	if got := stepText(t, n.Steps, "droop_limited", unit.Millimetres); got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
