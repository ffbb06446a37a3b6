package mount

import (
	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

var studMethod = method{
	style:  Stud,
	planes: []Plane{InnerWasher, FrameFace, FrameFarFace, StudTip},
	boltUp: (*Shelf).stud,
	mates: func(_ *Limits, from, end *End) bool {
		return (from.Thread == Thread{} || from.Thread == end.Thread) && from.UsableLength <= end.UsableLength
	},
	check: func(e *End, faults *fault.List) {
		if e.Spigot > 0 && e.Spigot <= e.Thread.Diameter {
			faults.Add("/spigot", spigotTooSmall)
		}
	},
}

// LayerKind names what lies on a stud.
type LayerKind string

// The layers.
const (
	WasherLayer  LayerKind = "washer"
	BushingLayer LayerKind = "bushing"
	FrameLayer   LayerKind = "frame"
	NutLayer     LayerKind = "nut"
	ShowingLayer LayerKind = "threads_showing"
)

// Layer is one thing on a stud, with where it begins and how thick it is. The
// distance runs from the shoulder that the innermost washer rests on, away from
// the damper.
type Layer struct {
	Kind      LayerKind
	From      unit.Length
	Thickness unit.Length
}

// studStack draws the stack of a stud in order: washer, bushing, frame,
// bushing, washer, nut, and the threads that must show. The two bushings are
// alike, and so are the washers. Without both thicknesses a bushing and its
// washer count together as BushingAndWasher, and one layer stands for the two;
// assumed says so. It is nil where the frame's thickness or the thread's nut
// isn't known.
func studStack(end *End, bracket *Bracket) (stack []Layer, assumed bool) {
	size := end.Thread.size()
	if bracket.FrameThickness == 0 || size == nil {
		return nil, false
	}
	inner := []Layer{{Kind: WasherLayer, Thickness: bracket.Washer}, {Kind: BushingLayer, Thickness: bracket.Bushing}}
	outer := []Layer{inner[1], inner[0]}
	if bracket.Washer == 0 || bracket.Bushing == 0 {
		inner = []Layer{{Kind: BushingLayer, Thickness: BushingAndWasher}}
		outer, assumed = inner, true
	}
	stack = append(stack, inner...)
	stack = append(stack, Layer{Kind: FrameLayer, Thickness: bracket.FrameThickness})
	stack = append(stack, outer...)
	stack = append(stack, Layer{Kind: NutLayer, Thickness: size.nut}, Layer{Kind: ShowingLayer, Thickness: showing * end.Thread.Pitch})
	var from unit.Length
	for i := range stack {
		stack[i].From = from
		from += stack[i].Thickness
	}
	return stack, assumed
}

// stackHeight is how much of the stud a stack takes.
func stackHeight(stack []Layer) unit.Length {
	if len(stack) == 0 {
		return 0
	}
	last := stack[len(stack)-1]
	return last.From + last.Thickness
}

// BushingAndWasher is what one rubber bushing, compressed, and its washer take
// on a stud where one of them isn't known: 1/2 in, common practice, no source.
// One known part is never mixed with a guess of the other.
const BushingAndWasher = unit.Inch / 2

// studFit is what can be judged of a stud in a frame. Each figure stands where
// its known says so.
type studFit struct {
	// spigotGap is the frame's hole less the bushing's spigot.
	spigotGap   unit.Length
	spigotKnown bool
	// studGap is the frame's hole less the stud. It is judged where no spigot is
	// known: a spigot lies around the stud and is larger, so a stud that doesn't
	// go in settles the matter. A stud that goes in settles nothing.
	studGap   unit.Length
	studKnown bool
	// spare is the usable length less the stack.
	spare      unit.Length
	spareKnown bool
	stack      []Layer
	assumed    bool
}

func fitStud(end *End, bracket *Bracket) studFit {
	f := studFit{}
	f.stack, f.assumed = studStack(end, bracket)
	if bracket.FrameHole != 0 {
		f.spigotGap, f.spigotKnown = bracket.FrameHole-end.Spigot, end.Spigot != 0
		f.studGap, f.studKnown = bracket.FrameHole-end.Thread.Diameter, end.Spigot == 0 && end.Thread != Thread{}
	}
	if f.stack != nil && end.UsableLength != 0 {
		f.spare, f.spareKnown = end.UsableLength-stackHeight(f.stack), true
	}
	return f
}

func (f *studFit) possible() bool {
	return (!f.spigotKnown || between(f.spigotGap, 0, SpigotGapMost)) &&
		(!f.studKnown || f.studGap >= 0) &&
		(!f.spareKnown || f.spare >= 0)
}

// stud bolts a stud up: its bushing's spigot must go into the frame's hole
// without rattling there, and the stack with its nut must find room on it. Where
// one of the two can't be judged the end is left open. It takes no parts from the
// shelf: bushings, washers and nut come with the damper.
func (s *Shelf) stud(end *End, bracket *Bracket, opts *Options) Result {
	f := fitStud(end, bracket)
	r := Result{Possible: f.possible()}
	r.Open = r.Possible && !(f.spigotKnown && f.spareKnown)
	if opts.Detail {
		f.detail(end, bracket, &r)
	}
	return r
}

// explainOpen says what is missing for a stud to be judged, and what to measure.
func (f *studFit) explainOpen(bracket *Bracket, r *Result) {
	hole, thickness := bracket.FrameHole, bracket.FrameThickness
	switch {
	case hole == 0 && thickness == 0:
		r.reason("frame_not_given")
	case hole == 0:
		r.reason("frame_hole_not_given")
	case thickness == 0:
		r.reason("frame_thickness_not_given")
	}
	if hole != 0 && !f.spigotKnown {
		r.reason("spigot_not_listed", note.Size("hole", hole), note.Size("least", max(0, hole-SpigotGapMost)))
	}
	if thickness == 0 || f.spareKnown {
		return
	}
	if f.stack == nil {
		r.reason("stud_thread_not_listed")
	} else {
		r.reason("usable_length_not_listed", note.AtLeast("height", stackHeight(f.stack)))
	}
}

// detail says why a stud doesn't go into the frame, and shows the arithmetic.
func (f *studFit) detail(end *End, bracket *Bracket, r *Result) {
	defer r.settle()
	r.StudStack = f.stack
	if r.Open {
		f.explainOpen(bracket, r)
	}
	hole := note.Size("hole", bracket.FrameHole)
	if f.studKnown && f.studGap < 0 {
		r.reason("stud_larger_than_hole", note.Size("by", -f.studGap), note.Size("stud", end.Thread.Diameter), hole)
		r.cure(OpenFrameHole, -f.studGap, unit.MaxLength)
	}
	if f.spigotKnown {
		spigot := note.Size("spigot", end.Spigot)
		r.step("spigot_in_frame", note.Size("gap", f.spigotGap), "common practice", hole, spigot, note.Size("most", SpigotGapMost))
		switch {
		case f.spigotGap < 0:
			r.reason("spigot_larger_than_hole", note.Size("by", -f.spigotGap), spigot, hole)
			r.cure(OpenFrameHole, -f.spigotGap, SpigotGapMost-f.spigotGap)
		case f.spigotGap > SpigotGapMost:
			r.reason("hole_loose_on_spigot", note.Size("by", f.spigotGap-SpigotGapMost), spigot, hole, note.Size("most", SpigotGapMost))
			r.cure(OtherBushing, f.spigotGap-SpigotGapMost, f.spigotGap)
		}
	}
	if f.stack != nil {
		r.step("stud_stack_height", note.Size("height", stackHeight(f.stack)), "common practice", note.Size("frame", bracket.FrameThickness))
		if f.assumed {
			r.caution("stud_stack_parts_assumed", note.Size("each", BushingAndWasher))
		}
	}
	if f.spareKnown {
		usable := note.Size("usable", end.UsableLength)
		r.step("stud_spare", note.Size("spare", f.spare), "", usable, note.Size("height", stackHeight(f.stack)))
		if f.spare < 0 {
			r.reason("stud_too_short", note.Size("by", -f.spare), usable, note.Size("height", stackHeight(f.stack)))
			r.cure(LongerStud, -f.spare, unit.MaxLength)
		}
	}
	r.caution("stud_nut_to_height")
	r.complete(true, need{"frame_hole", bracket.FrameHole != 0}, need{"frame_thickness", bracket.FrameThickness != 0})
}
