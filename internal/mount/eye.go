package mount

import (
	"cmp"
	"math"

	"midstroke/internal/fault"
	"midstroke/internal/unit"
)

var eyeMethod = method{
	style:  Eye,
	planes: []Plane{BoltCentre, NearEdge, FarEdge},
	rubber: true,
	boltUp: (*Shelf).eye,
	// The end's bore may be larger than the adapter's by a sleeve's clearance, and
	// its width smaller by the left-over limit.
	mates: func(l *Limits, from, end *End) bool {
		return l.boreMates(from, end) &&
			(from.Width == 0 || end.Width != 0 && between(from.Width-end.Width, 0, l.LeftOverMost))
	},
	check: func(e *End, faults *fault.List) {
		if e.Bore == 0 && e.BoreIs != Actual {
			faults.Add("/bore_is", boreMissing)
		}
	},
}

// boreMates says whether a bushing takes what is made for the bore of from. A bore
// that either of them gives as nominal must be of the same size.
func (l *Limits) boreMates(from, end *End) bool {
	switch {
	case from.Bore == 0 || from.Bore == end.Bore:
		return true
	case from.BoreIs == Nominal || end.BoreIs == Nominal:
		return sameSize(from.Bore, end.Bore)
	}
	return between(end.Bore-from.Bore, l.SleeveGapLeast, l.SleeveGapMost)
}

// eye bolts an eye up: nested sleeves from its bore to the bolt, and equal
// stacks of spacers on both sides from its width to the opening.
//
// The plates must clamp steel and not rubber. A bushing straight on the bolt is
// clamped by its own width. In a bushing with sleeves each sleeve must carry it
// over its whole width, short of that by no more than the left-over limit, and
// the longest sleeve is the one that is clamped; it may stand out of the
// bushing.
func (s *Shelf) eye(end *End, bracket *Bracket, opts *Options) Result {
	r := Result{}
	w := s.newEyeSearch(end, bracket)
	tooNarrow := bracket.Opening != 0 && end.Width > bracket.Opening
	switch {
	case tooNarrow:
	case bracket.Bolt.Diameter == 0 || end.Bore == 0:
		r.Possible, r.Open = true, true
	default:
		if best := w.best(); best.ok {
			r.Possible = true
			w.answer(&best, &r)
		}
	}
	if opts.Detail {
		w.detail(opts, &r)
	}
	return r
}

// eyeSearch is the search for an eye's hardware.
type eyeSearch struct {
	*Shelf
	end     *End
	bracket *Bracket
	filling filling
	nesting nesting
	// thin says that a spacer was passed over, because it would slip over the sleeve.
	thin bool
}

func (s *Shelf) newEyeSearch(end *End, bracket *Bracket) *eyeSearch {
	bolt := bracket.Bolt.Diameter
	w := &eyeSearch{Shelf: s, end: end, bracket: bracket}
	w.filling = filling{shelf: s, bolt: bolt}
	w.nesting = nesting{
		Shelf: s, bore: end.Bore, nominal: end.BoreIs == Nominal, into: s.tubesInto(end.Bore, end.BoreIs == Nominal), bolt: bolt,
		bores: s.limits.boltBores(bolt), least: s.leastSleeve(end), most: anyLength,
	}
	if bracket.Opening != 0 {
		w.nesting.most = bracket.Opening
	}
	return w
}

// anyLength is longer than anything on a shelf.
const anyLength = unit.Length(math.MaxInt64)

// leastSleeve is how long a sleeve must be for the bracket not to clamp the
// eye's rubber; 0 where the eye's width isn't known.
func (s *Shelf) leastSleeve(end *End) unit.Length {
	if end.Width == 0 {
		return 0
	}
	return end.Width - s.limits.LeftOverMost
}

// setup is a way to bolt an eye up: sleeves, and spacers where the opening and
// the clamped length are known.
type setup struct {
	ok    bool
	chain chain
	pile  *pile
}

// cost is what the sleeves and the spacers cost together.
func (a *setup) cost() cost {
	if a.pile == nil {
		return a.chain.cost
	}
	return a.chain.cost.plus(a.pile.cost)
}

