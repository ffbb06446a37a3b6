package linkage_test

import (
	"math"
	"testing"

	"midstroke/internal/linkage"
	"midstroke/internal/unit"
)

// TestFromRide: a damper 120 mm across and 350 up is √(120² + (350 - z)²) long by
// Pythagoras, with the ratio (350 - z)/L and its change -120²/L³ each mm, from any ride
// height.
func TestFromRide(t *testing.T) {
	l, faults := linkage.New(linkage.Spec{Kind: linkage.Inclined, Damper: linkage.Damper{Upper: whole(120, 0, 350), Lower: whole(0, 0, 0)}})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	for _, ride := range []float64{0, -40} {
		f, err := l.FromRide(ride)
		if err != nil {
			t.Fatal(err)
		}
		for _, z := range []float64{-0.05, 0, 0.1} {
			up := 350 - ride
			n := math.Hypot(120, up-1000*z)
			shorter, ratio, change, ok := f.At(z)
			for what, of := range map[string][3]float64{
				"shorter, m": {shorter, (math.Hypot(120, up) - n) / 1000, 1e-12}, "ratio": {ratio, (up - 1000*z) / n, 1e-12},
				"change, 1/m": {change, -120 * 120 / (n * n * n) * 1000, 1e-6},
			} {
				if !ok || math.Abs(of[0]-of[1]) > of[2] {
					t.Errorf("%s at %g from %g is %v, want %v", what, z, ride, of[0], of[1])
				}
			}
		}
		if _, _, _, ok := f.At(11); ok {
			t.Error("11 m are reached")
		}
	}
}

// TestFromRideAtTheEnd: at the end of what a linkage reaches the ratio's change is taken
// to one side, and isn't 0. A trailing arm of 500 mm turns by asin(z/500), and its ratio
// falls the faster the farther up.
func TestFromRideAtTheEnd(t *testing.T) {
	l, faults := linkage.New(linkage.Spec{
		Kind: linkage.SwingArm, PivotA: whole(0, 300, 300), PivotB: whole(0, 600, 300), Wheel: whole(-500, 650, 300),
		Damper: linkage.Damper{Upper: whole(-400, 500, 700), Lower: whole(-400, 500, 300)},
	})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	_, high := l.Reach()
	f, _ := l.FromRide(0)
	_, inside, change, ok := f.At(high / 1000)
	_, before, _, _ := f.At((high - 0.05) / 1000)
	if want := (inside - before) / 0.05 * 1000; !ok || want == 0 || math.Abs(change-want) > 1e-6*math.Abs(want) {
		t.Errorf("at the end, %g mm up, the change is %v, want %v", high, change, want)
	}
}

// whole is a point in whole millimetres.
func whole(x, y, z unit.Length) linkage.Point {
	return linkage.Point{x * unit.Millimetre, y * unit.Millimetre, z * unit.Millimetre}
}
