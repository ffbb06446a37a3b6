package damping_test

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"midstroke/internal/damping"
	"midstroke/internal/note"
	"midstroke/internal/ride"
	"midstroke/internal/unit"
)

// loadedWithFriction is a corner with a load and much friction: a class B road at
// 80 km/h, as load-carrying use has it.
func loadedWithFriction() damping.Question {
	return damping.Question{
		Corner:  ride.Corner{SprungKg: 400, LadenKg: 700, UnsprungKg: 60, WheelRate: 40, TyreRate: 250, DamperRatio: 0.9, Friction: 300},
		Targets: damping.Targets{Use: damping.LoadCarrying},
	}
}

// TestRatioBetweenLoads: by hand, with a wanted ratio of 0.35. Critical is
// 2√(40000·400) = 8000 and 2√(40000·700) = 10583.005 N·s/m, so the wheel wants
// 0.35 √(8000·10583.005) = 3220.457. The road feeds W k_t/2 = 35.0919 W into it, with
// W = (2π·0.1)² 64e-6 · 22.2222/2. The wheel moves at √(35.0919/3220.457) = 0.104387 m/s,
// where 300 N of friction gives 0.797885·300/0.104387 = 2293.07. The rest is 927.39,
// over 0.9² it is 1144.9.
func TestRatioBetweenLoads(t *testing.T) {
	a := answer(t, loadedWithFriction())
	w := a.Wanted
	near(t, "at the wheel", w.AtWheel, 3220.457, 0.01)
	near(t, "friction", w.FrictionAtWheel, 2293.07, 0.05)
	near(t, "at the damper", w.AtDamper.Wanted, 1144.9, 0.1)
	near(t, "geometric mean of both ratios", math.Sqrt(a.Loads[0].Ratio*a.Loads[1].Ratio), 0.35, 1e-9)
	q := loadedWithFriction()
	q.Corner.Friction = 0
	if b := answer(t, q).Wanted; b.FrictionAtWheel != 0 {
		t.Errorf("no friction has %g", b.FrictionAtWheel)
	}
	near(t, "velocity at the damper", w.Velocity, 0.9*0.104387, 1e-6)
}

// TestRatioBetweenLoadsByTrial: the geometric mean is the wanted ratio where the
// damper's motion ratio differs between the loads, too.
func TestRatioBetweenLoadsByTrial(t *testing.T) {
	q := loadedWithFriction()
	q.Corner.DamperRatioChange = 2
	a := answer(t, q)
	near(t, "geometric mean of both ratios", math.Sqrt(a.Loads[0].Ratio*a.Loads[1].Ratio), 0.35, 1e-9)
	for i, l := range a.Loads {
		dampers := a.Wanted.AtDamper.Wanted * l.DamperRatio * l.DamperRatio
		atWheel := l.Ratio * l.Critical
		// 35.0919 W as above.
		friction := 300 * math.Sqrt(2/math.Pi) / math.Sqrt(35.0919/atWheel)
		near(t, "dampers and friction at load "+strconv.Itoa(i), dampers+friction, atWheel, 0.01)
	}
}

// TestFrictionEnoughUnladenOnly: friction that alone gives the wanted ratio unladen
// leaves something for a damper to do with the load. By hand, with 400 N: friction's
// share of a damping c is k √c with k = 0.797885·400/√35.0919 = 53.876. Of the 2800 that
// are wanted unladen it would be 2851, which is more. Of the 3220.457 between the loads it
// is 3057.4; 163.0 is left, over 0.9² 201.3.
func TestFrictionEnoughUnladenOnly(t *testing.T) {
	q := loadedWithFriction()
	q.Corner.Friction = 400
	a := answer(t, q)
	near(t, "at the damper", a.Wanted.AtDamper.Wanted, 201.3, 1)
	for _, c := range a.Cautions {
		if c.Code == "friction_enough" {
			t.Error("friction is said to be enough at both loads")
		}
	}
}

