package linkage_test

import (
	"math"
	"strings"
	"testing"

	"midstroke/internal/linkage"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

func TestFaults(t *testing.T) {
	with := func(s linkage.Spec, change func(*linkage.Spec)) linkage.Spec {
		change(&s)
		return s
	}
	for _, c := range []struct {
		name string
		spec linkage.Spec
		want string // pointer and code of each fault
	}{
		{"no kind", linkage.Spec{}, "/kind missing"},
		{"unknown kind", linkage.Spec{Kind: "leaf"}, "/kind unknown_value"},
		{"nothing but the kind", linkage.Spec{Kind: linkage.SwingArm},
			"/damper/upper missing, /damper/lower missing, /pivot_a missing, /pivot_b missing, /wheel missing"},
		{"points of another kind", with(inclined(100, 300), func(s *linkage.Spec) { s.Wheel = pt(0, 0, 0); s.TieRod.Outer = pt(0, 0, 0) }),
			"/wheel not_for_kind, /tie_rod/outer not_for_kind"},
		{"two coordinates", with(trailing(), func(s *linkage.Spec) { s.Wheel = pt(1, 2) }), "/wheel wrong_dimension"},
		{"no coordinates", with(trailing(), func(s *linkage.Spec) { s.Wheel = pt() }), "/wheel wrong_dimension"},
		{"too far away", with(trailing(), func(s *linkage.Spec) { s.Wheel = linkage.Point{11 * unit.Metre, 0, math.MinInt64} }),
			"/wheel/0 out_of_range, /wheel/2 out_of_range"},
		{"on what is not known", with(planar(), func(s *linkage.Spec) { s.Damper.On = "frame" }), "/damper/on unknown_value"},
		{"on a part of another kind", with(axle(), func(s *linkage.Spec) { s.Damper.On = linkage.LowerArm }), "/damper/on not_for_kind"},

		{"damper of no length", inclined(0, 0), "/damper/lower same_place"},
		{"pivot axis of no length", with(trailing(), func(s *linkage.Spec) { s.PivotB = s.PivotA }), "/pivot_b no_axis"},
		{"wheel on the pivot axis", with(trailing(), func(s *linkage.Spec) { s.Wheel = pt(0, 900, 300) }), "/wheel on_axis"},
		{"damper on the pivot axis", with(trailing(), func(s *linkage.Spec) { s.Damper.Lower = pt(0, 100, 300) }), "/damper/lower on_axis"},
		{"wheel under the pivot axis", with(trailing(), func(s *linkage.Spec) { s.Wheel = pt(0, 500, 100) }), "/wheel dead_centre"},
		{"upright pivot axis", with(trailing(), func(s *linkage.Spec) { s.PivotB = pt(0, 300, 400) }), "/wheel dead_centre"},

		{"wheels swapped", with(axle(), func(s *linkage.Spec) { s.Wheels.Left, s.Wheels.Right = s.Wheels.Right, s.Wheels.Left }), "/wheels/left wheels_swapped"},
		{"no track", with(axle(), func(s *linkage.Spec) { s.Wheels.Right = s.Wheels.Left }), "/wheels/left same_place"},
		{"axle on end", with(axle(), func(s *linkage.Spec) { s.Wheels.Left[2] = mm(3000) }), "/wheels/left out_of_range"},

		{"three coordinates in the plane", with(planar(), func(s *linkage.Spec) { s.Wheel = pt(0, 770, 320) }), "/wheel wrong_dimension"},
		{"two coordinates in space", with(spatial(), func(s *linkage.Spec) { s.UpperArm.Outer = pt(670, 510) }), "/upper_arm/outer wrong_dimension"},
		{"in space without a tie rod", with(spatial(), func(s *linkage.Spec) { s.TieRod = linkage.TieRod{} }), "/tie_rod/inner missing, /tie_rod/outer missing"},
		{"one planar arm", with(spatial(), func(s *linkage.Spec) { s.LowerArm = planar().LowerArm }),
			"/lower_arm/front missing, /lower_arm/rear missing, /lower_arm/inner not_for_kind, /lower_arm/outer wrong_dimension"},
		{"arm's axis of no length", with(spatial(), func(s *linkage.Spec) { s.UpperArm.Rear = s.UpperArm.Front }), "/upper_arm/rear no_axis"},
		{"arm of no length", with(planar(), func(s *linkage.Spec) { s.LowerArm.Outer = s.LowerArm.Inner }), "/lower_arm/outer on_axis"},
		{"upright of no length", with(planar(), func(s *linkage.Spec) { s.UpperArm.Outer = s.LowerArm.Outer }), "/upper_arm/outer same_place"},
		{"tie rod of no length", with(spatial(), func(s *linkage.Spec) { s.TieRod.Inner = s.TieRod.Outer }), "/tie_rod/outer same_place"},
		{"tie rod between the joints", with(spatial(), func(s *linkage.Spec) { s.TieRod.Outer = pt(-2.5, 695, 350) }), "/tie_rod/outer on_axis"},
		{"damper on the arm's axis", with(planar(), func(s *linkage.Spec) { s.Damper.Lower = s.LowerArm.Inner }), "/damper/lower on_axis"},
		{"upper arm in line with the upright", with(planar(), func(s *linkage.Spec) {
			s.LowerArm.Outer, s.UpperArm.Outer, s.UpperArm.Inner = pt(720, 200), pt(720, 500), pt(720, 900)
		}), "/upper_arm/outer dead_centre"},
		{"tie rod in line with its lever", with(spatial(), func(s *linkage.Spec) {
			s.LowerArm.Outer, s.UpperArm.Outer = pt(0, 700, 200), pt(0, 700, 500)
			s.TieRod = linkage.TieRod{Outer: pt(-100, 700, 300), Inner: pt(-400, 700, 300)}
		}), "/tie_rod/outer dead_centre"},
		{"arms upright", with(planar(), func(s *linkage.Spec) {
			s.LowerArm = linkage.Arm{Inner: pt(700, 400), Outer: pt(700, 200)}
			s.UpperArm = linkage.Arm{Inner: pt(600, 700), Outer: pt(600, 500)}
			s.Wheel = pt(760, 320)
		}), "/wheel dead_centre"},
		{"several at once", with(spatial(), func(s *linkage.Spec) {
			s.UpperArm.Rear, s.LowerArm.Rear = s.UpperArm.Front, s.LowerArm.Front
			s.Damper.Upper = s.Damper.Lower
		}), "/damper/lower same_place, /lower_arm/rear no_axis, /upper_arm/rear no_axis"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, faults := linkage.New(c.spec)
			var got []string
			for _, f := range faults {
				got = append(got, f.Pointer+" "+f.Code.Public())
				for _, lang := range note.Languages() {
					text := f.Text(lang, unit.Inches)
					if text == "" || text == string(f.Code) || strings.HasSuffix(text, ".") || strings.ContainsAny(text, "{}") {
						t.Errorf("the fault %s reads %q", f.Code, text)
					}
				}
			}
			if g := strings.Join(got, ", "); g != c.want {
				t.Errorf("got  %s\nwant %s", g, c.want)
			}
		})
	}
}

