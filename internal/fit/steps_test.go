package fit_test

import (
	"strings"
	"testing"

	"midstroke/internal/fit"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// stepText is the text of the step with a code.
func stepText(t *testing.T, steps []note.Step, code note.Code, s unit.System) string {
	t.Helper()
	for i := range steps {
		if steps[i].Code == code {
			return steps[i].Text("en", s)
		}
	}
	t.Fatalf("no step %s", code)
	return ""
}

// TestNeedsInStepsAreRoundedUp: by hand. 60.325 mm are 2 3/8 in; 85.3 · 0.6956 is
// 59.33468 and 60 · 0.6956 is 41.736.
func TestNeedsInStepsAreRoundedUp(t *testing.T) {
	s := stocked(eyes("one", 300*mm, 500*mm))
	stated := metric(t, 400, 60)
	stated.Travel.Compression = 60_325 * unit.Micrometre
	wheel := metric(t, 400, 60)
	wheel.Readings.MotionRatio, wheel.Readings.MotionRatioTolerance = 0.6956, 0.05
	wheel.Travel = fit.Travel{Basis: fit.ByWheel, Bump: 85_300 * unit.Micrometre, Droop: 60 * mm, Reserve: 9_525 * unit.Micrometre}
	// From 20 mm below to 30 mm above at 0.7 ± 0.1, by the rule of 50.8 and 63.5 mm.
	heights := metric(t, 400, 60)
	heights.Readings.MotionRatio, heights.Readings.MotionRatioTolerance = 0.7, 0.1
	heights.Travel = fit.Travel{Basis: fit.ByRule}
	heights.Heights = fit.Heights{Below: 20 * mm, Above: 30 * mm}
	for _, c := range []struct {
		r     *fit.Request
		code  note.Code
		units unit.System
		want  string
	}{
		{stated, "travel_stated", unit.Millimetres, "as stated: 60.325 mm of compression and 60 mm of"},
		// 60 mm are 2.3622047 in.
		{stated, "travel_stated", unit.Inches, "as stated: 2 3/8 in of compression and 2.363 in of"},
		{wheel, "travel_wheel", unit.Millimetres, "wheel travel 85.3 mm up and 60 mm down, times motion ratio 0.6956: 59.34 mm of compression and 41.74 mm of"},
		// 59.33468 + 9.525 is 68.85968, and 59.34 + 9.525 is 68.865: a third decimal is needed.
		{wheel, "travel_reserve", unit.Millimetres, "a reserve of 9.525 mm each way is wanted: 59.335 mm and 41.736 mm with it are 68.86 mm in compression and 51.27 mm in"},
		// 85.3 · 0.7456 is 63.59968 and 60 · 0.7456 is 44.736.
		{wheel, "travel_at_worst_ratio", unit.Millimetres, "at least 63.6 mm is needed in compression and 44.74 mm in extension, and 73.13 mm and 54.27 mm are wanted"},
		{heights, "heights_added", unit.Millimetres, "at least 64.8 mm is needed in compression and 71.8 mm in extension, and 77.5 mm and 84.5 mm are wanted"},
		{heights, "travel_at_worst_ratio", unit.Millimetres, "at least 66.8 mm is needed in compression and 74.8 mm in extension, and 79.5 mm and 87.5 mm are wanted"},
	} {
		a := find(t, c.r, s)
		if text := stepText(t, a.Required.Steps, c.code, c.units); !strings.Contains(text, c.want) {
			t.Errorf("%s reads %q, want %q in it", c.code, text, c.want)
		}
	}
}

// TestMeasuredTravelAddsUp: by hand, 445.4744 less 399.3095 is 46.1649, so that 46.17 is
// needed; to two decimals 445.47 less 399.31 would be 46.16. 500 less 445.4744 is 54.5256.
func TestMeasuredTravelAddsUp(t *testing.T) {
	const nm = unit.Nanometre
	r := metric(t, 400, 60)
	r.Readings.Readings[0].Length = 445_474_400 * nm
	r.Travel = fit.Travel{Basis: fit.Measured, AtBump: 399_309_500 * nm, AtDroop: 500 * mm, Reserve: fit.DefaultReserve}
	a := find(t, r, stocked(eyes("one", 300*mm, 600*mm)))
	for code, want := range map[note.Code]string{
		"travel_measured": "445.474 mm at ride height less 399.31 mm at full bump is 46.17 mm; 500 mm at full droop less 445.474 mm is 54.53 mm",
		"travel_reserve":  "10 mm each way is wanted: 46.17 mm and 54.53 mm with it are 56.17 mm in compression and 64.53 mm in extension",
	} {
		if text := stepText(t, a.Required.Steps, code, unit.Millimetres); !strings.Contains(text, want) {
			t.Errorf("%s reads %q, want %q in it", code, text, want)
		}
	}
	// 46.1649 mm are 1.8176 in, and 10 mm that nobody gave are 0.3937 in.
	const want = "a reserve of 0.394 in each way is wanted: 1.818 in and 2.147 in with it are 2.212 in in compression and 2.541 in in"
	if text := stepText(t, a.Required.Steps, "travel_reserve", unit.Inches); !strings.Contains(text, want) {
		t.Errorf("reads %q, want %q in it", text, want)
	}
}

// TestLessTravelTellsAFigureAlike: by hand, 330 mm compressed at a ride of 395 leaves 65 of
// the 69 mm needed, so that 4 mm is the least to give up; the service plans 4.000119, which
// is exact in inches too. To be clear it takes 1/16 in of reading and 1/16 in of length
// more, 3.175 mm, each way.
func TestLessTravelTellsAFigureAlike(t *testing.T) {
	r := metric(t, 395, 65)
	r.Travel.Compression = 69 * mm
	a := find(t, r, stocked(eyes("one", 330*mm, 460*mm)))
	if len(a.NearMisses) != 1 || len(a.NearMisses[0].Remedies) != 1 {
		t.Fatalf("near misses %+v", a.NearMisses)
	}
	text := a.NearMisses[0].Remedies[0].Text.Text("en", unit.Millimetres)
	for _, want := range []string{"7.2 mm less in compression and 3.2 mm less in extension", "; 4 mm less, both together, is the least"} {
		if !strings.Contains(text, want) {
			t.Errorf("reads %q, want %q in it", text, want)
		}
	}
}
