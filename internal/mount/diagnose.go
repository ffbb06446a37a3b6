package mount

import (
	"slices"

	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// diagnose says why the eye can't be bolted up and what would cure it.
func (w *eyeSearch) diagnose(r *Result) {
	defer r.settle()
	opening, width := w.bracket.Opening, w.end.Width
	tooNarrow := opening != 0 && width > opening
	if tooNarrow {
		r.reason("opening_narrower_than_bushing", note.Size("by", width-opening), note.Size("opening", opening), note.Size("width", width))
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
func (w *eyeSearch) nests(least unit.Length) bool { return w.nest(least).ok }

// nest finds a chain of the fewest sleeves of at least a length.
func (w *eyeSearch) nest(least unit.Length) chain {
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
func (w *eyeSearch) diagnoseBore(r *Result) {
	bore, bolt := w.end.Bore, w.nesting.bolt
	sizes := []note.Value{note.Size("bolt", bolt), note.Size("bore", bore)}
	switch gap := bore - bolt; {
	case gap < 0:
		r.reason("bolt_larger_than_bore", append(sizes, note.Size("by", -gap))...)
	case gap < w.limits.BoltGapLeast:
		r.reason("bolt_too_tight", append(sizes, note.Size("gap", gap), note.Size("least", w.limits.BoltGapLeast))...)
	default:
		r.reason("no_sleeve_fits", append(sizes, note.Size("gap", gap))...)
	}
	w.cureBySleeve(r)
	w.cureByBolt(r)
}

// diagnoseShort is for sleeves that fit the bore and the bolt but would leave
// the bracket to clamp the rubber.
func (w *eyeSearch) diagnoseShort(r *Result) {
	// The nearest chain is the one whose shortest sleeve is longest. The longer a
	// sleeve must be, the fewer chains there are, so the length can be halved in
	// on.
	i, _ := slices.BinarySearchFunc(w.byLength, false, func(i int32, _ bool) int {
		if w.nests(w.tubes[i].length) {
			return -1
		}
		return 1
	})
	nearest := w.nest(w.tubes[w.byLength[i-1]].length)
	short := w.sleeveOf(&nearest, func(a, b unit.Length) bool { return a < b })
	r.reason("sleeve_too_short", note.Word("code", short.Code), note.Size("by", w.end.Width-short.Length),
		note.Size("length", short.Length), note.Size("width", w.end.Width), note.Size("most", w.limits.LeftOverMost))
	w.cureBySleeve(r)
}

// sleeveOf gives the sleeve of a chain whose length comes before the others'.
func (w *eyeSearch) sleeveOf(c *chain, before func(a, b unit.Length) bool) *Sleeve {
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
func (w *eyeSearch) diagnoseOpening(r *Result, direct, tooNarrow bool) {
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
		long := w.sleeveOf(&leastChain, func(a, b unit.Length) bool { return a > b })
		r.reason("sleeve_too_long", note.Word("code", long.Code), note.Size("by", least-opening),
			note.Size("length", long.Length), note.Size("opening", opening))
		w.cureBySleeve(r)
		w.openBy(r, least-opening)
	default:
		w.answer(&nearest, r)
		left, most := nearest.pile.leftOver, w.limits.LeftOverMost
		r.reason("too_much_left_over", note.Size("left_over", left), note.Size("most", most), note.Size("by", left-most))
		w.cureBySpacer(r, opening-w.clamped(r))
		if !direct {
			w.cureBySleeve(r)
		}
		// Closed further, the bracket might no longer take the bushing.
		r.bend(CloseBracket, left-most, min(left, opening-w.end.Width))
	}
}
