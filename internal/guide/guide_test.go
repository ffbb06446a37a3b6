package guide_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"midstroke/internal/fault"
	"midstroke/internal/guide"
	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// everyEnd is every style with every plane that it has, its own unnamed too.
func everyEnd() []guide.End {
	var all []guide.End
	for _, name := range mount.Styles.All() {
		style, _ := mount.Styles.Parse(name)
		all = append(all, guide.End{Style: style})
		for _, p := range style.Planes() {
			all = append(all, guide.End{Style: style, Plane: p})
		}
	}
	return all
}

// each calls f with the guide of every pair of ends.
func each(t *testing.T, f func(t *testing.T, g guide.Guide)) {
	t.Helper()
	pairs := 0
	for _, upper := range everyEnd() {
		for _, lower := range everyEnd() {
			g, faults := guide.For(upper, lower)
			if len(faults) > 0 {
				t.Fatalf("%v over %v: %v", upper, lower, faults)
			}
			f(t, g)
			pairs++
		}
	}
	if want := 14 * 14; pairs != want { // 9 planes and 5 styles' own
		t.Errorf("%d pairs, want %d", pairs, want)
	}
}

func codes(steps []guide.Step) []string {
	all := make([]string, len(steps))
	for i, s := range steps {
		all[i] = string(s.Code)
	}
	return all
}

// TestEveryTextIsThere: every note of every pair has words in every language,
// with every gap filled, and no words are there that nothing says.
func TestEveryTextIsThere(t *testing.T) {
	said := map[string]bool{}
	each(t, func(t *testing.T, g guide.Guide) {
		notes := slices.Concat(g.Outside, g.Cautions, g.Holds())
		for _, s := range g.Steps {
			notes = append(notes, s.Note)
		}
		for _, n := range notes {
			said[string(n.Code)] = true
			for _, lang := range note.Languages() {
				if _, ok := note.Template(lang, n.Code); !ok {
					t.Errorf("%s has no words in %s", n.Code, lang)
				}
				if text := n.Text(lang, unit.Inches); strings.ContainsAny(text, "{}_") {
					t.Errorf("%s reads %q", n.Code, text)
				}
			}
		}
	})
	eyes, _ := guide.For(guide.End{Style: mount.Eye}, guide.End{Style: mount.Eye})
	_, faults := eyes.FigureNamed("upper_stud_length")
	for _, f := range faults {
		said[string(f.Code)], said[string(f.Code)+"/cure"] = true, true
	}
	for _, e := range note.Entries() {
		if e.Package == "guide" && !said[e.Code] {
			t.Errorf("nothing says %s", e.Code)
		}
	}
}

// TestStepsGiveWhatMeasureNeeds: whoever does every step and fills in its
// fields has all that the planes need, and nothing is asked for that the end
// hasn't.
func TestStepsGiveWhatMeasureNeeds(t *testing.T) {
	each(t, func(t *testing.T, g guide.Guide) {
		if len(g.Outside) > 0 {
			return
		}
		var fields []string
		for _, s := range g.Steps {
			fields = append(fields, s.Fields...)
		}
		r := measure.Readings{
			Readings: []measure.Reading{{Length: 400 * unit.Millimetre}},
			Upper:    fill(g.Upper, "upper", fields), Lower: fill(g.Lower, "lower", fields),
		}
		w, faults := measure.WorkingLength(r)
		if len(faults) > 0 || w.Value <= 0 {
			t.Errorf("%v over %v, all steps done: %v", g.Upper, g.Lower, faults)
		}
		if slices.ContainsFunc(w.Cautions, func(n note.Note) bool { return n.Code == "assumed_values" }) {
			t.Errorf("%v over %v: something had to be assumed", g.Upper, g.Lower)
		}
	})
}

// fill makes an end's reading with every figure that a step gave.
func fill(e guide.End, name string, fields []string) measure.EndReading {
	given := func(field string, l unit.Length) unit.Length {
		if slices.Contains(fields, name+"."+field) {
			return l
		}
		return 0
	}
	const mm = unit.Millimetre
	r := measure.EndReading{
		Style: e.Style, Plane: e.Plane,
		BoltDiameter:     given("bolt", 12*mm),
		BushingThickness: given("bushing_thickness", 10*mm),
		WasherThickness:  given("washer_thickness", 2*mm),
		Plate:            given("plate", 4*mm),
		StudLength:       given("stud_length", 50*mm),
	}
	if offset := given("bar_offset", 15*mm); offset != 0 {
		r.BarOffset = &offset
	}
	return r
}

