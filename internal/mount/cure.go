package mount

import (
	"slices"

	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// CureKind names what would make an end bolt up.
type CureKind string

// The cures.
const (
	AddAdapter    CureKind = "add_adapter"     // one that the shelf hasn't
	AddSleeve     CureKind = "add_sleeve"      // one that the shelf hasn't
	AddSpacer     CureKind = "add_spacer"      // two of one that the shelf hasn't
	OtherBolt     CureKind = "other_bolt"      // a larger one, with the bracket's holes to match
	OpenBracket   CureKind = "open_bracket"    // by By
	CloseBracket  CureKind = "close_bracket"   // by By
	OpenFrameHole CureKind = "open_frame_hole" // by By in diameter
	OtherBushing  CureKind = "other_bushing"   // whose spigot is By larger at least
	LongerStud    CureKind = "longer_stud"     // by By
	MoveHoles     CureKind = "move_holes"      // of a bar pin's bracket: by By, apart where positive
)

// Cure is one thing that would make an end bolt up.
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

// WantedSleeve is the sizes of a sleeve that would do, each end of a range
// included.
type WantedSleeve struct {
	OuterLeast, OuterMost   unit.Length
	BoreLeast, BoreMost     unit.Length
	LengthLeast, LengthMost unit.Length // LengthMost is 0 where there is no bound
}

// WantedSpacer is the sizes of a spacer of which one on each side would do,
// each end of a range included.
type WantedSpacer struct {
	BoreLeast, BoreMost           unit.Length
	ThicknessLeast, ThicknessMost unit.Length
}

// cure adds a cure that is told by how much alone: by at least and most at most.
// It is rounded up to what is written exactly in either system, where that will do.
func (r *Result) cure(kind CureKind, by, most unit.Length) {
	up := by.Up(most)
	r.Cures = append(r.Cures, Cure{Kind: kind, By: up, Note: note.New("cure_"+string(kind), note.Within("by", up, by, most))})
}

// openBy offers to open the bracket by at least so much. What it may be opened by
// more is what the spacers then leave of what may be left over.
func (w *eyeWork) openBy(r *Result, by unit.Length) {
	opened, most := *w.bracket, by
	opened.Opening += by
	if after := w.eye(w.end, &opened, &Options{}); after.Possible {
		most += w.limits.LeftOverMost
		if after.Spacers != nil {
			most -= after.Spacers.LeftOver
		}
	}
	r.cure(OpenBracket, by, most)
}

// inward gives the ends of a range as they are written exactly in either system,
// neither outside it; the range as it is where it holds no such length.
func inward(least, most unit.Length) (from, to unit.Length) {
	from, to = least.Up(most), most.Down(least)
	if from > to {
		return least, most
	}
	return from, to
}

// settle marks the cures that are enough by themselves: where there is one
// reason each of its cures is, and another bolt is only offered where it is.
func (r *Result) settle() {
	for i := range r.Cures {
		r.Cures[i].Alone = len(r.Reasons) == 1 || r.Cures[i].Kind == OtherBolt
	}
}

// diagnose says why the eye can't be bolted up and what would cure it.
func (w *eyeWork) diagnose(r *Result) {
	defer r.settle()
	opening, width := w.bracket.Opening, w.end.Width
	tooNarrow := opening != 0 && width > opening
	if tooNarrow {
		r.reason("opening_narrower_than_bushing", note.Len("by", width-opening), note.Len("opening", opening), note.Len("width", width))
	}
	if w.nesting.bolt == 0 || w.end.Bore == 0 {
		w.openBy(r, width-opening)
		return
	}
	direct := w.limits.boltIn(w.end.Bore, w.end.BoreIs == Nominal, w.nesting.bolt).ok
	if !direct && !w.nests(0) {
		w.diagnoseBore(r)
		if tooNarrow {
			w.openBy(r, width-opening)
		}
		return
	}
	if !direct && !w.nests(w.nesting.least) {
		w.diagnoseShort(r)
		if tooNarrow {
			w.openBy(r, width-opening)
		}
		return
	}
	// Sleeves fit and are long enough, so the opening is at fault.
	w.diagnoseOpening(r, direct, tooNarrow)
}

// nests says whether sleeves of at least a length lead from the bore to the
// bolt.
func (w *eyeWork) nests(least unit.Length) bool { return w.nest(least).ok }

// nest finds a chain of the fewest sleeves of at least a length.
func (w *eyeWork) nest(least unit.Length) chain {
	q := w.nesting
	q.least, q.most = least, anyLength
	var found chain
	for n := int8(1); n <= mostSleeves && !found.ok; n++ {
		q.chains(n, func(c chain, _ unit.Length) {
			if !found.ok {
				found = c
			}
		})
	}
	return found
}

// diagnoseBore is for a bore from which nothing leads to the bolt.
func (w *eyeWork) diagnoseBore(r *Result) {
	bore, bolt := w.end.Bore, w.nesting.bolt
	sizes := []note.Value{note.Len("bolt", bolt), note.Len("bore", bore)}
	switch gap := bore - bolt; {
	case gap < 0:
		r.reason("bolt_larger_than_bore", append(sizes, note.Len("by", -gap))...)
	case gap < w.limits.BoltGapLeast:
		r.reason("bolt_too_tight", append(sizes, note.Len("gap", gap), note.Len("least", w.limits.BoltGapLeast))...)
	default:
		r.reason("no_sleeve_fits", append(sizes, note.Len("gap", gap))...)
	}
	w.cureBySleeve(r)
	w.cureByBolt(r)
}

// diagnoseShort is for sleeves that fit the bore and the bolt but would leave
// the bracket to clamp the rubber.
func (w *eyeWork) diagnoseShort(r *Result) {
	// Of the chains that fit, the one whose shortest sleeve is longest is the
	// nearest. Whether there is one falls off as more length is asked for.
	i, _ := slices.BinarySearchFunc(w.byLength, false, func(i int32, _ bool) int {
		if w.nests(w.tubes[i].length) {
			return -1
		}
		return 1
	})
	nearest := w.nest(w.tubes[w.byLength[i-1]].length)
	short := w.sleeveOf(&nearest, func(length, short unit.Length) bool { return length < short })
	r.reason("sleeve_too_short", note.Word("code", short.Code), note.Len("by", w.end.Width-short.Length),
		note.Len("length", short.Length), note.Len("width", w.end.Width), note.Len("most", w.limits.LeftOverMost))
	w.cureBySleeve(r)
}

// sleeveOf gives the sleeve of a chain whose length comes before the others'.
func (w *eyeWork) sleeveOf(c *chain, before func(a, b unit.Length) bool) *Sleeve {
	found := &w.sleeves[c.tubes[0]]
	for _, at := range c.tubes[1:c.n] {
		if before(w.sleeves[at].Length, found.Length) {
			found = &w.sleeves[at]
		}
	}
	return found
}

// diagnoseOpening is for an opening that is too narrow, or that can't be
// filled.
func (w *eyeWork) diagnoseOpening(r *Result, direct, tooNarrow bool) {
	opening := w.bracket.Opening
	// least is the shortest length that can be clamped, nearest the setup that
	// leaves the least of the opening over.
	least, leastChain := anyLength, chain{}
	var nearest setup
	try := func(c chain, clamped unit.Length) {
		if clamped < least {
			least, leastChain = clamped, c
		}
		if clamped > opening {
			return
		}
		found := w.withChain(c, clamped)
		if !nearest.ok || found.pile.leftOver < nearest.pile.leftOver {
			nearest, nearest.ok = found, true
		}
	}
	if direct {
		try(chain{ok: true}, w.end.Width)
	}
	q := w.nesting
	q.most = anyLength
	for n := int8(1); n <= mostSleeves; n++ {
		q.chains(n, try)
	}
	switch {
	case tooNarrow:
		w.openBy(r, max(least, w.end.Width)-opening)
	case least > opening:
		long := w.sleeveOf(&leastChain, func(length, long unit.Length) bool { return length > long })
		r.reason("sleeve_too_long", note.Word("code", long.Code), note.Len("by", least-opening),
			note.Len("length", long.Length), note.Len("opening", opening))
		w.cureBySleeve(r)
		w.openBy(r, least-opening)
	default:
		w.answer(&nearest, r)
		left, most := nearest.pile.leftOver, w.limits.LeftOverMost
		r.reason("too_much_left_over", note.Len("left_over", left), note.Len("most", most), note.Len("by", left-most))
		w.cureBySpacer(r, opening-w.clamped(r))
		if !direct {
			w.cureBySleeve(r)
		}
		// Closed by more than that the bushing might no longer go in.
		r.cure(CloseBracket, left-most, min(left, opening-w.end.Width))
	}
}

// cureBySleeve offers one sleeve straight from the bore to the bolt, where it
// would have a wall and the bushing goes into the opening.
func (w *eyeWork) cureBySleeve(r *Result) {
	l, bore, bolt := &w.limits, w.end.Bore, w.nesting.bolt
	want := WantedSleeve{
		OuterLeast: bore - l.SleeveGapMost, OuterMost: bore - l.SleeveGapLeast,
		BoreLeast: bolt + l.BoltGapLeast, BoreMost: bolt + l.BoltGapMost,
		LengthLeast: max(w.nesting.least, 0), LengthMost: w.bracket.Opening,
	}
	if w.end.BoreIs == Nominal {
		want.OuterLeast, want.OuterMost = bore, bore
	}
	// Whatever is chosen from the ranges must have a wall.
	want.OuterLeast = max(want.OuterLeast, want.BoreLeast+2*LeastWall)
	want.BoreMost = min(want.BoreMost, want.OuterLeast-2*LeastWall)
	if want.OuterLeast > want.OuterMost || w.bracket.Opening != 0 && w.end.Width > w.bracket.Opening {
		return
	}
	from := want.LengthLeast
	if w.bracket.Opening != 0 {
		// A sleeve of the bushing's own width where the rest of the opening can
		// be filled, else one that fills it.
		if w.end.Width != 0 && w.withChain(chain{ok: true}, w.end.Width).ok {
			want.LengthLeast, want.LengthMost = w.end.Width, w.end.Width
		} else {
			want.LengthLeast = max(from, w.bracket.Opening-l.LeftOverMost)
		}
	} else if w.end.Width != 0 {
		want.LengthLeast = w.end.Width
	}
	wide := want
	want.OuterLeast, want.OuterMost = inward(want.OuterLeast, want.OuterMost)
	want.BoreLeast, want.BoreMost = inward(want.BoreLeast, want.BoreMost)
	switch {
	case want.LengthMost == 0:
		want.LengthLeast = want.LengthLeast.Up(unit.MaxLength)
		wide.LengthMost = unit.MaxLength
	case want.LengthMost > want.LengthLeast:
		want.LengthLeast, want.LengthMost = inward(want.LengthLeast, want.LengthMost)
	default:
		// One a hair short of the bushing will do, and can be written exactly.
		if down := want.LengthMost.Down(from); w.withChain(chain{ok: true}, down).ok {
			want.LengthLeast, want.LengthMost, wide.LengthLeast = down, down, down
		}
	}
	code := "cure_add_sleeve"
	switch {
	case want.LengthMost == 0 && want.LengthLeast == 0:
		code = "cure_add_sleeve_any_length"
	case want.LengthMost == 0:
		code = "cure_add_sleeve_length_from"
	case want.LengthMost == want.LengthLeast:
		code = "cure_add_sleeve_of_length"
	}
	r.Cures = append(r.Cures, Cure{Kind: AddSleeve, Sleeve: &want, Note: note.New(code,
		note.Within("outer_least", want.OuterLeast, wide.OuterLeast, wide.OuterMost), note.Within("outer_most", want.OuterMost, wide.OuterLeast, wide.OuterMost),
		note.Within("bore_least", want.BoreLeast, wide.BoreLeast, wide.BoreMost), note.Within("bore_most", want.BoreMost, wide.BoreLeast, wide.BoreMost),
		note.Within("length_least", want.LengthLeast, wide.LengthLeast, wide.LengthMost), note.Within("length_most", want.LengthMost, wide.LengthLeast, wide.LengthMost))})
}

// cureBySpacer offers one spacer on each side that fills a gap.
func (w *eyeWork) cureBySpacer(r *Result, gap unit.Length) {
	bolt := w.nesting.bolt
	want := WantedSpacer{
		BoreLeast: bolt, BoreMost: bolt + SpacerGapMost,
		ThicknessLeast: (gap - w.limits.LeftOverMost + 1) / 2, ThicknessMost: gap / 2,
	}
	if want.ThicknessLeast > want.ThicknessMost {
		return
	}
	wide := want
	want.BoreLeast, want.BoreMost = inward(want.BoreLeast, want.BoreMost)
	want.ThicknessLeast, want.ThicknessMost = inward(want.ThicknessLeast, want.ThicknessMost)
	r.Cures = append(r.Cures, Cure{Kind: AddSpacer, Spacer: &want, Note: note.New("cure_add_spacer",
		note.Within("thickness_least", want.ThicknessLeast, wide.ThicknessLeast, wide.ThicknessMost), note.Within("thickness_most", want.ThicknessMost, wide.ThicknessLeast, wide.ThicknessMost),
		note.Within("bore_least", want.BoreLeast, wide.BoreLeast, wide.BoreMost), note.Within("bore_most", want.BoreMost, wide.BoreLeast, wide.BoreMost))})
}

// cureByBolt offers the next larger bolt that would do with what is on the
// shelf.
func (w *eyeWork) cureByBolt(r *Result) {
	w.nearestBolt(r, w.bracket, func(b *Bracket) bool {
		return w.eye(w.end, b, &Options{}).Possible
	})
}

// nearestBolt offers the coarse bolt of the tables that is next larger than the
// bracket's and would do. A smaller one is never offered: the bracket's holes were
// made for the bolt given and can be opened up, but not made smaller.
func (s *Shelf) nearestBolt(r *Result, bracket *Bracket, would func(*Bracket) bool) {
	given := bracket.Bolt
	var best Bolt
	for _, b := range CoarseBolts() {
		if b.Diameter <= given.Diameter || best.Diameter != 0 && b.Diameter >= best.Diameter {
			continue
		}
		other := *bracket
		other.Bolt = b
		if would(&other) {
			best = b
		}
	}
	if best.Diameter == 0 {
		return
	}
	by := best.Diameter - given.Diameter
	r.Cures = append(r.Cures, Cure{Kind: OtherBolt, By: by, Bolt: best,
		Note: note.New("cure_other_bolt", note.Word("bolt", best.Thread.String()), note.Len("diameter", best.Diameter))})
}