// TestStepsFollow computes each product, quotient and sum of the steps again by the
// figures that their texts print, as a reader does.
func TestStepsFollow(t *testing.T) {
	for name, change := range map[string]func(*damping.Question){
		"load and friction":    func(*damping.Question) {},
		"load":                 func(q *damping.Question) { q.Corner.Friction = 0 },
		"friction":             func(q *damping.Question) { q.Corner.LadenKg = 0 },
		"neither":              func(q *damping.Question) { q.Corner.LadenKg, q.Corner.Friction = 0, 0 },
		"two dampers":          func(q *damping.Question) { q.Corner.Dampers = 2 },
		"changing ratio":       func(q *damping.Question) { q.Corner.DamperRatioChange = 2 },
		"changing ratio alone": func(q *damping.Question) { q.Corner.DamperRatioChange, q.Corner.Friction = 2, 0 },
		"much friction":        func(q *damping.Question) { q.Corner.Friction = 1000 },
		"spring":               func(q *damping.Question) { q.Corner.WheelRate, q.Corner.SpringRate, q.Corner.SpringRatio = 0, 45, 0.7 },
		"spring's ratio changes": func(q *damping.Question) {
			q.Corner.WheelRate, q.Corner.SpringRate, q.Corner.SpringRatio, q.Corner.SpringRatioChange = 0, 45, 0.7, 1.5
		},
		"friction alone": func(q *damping.Question) { q.Corner.Friction, q.Corner.LadenKg = 1000, 0 },
	} {
		t.Run(name, func(t *testing.T) {
			q := loadedWithFriction()
			change(&q)
			a := answer(t, q)
			for i := range a.Steps {
				s := &a.Steps[i]
				formula, ok := formulas[s.Code]
				if !ok {
					if s.Code != "ratio_wanted" && s.Code != "damping_by_trial" { // which nothing follows from
						t.Errorf("nobody follows the step %s", s.Code)
					}
					continue
				}
				for _, units := range []unit.System{unit.Millimetres, unit.Inches} {
					text := s.Text("en", units)
					result, err := strconv.ParseFloat(figure.FindString(s.Result.Words(units)), 64)
					if s.Result.Name == "sink" { // which is told in fractions of an inch
						if result, err = s.Result.Length.Mm(), nil; units == unit.Inches {
							result /= 25.4
						}
					}
					if err != nil {
						t.Fatal(err)
					}
					// A result has four digits, so that half of one in the last is 0.0005 of it at most.
					if got := formula(figures(text)); math.Abs(got-result) > 0.0006*math.Abs(result) {
						t.Errorf("%s\ncomes to %g and not to %g", text, got, result)
					}
				}
			}
			// What one step comes to is what others take: 250 N/mm on class B at 80 km/h are 35.09 W.
			near(t, "power, W", step(t, a.Steps, "road_power").Result.Number, 35.0919, 0.0001)
			if len(a.Loads) > 1 && a.Wanted.AtDamper.Wanted > 0 {
				// "… = 0.3043 laden and, unladen, …"
				s := step(t, a.Steps, "ratio_between_loads")
				f := figures(s.Text("en", unit.Millimetres))
				near(t, "laden ratio as printed", f[0]/f[1], f[2], 1e-5)
				near(t, "geometric mean as printed", math.Sqrt(f[2]*f[3]/f[4]), 0.35, 1e-5)
			}
		})
	}
}

