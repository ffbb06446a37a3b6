package ride_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/ride"
	"midstroke/internal/unit"
)

func at(tb rapid.TB, c ride.Corner, load ride.Load, gas float64) ride.State {
	tb.Helper()
	if faults := c.Faults(); len(faults) > 0 {
		tb.Fatal(faults)
	}
	s, ok := c.At(load, gas)
	if !ok {
		tb.Fatalf("%+v never settles with load %d and %g N", c, load, gas)
	}
	return s
}

// TestStates: worked values, each computed by hand or by another closed form.
func TestStates(t *testing.T) {
	// 45 N/mm · 0.7² = 22.05 N/mm; √(22050/320)/2π Hz; by hand.
	s := at(t, ride.Corner{SprungKg: 320, UnsprungKg: 40, SpringRate: 45, SpringRatio: 0.7, TyreRate: 200}, ride.Unladen, 0)
	near(t, "wheel rate, N/m", s.WheelRate, 22050, 1e-9)
	near(t, "body on its spring, Hz", s.BodyHz, 1.32114, 1e-5)
	near(t, "spring force, N", s.SpringForce, 320*9.80665/0.7, 1e-9)
	// A spring that leans by 45°, 280 mm across and 280 mm down: MR = b/L = cos 45°,
	// and with d²L/dz² = a²/L³ the ratio changes by -a²/L³. 60 N/mm carry 4200 N.
	length := 0.28 * math.Sqrt2
	s = at(t, ride.Corner{
		SprungKg: 4200 * math.Sqrt(0.5) / 9.80665, UnsprungKg: 40, TyreRate: 200,
		SpringRate: 60, SpringRatio: math.Sqrt(0.5), SpringRatioChange: -0.28 * 0.28 / (length * length * length),
	}, ride.Unladen, 0)
	near(t, "wheel rate of a leaning spring, N/m", s.WheelRate, 24696.7, 0.05) // computed apart, by differences of the force
	// √(20000/300)/2π, √(200000/40)/2π, 2√(20000·300), and the series 20·180/200 N/mm.
	s = at(t, car, ride.Unladen, 0)
	near(t, "body, Hz", s.BodyHz, 1.29949, 1e-5)
	near(t, "hop, Hz", s.HopHz, 11.25395, 1e-5)
	near(t, "ride, Hz", s.RideHz, math.Sqrt(18000.0/300)/(2*math.Pi), 1e-12)
	near(t, "critical damping, N·s/m", s.Critical, 4898.98, 0.005)
	near(t, "sink, m", s.Sink, 0, 1e-12)
	// A static deflection of 100 mm: √(g/δ)/2π.
	s = at(t, ride.Corner{SprungKg: 300, UnsprungKg: 40, WheelRate: 300 * 9.80665 / 100, TyreRate: 180}, ride.Unladen, 0)
	near(t, "body with 100 mm of deflection, Hz", s.BodyHz, 1.576088, 1e-6)
	// Roll: 45 N/mm · 0.5² and a bar of 6 N/mm.
	s = at(t, ride.Corner{SprungKg: 320, UnsprungKg: 40, SpringRate: 45, SpringRatio: 0.7, SpringRollRatio: 0.5, RollBarRate: 6, TyreRate: 200}, ride.Unladen, 0)
	near(t, "wheel rate in roll, N/m", s.RollRate, 17250, 1e-9)
}

// TestRollByAChangingRatio: a spring that moves by ρ times as much in roll as in heave
// has the energy E(ρ z) for E(z), so that its rate at the wheel is ρ² times that in
// heave, with the term of its force. By hand, 45 N/mm at 0.7 with a change of 0.8 under
// 320 kg: 22.05 + 320·9.80665/0.7·0.8/1000 = 25.63643 N/mm. With 0.7 in roll it is the
// same, with 0.35 a quarter of it, at either load.
func TestRollByAChangingRatio(t *testing.T) {
	c := ride.Corner{SprungKg: 320, LadenKg: 520, UnsprungKg: 48, SpringRate: 45, SpringRatio: 0.7, SpringRatioChange: 0.8, TyreRate: 220}
	near(t, "in roll as in heave, N/m", at(t, c, ride.Unladen, 0).RollRate, 25636.43, 0.01)
	for _, load := range c.Loads() {
		for ratio, part := range map[float64]float64{0.7: 1, 0.35: 0.25} {
			given := c
			given.SpringRollRatio = ratio
			near(t, "in roll over heave", at(t, given, load, 0).RollRate/at(t, c, load, 0).WheelRate, part, 1e-12)
		}
	}
	// 22 N/mm at the wheel is 22·0.25 with half of the ratio in roll, and a bar adds 5.
	c = ride.Corner{SprungKg: 320, UnsprungKg: 48, WheelRate: 22, SpringRatio: 0.7, SpringRollRatio: 0.35, RollBarRate: 5, TyreRate: 220}
	near(t, "in roll by the wheel rate, N/m", at(t, c, ride.Unladen, 0).RollRate, 10500, 1e-9)
}

