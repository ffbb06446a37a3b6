package mount

import (
	"cmp"
	"slices"

	"midstroke/internal/unit"
)

// mostSleeves is how many sleeves may be nested in one bushing: three, our
// choice. With more their clearances add up to a bolt that knocks.
const mostSleeves = 3

// Shelf is the hardware of one revision of a catalogue, in the order that BoltUp
// searches it. Once made it never changes, except that it caches stacks of
// spacers. Any number of callers may use it at once.
type Shelf struct {
	limits Limits
	// tubes are the sleeves by outer diameter, so that those which go into a
	// hole stand side by side; sleeves[i] is the part behind tubes[i].
	tubes   []tube
	sleeves []Sleeve
	// byLength and byBore are the tubes in those orders, by bore the actual ones
	// before the nominal ones.
	byLength, byBore []int32
	// spacers are by thickness, those of one thickness cheapest first.
	spacers     []Spacer
	spacerRanks []int32                   // their places by code
	adapters    map[conversion][]*Adapter // each list by code
	piles       piles
}

// conversion is what an adapter does: from the one style to the other.
type conversion struct{ from, to Style }

// tube is what the search for a chain needs to know of a sleeve.
type tube struct {
	outer, bore, length unit.Length
	cost                cost
	nominal             bool
	rank                int32 // place by code
	// inside are the tubes that go into this one, around those, in byBore, that
	// this one goes into: the actual ones and the nominal ones.
	inside span
	around [2]span
	// reach are the bores at which a chain of so many more tubes inside this
	// one may end: no bolt outside them needs a closer look.
	reach [mostSleeves]interval
}

// span is the tubes from one up to, and without, another.
type span struct{ from, to int32 }

// interval is a closed range of lengths; none where from exceeds to.
type interval struct{ from, to unit.Length }

func (v interval) overlaps(w interval) bool { return v.from <= w.to && w.from <= v.to }

// NewShelf puts parts in order. Codes are unique within a kind. A sleeve or
// spacer without a size, or a sleeve without a wall, matches nothing and is
// left out; the faults of a part are told by its Faults.
func NewShelf(sleeves []Sleeve, spacers []Spacer, adapters []Adapter, limits Limits) *Shelf {
	s := &Shelf{limits: limits, adapters: map[conversion][]*Adapter{}}
	s.addSleeves(sleeves)
	s.addSpacers(spacers)
	own := slices.Clone(adapters)
	slices.SortFunc(own, func(a, b Adapter) int { return cmp.Compare(a.Code, b.Code) })
	for i := range own {
		does := conversion{own[i].From.Style, own[i].To.Style}
		s.adapters[does] = append(s.adapters[does], &own[i])
	}
	return s
}

// Limits are the clearances within which the shelf puts parts together.
func (s *Shelf) Limits() Limits { return s.limits }

func (s *Shelf) addSleeves(sleeves []Sleeve) {
	for _, p := range sleeves {
		if p.Bore > 0 && p.Length > 0 && p.Outer > p.Bore {
			s.sleeves = append(s.sleeves, p)
		}
	}
	slices.SortFunc(s.sleeves, func(a, b Sleeve) int { return cmp.Compare(a.Code, b.Code) })
	ranks := make(map[string]int32, len(s.sleeves))
	for i, p := range s.sleeves {
		ranks[p.Code] = int32(i)
	}

	slices.SortStableFunc(s.sleeves, func(a, b Sleeve) int { return cmp.Compare(a.Outer, b.Outer) })
	s.tubes = make([]tube, len(s.sleeves))
	for i, p := range s.sleeves {
		s.tubes[i] = tube{
			outer: p.Outer, bore: p.Bore, length: p.Length,
			cost: costOf(p.Price), nominal: p.BoreIs == Nominal, rank: ranks[p.Code],
		}
	}
	s.byLength = s.ordered(func(a, b *tube) int { return cmp.Compare(a.length, b.length) })
	s.byBore = s.ordered(compareBores)
	for i := range s.tubes {
		t := &s.tubes[i]
		t.inside = s.tubesInto(t.bore, t.nominal)
		t.around = [2]span{
			s.boresFrom(false, t.outer+s.limits.SleeveGapLeast, t.outer+s.limits.SleeveGapMost),
			s.boresFrom(true, t.outer-SameSize, t.outer+SameSize),
		}
	}
	s.addReach()
}

// ordered gives the tubes' places in an order.
func (s *Shelf) ordered(compare func(a, b *tube) int) []int32 {
	places := make([]int32, len(s.tubes))
	for i := range places {
		places[i] = int32(i)
	}
	slices.SortStableFunc(places, func(i, j int32) int { return compare(&s.tubes[i], &s.tubes[j]) })
	return places
}

