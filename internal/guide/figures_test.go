package guide_test

import (
	"slices"
	"testing"

	"midstroke/internal/guide"
	"midstroke/internal/mount"
)

// TestFiguresOfEachStyle: an end has the figures of its style and no others. The list
// is the contract's.
func TestFiguresOfEachStyle(t *testing.T) {
	has := map[mount.Style][]string{
		mount.Eye:    {"bolt", "opening", "plate"},
		mount.Stud:   {"frame_hole", "frame_thickness", "plate", "bushing_thickness", "washer_thickness", "stud_length"},
		mount.BarPin: {"hole_spacing", "bar_offset", "plate"},
		mount.Fork:   {},
	}
	for style, figures := range has {
		g, faults := guide.For(guide.End{Style: style}, guide.End{Style: mount.Eye})
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		for _, of := range []string{"bolt", "opening", "plate", "frame_hole", "frame_thickness", "bushing_thickness", "washer_thickness", "stud_length", "hole_spacing", "bar_offset"} {
			f, faults := g.FigureNamed("upper_" + of)
			if want := slices.Contains(figures, of); want != (len(faults) == 0) {
				t.Errorf("%v: %s has the faults %v, want some: %t", style, of, faults, !want)
			} else if want && (f.Of != of || f.Lower || f.End.Style != style) {
				t.Errorf("%v: %s is %+v", style, of, f)
			}
		}
		f, faults := g.FigureNamed("lower_opening")
		if len(faults) > 0 || !f.Lower || f.End.Style != mount.Eye {
			t.Errorf("lower_opening is %+v with the faults %v", f, faults)
		}
		// Two ends' figures and the vehicle's four; none outside the method.
		names, want := g.FigureNames(), len(figures)+3+4
		if style.Outside() {
			want = 0
		}
		if len(names) != want {
			t.Errorf("%v: the figures are %v, want %d", style, names, want)
		}
		if f, faults := g.FigureNamed("lean_deg"); len(faults) > 0 || f.Of != "lean_deg" {
			t.Errorf("lean_deg is %+v with the faults %v", f, faults)
		}
	}
}

// TestFiguresAreListedOnce counts ten figures of each end and four of the vehicle.
func TestFiguresAreListedOnce(t *testing.T) {
	names := guide.Figures()
	sorted := slices.Clone(names)
	slices.Sort(sorted)
	if len(names) != 24 || len(slices.Compact(sorted)) != 24 {
		t.Errorf("%d figures: %v", len(names), names)
	}
}
