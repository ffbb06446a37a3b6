package guide

import (
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// The figures that the steps tell. All are common practice, without a source.
// Package measure judges readings by the same ones, and a test compares the two.
const (
	timesASide    = 2
	repeatsWithin = unit.Inch / 4 // readings of one side
	sidesWithin   = unit.Inch / 2 // left and right
	tapeTolerance = unit.Inch / 8 // of tape and eye, where none is given
	usualStack    = unit.Inch / 2 // bushing and washer of a stud together
	usualStackOff = unit.Inch / 8
)

// steps are all that is done for a pair of ends, in order: stand the vehicle,
// look, tape, note the hardware, find the travel.
func steps(ends [2]side) []Step {
	all := []Step{
		newStep("guide_park").gives("condition.state"),
		newStep("guide_support"),
		newStep("guide_old_damper").gives("old_damper.at_stop", "old_damper.carries_load"),
	}
	for _, s := range ends {
		all = append(all, s.recognise())
	}
	for _, s := range ends {
		all = append(all, s.hold())
		if more, needed := s.needs(); needed {
			all = append(all, more)
		}
	}
	all = append(all,
		newStep("guide_tape").gives("readings"),
		newStep("guide_both_sides_twice", note.Num("times", timesASide, ""),
			note.AtMost("repeats", repeatsWithin), note.AtMost("sides", sidesWithin)).gives("readings"),
		newStep("guide_tolerance", note.Len("tolerance", tapeTolerance)).gives("reading_tolerance"),
		newStep("guide_in_the_way").gives("tape", "sideways_offset"),
		newStep("guide_not_at_ride").gives("condition.state", "condition.arch_gap", "condition.arch_gap_at_ride", "motion_ratio"),
	)
	for _, s := range ends {
		all = append(all, s.hardware()...)
	}
	return append(all,
		newStep("guide_suspension").gives("suspension"),
		newStep("guide_travel").gives("travel.basis", "travel.at_bump"),
		newStep("guide_droop").gives("travel.at_droop"),
		newStep("guide_room").gives("limits.max_body_diameter", "lean_deg"),
		newStep("guide_planned_change").gives("planned_change", "motion_ratio"),
	)
}

// side is one of the two ends with its name and the other's.
type side struct {
	name, other string
	End
}

func (s side) word() note.Value { return note.Word("end", s.name) }

// say makes a step of this end.
func (s side) say(code note.Code, values ...note.Value) Step {
	return newStep(code, append([]note.Value{s.word()}, values...)...)
}

// field is the path of a field of this end.
func (s side) field(name string) string { return s.name + "." + name }

// mount is what the end is fastened to: the upper one to the frame, the lower one
// to the axle or an arm.
func (s side) mount() note.Value {
	if s.name == "upper" {
		return note.Word("mount", "frame")
	}
	return note.Word("mount", "axle_or_arm")
}

// facing says which way a surface of this end faces that faces the damper.
func (s side) facing() note.Value {
	if s.name == "upper" {
		return note.Word("facing", "down")
	}
	return note.Word("facing", "up")
}

// recognise says what the end should look like.
func (s side) recognise() Step {
	return s.say(note.Code("guide_is_"+s.Style.String()), s.mount()).gives(s.field("style"))
}

// hold says what the tape is held to. The trade's "underside of the lowest
// washer" is the damper's own reference at a top stud alone. At a bottom stud that
// washer is wrong by the whole stack.
func (s side) hold() Step {
	other := note.Word("other", s.other)
	var step Step
	switch s.Plane {
	case mount.InnerWasher:
		step = s.say(note.Code("guide_hold_inner_washer_" + s.name))
	case mount.FrameFace:
		step = s.say("guide_hold_frame_face", s.mount(), s.facing())
	case mount.FrameFarFace:
		step = s.say("guide_hold_frame_far_face", s.mount())
	case mount.NearEdge, mount.FarEdge, mount.SeatFace:
		step = s.say(note.Code("guide_hold_"+s.Plane.String()), other)
	case mount.StylesOwn, mount.BoltCentre, mount.BarCentre, mount.StudTip:
		step = s.say(note.Code("guide_hold_" + s.Plane.String()))
	}
	return step.gives(s.field("measured_to"))
}

// needs says which figure leads from the plane to the damper's own reference; false
// where the two are one.
func (s side) needs() (Step, bool) {
	stack := []note.Value{s.mount(), note.Len("stack", usualStack), note.Len("tolerance", usualStackOff)}
	parts := []string{s.field("bushing_thickness"), s.field("washer_thickness")}
	switch s.Plane {
	case mount.NearEdge, mount.FarEdge:
		return s.say("guide_need_bolt").gives(s.field("bolt")), true
	case mount.SeatFace:
		return s.say("guide_need_bar_offset", note.Word("other", s.other)).gives(s.field("bar_offset")), true
	case mount.FrameFace:
		return s.say("guide_need_stack", stack...).gives(parts...), true
	case mount.FrameFarFace:
		return s.say("guide_need_stack_and_plate", stack...).gives(append(parts, s.field("plate"))...), true
	case mount.StudTip:
		return s.say("guide_need_stud_length").gives(s.field("stud_length")), true
	case mount.StylesOwn, mount.BoltCentre, mount.BarCentre, mount.InnerWasher:
	}
	return Step{}, false
}

// hardware says what to note of the bracket, for sleeves, spacers and bolts. What
// needs has asked for isn't asked for again.
func (s side) hardware() []Step {
	switch s.Style {
	case mount.Eye:
		var all []Step
		if s.Plane == mount.BoltCentre {
			all = append(all, s.say("guide_bolt").gives(s.field("bolt")))
		}
		return append(all,
			s.say("guide_opening").gives(s.field("opening"), s.field("plate"), s.field("shear")))
	case mount.Stud:
		if s.Plane == mount.FrameFarFace {
			return []Step{s.say("guide_frame_hole", s.mount()).gives(s.field("frame_hole"))}
		}
		return []Step{s.say("guide_frame_hole_and_thickness", s.mount()).gives(s.field("frame_hole"), s.field("frame_thickness"))}
	case mount.BarPin:
		return []Step{s.say("guide_bar_bolts").gives(s.field("hole_spacing"), s.field("bolt"), s.field("plate"))}
	case mount.NoStyle, mount.Fork, mount.SpindleStrut:
	}
	return nil
}