func TestTravelFaults(t *testing.T) {
	in := func(bump, droop float64) linkage.Range { return linkage.Range{Bump: mm(bump), Droop: mm(droop)} }
	for _, c := range []struct {
		name string
		spec linkage.Spec
		opt  linkage.Options
		want string
		says string

		units unit.System // of the words
	}{
		{"no range", axle(), linkage.Options{}, "/range no_travel", "doesn't move", unit.Millimetres},
		{"negative range", axle(), linkage.Options{Range: in(-10, -10)}, "/range/bump out_of_range, /range/droop out_of_range", "without a sign", unit.Millimetres},
		{"one point", axle(), linkage.Options{Range: in(50, 50), Points: 1}, "/points out_of_range", "2 to 1001", unit.Millimetres},
		{"1002 points", axle(), linkage.Options{Range: in(50, 50), Points: 1002}, "/points out_of_range", "2 to 1001", unit.Millimetres},
		{"points and list", axle(), linkage.Options{Range: in(50, 50), Points: 3, At: []unit.Length{0}}, "/points contradiction", "not both", unit.Millimetres},
		{"1002 listed", axle(), linkage.Options{Range: in(50, 50), At: make([]unit.Length, 1002)}, "/at out_of_range", "1001", unit.Millimetres},
		{"poses of no axle", trailing(), linkage.Options{Range: in(50, 50), Poses: []linkage.Pose{{}}}, "/poses not_for_kind", "axle", unit.Millimetres},
		{"1002 poses", axle(), linkage.Options{Range: in(50, 50), Poses: make([]linkage.Pose, 1002)}, "/poses out_of_range", "1001", unit.Millimetres},
		{"roll", axle(), linkage.Options{Range: in(50, 50), Poses: []linkage.Pose{{RollDeg: 1}, {RollDeg: 90}, {RollDeg: math.NaN()}}},
			"/poses/1/roll_deg out_of_range, /poses/2/roll_deg out_of_range", "90 degrees", unit.Millimetres},
		{"heave", axle(), linkage.Options{Range: in(50, 50), Poses: []linkage.Pose{{Heave: 11 * unit.Metre}}}, "/poses/0/heave out_of_range", "10 m", unit.Millimetres},
		{"beyond reach", trailing(), linkage.Options{Range: in(510, 620)}, "/range/bump unreachable, /range/droop unreachable", "from -499.999 mm to 499.999 mm", unit.Millimetres},
		{"beyond reach, in inches", trailing(), linkage.Options{Range: in(508, 50)}, "/range/bump unreachable",
			"20 in of wheel travel can't be reached: before that the wheel centre is at the top of its circle about the pivot axis; it can be from -19.685 in to 19.685 in", unit.Inches},
		{"listed beyond reach", trailing(), linkage.Options{Range: in(50, 50), At: []unit.Length{0, mm(-700)}}, "/at/1 unreachable", "-700 mm", unit.Millimetres},
		{"axle wider than its wheels are apart", axle(), linkage.Options{Range: in(800, 750)}, "/range unreachable", "stand on end", unit.Millimetres},
		{"through its own end", inclined(0, 200), linkage.Options{Range: in(250, 10)}, "/range/bump unreachable", "two ends meet", unit.Millimetres},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, faults := mustNew(t, c.spec).Travel(c.opt)
			var got []string
			said := false
			for _, f := range faults {
				got = append(got, f.Pointer+" "+f.Code.Public())
				said = said || strings.Contains(f.Text("en", c.units), c.says)
			}
			if g := strings.Join(got, ", "); g != c.want {
				t.Errorf("got  %s\nwant %s", g, c.want)
			}
			if !said {
				t.Errorf("nothing of %q in %v", c.says, faults)
			}
		})
	}
}

// TestMeetsWithinRange: the axle's damper stands upright above its lower end
// and is overrun with one wheel alone.
func TestMeetsWithinRange(t *testing.T) {
	s := axle()
	s.Damper = linkage.Damper{Upper: pt(0, 500, 380), Lower: pt(0, 500, 340)}
	l := mustNew(t, s)
	_, faults := l.Travel(linkage.Options{Range: linkage.Range{Bump: mm(39), Droop: mm(80)}})
	if len(faults) != 0 {
		t.Fatalf("%v", faults)
	}
	s.Damper.Upper = pt(0, 498, 380)
	_, faults = mustNew(t, s).Travel(linkage.Options{Range: linkage.Range{Bump: mm(140), Droop: mm(120)}})
	if len(faults) != 1 || faults[0].Code.Public() != "no_length" || faults[0].Pointer != "/range" {
		t.Fatalf("%v", faults)
	}
}