// TestLoadAndGas: a load sinks by its weight over the rate, gas raises by F·MR over
// it: 302 N, MR 0.8, 22 N/mm give 10.98 mm, by hand.
func TestLoadAndGas(t *testing.T) {
	c := ride.Corner{SprungKg: 300, LadenKg: 450, UnsprungKg: 40, WheelRate: 22, TyreRate: 180, DamperRatio: 0.8}
	near(t, "sink, mm", 1000*at(t, c, ride.Laden, 0).Sink, 150*9.80665/22, 1e-9)
	near(t, "rise by gas, mm", -1000*at(t, c, ride.Unladen, 302).Sink, 10.98, 0.005)
	if got := len(c.Loads()); got != 2 {
		t.Errorf("%d loads", got)
	}
	if c.LadenKg = 0; len(c.Loads()) != 1 || c.Mass(ride.Laden) != 300 {
		t.Error("no load is taken as one")
	}
}

// TestWheelRateIsTheSlope holds the wheel rate and the sink of random linkages
// against the virtual work alone: energy of the spring and of the gas, differentiated
// numerically twice.
func TestWheelRateIsTheSlope(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		c := ride.Corner{
			SprungKg: draw("sprung", 100, 800), UnsprungKg: 40, TyreRate: 200,
			SpringRatio: draw("spring ratio", 0.4, 1.2), SpringRatioChange: draw("its change", -0.8, 0.8),
			DamperRatio: draw("damper ratio", 0.4, 1.2), DamperRatioChange: draw("its change", -0.8, 0.8),
		}
		c.SpringRate = draw("rate", 2, 4) * c.SprungKg / 10 / (c.SpringRatio * c.SpringRatio)
		c.LadenKg = c.SprungKg * draw("load", 1.05, 1.4)
		gas := draw("gas", 0, 300)
		s := at(t, c, ride.Laden, gas)
		f0 := c.SprungKg * 9.80665 / c.SpringRatio
		energy := func(z float64) float64 {
			x := c.SpringRatio*z + c.SpringRatioChange*z*z/2
			y := c.DamperRatio*z + c.DamperRatioChange*z*z/2
			return f0*x + 1000*c.SpringRate*x*x/2 + gas*y
		}
		const h = 1e-4
		force := (energy(s.Sink+h) - energy(s.Sink-h)) / (2 * h)
		near(t, "force at the wheel over the weight", force/(c.LadenKg*9.80665), 1, 1e-6)
		rate := (energy(s.Sink+h) - 2*energy(s.Sink) + energy(s.Sink-h)) / (h * h)
		near(t, "wheel rate over the slope", s.WheelRate/rate, 1, 1e-4)
		near(t, "ratio of the damper", s.DamperRatio, c.DamperRatio+c.DamperRatioChange*s.Sink, 1e-12)
	})
}

// TestMoreMassIsSlower: more mass lowers the body's frequencies and leaves the
// wheel's; a stiffer spring raises all. A scaled corner keeps its frequencies.
func TestMoreMassIsSlower(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		c := ride.Corner{
			SprungKg: draw("sprung", 50, 3000), UnsprungKg: draw("unsprung", 10, 300),
			WheelRate: draw("wheel rate", 5, 300), TyreRate: draw("tyre rate", 80, 1500),
		}
		base := at(t, c, ride.Unladen, 0)
		heavier, stiffer, scaled := c, c, c
		heavier.SprungKg *= 1.1
		stiffer.WheelRate *= 1.1
		scaled.SprungKg, scaled.UnsprungKg, scaled.WheelRate, scaled.TyreRate = 3*c.SprungKg, 3*c.UnsprungKg, 3*c.WheelRate, 3*c.TyreRate
		h, s, k := at(t, heavier, ride.Unladen, 0), at(t, stiffer, ride.Unladen, 0), at(t, scaled, ride.Unladen, 0)
		if h.RideHz >= base.RideHz || h.BodyHz >= base.BodyHz || h.HopHz != base.HopHz || h.Critical <= base.Critical {
			t.Errorf("more mass: %+v after %+v", h, base)
		}
		if s.RideHz <= base.RideHz || s.HopHz <= base.HopHz || s.RideHz >= s.BodyHz {
			t.Errorf("stiffer: %+v after %+v", s, base)
		}
		near(t, "ride of three times everything", k.RideHz, base.RideHz, 1e-12*base.RideHz)
		near(t, "critical damping of it", k.Critical, 3*base.Critical, 1e-9*base.Critical)
	})
}

