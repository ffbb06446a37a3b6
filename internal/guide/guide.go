// Package guide tells how to measure the place of a damper. For a pair of ends and the
// planes that the tape is held to, it gives the steps in the order in which they are
// done at the vehicle, and the fields of a request that each step fills in.
package guide

import (
	"midstroke/internal/fault"
	"midstroke/internal/mount"
	"midstroke/internal/note"
)

// End is one end of the place on the vehicle and what the tape is held to
// there.
type End struct {
	Style mount.Style
	// Plane is one that the style has; mount.StylesOwn is the style's own
	// reference.
	Plane mount.Plane
}

// Guide is how to measure one pair of ends.
type Guide struct {
	// Upper and Lower are the ends, with the plane that was chosen or the
	// style's own; mount.StylesOwn for a style outside the method.
	Upper, Lower End
	// Outside says why the method can't be used, with a reason for each end that is
	// outside it. If there is a reason, Steps say what to do instead.
	Outside []note.Note
	Steps   []Step
	// Cautions are to be read before the first step.
	Cautions []note.Note
}

// Step is one thing to do.
type Step struct {
	note.Note
	// Fields are those of a fits request that the step fills in, as dotted paths
	// ("upper.bolt"); none where the step only says what to do.
	Fields []string
}

// For gives the guide for a pair of ends. Its faults are a style that is
// missing and a plane that the style doesn't have, with pointers as in a fits
// request ("/upper/style", "/lower/measured_to"); then the guide is empty.
func For(upper, lower End) (Guide, fault.List) {
	var faults fault.List
	faults.AddUnder("/upper", mount.CheckPlane(upper.Style, upper.Plane))
	faults.AddUnder("/lower", mount.CheckPlane(lower.Style, lower.Plane))
	if len(faults) > 0 {
		return Guide{}, faults
	}
	g := Guide{
		Upper: End{upper.Style, upper.Plane.Or(upper.Style)},
		Lower: End{lower.Style, lower.Plane.Or(lower.Style)},
	}
	g.Cautions = g.cautions()
	ends := [2]side{{"upper", "lower", g.Upper}, {"lower", "upper", g.Lower}}
	if g.Upper.Style.Outside() || g.Lower.Style.Outside() {
		g.Outside, g.Steps = outsideAdvice(ends)
	} else {
		g.Steps = steps(ends)
	}
	return g, nil
}

// Holds gives, for the upper and the lower end, the step that says what the
// tape is held to: what a drawing shows. None outside the method.
func (g *Guide) Holds() []note.Note {
	if len(g.Outside) > 0 {
		return nil
	}
	return []note.Note{
		side{"upper", "lower", g.Upper}.hold().Note,
		side{"lower", "upper", g.Lower}.hold().Note,
	}
}

func (g *Guide) cautions() []note.Note {
	cautions := []note.Note{note.New("support_vehicle"), note.New("guide_nobody_aboard")}
	if g.Upper.Style == mount.SpindleStrut || g.Lower.Style == mount.SpindleStrut {
		cautions = append(cautions, note.New("guide_spring_under_load"))
	}
	if g.Upper.Style.Outside() || g.Lower.Style.Outside() {
		cautions = append(cautions, note.New("gas_charge"))
	}
	return cautions
}

// outsideAdvice says what to do about ends that are outside the method.
func outsideAdvice(ends [2]side) (why []note.Note, steps []Step) {
	done := map[mount.Style]bool{}
	for _, s := range ends {
		if !s.Style.Outside() {
			continue
		}
		why = append(why, note.New(note.Code(s.Style.String()+"_end"), s.word()))
		if done[s.Style] {
			continue
		}
		done[s.Style] = true
		if s.Style == mount.Fork {
			steps = append(steps, newStep("guide_fork_lug"), newStep("guide_fork_lengths"))
		} else {
			steps = append(steps, newStep("guide_strut_parts_list"), newStep("guide_strut_alignment"))
		}
	}
	return why, append(steps, newStep("guide_both_sides_alike"))
}

func newStep(code note.Code, values ...note.Value) Step { return Step{Note: note.New(code, values...)} }

// gives says which fields a step gives.
func (s Step) gives(fields ...string) Step {
	s.Fields = fields
	return s
}
