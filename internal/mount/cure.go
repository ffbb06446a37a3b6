package mount

import (
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// CureKind names what makes an end bolt up.
type CureKind string

// The cures.
const (
	AddAdapter    CureKind = "add_adapter"     // one that isn't on the shelf
	AddSleeve     CureKind = "add_sleeve"      // one that isn't on the shelf
	AddSpacer     CureKind = "add_spacer"      // two of one that isn't on the shelf
	OtherBolt     CureKind = "other_bolt"      // a larger one, with the bracket's holes to match
	OpenBracket   CureKind = "open_bracket"    // by By
	CloseBracket  CureKind = "close_bracket"   // by By
	OpenFrameHole CureKind = "open_frame_hole" // by By in diameter
	OtherBushing  CureKind = "other_bushing"   // whose spigot is By larger at least
	LongerStud    CureKind = "longer_stud"     // by By
	MoveHoles     CureKind = "move_holes"      // of a bar pin's bracket: by By, apart where positive
)

// Cure is one thing that makes an end bolt up.
type Cure struct {
	Kind CureKind
	// By is how much, as Kind says; for OtherBolt its diameter less that of
	// the bolt given.
	By unit.Length
	// Alone says that this cure is enough by itself; without it every reason
	// needs its own.
	Alone bool
	// Bolt is the one of OtherBolt.
	Bolt Bolt
	// Sleeve and Spacer are the part that AddSleeve and AddSpacer want.
	Sleeve *WantedSleeve
	Spacer *WantedSpacer
	Note   note.Note
}

// WantedSleeve is the sizes of a sleeve that fits, each end of a range
// included.
type WantedSleeve struct {
	OuterLeast, OuterMost   unit.Length
	BoreLeast, BoreMost     unit.Length
	LengthLeast, LengthMost unit.Length // LengthMost is 0 where there is no bound
}

// WantedSpacer is the sizes of a spacer of which one on each side fits,
// each end of a range included.
type WantedSpacer struct {
	BoreLeast, BoreMost           unit.Length
	ThicknessLeast, ThicknessMost unit.Length
}

// cure adds a cure that says only how much: at least by and at most most. The
// amount is rounded up to one that is written exactly in both systems, where
// there is one.
func (r *Result) cure(kind CureKind, by, most unit.Length) {
	up := by.Up(most)
	r.Cures = append(r.Cures, Cure{Kind: kind, By: up, Note: note.New(note.Code("cure_"+kind), note.SizeWithin("by", up, by, most))})
}

// BendMost is how far a bracket may be bent open or closed. Beyond it the bend
// and the welds take harm. Common practice, no source.
const BendMost = 3 * unit.Millimetre

// bend offers to open or to close the bracket by at least by and at most most,
// where by isn't more than BendMost.
func (r *Result) bend(kind CureKind, by, most unit.Length) {
	if _, _, ok := inward(by, most); ok && by <= BendMost {
		r.cure(kind, by, most)
		r.caution("bracket_bending")
	}
}

// openBy offers to open the bracket by at least so much. The bracket may open
// further by the part of the allowed gap that spacers can leave unused.
func (w *eyeSearch) openBy(r *Result, by unit.Length) {
	opened, most := *w.bracket, by+w.limits.LeftOverMost
	opened.Opening += by
	if after := w.eye(w.end, &opened, &Options{}); after.Spacers != nil {
		most -= w.leastLeftOver(opened.Opening, w.clamped(&after), after.spacerBore())
	}
	r.bend(OpenBracket, by, most)
}

// inward gives the first and the last length of a range that are written exactly
// in both systems; ok is false where the range holds none, so that nobody could
// be told a size of it.
func inward(least, most unit.Length) (from, to unit.Length, ok bool) {
	from, to = least.Up(most), most.Down(least)
	return from, to, from%unit.Grain == 0 && from <= to
}

// settle marks the cures that are enough by themselves. Where there is one
// reason, each of its cures is; and another bolt is only offered where it is.
func (r *Result) settle() {
	for i := range r.Cures {
		r.Cures[i].Alone = len(r.Reasons) == 1 || r.Cures[i].Kind == OtherBolt
	}
}

// cureByBolt offers the next larger bolt that fits with what is on the shelf.
func (w *eyeSearch) cureByBolt(r *Result) {
	w.nearestBolt(r, w.bracket, func(b *Bracket) bool {
		return w.eye(w.end, b, &Options{}).Possible
	})
}

// nearestBolt offers the smallest coarse bolt of the tables that is larger than
// the bracket's and fits. A smaller one is never offered: the bracket's holes
// were made for the given bolt and can be opened up, but not made smaller.
func (s *Shelf) nearestBolt(r *Result, bracket *Bracket, fits func(*Bracket) bool) {
	given := bracket.Bolt
	var best Bolt
	for _, b := range CoarseBolts() {
		if b.Diameter <= given.Diameter || best.Diameter != 0 && b.Diameter >= best.Diameter {
			continue
		}
		other := *bracket
		other.Bolt = b
		if fits(&other) {
			best = b
		}
	}
	if best.Diameter == 0 {
		return
	}
	hole := clearanceHole(best)
	r.Cures = append(r.Cures, Cure{Kind: OtherBolt, By: best.Diameter - given.Diameter, Bolt: best,
		Note: note.New("cure_other_bolt", note.Word("bolt", best.Thread.String()), note.Size("diameter", best.Diameter),
			note.Size("hole", hole), note.AtLeast("edge", edgeDistance(hole)))})
}
