package mount

import (
	"cmp"
	"slices"
	"sync"

	"midstroke/internal/unit"
)

// mostSpacers is how many spacers may lie on each side: three, our choice, since
// a taller pile of rings shifts.
const mostSpacers = 3

// Stack is what fills the bracket's opening beside the sleeve.
type Stack struct {
	// EachSide is the pile on either side, thickest first.
	EachSide []UsedSpacer
	// LeftOver is the opening less everything in it, which the bracket closes
	// by being drawn in.
	LeftOver unit.Length
}

// UsedSpacer is a spacer and how many of it lie on one side.
type UsedSpacer struct {
	Spacer   Spacer
	Quantity int
}

// filling works out stacks for one bolt.
type filling struct {
	shelf *Shelf
	bolt  unit.Length
	// choice are the spacers that go on the bolt and have at most this bore, the
	// best one of each thickness, by thickness; made when first needed. A bore of 0
	// says that there are none yet.
	choice []int32
	bore   unit.Length
}

// piles caches the pile for each opening. Different ends and adapters ask for the
// same gaps again and again, and the cost of a stack grows with the square of the
// number of spacers.
type piles struct {
	mu    sync.Mutex
	known map[opening]*pile
	// searches counts the stacks worked out.
	searches int
}

// opening is a gap beside a sleeve on a bolt, how much of it may be left over, and the
// largest bore of a spacer in it.
type opening struct{ bolt, gap, most, bore unit.Length }

// pilesMost is how many stacks are cached. A full cache is emptied.
const pilesMost = 1 << 15

func (k *piles) find(o opening) *pile {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.known[o]
}

func (k *piles) add(o opening, p *pile) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.known == nil || len(k.known) >= pilesMost {
		k.known = map[opening]*pile{}
	}
	k.known[o] = p
	k.searches++
}

// pile is equal stacks on both sides for one gap.
type pile struct {
	gap      unit.Length
	n        int8 // spacers on each side
	cost     cost // of both sides
	leftOver unit.Length
	spacers  [mostSpacers]int32 // of one side, thickest first
}

// compare orders piles for different sleeves, all within the limit: fewest spacers,
// then least left over. The price is compared together with that of the sleeves.
func (p *pile) compare(q *pile) int {
	return cmp.Or(cmp.Compare(p.n, q.n), cmp.Compare(p.leftOver, q.leftOver))
}

// fill gives the best pile for a gap, which is at least 0: the fewest spacers that
// leave at most so much over, then the least left over, then the cheapest, then the
// first by codes. Where no pile leaves so little, it is the one that leaves the least,
// with the fewest spacers, then the cheapest, then the first by codes. So a most of 0
// asks for the least left over.
//
// A spacer may come more than once in a pile: there are enough of each, as every
// pile is needed twice in any case. Its bore is at most bore, so that it bears on
// what is clamped.
func (f *filling) fill(gap, most, bore unit.Length) *pile {
	bore = min(bore, f.bolt+SpacerGapMost)
	of := opening{f.bolt, gap, most, bore}
	if p := f.shelf.piles.find(of); p != nil {
		return p
	}
	f.prepare(bore)
	p := f.search(gap, most)
	f.shelf.piles.add(of, &p)
	return &p
}

func (f *filling) prepare(bore unit.Length) {
	if f.bore == bore {
		return
	}
	f.bore = bore
	spacers := f.shelf.spacers
	f.choice = make([]int32, 0, len(spacers))
	for i := range spacers {
		if !between(spacers[i].Bore, f.bolt, bore) {
			continue
		}
		if n := len(f.choice); n > 0 && spacers[f.choice[n-1]].Thickness == spacers[i].Thickness {
			continue // cheapest of its thickness comes first
		}
		f.choice = append(f.choice, int32(i))
	}
}

func (f *filling) thickness(i int) unit.Length {
	return f.shelf.spacers[f.choice[i]].Thickness
}

// search finds the tallest pile of the fewest spacers that go into half the gap and
// leave at most so much, then the best pile of that height.
func (f *filling) search(gap, most unit.Length) pile {
	var height unit.Length
	for n := 1; n <= mostSpacers && gap-2*height > most; n++ {
		height = f.tallest(gap/2, n)
	}
	best := pile{gap: gap, leftOver: gap - 2*height, n: mostSpacers + 1}
	for n := int8(0); n <= mostSpacers && best.n > mostSpacers; n++ {
		f.piles(height, n, len(f.choice)-1, pile{gap: gap, leftOver: best.leftOver}, &best)
	}
	best.cost = best.cost.times(2)
	return best
}

