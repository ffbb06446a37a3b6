package mount_test

import (
	"math"
	"regexp"
	"strconv"
	"testing"

	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// strengthFormulas are what the steps' texts say, of the figures in the order in which they
// stand there. A last figure brings the units of the others together.
var strengthFormulas = map[note.Code]func(f []float64) float64{
	"bearing": func(f []float64) float64 { return f[0] / product(f[1:]) },
	"bending": func(f []float64) float64 {
		root := f[len(f)-1]
		return product(f[:len(f)-1]) / (math.Pi * root * root * root)
	},
	"torque": func(f []float64) float64 { return f[0] * f[1] * f[2] / f[3] },
	"clamp_pressure": func(f []float64) float64 {
		area := math.Pi / 4 * (f[1]*f[1] - f[2]*f[2])
		if len(f) > 3 {
			area *= f[4] // "1 in² is 645.16 mm²"
		}
		return f[0] / area
	},
}

func product(f []float64) float64 {
	p := 1.0
	for _, x := range f {
		p *= x
	}
	return p
}

// printed finds figures as they are printed: 3/16, 1 1/2 or 0.472.
var printed = regexp.MustCompile(`(?:(\d+) )?(\d+)/(\d+)|\d+(?:\.\d+)?`)

func printedIn(text string) (all []float64) {
	for _, m := range printed.FindAllStringSubmatch(text, -1) {
		number := func(i int) float64 { n, _ := strconv.ParseFloat(m[i], 64); return n }
		if m[3] != "" {
			all = append(all, number(1)+number(2)/number(3))
		} else {
			all = append(all, number(0))
		}
	}
	return all
}

// TestStrengthFollowsFromWhatIsPrinted works the steps out again by the figures that their
// texts print, as a reader does in either system of units.
func TestStrengthFollowsFromWhatIsPrinted(t *testing.T) {
	shelf := mount.NewShelf(
		[]mount.Sleeve{{Code: "a", Outer: 15_900 * um, Bore: 12_300 * um, Length: 40 * mm}}, nil, nil, mount.UsualLimits())
	end := mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 40 * mm}
	bracket := mount.Bracket{Bolt: bolt(t, "M12"), Plate: 8 * mm, Shear: mount.SingleShear, Grade: "10.9"}
	seen := map[note.Code]bool{}
	for _, s := range shelf.BoltUp(end, bracket, mount.Options{Detail: true, Load: 3000}).Working {
		formula, ok := strengthFormulas[s.Code]
		if !ok {
			continue
		}
		seen[s.Code] = true
		for _, units := range []unit.System{unit.Millimetres, unit.Inches} {
			// Lengths are printed to 0.001 in, which is 0.1 % of half an inch.
			text := s.Text("en", units)
			if got, want := formula(printedIn(text)), s.Result.Number; math.Abs(got/want-1) > 0.003 {
				t.Errorf("%s\ncomes to %g and not to %g %s", text, got, want, s.Result.Unit)
			}
		}
	}
	if len(seen) != len(strengthFormulas) {
		t.Errorf("only %v were seen", seen)
	}
}
