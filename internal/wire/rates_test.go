package wire_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"midstroke/internal/wire"
)

// onLinkage is a request with a damper that leans: 80 mm back, 20 mm in and 380 mm
// down over the wheel's own axis. By hand it is √(80² + 20² + 380²) = 388.844 mm long,
// so its ratio is 380/388.844 = 0.97726, and that changes by
// -(80² + 20²)/388.844³ = -1.1566e-4 each mm, -0.11566 each metre.
func onLinkage(corner, rest string) []byte {
	return []byte(`{"units": "mm", "corner": {"sprung_kg": 280, "unsprung_kg": 38, "tyre_rate_n_mm": 190, ` + corner + `},
		"linkage": {"kind": "inclined", "damper": {"upper": [0, 450, 640], "lower": [80, 430, 260]}}` + rest + `}`)
}

// TestLinkageKeepsWhatIsGiven: the linkage tells what isn't given. What is given stays,
// or contradicts it.
func TestLinkageKeepsWhatIsGiven(t *testing.T) {
	const ofLinkage, change = 0.97726, -0.11566
	for name, c := range map[string]struct {
		corner, rest        string
		ratio, change, roll float64 // of the spring
		along               bool    // whether it follows the linkage's curve
		fault               string
	}{
		"nothing":                          {corner: `"spring_rate_n_mm": 34`, ratio: ofLinkage, change: change, along: true},
		"change":                           {corner: `"spring_rate_n_mm": 34, "spring_ratio_change_per_m": 1.5`, ratio: ofLinkage, change: 1.5},
		"no change":                        {corner: `"spring_rate_n_mm": 34, "spring_ratio_change_per_m": 0`, ratio: ofLinkage},
		"ratio in roll":                    {corner: `"spring_rate_n_mm": 34, "spring_roll_ratio": 0.6`, ratio: ofLinkage, change: change, roll: 0.6, along: true},
		"spring's ratio":                   {corner: `"spring_rate_n_mm": 34, "spring_ratio": 0.7`, ratio: 0.7},
		"same ratio":                       {corner: `"spring_rate_n_mm": 34, "damper_ratio": 0.98, "damper_ratio_change_per_m": -0.1`, ratio: ofLinkage, change: change, along: true},
		"wheel rate alone":                 {corner: `"wheel_rate_n_mm": 30`}, // as it is at the wheel, whatever spring makes it
		"wheel rate and a spring":          {corner: `"wheel_rate_n_mm": 30`, rest: `, "spring": {"rate_n_mm": 34}`, ratio: ofLinkage, change: change, along: true},
		"wheel rate and its change":        {corner: `"wheel_rate_n_mm": 30, "spring_ratio_change_per_m": 1.5`, ratio: ofLinkage, change: 1.5},
		"wheel rate and its ratio in roll": {corner: `"wheel_rate_n_mm": 30, "spring_roll_ratio": 0.6`, ratio: ofLinkage, change: change, roll: 0.6, along: true},
		"other ratio":                      {corner: `"spring_rate_n_mm": 34, "damper_ratio": 0.6`, fault: "/corner/damper_ratio contradiction: damper_ratio is 0.6, but by the linkage it is 0.9773"},
		"other change":                     {corner: `"spring_rate_n_mm": 34, "damper_ratio_change_per_m": 2`, fault: "/corner/damper_ratio_change_per_m contradiction: damper_ratio_change_per_m is 2 1/m, but by the linkage it is -0.1157 1/m"},
		"change of 0":                      {corner: `"spring_rate_n_mm": 34, "damper_ratio_change_per_m": 0`, fault: "/corner/damper_ratio_change_per_m contradiction: damper_ratio_change_per_m is 0 1/m, but by the linkage it is -0.1157 1/m"},
	} {
		r, err := wire.ReadRates(onLinkage(c.corner, c.rest))
		if got := told(err); got != c.fault {
			t.Errorf("%s: %s, want %s", name, got, c.fault)
		}
		if c.fault != "" {
			continue
		}
		k := r.Question.Corner
		if along := k.SpringCurve != nil; along != c.along || k.DamperCurve == nil {
			t.Errorf("%s: along the curve is %v, want %v", name, along, c.along)
		}
		for what, got := range map[string][2]float64{
			"ratio": {k.SpringRatio, c.ratio}, "change": {k.SpringRatioChange, c.change}, "ratio in roll": {k.SpringRollRatio, c.roll},
			"damper's ratio": {k.DamperRatio, ofLinkage}, "its change": {k.DamperRatioChange, change},
		} {
			if math.Abs(got[0]-got[1]) > 1e-5 {
				t.Errorf("%s: %s is %g, want %g", name, what, got[0], got[1])
			}
		}
	}
}

// told is what a reader is told of faults.
func told(err error) string {
	var refused *wire.Refused
	var all []string
	if errors.As(err, &refused) {
		for i := range refused.Faults {
			f := &refused.Faults[i]
			all = append(all, f.Pointer+" "+f.Code.Public()+": "+f.Text("en", refused.Units))
		}
	}
	return strings.Join(all, "; ")
}

// TestSpringBeyondTheLinkage: a spring on the damper can't be told of where the linkage
// doesn't get. By hand, the damper of this arm, 400 mm from its pivot, is carried up and
// down by a wheel at 500 mm, which reaches less than 500 mm each way. A spring that isn't on
// the damper goes on.
func TestSpringBeyondTheLinkage(t *testing.T) {
	body := func(corner string) []byte {
		return []byte(`{"units": "mm", "corner": {"sprung_kg": 280, "unsprung_kg": 38, "tyre_rate_n_mm": 190, "spring_rate_n_mm": 34` + corner + `},
			"linkage": {"kind": "swing_arm", "pivot_a": [0, 300, 300], "pivot_b": [0, 600, 300], "wheel": [-500, 650, 300],
			"damper": {"upper": [-400, 500, 700], "lower": [-400, 500, 300]}},
			"spring": {"rate_n_mm": 34, "bump": 500.1, "droop": 510}}`)
	}
	_, err := wire.ReadRates(body(""))
	for _, want := range []string{"/spring/bump unreachable", "/spring/droop unreachable"} {
		if got := told(err); !strings.Contains(got, want) {
			t.Errorf("%s, want %s", got, want)
		}
	}
	if _, err := wire.ReadRates(body(`, "spring_ratio": 0.6`)); err != nil {
		t.Error(err)
	}
}
