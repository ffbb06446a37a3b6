package damping_test

import (
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/damping"
	_ "midstroke/internal/seeded"
)

// TestCurvesAsText: written by hand from the form's description.
func TestCurvesAsText(t *testing.T) {
	const text = "soft: 0.05 90/200; 0.13 160/380 | firm: 0.05 140/-330.5; 1 250/600"
	want := []damping.Curve{
		{Position: "soft", Points: []damping.Point{{0.05, 90, 200}, {0.13, 160, 380}}},
		{Position: "firm", Points: []damping.Point{{0.05, 140, -330.5}, {1, 250, 600}}},
	}
	got, unread, ok := damping.ParseCurves(text)
	if !ok || !reflect.DeepEqual(got, want) {
		t.Fatalf("%v, %q, %v", got, unread, ok)
	}
	if back := damping.FormatCurves(got); back != text {
		t.Errorf("written as %q", back)
	}
	free, _, ok := damping.ParseCurves("  soft :0.05   90 / 200;0.13 160/ 380|firm:  0.05 140/-330.50 ; 1.0 250/600 ")
	if !ok || !reflect.DeepEqual(free, want) {
		t.Errorf("with other blanks it is %v", free)
	}
	alone, _, ok := damping.ParseCurves("0.1 1/2; 0.2 3/4")
	if !ok || len(alone) != 1 || alone[0].Position != "" || len(alone[0].Points) != 2 {
		t.Errorf("a single curve is %v", alone)
	}
}

func TestCurvesThatCantBeRead(t *testing.T) {
	for text, want := range map[string]string{
		"":                          "",
		"0.1 1/2;":                  "",
		"0.1":                       "0.1",
		"0.1 200":                   "0.1 200",
		"0.1/200/300; 0.2 1/2":      "0.1/200/300",
		"0,1 200/300":               "0,1 200/300",
		"0.1 200/300/400":           "0.1 200/300/400",
		"0.1 200/300 N":             "0.1 200/300 N",
		"0x1 200/300":               "0x1 200/300",
		"1e-1 200/300":              "1e-1 200/300",
		"0.1 NaN/300":               "0.1 NaN/300",
		": 0.1 1/2; 0.2 1/2":        ": 0.1 1/2; 0.2 1/2",
		"a: 0.1 1/2; 0.2 2/3 | 0.1": "0.1",
		"a: b: 0.1 1/2":             "b: 0.1 1/2",
		"0.1 --1/2":                 "0.1 --1/2",
	} {
		if _, unread, ok := damping.ParseCurves(text); ok || unread != want {
			t.Errorf("%q leaves %q unread, %v, want %q", text, unread, ok, want)
		}
	}
}

// TestCurvesComeBack: whatever is written is read as it was.
func TestCurvesComeBack(t *testing.T) {
	number := rapid.Float64Range(-1e5, 1e5)
	points := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) damping.Point {
		return damping.Point{number.Draw(t, "velocity"), number.Draw(t, "compression"), number.Draw(t, "rebound")}
	}), 1, 5)
	curve := rapid.Custom(func(t *rapid.T) damping.Curve {
		name := strings.TrimSpace(rapid.StringMatching(`[^:;|\t\n\f\r\pZ\pC]{1,9}`).Draw(t, "position"))
		return damping.Curve{Position: name, Points: points.Draw(t, "points")}
	})
	rapid.Check(t, func(t *rapid.T) {
		curves := rapid.SliceOfN(curve, 1, 4).Draw(t, "curves")
		back, unread, ok := damping.ParseCurves(damping.FormatCurves(curves))
		if !ok || !reflect.DeepEqual(back, curves) {
			t.Fatalf("%v came back as %v, unread %q", curves, back, unread)
		}
	})
}