func TestCornerFaults(t *testing.T) {
	good := ride.Corner{
		SprungKg: 300, LadenKg: 420, UnsprungKg: 40, SpringRate: 45, SpringRatio: 0.7, SpringRatioChange: -0.5, TyreRate: 180,
		DamperRatio: 0.8, DamperRatioChange: -0.5, SpringRollRatio: 0.6, DamperRollRatio: 0.5, RollBarRate: 5, Friction: 80, Dampers: 2, Damping: 1500,
	}
	for _, c := range []struct {
		name   string
		change func(*ride.Corner)
		want   string
	}{
		{"good", func(*ride.Corner) {}, ""},
		{"laden below unladen", func(c *ride.Corner) { c.LadenKg = 250 }, "/sprung_laden_kg laden_below_unladen"},
		{"no spring", func(c *ride.Corner) { c.SpringRate = 0 }, "/wheel_rate_n_mm missing"},
		{"two springs", func(c *ride.Corner) { c.WheelRate = 20 }, "/spring_rate_n_mm spring_twice"},
		{"spring without ratio", func(c *ride.Corner) { c.SpringRatio = 0 }, "/spring_ratio missing"},
		{"spring's change without its ratio", func(c *ride.Corner) { c.SpringRate, c.WheelRate, c.SpringRatio, c.SpringRollRatio = 0, 22, 0, 0 }, "/spring_ratio missing"},
		{"spring's ratio in roll without its ratio", func(c *ride.Corner) { c.SpringRate, c.WheelRate, c.SpringRatio, c.SpringRatioChange = 0, 22, 0, 0 }, "/spring_ratio missing"},
		{"wheel rate alone", func(c *ride.Corner) {
			c.SpringRate, c.WheelRate, c.SpringRatio, c.SpringRatioChange, c.SpringRollRatio = 0, 22, 0, 0, 0
		}, ""},
		{"spring in N/m", func(c *ride.Corner) { c.SpringRate = 45e3 }, "/spring_rate_n_mm out_of_range"},
		{"ratio below 0", func(c *ride.Corner) { c.DamperRatio = -0.8 }, "/damper_ratio out_of_range"},
		{"ratio in percent", func(c *ride.Corner) { c.SpringRatio = 70 }, "/spring_ratio out_of_range"},
		{"change that is no number", func(c *ride.Corner) { c.DamperRatioChange = math.NaN() }, "/damper_ratio_change_per_m out_of_range"},
		{"roll ratios", func(c *ride.Corner) { c.SpringRollRatio, c.DamperRollRatio = -1, 6 }, "/spring_roll_ratio out_of_range, /damper_roll_ratio out_of_range"},
		{"bar, friction, dampers, damping", func(c *ride.Corner) { c.RollBarRate, c.Friction, c.Dampers, c.Damping = -1, -1, 9, -1 },
			"/roll_bar_rate_n_mm out_of_range, /friction_n out_of_range, /dampers out_of_range, /damping_ns_m out_of_range"},
		{"a ratio that falls to nothing", func(c *ride.Corner) { c.SpringRatioChange = -10 }, " never_settles"},
	} {
		t.Run(c.name, func(t *testing.T) {
			corner := good
			c.change(&corner)
			var got []string
			for _, f := range corner.Faults() {
				got = append(got, f.Pointer+" "+f.Code.Public())
				if text := f.Text("en", unit.Millimetres); text == string(f.Code) || strings.ContainsAny(text, "{}+") {
					t.Errorf("%s reads %q", f.Code, text)
				}
			}
			if g := strings.Join(got, ", "); g != c.want {
				t.Errorf("got  %s\nwant %s", g, c.want)
			}
		})
	}
}

// TestRoadWithALoad: the laden corner moves more, by the root of the masses.
func TestRoadWithALoad(t *testing.T) {
	r := ride.Road{Class: 'C', SpeedKmh: 80, Hours: 1, Corner: car}
	empty, _ := r.Travel()
	r.Corner.LadenKg = 500
	laden, faults := r.Travel()
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	near(t, "rms laden over unladen", laden.RMS.Mm()/empty.RMS.Mm(), math.Sqrt(540.0/340), 1e-6)
}
