package fit

import (
	"sort"

	"midstroke/internal/measure"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// way is how the length at ride must change: longer for a damper that would
// bottom, shorter for one that would top out.
type way struct {
	sign         unit.Length // 1 longer, -1 shorter
	move, height RemedyKind
}

// wayFor is the way for a damper that is short one way only.
func wayFor(short Both) way {
	if short.Extension > 0 {
		return way{-1, MoveMountsTogether, LowerBody}
	}
	return way{1, MoveMountsApart, RaiseBody}
}

// towards splits what is lacking each way into what a change in this direction must
// make up, and what it may take from the other direction.
func (w way) towards(lacks Both) (makeUp, mayTake unit.Length) {
	if w.sign > 0 {
		return lacks.Compression, -lacks.Extension
	}
	return lacks.Extension, -lacks.Compression
}

// amount is how much of a change is enough: any from least to most.
type amount struct{ least, most unit.Length }

// possible says whether there is any such change within reach.
func (a amount) possible(reach unit.Length) bool { return a.least <= a.most && a.least <= reach }

// written is the least amount that is written exactly in both systems, or the
// least where none is.
func (a amount) written() unit.Length { return a.least.Up(a.most) }

// toFollow makes a value for a text that tells its reader what to do. It may be rounded
// only within the amount.
func (a amount) toFollow(name string, by unit.Length) note.Value {
	return note.Within(name, by, a.least, max(by, a.most))
}

// bestOf gives the amount for the best grade that a change can reach, each being
// given by amounts, and the grade.
func bestOf(amounts func(Grade) (amount, bool)) (amount, Grade) {
	for g := range Grade(grades) {
		if a, ok := amounts(g); ok {
			return a, g
		}
	}
	return amount{}, Marginal
}

// moves is by how much the mounts must be moved for a grade.
func (t *task) moves(g Grade, w way, s span) amount {
	makeUp, mayTake := w.towards(t.lacksInTime(g, s))
	return amount{makeUp, mayTake}
}

// moveRemedy moves the mounts along the damper.
func (t *task) moveRemedy(w way, s span) (Remedy, bool) {
	least := t.moves(Marginal, w, s)
	if !least.possible(remedyMost) {
		return Remedy{}, false
	}
	best, grade := bestOf(func(g Grade) (amount, bool) {
		a := t.moves(g, w, s)
		return a, a.possible(t.reach(g))
	})
	by := best.written()
	return lengthRemedy(w.move, grade, least, best, by, t.spare(s.compressed, s.extended, w.sign*by)), true
}

// reach is how large the amount for a grade may be: see remedyMost.
func (t *task) reach(g Grade) unit.Length {
	if g == Marginal {
		return remedyMost
	}
	return securedMost
}

func lengthRemedy(kind RemedyKind, grade Grade, least, best amount, by unit.Length, spare Both) Remedy {
	r := Remedy{Kind: kind, Grade: grade, Least: least.written(), By: by, Margin: spare}
	r.Text = note.New(note.Code(kind), best.toFollow("by", by), least.toFollow("least", r.Least),
		note.Word("grade", grade.String()),
		note.AtMost("compression", spare.Compression), note.AtMost("extension", spare.Extension))
	return r
}

// raised gives what a change of the body's height does: by how much the length at ride
// height changes, and by how much the motion ratio's tolerance widens its bounds. It
// agrees with what package measure computes for the planned change afterwards.
func (h *heights) raised(by unit.Length) (longer, wider unit.Length) {
	doubt := func(planned unit.Length) unit.Length {
		return ((planned - h.delta).Abs() + h.gaps).Scale(h.tolerance)
	}
	return (h.planned + by).Scale(h.ratio) - h.planned.Scale(h.ratio), doubt(h.planned+by) - doubt(h.planned)
}

// raises is by how much the body must be raised, or lowered, for a grade. Together with
// a change that is planned already, it stays within the heights for which a constant
// motion ratio is good enough; beyond them one would have to measure again.
func (t *task) raises(g Grade, w way, s span) (amount, bool) {
	if g < Marginal && t.late(s) {
		return amount{}, false // the bump stop's gap changes with the body's height
	}
	after := func(by unit.Length) (makeUp, mayTake unit.Length) {
		longer, wider := t.heights.raised(w.sign * by)
		l := t.lacks(g, s)
		l.Extension += t.needAfterRaise(g, w.sign*by)
		if g == Marginal {
			wider = 0
		}
		return w.towards(Both{l.Compression - longer + wider, l.Extension + longer + wider})
	}
	most := min(measure.ConstantRatioLimit-w.sign*t.heights.planned, t.reach(g))
	if w.sign > 0 {
		most = min(most, t.raisedMost())
	} else if stop := t.asked.bumpStop; stop != nil {
		most = min(most, stop.Gap.Scale(1/stop.MotionRatio)) // or it rests on its stop
	}
	if most < 0 {
		return amount{}, false
	}
	// With the height both lengths change in the same direction.
	steps := int(most) + 1
	least := sort.Search(steps, func(by int) bool { makeUp, _ := after(unit.Length(by)); return makeUp <= 0 })
	more := sort.Search(steps-least, func(by int) bool { _, mayTake := after(unit.Length(least + by)); return mayTake < 0 })
	if more == 0 {
		return amount{}, false
	}
	a := amount{unit.Length(least), unit.Length(least + more - 1)}
	// With a droop limit some amounts in between may not be enough.
	if _, mayTake := after(a.written()); mayTake < 0 {
		a.most = a.least
	}
	return a, true
}

// heightRemedy raises or lowers the body.
func (t *task) heightRemedy(w way, s span) (Remedy, bool) {
	if !t.heights.helpful() {
		return Remedy{}, false
	}
	least, ok := t.raises(Marginal, w, s)
	if !ok {
		return Remedy{}, false
	}
	best, grade := bestOf(func(g Grade) (amount, bool) { return t.raises(g, w, s) })
	by := best.written()
	longer, _ := t.heights.raised(w.sign * by)
	spare := t.spare(s.compressed, s.extended, longer)
	spare.Extension -= t.needAfterRaise(Marginal, w.sign*by)
	return lengthRemedy(w.height, grade, least, best, by, spare), true
}

// mayGiveUp says whether so much of the needed travel may be given up.
func (t *task) mayGiveUp(s span, short Both) bool {
	return short.sum() <= lessTravelMost && s.compressed <= t.shorter && s.extended >= t.longer
}

// givenUp is the travel that is given up each way, and the least that is enough.
type givenUp struct{ up, least Both }

// giveUp is the travel to be given up each way for a grade, false if that is more than
// the needed travel. With fixed stops the caller asks again with less travel at the
// wheel, and the reserve stays. Otherwise it asks again with stated travel, for which
// no more is wanted than is needed.
func (t *task) giveUp(g Grade, s span) (givenUp, bool) {
	if g == Clear && !t.heights.stopsFixed {
		g = Tight
	}
	if g < Marginal && t.late(s) {
		return givenUp{}, false
	}
	l := t.lacks(g, s)
	least := Both{max(0, l.Compression), max(0, l.Extension)}
	up := Both{least.Compression.Up(t.needC.Least), least.Extension.Up(t.needE.Least)}
	return givenUp{up, least}, up.Compression <= t.needC.Least && up.Extension <= t.needE.Least
}

// lessTravel gives up travel at the damper.
func (t *task) lessTravel(s span) Remedy {
	least, _ := t.giveUp(Marginal, s)
	best, grade := least, Marginal
	for g := Clear; g < Marginal; g++ {
		if more, ok := t.giveUp(g, s); ok {
			best, grade = more, g
			break
		}
	}
	most := t.needC.Least + t.needE.Least
	spare := t.spare(s.compressed, s.extended, 0)
	spare = Both{max(0, spare.Compression+best.up.Compression), max(0, spare.Extension+best.up.Extension)}
	return Remedy{
		Kind: LessTravel, Grade: grade, Least: least.up.sum(), By: best.up.sum(), Margin: spare,
		// Each figure is told to the nearest that is enough, so that the same one is told alike.
		Text: note.New(note.Code(LessTravel), note.Within("by", best.up.sum(), best.least.sum(), most), note.Within("least", least.up.sum(), least.least.sum(), most),
			note.Word("grade", grade.String()),
			note.AtMost("compression", spare.Compression), note.AtMost("extension", spare.Extension),
			note.Within("give_up_compression", best.up.Compression, best.least.Compression, t.needC.Least),
			note.Within("give_up_extension", best.up.Extension, best.least.Extension, t.needE.Least)),
	}
}
