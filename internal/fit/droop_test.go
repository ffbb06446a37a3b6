package fit_test

import (
	"slices"
	"testing"

	"midstroke/internal/fit"
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
	wheel.Travel = fit.Travel{Basis: fit.ByWheel, Bump: 50 * mm, Droop: 100 * mm, Reserve: fit.DefaultReserve}
	points := upright(t)
	points.DroopLimit = &fit.DroopLimit{By: "strap", Travel: 40 * mm}
	roomy := limited(metric(t, 395, 50), 200*mm)
	for what, c := range map[string]struct {
		r             *fit.Request
		least, wanted unit.Length
		step          string
	}{
		"rule of 2 and 2 1/2 in": {rule, 42 * mm, 42 * mm, "droop_limited"}, // 40 × 0.8 + 10
		"wheel":                  {wheel, 48 * mm, 58 * mm, "droop_gives_way"},
		"linkage":                {points, 40 * mm, 50 * mm, "droop_gives_way"},
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
