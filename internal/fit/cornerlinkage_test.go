package fit_test

import (
	"testing"

	"midstroke/internal/fit"
	"midstroke/internal/ride"
)

// TestCornerBesideLinkage: what a corner says of the damper must be what the linkage
// says. By hand, 120 mm across and 350 mm up are 370 mm, so that the ratio is
// 350/370 = 0.94595 and its change -120²/370³ per mm, -0.28429 per m.
func TestCornerBesideLinkage(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*ride.Corner)
		want   string
	}{
		"nothing":      {func(*ride.Corner) {}, ""},
		"the same":     {func(c *ride.Corner) { c.DamperRatio, c.DamperRatioChange = 0.95, -0.3 }, ""},
		"other ratio":  {func(c *ride.Corner) { c.DamperRatio = 0.6 }, "/corner/damper_ratio contradiction"},
		"other change": {func(c *ride.Corner) { c.DamperRatioChange = 1 }, "/corner/damper_ratio_change_per_m contradiction"},
	} {
		r := onHand(t, 0)
		r.Corner = &ride.Corner{SprungKg: 300, UnsprungKg: 40, WheelRate: 20, TyreRate: 180}
		c.change(r.Corner)
		got := ""
		for _, f := range fit.Check(r) {
			got += f.Pointer + " " + f.Code.Public()
		}
		if got != c.want {
			t.Errorf("%s: %s, want %s", name, got, c.want)
		}
	}
}

// TestRoadsCornerBesideMotionRatio: a road's own corner may not have another ratio than
// the request, by which the travel at the damper is worked out.
func TestRoadsCornerBesideMotionRatio(t *testing.T) {
	for ratio, want := range map[float64]string{0.8: "", 0.6: "/travel/corner/damper_ratio contradiction"} {
		r := everyday()
		r.Readings.MotionRatio = 0.8
		corner := ride.Corner{SprungKg: 300, UnsprungKg: 40, WheelRate: 20, TyreRate: 180, DamperRatio: ratio}
		r.Travel = fit.Travel{Basis: fit.ByRoad, Road: &ride.Road{Class: 'C', SpeedKmh: 80, Hours: 1, Corner: corner}}
		got := ""
		for _, f := range fit.Check(r) {
			got += f.Pointer + " " + f.Code.Public()
		}
		if got != want {
			t.Errorf("%g beside 0.8: %s, want %s", ratio, got, want)
		}
	}
}
