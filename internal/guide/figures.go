package guide

import (
	"slices"
	"strings"

	"midstroke/internal/fault"
	"midstroke/internal/mount"
	"midstroke/internal/note"
)

// Figure is a figure of a request that has a drawing of how it is measured.
type Figure struct {
	// Name is its flat name in a request, as "upper_opening" or "lean_deg".
	Name string
	// End is the end that it is of, with Lower saying which; the zero End for a
	// figure of the whole vehicle.
	End   End
	Lower bool
	// Of is its name without the end's.
	Of string
}

// figureNotOfStyle says that an end's style has no such figure.
const figureNotOfStyle fault.Code = "not_of_this_style.figure"

// endFigures are the figures of an end that are drawn, for each style.
var endFigures = []struct {
	style   mount.Style
	figures []string
}{
	{mount.Eye, []string{"bolt", "opening", "plate"}},
	{mount.Stud, []string{"frame_hole", "frame_thickness", "plate", "bushing_thickness", "washer_thickness", "stud_length"}},
	{mount.BarPin, []string{"hole_spacing", "bar_offset", "plate"}},
}

// vehicleFigures are those of the whole vehicle.
var vehicleFigures = []string{"condition_arch_gap", "lean_deg", "sideways_offset", "motion_ratio"}

var endNames = [2]string{"upper", "lower"}

// Figures lists the names of all figures that are drawn.
func Figures() []string {
	var names []string
	for _, end := range endNames {
		for _, of := range endFigures {
			for _, name := range of.figures {
				if full := end + "_" + name; !slices.Contains(names, full) {
					names = append(names, full)
				}
			}
		}
	}
	return append(names, vehicleFigures...)
}

// FigureNames lists the names of the figures that this pair of ends has a drawing
// of; none outside the method.
func (g *Guide) FigureNames() []string {
	if len(g.Outside) > 0 {
		return nil
	}
	return slices.DeleteFunc(Figures(), func(name string) bool {
		_, faults := g.FigureNamed(name)
		return len(faults) > 0
	})
}

// FigureNamed gives the figure of a name that Figures lists, for this pair of
// ends. The fault is that the end's style has no such figure.
func (g *Guide) FigureNamed(name string) (Figure, fault.List) {
	for i, end := range endNames {
		of, isOfEnd := strings.CutPrefix(name, end+"_")
		if !isOfEnd {
			continue
		}
		f := Figure{Name: name, End: [2]End{g.Upper, g.Lower}[i], Lower: end == "lower", Of: of}
		for _, s := range endFigures {
			if s.style == f.End.Style && slices.Contains(s.figures, of) {
				return f, nil
			}
		}
		var faults fault.List
		faults.Add("/figure", figureNotOfStyle, note.Word("style", f.End.Style.String()))
		return Figure{}, faults
	}
	return Figure{Name: name, Of: name}, nil
}
