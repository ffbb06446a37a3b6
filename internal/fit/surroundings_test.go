package fit_test

import (
	"math"
	"slices"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/linkage"
	"midstroke/internal/mount"
	"midstroke/internal/ride"
	"midstroke/internal/unit"
)

// upright is a request for a damper of 400 mm that stands upright and heaves, 60 mm
// up and 60 down.
func upright(t testing.TB) *fit.Request {
	r := asked(t, "400 mm")
	at := func(z unit.Length) linkage.Point { return linkage.Point{0, 0, z} }
	r.Linkage = &linkage.Spec{Kind: linkage.Inclined, Damper: linkage.Damper{Upper: at(600 * mm), Lower: at(200 * mm)}}
	r.Travel = fit.Travel{Basis: fit.ByLinkage, Bump: 60 * mm, Droop: 60 * mm, Reserve: fit.DefaultReserve}
	return r
}

// A body of 50 mm beside an upright damper of 320 to 480 mm, by hand. The lower
// mount goes from 140 to 260 mm, and from the mount of the end that carries it the
// body reaches 320 mm: from below up to 460 in droop, from above down to 280.
func TestClearanceBesideAnUprightDamper(t *testing.T) {
	obstacle := []linkage.Obstacle{{Name: "rail", Point: linkage.Point{0, 60 * mm, 200 * mm}}}
	low, high := obstacle[0], obstacle[0]
	high.Point = linkage.Point{0, 60 * mm, 595 * mm}
	d := eyes("one", 320*mm, 480*mm)
	gasTwin, mono := gas(d), gas(d)
	gasTwin.Invertible = true
	mono.Construction = catalog.Monotube
	const besides = 60.0 - 25
	// In bump the body that the lower end carries reaches up to 580, 15 below the
	// high obstacle. The one that the upper end carries reaches down to 280, 80 above
	// the low one.
	belowHigh, aboveLow := math.Hypot(60, 15)-25, math.Hypot(60, 80)-25
	for _, c := range []struct {
		what     string
		damper   catalog.Damper
		mounting fit.Mounting
		obstacle linkage.Obstacle
		gap, at  float64
	}{
		{"twin-tube, rod up, low", d, fit.AsListed, low, besides, math.NaN()},
		{"twin-tube, rod up, high", d, fit.AsListed, high, belowHigh, 60},
		{"inverted, low", gasTwin, fit.Inverted, low, aboveLow, math.NaN()},
		{"inverted, high", gasTwin, fit.Inverted, high, besides, math.NaN()},
		{"single tube, low", mono, fit.AsListed, low, besides, math.NaN()},
		{"single tube, high", mono, fit.AsListed, high, besides, math.NaN()},
	} {
		r := upright(t)
		r.Limits.Mounting, r.Obstacles = c.mounting, []linkage.Obstacle{c.obstacle}
		a := find(t, r, stocked(c.damper))
		if len(a.Fits) != 1 || len(a.Fits[0].Clearances) != 1 {
			t.Fatalf("%s: %d fits", c.what, len(a.Fits))
		}
		got := a.Fits[0].Clearances[0]
		within(t, c.what, got.Gap.Gap, c.gap, 1e-4)
		if got.Name != "rail" || !math.IsNaN(c.at) && math.Abs(got.WheelTravel.Mm()-c.at) > 1e-3 {
			t.Errorf("%s: %+v", c.what, got)
		}
		if slices.Contains(codesOf(a.Cautions), "clearance_small") {
			t.Errorf("%s: a gap of %v is said to be small", c.what, got.Gap.Gap.Mm())
		}
	}
}

// Under 12 mm (common practice, no source) the fit and the answer say so; without a
// body diameter nothing can be told; and a reading that is longer than the geometry
// changes no direction.
func TestSmallAndUnknownClearance(t *testing.T) {
	for gap, small := range map[unit.Length]bool{12 * mm: false, 12*mm - 1000: true, -5 * mm: true} {
		r := upright(t)
		r.Obstacles = []linkage.Obstacle{{Name: "exhaust", Point: linkage.Point{25*mm + 20*mm + gap, 0, 300 * mm}, Radius: 20 * mm}}
		a := find(t, r, stocked(eyes("one", 320*mm, 480*mm)))
		within(t, "gap", a.Fits[0].Clearances[0].Gap.Gap, gap.Mm(), 1e-5)
		if got := slices.Contains(codesOf(a.Cautions), "clearance_small"); got != small {
			t.Errorf("a gap of %v mm: caution %v", gap.Mm(), got)
		}
		if got := slices.Contains(codesOf(a.Fits[0].Notes), "clearance_small"); got != small {
			t.Errorf("a gap of %v mm: note %v", gap.Mm(), got)
		}
	}
	r := upright(t)
	r.Obstacles = []linkage.Obstacle{{Name: "exhaust", Point: linkage.Point{60 * mm, 0, 300 * mm}}}
	d := eyes("one", 320*mm, 480*mm)
	d.BodyDiameter = 0
	f := find(t, r, stocked(d)).Fits[0]
	if f.Clearances != nil || !slices.Contains(codesOf(f.Notes), "body_not_listed") {
		t.Errorf("of a body that isn't known: %+v, %v", f.Clearances, codesOf(f.Notes))
	}
}

