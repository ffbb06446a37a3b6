package mount_test

import (
	"math"
	"testing"

	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// near fails unless got is within tolerance of want.
func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.8g, want %.8g ± %.2g", what, got, want, tolerance)
	}
}

func same[T comparable](t testing.TB, what string, got, want T) {
	t.Helper()
	if got != want {
		t.Errorf("%s: got %v, want %v", what, got, want)
	}
}

// length reads a length that is known to be good.
func length(t testing.TB, text string) unit.Length {
	t.Helper()
	l, err := unit.Parse(text, unit.Unset)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// bolt reads a bolt that is known to be good.
func bolt(t testing.TB, name string) mount.Bolt {
	t.Helper()
	b, err := mount.ParseBolt(name, unit.Inches)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// The example of the published contract for one end alone; its figures follow
// from the formulas named beside them.
func TestTheContractsExample(t *testing.T) {
	shelf := mount.NewShelf(
		[]mount.Sleeve{{Code: "a", Outer: length(t, "15.9 mm"), Bore: length(t, "10.3 mm"), Length: 31 * mm, Price: mount.NoPrice}},
		[]mount.Spacer{{Code: "s", Bore: length(t, "10.5 mm"), Thickness: 400 * um, Price: mount.NoPrice}},
		nil, mount.UsualLimits())
	end := mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 31 * mm}
	bracket := mount.Bracket{Bolt: bolt(t, "M10"), Opening: 32 * mm, Plate: 5 * mm, Washer: 2 * mm, Shear: mount.DoubleShear, Grade: "8.8"}
	opts := mount.Options{Detail: true, Load: 9000, TorqueFactor: 0.2, PreloadFraction: 0.75}
	if faults := mount.Validate(end, bracket, opts); faults != nil {
		t.Fatal(faults)
	}
	r := shelf.BoltUp(end, bracket, opts)

	same(t, "possible", r.Possible, true)
	same(t, "open", r.Open, false)
	same(t, "sleeves", len(r.Sleeves), 1)
	same(t, "sleeve", r.Sleeves[0].Sleeve.Code, "a")
	same(t, "gap outside", r.Sleeves[0].GapOutside, 100*um)
	same(t, "gap inside", r.Sleeves[0].GapInside, 300*um)
	same(t, "spacers", len(r.Spacers.EachSide), 1)
	same(t, "spacers a side", r.Spacers.EachSide[0].Quantity, 1)
	same(t, "left over", r.Spacers.LeftOver, 200*um)
	same(t, "parts", r.Parts, 3)
	same(t, "cost", r.Cost, mount.NoPrice)

	same(t, "hole's standard", r.BracketHole.Standard, "ISO 273")
	same(t, "holes", r.BracketHole.Fits, [3]mount.HoleFit{
		{Name: "fine", Diameter: 10500 * um}, {Name: "medium", Diameter: 11 * mm}, {Name: "coarse", Diameter: 12 * mm}})

	b := r.Bolt
	same(t, "thread", b.Bolt.Thread.String(), "M10x1.5")
	same(t, "least length", b.LeastLength, length(t, "57.4 mm")) // 2 + 5 + 32 + 5 + 2 + nut 8.4 + 2 × 1.5
	same(t, "length", b.Length, 60*mm)
	same(t, "thread length", b.ThreadLength, 26*mm)               // 2 × 10 + 6
	same(t, "threads reach", b.ThreadsReachShearPlane, mount.Yes) // 60 - 26 < 2 + 5 + 32
	near(t, "stress area", b.StressArea, 57.99, 0.005)            // pi/4 (10 - 0.9382 × 1.5)²
	near(t, "proof load", b.ProofLoad, 33634, 0.5)                // 580 × stress area
	near(t, "shear capacity", b.ShearCapacity, 35000, 0.5)        // 2 × 0.577 × 580 × minor area
	near(t, "safety factor", b.SafetyFactor, 3.89, 0.005)         // 35000 / 9000
	near(t, "bearing", b.Bearing, 90, 1e-9)                       // 9000 / (2 × 5 × 10)
	near(t, "preload", b.Preload, 25225, 0.5)                     // 0.75 × proof load
	near(t, "torque", b.Torque, 50.45, 0.005)                     // 0.2 × 10 mm × preload
	near(t, "torque in lbf·ft", b.PoundFeet, 37.2, 0.05)          // / 1.3558
	same(t, "cures", len(r.Cures), 0)
	if r.Bolt.Bending != 0 || r.Bolt.ThreadedShearCapacity != 0 {
		t.Error("figures of another case stand in the answer")
	}
}