// TestFieldsBelongToTheirEnds: the figures asked for of an end are those that a
// fits request takes for its style. The table is the contract's.
func TestFieldsBelongToTheirEnds(t *testing.T) {
	bracket := []string{"style", "measured_to", "bolt", "opening", "plate", "shear"}
	takes := map[mount.Style][]string{
		mount.Eye:    bracket,
		mount.Stud:   append([]string{"bushing_thickness", "washer_thickness", "stud_length", "frame_hole", "frame_thickness"}, bracket...),
		mount.BarPin: append([]string{"bar_offset", "hole_spacing"}, bracket...),
	}
	each(t, func(t *testing.T, g guide.Guide) {
		asked := map[string]int{}
		for _, s := range g.Steps {
			for _, f := range s.Fields {
				if end, field, ok := strings.Cut(f, "."); ok && (end == "upper" || end == "lower") {
					style := map[string]mount.Style{"upper": g.Upper.Style, "lower": g.Lower.Style}[end]
					if !slices.Contains(takes[style], field) {
						t.Errorf("an end of style %s is asked for %s", style, f)
					}
					if asked[f]++; asked[f] > 1 {
						t.Errorf("%v over %v: %s is asked for twice", g.Upper, g.Lower, f)
					}
				}
			}
		}
	})
}

// TestWhatMattersIsAsked names the steps that a plane brings with it.
func TestWhatMattersIsAsked(t *testing.T) {
	for _, c := range []struct {
		end             guide.End
		hold, need, not string
	}{
		{guide.End{Style: mount.Eye}, "guide_hold_bolt_centre", "guide_bolt", "guide_need_bolt"},
		{guide.End{Style: mount.Eye, Plane: mount.NearEdge}, "guide_hold_near_edge", "guide_need_bolt", "guide_bolt"},
		{guide.End{Style: mount.Eye, Plane: mount.FarEdge}, "guide_hold_far_edge", "guide_need_bolt", "guide_bolt"},
		{guide.End{Style: mount.Stud}, "guide_hold_inner_washer_lower", "guide_frame_hole_and_thickness", "guide_need_stack"},
		{guide.End{Style: mount.Stud, Plane: mount.FrameFace}, "guide_hold_frame_face", "guide_need_stack", "guide_opening"},
		{guide.End{Style: mount.Stud, Plane: mount.FrameFarFace}, "guide_hold_frame_far_face", "guide_need_stack_and_plate", "guide_frame_hole_and_thickness"},
		{guide.End{Style: mount.Stud, Plane: mount.StudTip}, "guide_hold_stud_tip", "guide_need_stud_length", "guide_need_stack"},
		{guide.End{Style: mount.BarPin}, "guide_hold_bar_centre", "guide_bar_bolts", "guide_need_bar_offset"},
		{guide.End{Style: mount.BarPin, Plane: mount.SeatFace}, "guide_hold_seat_face", "guide_need_bar_offset", "guide_opening"},
	} {
		upper := guide.End{Style: mount.Stud}
		if c.not == "guide_frame_hole_and_thickness" {
			upper = guide.End{Style: mount.Eye} // which doesn't bring it
		}
		g, _ := guide.For(upper, c.end)
		got := codes(g.Steps)
		if !slices.Contains(got, c.hold) || !slices.Contains(got, c.need) || slices.Contains(got, c.not) {
			t.Errorf("%v: %v", c.end, got)
		}
	}
}

// TestTheFiguresAreThoseOfMeasure: what the steps say of limits and
// assumptions is what measure does.
func TestTheFiguresAreThoseOfMeasure(t *testing.T) {
	g, _ := guide.For(guide.End{Style: mount.Stud, Plane: mount.FrameFace}, guide.End{Style: mount.Eye})
	figures := map[string]unit.Length{}
	for _, s := range g.Steps {
		for _, v := range s.Values {
			if v.Kind == note.AsLength {
				figures[string(s.Code)+"."+v.Name] = v.Length
			}
		}
	}
	at := func(readings ...measure.Reading) measure.Working {
		w, faults := measure.WorkingLength(measure.Readings{
			Readings: readings,
			Upper:    measure.EndReading{Style: mount.Stud, Plane: mount.FrameFace}, Lower: measure.EndReading{Style: mount.Eye},
		})
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		return w
	}
	const taped = 400 * unit.Millimetre
	w := at(measure.Reading{Length: taped})
	stack, off := figures["guide_need_stack.stack"], figures["guide_need_stack.tolerance"]
	if w.Value != taped-stack || w.Value-w.Low != off+figures["guide_tolerance.tolerance"] {
		t.Errorf("measure makes %v, from %v, of %v with %v", w.Value, w.Low, taped, figures)
	}
	for name, sides := range map[string][2]measure.Side{
		"repeats": {measure.Left, measure.Left}, "sides": {measure.Left, measure.Right},
	} {
		limit := figures["guide_both_sides_twice."+name]
		first := measure.Reading{Length: taped, Side: sides[0]}
		if got := at(first, measure.Reading{Length: taped + limit, Side: sides[1]}).Verdict; got != measure.Measured {
			t.Errorf("%s %v apart: %v", name, limit, got)
		}
		if got := at(first, measure.Reading{Length: taped + limit + 1, Side: sides[1]}).Verdict; got != measure.MeasureAgain {
			t.Errorf("%s a nanometre more than %v apart: %v", name, limit, got)
		}
	}
}

