package damping_test

import (
	"math"
	"strings"
	"testing"

	"midstroke/internal/damping"
	"midstroke/internal/note"
	"midstroke/internal/ride"
	"midstroke/internal/unit"
)

// coilOver is a damper 80 mm back and 20 mm in over 380 mm up, above a wheel that goes
// straight up: √(80² + 20² + (380 - z)²) mm long.
type coilOver struct{}

const across2, up = 80*80 + 20*20, 380 // mm², mm

func coilOverLength(z float64) float64 { return math.Sqrt(across2 + (up-z)*(up-z)) }

func (coilOver) At(z float64) (shorter, ratio, change float64, ok bool) {
	n := coilOverLength(1000 * z)
	return (coilOverLength(0) - n) / 1000, (up - 1000*z) / n, -across2 / (n * n * n) * 1000, true
}

// onCoilOver is a corner with a load, whose spring is on that damper.
func onCoilOver(t *testing.T) damping.Question {
	t.Helper()
	q := damping.Question{
		Corner: ride.Corner{SprungKg: 280, LadenKg: 420, UnsprungKg: 38, SpringRate: 34, TyreRate: 190},
		Spring: &damping.Spring{Wire: 12, Mean: 72, Turns: 9.5, Ends: damping.SquaredGround, Free: 290, Bump: 70, Droop: 60},
	}
	if faults := q.Corner.PutOnLinkage(coilOver{}); len(faults) > 0 {
		t.Fatal(faults)
	}
	q.Corner.PutSpringOnDamper()
	return q
}

// TestSpringFollowsTheCurve: worked out apart, in Python, by Pythagoras and bisection.
//
// The damper is 388.844442 mm at ride height, with the ratio 0.977254 and 280·9.80665/0.977254
// = 2809.7715 N in the spring. At 70 mm of bump it is √(6800 + 310²) = 320.780299 mm, 68.064143
// shorter. The coil's rate is 79300·12⁴/(8·72³·7.5) = 73.425926 N/mm, so that it is pressed by
// 38.266750 + 68.064143 = 106.330893 mm there, and 290 - 106.330893 - 114 = 69.669107 are left.
// At ride height 137.733250 mm are left, with which the damper is 251.111192 mm, and that it
// is at 380 - √(251.111192² - 6800) = 142.814776 mm of the wheel. The load rests at 43.181518
// mm: there the ratio is 0.971313 and the spring of 34 N/mm 42.078397 mm shorter, so that
// (2809.7715 + 34·42.078397)·0.971313 = 420·9.80665 N.
func TestSpringFollowsTheCurve(t *testing.T) {
	a := answer(t, onCoilOver(t))
	s, laden := a.Spring, &a.Loads[1]
	for what, of := range map[string][2]float64{
		"sink, mm":                     {laden.Sink * 1000, 43.181518},
		"ratio laden":                  {laden.SpringRatio, 0.971313},
		"ratio of the damper laden":    {laden.DamperRatio, 0.971313},
		"wheel rate laden, N/mm":       {laden.WheelRate / 1000, 31.385758},
		"to bind at ride":              {s.Loads[0].ToBindAtWheel, 142.814776},
		"deflection laden":             {s.Loads[1].Deflection, 57.751223},
		"to bind laden":                {s.Loads[1].ToBindAtWheel, 123.698465},
		"deflection at bump":           {s.AtBump.Deflection, 106.330893},
		"to bind at bump":              {s.AtBump.ToBind, 69.669107},
		"to bind at bump, at wheel":    {s.AtBump.ToBindAtWheel, 72.814776},
		"loose at droop":               {s.AtDroop.Deflection, -20.549394},
		"to bind from droop, at wheel": {s.AtDroop.ToBindAtWheel, 202.814776},
	} {
		near(t, what, of[0], of[1], 2e-6*math.Abs(of[1]))
	}
	// The rate that gives the wanted frequency at the sunk height has the ratio's change
	// there: -6800/346.766045³ each mm. k_w = k MR² + F MR'.
	n := coilOverLength(43.181518)
	force := 420 * 9.80665 / 0.971313
	wheel := laden.WantedSpringRate.Wanted/1000*0.971313*0.971313 - force*across2/(n*n*n)
	near(t, "wanted wheel rate by the wanted spring, N/mm", wheel, laden.WantedWheelRate.Wanted/1000, 1e-4)
}

// TestLoadSinksOnLinkageFollows: the step's figures come to how much shorter the spring
// is, and the points, by Pythagoras, to the result.
func TestLoadSinksOnLinkageFollows(t *testing.T) {
	a := answer(t, onCoilOver(t))
	s := step(t, a.Steps, "load_sinks_on_linkage")
	text := s.Text("en", unit.Millimetres)
	f := figures(text) // mass, both ratios, g, the ratio again, force, rate, shorter
	if len(f) != 8 {
		t.Fatal(text)
	}
	near(t, "shorter, as printed, mm", (f[0]*f[3]/f[4]-f[5])/f[6], f[7], 0.002)
	near(t, "shorter, by the points, mm", coilOverLength(0)-coilOverLength(s.Result.Length.Mm()), f[7], 1e-5)
	inches := figures(s.Text("en", unit.Inches))
	near(t, "shorter, as printed, in", (inches[0]*inches[3]/inches[4]-inches[5])/inches[6], inches[7], 0.0001)
	near(t, "both units", inches[7]*25.4, f[7], 1e-4)
}

// TestNeverBindsPastTheTurn: by hand, the damper is shortest where it stands across, √6800 =
// 82.462 mm, so that from ride height it gets 306.382 mm shorter at most. A spring of 600 mm
// that is pressed by 38.267 mm and solid at 100 has more than that left: its coils never touch.
func TestNeverBindsPastTheTurn(t *testing.T) {
	q := onCoilOver(t)
	q.Spring.Free, q.Spring.Solid = 600, 100
	for i, l := range answer(t, q).Spring.Loads {
		if l.ToBind < 307 || l.ToBindAtWheel != 0 {
			t.Errorf("load %d: %g mm to bind, at the wheel %g", i, l.ToBind, l.ToBindAtWheel)
		}
	}
}

// TestNearBindByTheCurve: the caution tells what the curve leaves, not what a ratio that
// is linear would: with 57 mm less free length, by hand, 12.669107 mm are left at 70 mm of
// bump, which is told rounded down to 12.6 mm.
func TestNearBindByTheCurve(t *testing.T) {
	q := onCoilOver(t)
	q.Spring.Free -= 57
	a := answer(t, q)
	for _, n := range a.Spring.Cautions {
		if n.Code == note.Code("spring_near_bind") && strings.Contains(n.Text("en", unit.Millimetres), "12.6 mm") {
			return
		}
	}
	t.Errorf("%v", a.Spring.Cautions)
}
