package fit

import (
	"cmp"
	"slices"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// site is one end of the place on the vehicle.
type site struct {
	style   mount.Style
	bracket mount.Bracket
}

// The two sites.
const (
	atUpper = 0
	atLower = 1
)

// means is how a damper's ends are bolted up.
type means uint8

const (
	straight means = iota // both ends as they are
	adapted               // an adapter at one end or both
)

// option is one way to bolt a damper's end up at a site: straight, or through
// an adapter. Whether it can be done is worked out when it is asked for.
type option struct {
	at      int
	end     int32
	adapter *mount.Adapter // nil: straight
	number  int32          // of the adapter in the catalogue's

	solved   bool
	possible bool
	parts    int32 // adapter, sleeves and spacers
	cost     hardwareCost
	place    int32 // among the adapters of its end, by code, from 1; 0 straight
	full     *mount.Result
}

// hardwareCost is what the parts of ends cost together: how many ends have a part
// without a price, and the prices of the others. Fewer without is cheaper.
type hardwareCost struct {
	unpriced int32
	known    mount.Price
}

func (c hardwareCost) compare(d hardwareCost) int {
	return cmp.Or(cmp.Compare(c.unpriced, d.unpriced), cmp.Compare(c.known, d.known))
}

func (c hardwareCost) plus(d hardwareCost) hardwareCost {
	return hardwareCost{c.unpriced + d.unpriced, c.known + d.known}
}

func (o *option) adds() unit.Length {
	if o.adapter != nil {
		return o.adapter.AddsLength
	}
	return 0
}

func (o *option) adapters() uint8 {
	if o.adapter != nil {
		return 1
	}
	return 0
}

// arrangement is a damper's two ends put to the two sites in one way.
type arrangement struct {
	inverted     bool
	upper, lower *option
	adds         unit.Length
	adapters     uint8
	place        int64 // by the codes of its adapters, the upper one first
	windows      [grades]window
}

func placeOf(upper, lower *option) int64 { return int64(upper.place)<<32 | int64(lower.place) }

// bolting is how dampers' ends bolt up at the two sites of a vehicle. It works
// each end out once in an answer, however many dampers share the end, and only
// if the damper's lengths make it matter.
type bolting struct {
	snapshot *catalog.Snapshot
	inStock  bool // only parts that are in stock
	sites    [2]site
	// fastenings is how ends bolt up at the two sites' brackets.
	fastenings [2]*catalog.Fastenings
	// straight and adapted are the options by site and end number.
	straight [2][]option
	adapted  [2][][]option
	scratch  *scratch
	// straightLegs and adaptedLegs are made when they are first asked for, the latter
	// by site and style of the dampers' ends.
	straightLegs [2][]*leg
	adaptedLegs  [2][]legsOfStyle
	learned      int // how often the legs came to know an end
}

// newBolting begins the bolting for a vehicle's two sites.
func newBolting(s *catalog.Snapshot, upper, lower site, inStock bool, scratch *scratch) *bolting {
	b := &bolting{
		snapshot: s, inStock: inStock, sites: [2]site{upper, lower}, scratch: scratch,
	}
	b.straight, b.adapted = scratch.room(s.Index().Ends())
	for at := range b.sites {
		b.fastenings[at] = s.Fastenings(b.sites[at].bracket, inStock)
	}
	return b
}

// options gives the ways to bolt the end of that number up at a site by some
// means; adapters come by code.
func (b *bolting) options(at int, end int32, by means) []option {
	if by == straight {
		if b.snapshot.Index().End(end).Style != b.sites[at].style {
			return nil
		}
		o := b.straight[at][end : end+1]
		o[0].at, o[0].end = at, end
		return o
	}
	known := &b.adapted[at][end]
	if *known == nil {
		adapters := b.snapshot.Adapted(end, b.sites[at].style)
		all := b.scratch.some(len(adapters))[:0]
		for i, number := range adapters {
			if a := &b.snapshot.Adapters()[number]; b.takes(a) {
				all = append(all, option{at: at, end: end, adapter: a, number: number, place: int32(i + 1)})
			}
		}
		*known = b.best(all)
	}
	return *known
}

// takes says whether an adapter may be used at all.
func (b *bolting) takes(a *mount.Adapter) bool {
	return !b.inStock || b.snapshot.InStock(a.Code, a.InStock, 1)
}

// best keeps one adapter for each length that an end's adapters add: a possible one
// first, then the one of the fewest parts, the cheapest and the first by code.
// Nothing else of an adapter counts in the order of fits or in what is lacking, so
// the others would only make pairs that rank behind.
func (b *bolting) best(all []option) []option {
	if len(all) < 2 {
		return all
	}
	for i := range all {
		b.solve(&all[i])
	}
	slices.SortFunc(all, func(x, y option) int {
		done := 0
		if x.possible != y.possible {
			if done = 1; x.possible {
				done = -1
			}
		}
		return cmp.Or(cmp.Compare(x.adds(), y.adds()), done, cmp.Compare(x.parts, y.parts),
			x.cost.compare(y.cost), cmp.Compare(x.place, y.place))
	})
	return slices.CompactFunc(all, func(x, y option) bool { return x.adds() == y.adds() })
}

// solve computes whether an option is possible and with how many parts.
func (b *bolting) solve(o *option) *option {
	if !o.solved {
		r := b.result(o, false)
		o.solved, o.possible, o.parts = true, r.Possible, int32(r.Parts)
		o.cost = hardwareCost{known: r.Cost}
		if r.Cost == mount.NoPrice {
			o.cost = hardwareCost{unpriced: 1}
		}
	}
	return o
}

// inFull is the hardware of an option in every detail.
func (b *bolting) inFull(o *option) *mount.Result {
	if o.full == nil {
		o.full = b.result(o, true)
	}
	return o.full
}

func (b *bolting) result(o *option, detail bool) *mount.Result {
	if o.adapter != nil {
		return b.fastenings[o.at].Adapter(o.number, detail)
	}
	return b.fastenings[o.at].End(o.end, detail)
}

// possible says whether both ends of an arrangement bolt up.
func (b *bolting) possible(a *arrangement) bool {
	return b.solve(a.upper).possible && b.solve(a.lower).possible
}

// parts counts the hardware of one damper in an arrangement that is possible.
func (b *bolting) parts(a *arrangement) int32 { return b.solve(a.upper).parts + b.solve(a.lower).parts }

// cost is what that hardware costs.
func (b *bolting) cost(a *arrangement) hardwareCost {
	return b.solve(a.upper).cost.plus(b.solve(a.lower).cost)
}

// each calls f with every arrangement of a damper's two ends by one of the means
// and one way up that adds a length which is wanted, possible or not.
func (t *task) each(ends ends, inverted bool, by means, wanted func(adds unit.Length) bool, f func(*arrangement)) {
	u, l := atSites(inverted, ends.upper, ends.lower)
	pair := func(uppers, lowers []option) {
		for i := range uppers {
			for j := range lowers {
				if wanted(uppers[i].adds() + lowers[j].adds()) {
					f(t.arrange(inverted, &uppers[i], &lowers[j]))
				}
			}
		}
	}
	b := t.bolting
	upper, lower := b.options(atUpper, u, straight), b.options(atLower, l, straight)
	if by == straight {
		pair(upper, lower)
		return
	}
	upperAdapted, lowerAdapted := b.options(atUpper, u, adapted), b.options(atLower, l, adapted)
	pair(upper, lowerAdapted)
	pair(upperAdapted, lower)
	pair(upperAdapted, lowerAdapted)
}

// ends are a damper's two ends, as catalog.Index numbers them.
type ends struct{ upper, lower int32 }

func endsOf(p *catalog.Point) ends { return ends{p.Upper, p.Lower} }

func (t *task) arrange(inverted bool, upper, lower *option) *arrangement {
	a := t.bolting.scratch.arrangements.take()
	*a = arrangement{
		inverted: inverted, upper: upper, lower: lower,
		adds:     upper.adds() + lower.adds(),
		adapters: upper.adapters() + lower.adapters(),
		place:    placeOf(upper, lower),
	}
	a.windows = t.windows(a.adds)
	return a
}
