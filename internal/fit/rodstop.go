package fit

import (
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// A bump stop on the damper's rod is squashed between the body and the rod's mount.
// The damper is as short as it gets when the stop is solid, so that its shortest
// usable length is
//
//	compressed + (1 - squash)·height.

// rodStop is by how much a stop on the rod makes the shortest usable length longer
// than the compressed one; 0 without such a stop.
func (r *Request) rodStop() unit.Length {
	if r.BumpStop == nil || !r.BumpStop.OnRod {
		return 0
	}
	return r.BumpStop.Solid()
}

// addRodStopStep adds the step that shows what a stop on the rod does to every damper.
func (r *Request) addRodStopStep(n *Required) {
	if n == nil || r.rodStop() == 0 {
		return
	}
	n.addResultStep("rod_stop", note.AtLeast("solid", r.rodStop()),
		note.Given("height", r.BumpStop.Height), note.GivenNum("squash", r.BumpStop.Squash, ""))
}

// onRodStop is the note of a damper that stands on its rod's stop at ride height
// already.
func (t *task) onRodStop(f *Fit) []note.Note {
	stop := t.asked.onRod
	if stop == nil {
		return nil
	}
	touched := f.Compressed - t.rodStop + stop.Height
	if touched <= t.shorter {
		return nil
	}
	return []note.Note{note.New("rod_stop_at_ride", note.Len("touched", touched), note.AtLeast("squashed", touched-t.shorter))}
}
