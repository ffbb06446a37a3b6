package fit_test

import (
	"slices"
	"testing"

	"midstroke/internal/fit"
	"midstroke/internal/ride"
	"midstroke/internal/unit"
)

// highway is an invented corner on a road of a class.
func highway(class ride.Class) *ride.Road {
	return &ride.Road{
		Class: class, SpeedKmh: 80, Hours: 1,
		Corner: ride.Corner{SprungKg: 300, UnsprungKg: 40, WheelRate: 20, TyreRate: 180, Damping: 1500},
	}
}

// onARoad is the everyday request for independent suspension, on a road.
func onARoad(t testing.TB, class ride.Class) *fit.Request {
	t.Helper()
	r := asked(t, "16")
	r.Suspension = fit.Independent
	r.Readings.MotionRatio = 0.9
	r.Travel = fit.Travel{Basis: fit.ByRoad, Road: highway(class)}
	return r
}

// Wanted is the road's largest travel at the damper, or the rule's 2 in (our
// choice) where that is more; least is the rule's 1 1/2 in.
func TestTravelByARoad(t *testing.T) {
	least, wanted := unit.Inch+unit.Inch/2, 2*unit.Inch
	for class := ride.Class('A'); class <= 'E'; class++ {
		road, faults := highway(class).Travel()
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		r := onARoad(t, class)
		n := find(t, r, stocked()).Required
		want := fit.Need{Least: least, Wanted: max(wanted, road.Largest.Scale(0.9))}
		if n.Basis != fit.ByRoad || n.Compression != want || n.Extension != want {
			t.Errorf("class %v asks for %+v and %+v, want %+v", class, n.Compression, n.Extension, want)
		}
		// The arithmetic of the road is in the steps, then the damper's.
		if got := len(n.Steps); got != len(road.Steps)+3 {
			t.Errorf("class %v: %d steps, want the rule's, %d of the road and two", class, got, len(road.Steps))
		}
		// What isn't known of the motion ratio widens no expectation.
		r.Readings.MotionRatioTolerance = 0.1
		if again := find(t, r, stocked()).Required; again.Compression != want {
			t.Errorf("class %v with a tolerance asks for %+v, want %+v", class, again.Compression, want)
		}
	}
	// 50.515 mm of wheel travel on class C, as package ride's example has it, and
	// class D is twice as rough (ISO 8608: four times the spectral density).
	n := find(t, onARoad(t, 'D'), stocked()).Required
	within(t, "wanted on class D", n.Compression.Wanted, 0.9*2*50.515, 2e-3)
}

func TestFaultsOfARoad(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*fit.Request)
		want   []string
	}{
		{"no suspension and no motion ratio", func(r *fit.Request) { r.Suspension, r.Readings.MotionRatio = 0, 0 }, []string{"/suspension", "/motion_ratio"}},
		{"no road", func(r *fit.Request) { r.Travel.Road = nil }, []string{"/travel/class"}},
		{"figures that can't be", func(r *fit.Request) {
			r.Travel.Road.Class, r.Travel.Road.SpeedKmh, r.Travel.Road.Corner.Damping = 'Z', 0, -1
		}, []string{"/travel/class", "/travel/speed_kmh", "/travel/corner/damping_ns_m"}},
		{"more than any wheel can travel", func(r *fit.Request) {
			r.Travel.Road.Class, r.Travel.Road.SpeedKmh, r.Travel.Road.Corner.Damping = 'H', 500, 1
		}, []string{"/travel"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := onARoad(t, 'C')
			c.change(r)
			_, faults := fit.Find(r, stocked())
			var got []string
			for _, f := range faults {
				got = append(got, f.Pointer)
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("faults at %v, want %v", got, c.want)
			}
		})
	}
}