// keepBetterSetup keeps the better of two setups of equally many sleeves in a: least
// total gap, then the better pile, then the cheapest in all, then by codes. Sleeves of
// the same codes have the same pile.
func (w *eyeSearch) keepBetterSetup(a, b *setup) {
	if !b.ok {
		return
	}
	order := -1
	if a.ok {
		order = cmp.Compare(b.chain.gap, a.chain.gap)
		if order == 0 && a.pile != nil && b.pile != nil {
			order = b.pile.compare(a.pile)
		}
		if order == 0 {
			order = b.cost().compare(a.cost())
		}
		if order == 0 {
			order = w.compareCodes(&b.chain, &a.chain)
		}
	}
	if order < 0 {
		*a = *b
	}
}

// best finds the best setup.
func (w *eyeSearch) best() setup {
	var best setup
	if direct := w.limits.boltIn(w.end.Bore, w.end.BoreIs == Nominal, w.nesting.bolt); direct.ok {
		best = w.withChain(chain{ok: true, gap: direct.gap}, w.end.Width)
	}
	for n := int8(1); n <= mostSleeves && !best.ok; n++ {
		w.thin = false
		try := func(c chain, longest unit.Length) {
			// The opening is only filled where the chain may be better. Its price alone
			// doesn't say so: dearer sleeves may need fewer spacers.
			if !best.ok || c.gap <= best.chain.gap {
				found := w.withChain(c, longest)
				w.keepBetterSetup(&best, &found)
			}
		}
		w.nesting.chains(n, try)
		if n > 1 && w.thin {
			// The best chain of a length may be too thin for a spacer, where another of the
			// same length isn't. So the best one is sought for each bore.
			for _, bore := range w.filling.bores() {
				q := w.nesting
				q.bearing = bore
				q.chains(n, try)
			}
		}
	}
	return best
}

// withChain fills the opening beside a chain that is clamped over a length.
func (w *eyeSearch) withChain(c chain, clamped unit.Length) setup {
	found := setup{ok: c.ok, chain: c}
	if c.ok && w.bracket.Opening != 0 && clamped != 0 {
		gap, most := w.bracket.Opening-clamped, w.limits.LeftOverMost
		found.pile = w.filling.fill(gap, most, anyLength)
		if bore := w.spacerBore(&c); !w.filling.bears(found.pile, bore) {
			w.thin = true
			found.pile = w.filling.fill(gap, most, bore)
		}
		found.ok = found.pile.leftOver <= w.limits.LeftOverMost
	}
	return found
}

// spacerBore is the largest bore of a spacer that bears on what the bracket clamps with
// the sleeves of a chain.
func (w *eyeSearch) spacerBore(c *chain) unit.Length {
	var on bearing
	for _, at := range c.tubes[:c.n] {
		t := &w.tubes[at]
		on.add(t.length, t.outer, t.bore)
	}
	return on.most()
}

// leastLeftOver is the least that any spacers of at most a bore leave of an opening
// beside what is clamped in it.
func (w *eyeSearch) leastLeftOver(opening, clamped, bore unit.Length) unit.Length {
	return w.filling.fill(opening-clamped, 0, bore).leftOver
}

// answer writes the setup into the result.
func (w *eyeSearch) answer(found *setup, r *Result) {
	hole, nominal := w.end.Bore, w.end.BoreIs
	if n := found.chain.n; n > 0 {
		r.Sleeves = make([]Used, n)
	}
	for i, at := range found.chain.tubes[:found.chain.n] {
		sleeve := &w.sleeves[at]
		r.Sleeves[i] = Used{Sleeve: *sleeve, Quantity: 1, GapOutside: hole - sleeve.Outer, OutsideIs: nominal}
		hole, nominal = sleeve.Bore, sleeve.BoreIs
		inside := w.nesting.bolt
		if i+1 < int(found.chain.n) {
			inside = w.sleeves[found.chain.tubes[i+1]].Outer
		}
		r.Sleeves[i].GapInside, r.Sleeves[i].InsideIs = hole-inside, nominal
	}
	r.Parts = int(found.chain.n)
	if found.pile != nil {
		r.Spacers = w.filling.stack(found.pile)
		r.Parts += 2 * int(found.pile.n)
	}
	r.Cost = found.cost().price()
}
