package mount

import (
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// Options say what a caller wants of an answer. The zero value asks for the
// quick one: whether it bolts up and with which parts.
type Options struct {
	// Detail asks for everything else in Result too.
	Detail bool
	// Load is the design load at this end in newtons, 0 where none is given;
	// two to three times the largest damper force by common practice.
	Load float64
	// TorqueFactor is K of T = K d F; 0 stands for DefaultTorqueFactor.
	TorqueFactor float64
	// PreloadFraction is the share of the proof load that the bolt is
	// tightened to; 0 stands for DefaultPreloadFraction.
	PreloadFraction float64
	// ThreadsInShearPlane overrules what follows from the bolt's length.
	ThreadsInShearPlane Told
}

// Told is a yes or no that may not have been given, or may not be known.
type Told uint8

// The answers.
const (
	Untold Told = iota
	No
	Yes
)

// told gives the answer that is known to be b.
func told(b bool) Told {
	if b {
		return Yes
	}
	return No
}

// Result is how one end bolts up. Sleeves, Spacers and the figures that go
// with them stand where Possible holds, and where nothing but the gap left over
// is against it.
type Result struct {
	Possible bool
	// Open says that the hardware was left open because the bracket, or the
	// damper's list, doesn't say enough to choose it: no bolt, for one.
	Open bool
	// Adapter is the one in between, nil where the damper's own end bolts up.
	Adapter *Adapter
	// Sleeves are nested in the bushing, from the outermost in.
	Sleeves []Used
	// Spacers is nil where they were left open.
	Spacers *Stack
	// Parts counts adapter, sleeves and spacers of one damper's end.
	Parts int
	// Cost is the price of those parts, NoPrice where one of them has none.
	Cost Price
	// Serial tells a result that answers share from every other; 0 for one that
	// they don't.
	Serial uint64

	// What follows is given with Options.Detail alone.

	// Complete says that nothing was left open: every part is chosen, and the bolt
	// has its length.
	Complete bool
	// Lacks names the bracket's figures that would make it complete, in the order
	// in which to ask for them; none where only the list lacks something.
	Lacks []string
	// Reasons say why it is not possible or what was left open.
	Reasons []note.Note
	// Cures are what would make it possible, parts before work on the bracket.
	Cures []Cure
	// BracketHole is the clearance hole for the bolt, nil for a size that its
	// standard hasn't.
	BracketHole *Hole
	// Bolt is nil where no bolt was given.
	Bolt *BoltDetail
	// StudStack is what lies on a stud, from the damper outwards.
	StudStack []Layer
	Working   []note.Step
	Cautions  []note.Note
}

// Used is a sleeve in its place.
type Used struct {
	Sleeve   Sleeve
	Quantity int
	// GapOutside is the hole it sits in less its outer diameter, GapInside its
	// bore less what sits in it. A nominal hole's gap is shown as 0 and isn't
	// known, as OutsideIs and InsideIs say.
	GapOutside, GapInside unit.Length
	OutsideIs, InsideIs   BoreIs
}

// BoltUp works out how an end, of a damper or of an adapter, bolts up to the
// bracket with what is on the shelf.
//
// An eye takes the fewest sleeves, then those of least total gap, among the chains
// whose bracket can be filled: with no more left over of its opening than
// Limits.LeftOverMost. Then it takes the fewest spacers that fill it so, then the
// least left over, then the cheapest sleeves and spacers together, then the first by
// codes, those of the sleeves before those of the spacers. A bar pin's holes are held
// against the bracket's, and a stud against the frame.
func (s *Shelf) BoltUp(end End, bracket Bracket, opts Options) Result {
	if m := end.Style.method(); m != nil {
		return m.boltUp(s, &end, &bracket, &opts)
	}
	r := Result{}
	if opts.Detail {
		r.Reasons = []note.Note{note.New("end_outside_method", note.Word("style", end.Style.String()))}
	}
	return r
}

// BoltUpThrough works out how an adapter on the damper's end bolts up.
func (s *Shelf) BoltUpThrough(adapter *Adapter, bracket Bracket, opts Options) Result {
	r := s.BoltUp(adapter.To, bracket, opts)
	r.Adapter = adapter
	if r.Possible {
		r.Parts++
		r.Cost = costOf(r.Cost).plus(costOf(adapter.Price)).price()
	}
	return r
}

// BoltUpAs works out how a damper's end bolts up to a place of that style:
// straight where the styles are alike and it can be done, else through the
// adapter that takes the fewest parts, of those the cheapest, then the first by
// code. Where nothing does it tells of the straight way, or that the styles
// differ.
func (s *Shelf) BoltUpAs(end End, style Style, bracket Bracket, opts Options) Result {
	if end.Style == style && s.BoltUp(end, bracket, Options{}).Possible {
		return s.BoltUp(end, bracket, opts)
	}
	var best *Adapter
	var bestQuick Result
	for _, a := range s.Adapted(end, style) {
		r := s.BoltUpThrough(a, bracket, Options{})
		if r.Possible && (best == nil || r.fewer(&bestQuick)) {
			best, bestQuick = a, r
		}
	}
	switch {
	case best != nil:
		return s.BoltUpThrough(best, bracket, opts)
	case end.Style == style:
		return s.BoltUp(end, bracket, opts)
	}
	r := Result{}
	if opts.Detail {
		r.reason("end_styles_differ", note.Word("end", end.Style.String()), note.Word("place", style.String()))
		r.Cures = []Cure{{Kind: AddAdapter, Alone: true, Note: note.New("cure_add_adapter",
			note.Word("end", end.Style.String()), note.Word("place", style.String()))}}
	}
	return r
}

// fewer says whether r takes fewer parts than q, or as many and cheaper ones.
func (r *Result) fewer(q *Result) bool {
	if r.Parts != q.Parts {
		return r.Parts < q.Parts
	}
	return r.Cost.OrDearest() < q.Cost.OrDearest()
}