// compareBores is the order of byBore.
func compareBores(a, b *tube) int {
	if a.nominal != b.nominal {
		if b.nominal {
			return -1
		}
		return 1
	}
	return cmp.Compare(a.bore, b.bore)
}

// boresFrom gives the span in byBore of bores of one kind from least to most.
func (s *Shelf) boresFrom(nominal bool, least, most unit.Length) span {
	place := func(bore unit.Length) int32 {
		i, _ := slices.BinarySearchFunc(s.byBore, tube{nominal: nominal, bore: bore}, func(i int32, t tube) int {
			return compareBores(&s.tubes[i], &t)
		})
		return int32(i)
	}
	from := place(least)
	return span{from, max(from, place(most+1))}
}

// addReach works out where the chains inside each tube may end.
func (s *Shelf) addReach() {
	for i := range s.tubes {
		s.tubes[i].reach[0] = interval{s.tubes[i].bore, s.tubes[i].bore}
	}
	for more := 1; more < mostSleeves; more++ {
		for i := range s.tubes {
			t := &s.tubes[i]
			t.reach[more] = interval{1, 0}
			for j := t.inside.from; j < t.inside.to; j++ {
				if r := s.tubes[j].reach[more-1]; r.from <= r.to {
					t.reach[more] = t.reach[more].hull(r)
				}
			}
		}
	}
}

// hull is the least interval that holds both; w isn't none.
func (v interval) hull(w interval) interval {
	if v.from > v.to {
		return w
	}
	return interval{min(v.from, w.from), max(v.to, w.to)}
}

// tubesInto gives the tubes that go into a hole.
func (s *Shelf) tubesInto(hole unit.Length, nominal bool) span {
	from, to := hole-s.limits.SleeveGapMost, hole-s.limits.SleeveGapLeast
	if nominal {
		from, to = hole-SameSize, hole+SameSize
	}
	first := s.outerFrom(from)
	return span{first, max(first, s.outerFrom(to+1))}
}

// outerFrom gives the first tube whose outer diameter is at least d.
func (s *Shelf) outerFrom(d unit.Length) int32 {
	i, _ := slices.BinarySearchFunc(s.tubes, d, func(t tube, d unit.Length) int { return cmp.Compare(t.outer, d) })
	return int32(i)
}

func (s *Shelf) addSpacers(spacers []Spacer) {
	for _, p := range spacers {
		if p.Bore > 0 && p.Thickness > 0 {
			s.spacers = append(s.spacers, p)
		}
	}
	slices.SortFunc(s.spacers, func(a, b Spacer) int {
		return cmp.Or(cmp.Compare(a.Thickness, b.Thickness), costOf(a.Price).compare(costOf(b.Price)), cmp.Compare(a.Code, b.Code))
	})
	s.spacerRanks = make([]int32, len(s.spacers))
	byCode := make([]int32, len(s.spacers))
	for i := range byCode {
		byCode[i] = int32(i)
	}
	slices.SortFunc(byCode, func(i, j int32) int { return cmp.Compare(s.spacers[i].Code, s.spacers[j].Code) })
	for rank, i := range byCode {
		s.spacerRanks[i] = int32(rank)
	}
}

// Adapted gives the adapters that mate with that end of a damper and show an
// end of the style to the vehicle, by code. Callers change nothing in them.
func (s *Shelf) Adapted(end End, style Style) []*Adapter {
	var mating []*Adapter
	m := end.Style.method()
	for _, a := range s.adapters[conversion{end.Style, style}] {
		if m != nil && m.mates(&s.limits, &a.From, &end) {
			mating = append(mating, a)
		}
	}
	return mating
}

// cost is what parts cost together: how many of them have no price, and the
// prices of the others. Fewer without a price is cheaper.
type cost struct {
	unpriced int32
	known    Price
}

func costOf(p Price) cost {
	if p < 0 {
		return cost{unpriced: 1}
	}
	return cost{known: p}
}

func (c cost) plus(d cost) cost { return cost{c.unpriced + d.unpriced, c.known + d.known} }

func (c cost) times(n int) cost { return cost{c.unpriced * int32(n), c.known * Price(n)} }

func (c cost) compare(d cost) int {
	return cmp.Or(cmp.Compare(c.unpriced, d.unpriced), cmp.Compare(c.known, d.known))
}

// price gives the sum, NoPrice where a part of it has none.
func (c cost) price() Price {
	if c.unpriced > 0 {
		return NoPrice
	}
	return c.known
}