// formulas are what the steps' texts say, of the figures in the order in which they
// stand there.
var formulas = map[note.Code]func(f []float64) float64{
	"rate_at_wheel": func(f []float64) float64 {
		rate := f[0] * f[1] * f[1]
		if len(f) > 2 {
			rate += f[2] * f[3] / f[len(f)-1]
		}
		return rate
	},
	"critical_damping": func(f []float64) float64 {
		if f[3] == 1000 { // mm in a metre, else in/s² of free fall
			return f[0] * math.Sqrt(f[1]*f[2]*f[3])
		}
		return f[0] * math.Sqrt(f[1]*f[2]/f[3])
	},
	"ride_frequency": func(f []float64) float64 { return math.Sqrt(f[1]*f[2]/(f[1]+f[2])/f[0]*f[3]) / (f[4] * math.Pi) },
	"hop_frequency":  func(f []float64) float64 { return math.Sqrt((f[1]+f[2])/f[0]*f[3]) / (f[4] * math.Pi) },
	"load_sinks":     func(f []float64) float64 { return (f[2] - f[3]) * f[4] / f[5] },
	"load_sinks_by_trial": func(f []float64) float64 {
		return (f[0]*f[3]/f[4] - f[5]) / f[6] / ((f[1] + f[2]) / 2)
	},
	"road_power":            func(f []float64) float64 { return math.Pow(math.Pi*f[2], 2) * f[3] * f[4] * f[5] / f[6] },
	"damping_between_loads": func(f []float64) float64 { return f[0] * math.Sqrt(f[1]*f[2]) },
	"ratio_between_loads":   func(f []float64) float64 { return f[3] / f[4] },
	"damping_at_wheel":      func(f []float64) float64 { return f[0] * f[1] },
	"damping_with_load": func(f []float64) float64 {
		dampers := f[1] * f[2] * f[3] * f[3]
		if len(f) > 4 {
			dampers += f[4]
		}
		return dampers
	},
	"friction_alone":    func(f []float64) float64 { return f[2] / math.Pi * f[0] * f[0] / f[1] },
	"wheel_velocity":    func(f []float64) float64 { return math.Sqrt(f[2] / f[3]) },
	"friction_share":    func(f []float64) float64 { return math.Sqrt(2/math.Pi) * f[0] / f[1] },
	"damping_left":      func(f []float64) float64 { return f[0] - f[1] },
	"damping_at_damper": func(f []float64) float64 { return f[0] / (f[1] * f[1]) / f[2] },
	"split":             func(f []float64) float64 { return f[0] * f[len(f)-1] },
	"velocity_on_road":  func(f []float64) float64 { return f[0] * f[1] },
}

var figure = regexp.MustCompile(`[0-9]+(\.[0-9]+)?`)

func figures(text string) []float64 {
	var list []float64
	for _, word := range figure.FindAllString(text, -1) {
		v, _ := strconv.ParseFloat(word, 64)
		list = append(list, v)
	}
	return list
}

func step(t *testing.T, steps []note.Step, code note.Code) *note.Step {
	t.Helper()
	for i := range steps {
		if steps[i].Code == code {
			return &steps[i]
		}
	}
	t.Fatal("no step " + code)
	return nil
}

// TestGasNeverSettles: the damper is named, and how many more.
func TestGasNeverSettles(t *testing.T) {
	if notes := damping.GasNeverSettles(nil); len(notes) != 0 {
		t.Errorf("%v for none", notes)
	}
	for _, c := range []struct {
		dampers []string
		want    string
	}{
		{[]string{"one"}, "With the gas force of one the corner never settles: its wheel rate or a motion ratio falls to nothing, or the linkage ends. So its damping isn't rated with that force. Check"},
		{[]string{"one", "two", "three"}, "So its damping isn't rated with that force, nor that of 2 more of those listed. Check"},
	} {
		notes := damping.GasNeverSettles(c.dampers)
		if len(notes) != 1 || !strings.Contains(notes[0].Text("en", unit.Millimetres), c.want) {
			t.Errorf("%v for %v", notes, c.dampers)
		}
	}
}

// TestBeyondTables: a tenth of the damping from beyond a table is worth a caution.
func TestBeyondTables(t *testing.T) {
	if notes := damping.BeyondTables("one", 0.099); len(notes) != 0 {
		t.Errorf("%v for less than a tenth", notes)
	}
	notes := damping.BeyondTables("one", 0.25)
	if len(notes) != 1 || !strings.Contains(notes[0].Text("en", unit.Millimetres), "The force table of one ends below velocities that this road brings: 25 % of the damping with it, friction included, comes from beyond the table") {
		t.Errorf("%v for a quarter", notes)
	}
}
