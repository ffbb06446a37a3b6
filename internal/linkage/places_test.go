package linkage_test

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"midstroke/internal/linkage"
	"midstroke/internal/unit"
)

// placesAt gives the places of the moving points at one wheel travel, by pointer.
func placesAt(t *testing.T, s linkage.Spec, z float64) map[string]r3.Vec {
	t.Helper()
	travel, faults := mustNew(t, s).Travel(linkage.Options{Range: linkage.Range{Bump: mm(60), Droop: mm(60)}, At: []unit.Length{mm(z)}, Places: true})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	places := map[string]r3.Vec{}
	for _, p := range travel.Curve[0].Places {
		places[p.Point] = vec(p.At)
	}
	return places
}

// TestPlacesKeepEveryLink checks that each link keeps the length that it has at ride,
// that the wheel rises by its travel, and that the damper is as long as the curve
// says. Places are kept to the nanometre.
func TestPlacesKeepEveryLink(t *testing.T) {
	links := map[string][][2]string{
		"swing_arm": {{"/pivot_a", "/wheel"}, {"/pivot_b", "/wheel"}, {"/pivot_a", "/damper/lower"}, {"/wheel", "/damper/lower"}},
		"double_wishbone": {
			{"/lower_arm/front", "/lower_arm/outer"}, {"/lower_arm/rear", "/lower_arm/outer"}, {"/lower_arm/inner", "/lower_arm/outer"},
			{"/upper_arm/front", "/upper_arm/outer"}, {"/upper_arm/rear", "/upper_arm/outer"}, {"/upper_arm/inner", "/upper_arm/outer"},
			{"/lower_arm/outer", "/upper_arm/outer"}, {"/tie_rod/inner", "/tie_rod/outer"}, {"/tie_rod/outer", "/lower_arm/outer"},
			{"/wheel", "/lower_arm/outer"}, {"/wheel", "/upper_arm/outer"}, {"/wheel", "/tie_rod/outer"},
		},
	}
	for name, s := range everyKind() {
		t.Run(name, func(t *testing.T) {
			ride := pointsOf(s)
			for _, z := range []float64{-55, 0, 40} {
				now := placesAt(t, s, z)
				where := func(pointer string) r3.Vec {
					if p, moves := now[pointer]; moves {
						return p
					}
					return ride[pointer]
				}
				length, _ := at(t, mustNew(t, s), z)
				near(t, fmt.Sprintf("the damper at %g", z), dist(ride["/damper/upper"], now["/damper/lower"]), length, 1e-5)
				for _, wheel := range []string{"/wheel", "/wheels/left", "/wheels/right", "/roll_point"} {
					if was, given := ride[wheel]; given {
						near(t, fmt.Sprintf("the rise of %s at %g", wheel, z), now[wheel].Z-was.Z, z, 1e-5)
					}
				}
				for _, link := range links[string(s.Kind)] {
					if _, given := ride[link[0]]; !given {
						continue
					}
					if _, given := ride[link[1]]; !given {
						continue
					}
					near(t, fmt.Sprintf("%v at %g", link, z), dist(where(link[0]), where(link[1])), dist(ride[link[0]], ride[link[1]]), 1e-5)
				}
			}
		})
	}
}

// TestPlacesOfATrailingArm: an arm of 500 that is level at ride stands at asin(0.1)
// when its wheel is 50 up. By hand: 500·cos(asin 0.1) = 497.4937.
func TestPlacesOfATrailingArm(t *testing.T) {
	now := placesAt(t, trailing(), 50)
	near(t, "the wheel's x", now["/wheel"].X, -500*math.Sqrt(1-0.01), 1e-5)
	near(t, "the damper's rise", now["/damper/lower"].Z-300, 40, 1e-5)
	if len(now) != 2 {
		t.Errorf("%d points move, want the wheel and the damper's lower end", len(now))
	}
}

// TestPlacesOnlyWhereAskedFor checks that a curve has none otherwise.
func TestPlacesOnlyWhereAskedFor(t *testing.T) {
	travel, faults := mustNew(t, spatial()).Travel(linkage.Options{Range: linkage.Range{Bump: mm(60), Droop: mm(60)}})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	for _, s := range travel.Curve {
		if s.Places != nil {
			t.Fatalf("at %v there are places", s.WheelTravel)
		}
	}
}

// pointsOf are the points of a suspension at ride, by pointer.
func pointsOf(s linkage.Spec) map[string]r3.Vec {
	points := map[string]r3.Vec{}
	for pointer, p := range map[string]linkage.Point{
		"/damper/upper": s.Damper.Upper, "/damper/lower": s.Damper.Lower, "/pivot_a": s.PivotA, "/pivot_b": s.PivotB, "/wheel": s.Wheel,
		"/roll_point": s.RollPoint, "/wheels/left": s.Wheels.Left, "/wheels/right": s.Wheels.Right,
		"/lower_arm/front": s.LowerArm.Front, "/lower_arm/rear": s.LowerArm.Rear, "/lower_arm/inner": s.LowerArm.Inner, "/lower_arm/outer": s.LowerArm.Outer,
		"/upper_arm/front": s.UpperArm.Front, "/upper_arm/rear": s.UpperArm.Rear, "/upper_arm/inner": s.UpperArm.Inner, "/upper_arm/outer": s.UpperArm.Outer,
		"/tie_rod/inner": s.TieRod.Inner, "/tie_rod/outer": s.TieRod.Outer,
	} {
		if p != nil {
			points[pointer] = vec(p)
		}
	}
	return points
}