// tallest gives the greatest height up to room that at most so many spacers reach,
// from 1 to mostSpacers. For each thickest of three, two pointers walk over the other
// two, so it costs the square of the number of thicknesses.
func (f *filling) tallest(room unit.Length, spacers int) unit.Length {
	if n := len(f.choice); n > 0 {
		if all := unit.Length(spacers) * f.thickness(n-1); all <= room {
			return all
		}
	}
	if spacers == 1 {
		return f.tallestOne(room)
	}
	best := f.tallestTwo(0, room, len(f.choice)-1)
	if spacers == 2 {
		return best
	}
	for k := range f.choice {
		third := f.thickness(k)
		if third > room || best == room {
			break
		}
		best = max(best, f.tallestTwo(third, room, k))
	}
	return best
}

// tallestOne gives the thickness of the thickest spacer up to room, 0 where there is
// none.
func (f *filling) tallestOne(room unit.Length) unit.Length {
	i, found := f.ofThickness(room, len(f.choice)-1)
	switch {
	case found:
		return room
	case i == 0:
		return 0
	}
	return f.thickness(i - 1)
}

// tallestTwo gives the greatest height up to room that base and at most two
// spacers of the thicknesses up to last reach; base is no more than room.
func (f *filling) tallestTwo(base, room unit.Length, last int) unit.Length {
	best := base
	for i, j := 0, last; i <= j && best < room; {
		one := base + f.thickness(j)
		if one > room {
			j--
			continue
		}
		best = max(best, one)
		if two := one + f.thickness(i); two > room {
			j--
		} else {
			best = max(best, two)
			i++
		}
	}
	return best
}

// piles tries every way to make p taller by exactly height with n more spacers of
// the thicknesses up to last, and keeps the best pile in best.
func (f *filling) piles(height unit.Length, n int8, last int, p pile, best *pile) {
	switch n {
	case 0:
		if height == 0 {
			f.keep(&p, best)
		}
	case 1:
		if i, ok := f.ofThickness(height, last); ok {
			p.add(f, i)
			f.keep(&p, best)
		}
	case 2:
		for i, j := 0, last; i <= j; {
			switch both := f.thickness(i) + f.thickness(j); {
			case both > height:
				j--
			case both < height:
				i++
			default:
				q := p
				q.add(f, j)
				q.add(f, i)
				f.keep(&q, best)
				i, j = i+1, j-1
			}
		}
	default:
		// The thickest first: it takes at least its share of the height.
		for i := last; i >= 0 && f.thickness(i)*unit.Length(n) >= height; i-- {
			if t := f.thickness(i); t < height {
				q := p
				q.add(f, i)
				f.piles(height-t, n-1, i, q, best)
			}
		}
	}
}

// ofThickness finds the choice of that thickness among those up to last, or else the
// first that is thicker.
func (f *filling) ofThickness(t unit.Length, last int) (int, bool) {
	return slices.BinarySearchFunc(f.choice[:last+1], t, func(i int32, t unit.Length) int {
		return cmp.Compare(f.shelf.spacers[i].Thickness, t)
	})
}

// add lays the spacer of choice i on the pile.
func (p *pile) add(f *filling, i int) {
	p.spacers[p.n] = f.choice[i]
	p.n++
	p.cost = p.cost.plus(costOf(f.shelf.spacers[f.choice[i]].Price))
}

// keep keeps the better of two piles of one height and number in best:
// cheapest, then by codes, the least first.
func (f *filling) keep(p, best *pile) {
	if best.n <= mostSpacers {
		order := p.cost.compare(best.cost)
		if order == 0 {
			p, q := f.ranks(p), f.ranks(best)
			order = slices.Compare(p[:], q[:])
		}
		if order >= 0 {
			return
		}
	}
	*best = *p
}

// ranks gives the places by code of a pile's spacers, ascending.
func (f *filling) ranks(p *pile) (ranks [mostSpacers]int32) {
	for i, spacer := range p.spacers[:p.n] {
		ranks[i] = f.shelf.spacerRanks[spacer]
	}
	slices.Sort(ranks[:p.n])
	return ranks
}

// bores are the bores of the spacers that go on the bolt, each once.
func (f *filling) bores() []unit.Length {
	var all []unit.Length
	for i := range f.shelf.spacers {
		if bore := f.shelf.spacers[i].Bore; between(bore, f.bolt, f.bolt+SpacerGapMost) {
			all = append(all, bore)
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// bears says whether no spacer of the pile has a larger bore.
func (f *filling) bears(p *pile, bore unit.Length) bool {
	for _, i := range p.spacers[:p.n] {
		if f.shelf.spacers[i].Bore > bore {
			return false
		}
	}
	return true
}

// stack gives the pile as it is answered.
func (f *filling) stack(p *pile) *Stack {
	s := &Stack{LeftOver: p.leftOver}
	for _, i := range p.spacers[:p.n] {
		spacer := f.shelf.spacers[i]
		if n := len(s.EachSide); n > 0 && s.EachSide[n-1].Spacer.Code == spacer.Code {
			s.EachSide[n-1].Quantity++
			continue
		}
		s.EachSide = append(s.EachSide, UsedSpacer{Spacer: spacer, Quantity: 1})
	}
	return s
}
