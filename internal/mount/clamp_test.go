package mount_test

import (
	"math"
	"testing"

	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// clamped bolts an eye of 16 mm up with one sleeve on an M12 bolt.
func clamped(t *testing.T, grade string, outer, bore unit.Length) mount.Result {
	t.Helper()
	shelf := mount.NewShelf([]mount.Sleeve{{Code: "a", Outer: outer, Bore: bore, Length: 31 * mm}}, nil, nil, mount.UsualLimits())
	bracket := mount.Bracket{Bolt: bolt(t, "M12"), Opening: 31 * mm, Plate: 5 * mm, Grade: grade}
	r := shelf.BoltUp(mount.End{Style: mount.Eye, Bore: outer + 100*um, Width: 31 * mm}, bracket, mount.Options{Detail: true})
	if !r.Possible {
		t.Fatal(reasonsOf(r))
	}
	return r
}

// The stress area of M12 is 84.27 mm² by ISO 898-1, 12.9 has a proof strength of
// 970 MPa there, three quarters of it is the preload (Shigley, 9th ed., p. 442),
// and the sleeve's face is pi/4 (15.9² - 12.3²) = 79.73 mm²: 768.9 MPa by hand.
func TestThePreloadOnASleevesFace(t *testing.T) {
	r := clamped(t, "12.9", 15900*um, 12300*um)
	near(t, "pressure", r.Bolt.ClampPressure, 768.9, 0.2)
	same(t, "caution", codes(r)["sleeve_overloaded"], true)
	// 235 MPa, the yield of a plain steel tube (common practice, no source), bears
	// 235 / 768.9 of the torque of 147.1 N·m: 45 N·m by hand.
	for i := range r.Cautions {
		if n := &r.Cautions[i]; n.Code == "sleeve_overloaded" {
			near(t, "torque", valueOf(n, "torque").Number, 147.1, 0.1)
			near(t, "most torque", valueOf(n, "most_torque").Number, 44.97, 0.05)
		}
	}
	// 8.8 on a sleeve of 22 mm: 0.75 × 580 × 84.27 / (pi/4 (22² - 12.3²)) = 140.3.
	r = clamped(t, "8.8", 22*mm, 12300*um)
	near(t, "pressure", r.Bolt.ClampPressure, 140.3, 0.1)
	same(t, "caution", codes(r)["sleeve_overloaded"], false)
	// Without a grade there is no preload, and so no pressure.
	r = clamped(t, "", 15900*um, 12300*um)
	same(t, "no grade", r.Bolt.ClampPressure, 0)
}

// Exactly 235 MPa is no overload: with K and the fraction of the preload chosen
// for it.
func TestATubeBearsItsYield(t *testing.T) {
	face := math.Pi / 4 * (22*22 - 12.3*12.3)
	area := math.Pi / 4 * math.Pow(12-0.9382*1.75, 2) // ISO 898-1
	shelf := mount.NewShelf([]mount.Sleeve{{Code: "a", Outer: 22 * mm, Bore: 12300 * um, Length: 31 * mm}}, nil, nil, mount.UsualLimits())
	for share, want := range map[float64]bool{0.999: false, 1.001: true} {
		opts := mount.Options{Detail: true, PreloadFraction: share * 235 * face / (580 * area)}
		r := shelf.BoltUp(mount.End{Style: mount.Eye, Bore: 22 * mm, Width: 31 * mm}, mount.Bracket{Bolt: bolt(t, "M12"), Grade: "8.8"}, opts)
		near(t, "pressure", r.Bolt.ClampPressure, share*235, 1e-9)
		same(t, "caution", codes(r)["sleeve_overloaded"], want)
	}
}

// The bracket clamps the longest sleeve; of several as long the innermost counts.
func TestTheClampedSleeveCounts(t *testing.T) {
	eye := mount.End{Style: mount.Eye, Bore: 22 * mm, Width: 31 * mm}
	outer := mount.Sleeve{Code: "out", Outer: 22 * mm, Bore: 16 * mm, Length: 31 * mm}
	inner := mount.Sleeve{Code: "in", Outer: 16 * mm, Bore: 12300 * um, Length: 31 * mm}
	preload := 0.75 * 580 * math.Pi / 4 * math.Pow(12-0.9382*1.75, 2)
	face := func(s mount.Sleeve) float64 {
		return math.Pi / 4 * (s.Outer.Mm()*s.Outer.Mm() - s.Bore.Mm()*s.Bore.Mm())
	}
	for _, c := range []struct {
		inner unit.Length
		want  float64
	}{{31 * mm, preload / face(inner)}, {30800 * um, preload / face(outer)}} {
		inner.Length = c.inner
		r := mount.NewShelf([]mount.Sleeve{outer, inner}, nil, nil, mount.UsualLimits()).
			BoltUp(eye, mount.Bracket{Bolt: bolt(t, "M12"), Grade: "8.8"}, mount.Options{Detail: true})
		near(t, "pressure", r.Bolt.ClampPressure, c.want, 1e-6)
	}
}

// A bushing straight on the bolt: its tube isn't listed, so the answer says how
// thick it must be. sqrt(12.2² + 4/pi × 36656 N / 235 MPa) = 18.64 mm, where
// 36656 N is 0.75 × 580 × 84.27 mm².
func TestABushingsOwnTubeIsToBeMeasured(t *testing.T) {
	r := mount.NewShelf(nil, nil, nil, mount.UsualLimits()).BoltUp(
		mount.End{Style: mount.Eye, Bore: 12200 * um, Width: 31 * mm}, mount.Bracket{Bolt: bolt(t, "M12"), Grade: "8.8"}, mount.Options{Detail: true})
	same(t, "pressure", r.Bolt.ClampPressure, 0)
	for i := range r.Cautions {
		if n := &r.Cautions[i]; n.Code == "bushing_tube_not_listed" {
			near(t, "outer", valueOf(n, "outer").Length.Mm(), 18.64, 0.01)
			return
		}
	}
	t.Error("nothing says how thick the bushing's tube must be")
}