// An adapter at the end that carries the body takes the body along: 30 mm more,
// so that in bump it reaches to 610 and passes an obstacle at 595.
func TestAnAdapterCarriesTheBodyAlong(t *testing.T) {
	d := eyes("one", 290*mm, 450*mm)
	d.Lower = mount.End{Style: mount.Stud}
	s := catalog.NewSnapshot("bench", 1, catalog.Contents{
		Currency: "USD", Limits: mount.UsualLimits(), Dampers: []catalog.Damper{d},
		Adapters: []mount.Adapter{{Code: "a", From: mount.End{Style: mount.Stud}, To: d.Upper, AddsLength: 30 * mm, Price: mount.NoPrice}},
	})
	r := upright(t)
	r.Obstacles = []linkage.Obstacle{{Name: "rail", Point: linkage.Point{0, 60 * mm, 575 * mm}}}
	within(t, "gap", find(t, r, s).Fits[0].Clearances[0].Gap.Gap, 35, 1e-5)
}

// Obstacles need a linkage, and each its own place.
func TestFaultsOfObstaclesInARequest(t *testing.T) {
	r := metric(t, 395, 70)
	r.Obstacles = []linkage.Obstacle{{Name: "rail", Point: linkage.Point{0, 0, 0}}}
	if _, faults := fit.Find(r, stocked()); len(faults) != 1 || faults[0].Pointer != "/obstacles" || faults[0].Code.Public() != "missing" {
		t.Errorf("without a linkage: %v", faults)
	}
	r = upright(t)
	r.Obstacles = []linkage.Obstacle{{Name: "rail", Point: linkage.Point{0, 0, 0}, Radius: -1}}
	if _, faults := fit.Find(r, stocked()); len(faults) != 1 || faults[0].Pointer != "/obstacles/0/radius" {
		t.Errorf("a radius below zero: %v", faults)
	}
}

// A bolt that leans 8° out of square to an upright damper twists its eye by that
// much wherever the damper is; over 8° (rubber; common practice, no source) it is
// told. A stud has no such bushing.
func TestTwistedBushings(t *testing.T) {
	at := func(deg float64) linkage.Direction {
		sin, cos := math.Sincos(deg * math.Pi / 180)
		return linkage.Direction{cos, 0, sin}
	}
	for _, c := range []struct {
		upper, lower float64
		stud         bool
		want         []string // the ends that are told of
	}{
		{0, 7.99, false, nil},
		{8.01, 0, false, []string{"upper"}},
		{-20, 30, false, []string{"upper", "lower"}},
		{20, 30, true, []string{"lower"}},
	} {
		r := upright(t)
		r.Linkage.UpperAxis, r.Linkage.LowerAxis = at(c.upper), at(c.lower)
		d := eyes("one", 320*mm, 480*mm)
		if c.stud {
			r.Readings.Upper.Style, d.Upper = mount.Stud, mount.End{Style: mount.Stud}
		}
		var got []string
		for _, n := range find(t, r, stocked(d)).Cautions {
			if n.Code == "bushing_twisted" {
				got = append(got, wordOf(n.Values, "end"))
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("bolts at %v° and %v°: told of %v, want %v", c.upper, c.lower, got, c.want)
		}
	}
}

// A gas damper raises a light corner: by about 1 cm (common practice, no source),
// and where the wheel rate is known by F·MR/k, 302 N × 0.8 / 22 N/mm = 10.98 mm.
func TestGasLifts(t *testing.T) {
	rise := func(a *fit.Answer) unit.Length {
		n := told(t, a.Cautions, "gas_lifts")
		return n.Values[0].Length
	}
	s := stocked(gas(eyes("one", 200*mm, 600*mm)))
	within(t, "unknown", rise(find(t, metric(t, 400, 50), s)), 10, 0)
	r := onARoad(t, ride.Class('A'))
	r.Readings.MotionRatio = 0.8
	r.Travel.Road.Corner.WheelRate = 22
	r.Readings.Readings[0].Length = 400 * mm
	within(t, "known", rise(find(t, r, s)), 10.98, 0.005)
	told(t, find(t, metric(t, 400, 50), s).Cautions, "axle_clearance")
	if a := find(t, metric(t, 400, 50), stocked(eyes("one", 200*mm, 600*mm))); slices.Contains(codesOf(a.Cautions), "gas_lifts") {
		t.Error("a damper without gas is said to lift")
	}
}