// TestTheLowerMountIsNoFrame: the lower end is on the axle or an arm. In Spanish
// "bastidor" is the frame.
func TestTheLowerMountIsNoFrame(t *testing.T) {
	each(t, func(t *testing.T, g guide.Guide) {
		for _, s := range g.Steps {
			of := slices.IndexFunc(s.Values, func(v note.Value) bool { return v.Name == "end" && v.Text == "lower" })
			for lang, frame := range map[string]string{"en": "frame", "es": "bastidor"} {
				if text := s.Text(lang, unit.Millimetres); of >= 0 && strings.Contains(text, frame) {
					t.Errorf("of the lower end: %s", text)
				}
			}
		}
	})
}

// TestDroopIsTapedWithoutTheOldDamper: with it, droop ends where the old damper
// does.
func TestDroopIsTapedWithoutTheOldDamper(t *testing.T) {
	g, _ := guide.For(guide.End{Style: mount.Eye}, guide.End{Style: mount.Eye})
	for _, s := range g.Steps {
		text := s.Text("en", unit.Inches)
		if slices.Contains(s.Fields, "travel.at_droop") && (!strings.Contains(text, "disconnect the old damper") || !strings.Contains(text, "on a stand")) {
			t.Errorf("droop is taped as: %s", text)
		}
		if strings.Contains(text, "wheels hanging") {
			t.Errorf("the old damper is measured: %s", text)
		}
	}
}

// TestOutsideTheMethod: the reasons are the ones that measure gives, and no
// tape is spoken of.
func TestOutsideTheMethod(t *testing.T) {
	each(t, func(t *testing.T, g guide.Guide) {
		end := func(e guide.End) measure.EndReading { return measure.EndReading{Style: e.Style} }
		w, _ := measure.WorkingLength(measure.Readings{
			Readings: []measure.Reading{{Length: 400 * unit.Millimetre}}, Upper: end(g.Upper), Lower: end(g.Lower),
		})
		if fmt.Sprint(w.Reasons) != fmt.Sprint(g.Outside) {
			t.Errorf("%v over %v: measure says %v, the guide %v", g.Upper, g.Lower, w.Reasons, g.Outside)
		}
		tape := slices.Contains(codes(g.Steps), "guide_tape")
		if tape != (len(g.Outside) == 0) || (len(g.Holds()) == 2) != tape {
			t.Errorf("%v over %v: %v", g.Upper, g.Lower, codes(g.Steps))
		}
		if len(g.Steps) == 0 || g.Cautions[0].Code != "support_vehicle" {
			t.Errorf("%v over %v: %v, cautions %v", g.Upper, g.Lower, codes(g.Steps), g.Cautions)
		}
		spindle := g.Upper.Style == mount.SpindleStrut || g.Lower.Style == mount.SpindleStrut
		if spindle != slices.ContainsFunc(g.Cautions, func(n note.Note) bool { return n.Code == "guide_spring_under_load" }) {
			t.Errorf("%v over %v: cautions %v", g.Upper, g.Lower, g.Cautions)
		}
	})
}

func TestFaults(t *testing.T) {
	for name, c := range map[string]struct {
		upper, lower guide.End
		want         []string
	}{
		"nothing given": {guide.End{}, guide.End{}, []string{"/upper/style missing", "/lower/style missing"}},
		"planes of another style": {
			guide.End{Style: mount.Eye, Plane: mount.StudTip}, guide.End{Style: mount.Stud, Plane: mount.BarCentre},
			[]string{"/upper/measured_to wrong_plane", "/lower/measured_to wrong_plane"},
		},
		"a plane of an end without": {
			guide.End{Style: mount.Stud}, guide.End{Style: mount.Fork, Plane: mount.BoltCentre},
			[]string{"/lower/measured_to wrong_plane"},
		},
	} {
		t.Run(name, func(t *testing.T) {
			g, faults := guide.For(c.upper, c.lower)
			if got := places(faults); !slices.Equal(got, c.want) {
				t.Errorf("got %v, want %v", got, c.want)
			}
			if len(g.Steps) > 0 {
				t.Error("a guide came with faults")
			}
		})
	}
}

func places(faults fault.List) []string {
	var all []string
	for _, f := range faults {
		all = append(all, f.Pointer+" "+f.Code.Public())
	}
	return all
}

func ExampleFor() {
	g, _ := guide.For(
		guide.End{Style: mount.Stud, Plane: mount.FrameFace},
		guide.End{Style: mount.Eye})
	for _, s := range g.Steps[5:9] {
		fmt.Println("-", s.Text("en", unit.Inches), s.Fields)
	}
	// Output:
	// - At the upper stud, hold the tape to the frame itself, between the two bushings, on the side that faces down, towards the damper. [upper.measured_to]
	// - At the upper stud, measure the bushing between the frame and the damper as the nut has squeezed it, and the washer beside it. If you can't reach them, 1/2 in is assumed for the two together, give or take 1/8 in. [upper.bushing_thickness upper.washer_thickness]
	// - At the lower end, hold the tape to the centre of the bolt through the eye. [lower.measured_to]
	// - Pull the tape straight along the line of the damper from the one place to the other, taut and without a bend. Read it as it is and don't round. [readings]
}

func BenchmarkFor(b *testing.B) {
	for range b.N {
		if _, faults := guide.For(guide.End{Style: mount.Stud}, guide.End{Style: mount.BarPin}); len(faults) > 0 {
			b.Fatal(faults)
		}
	}
}
