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

// arrangement is the dampers of a group put between the two sites in one way.
type arrangement struct {
	group        *catalog.Group
	inverted     bool
	upper, lower *option
	adds         unit.Length
	adapters     uint8
	place        int64 // by the codes of its adapters, the upper one first
	windows      [grades]window
}

// bench puts dampers between the two sites of a vehicle. It works out how an
// end bolts up once in an answer, however many dampers share the end, and only
// where a damper's lengths make it matter.
type bench struct {
	snapshot *catalog.Snapshot
	inStock  bool // only parts that are in stock
	sites    [2]site
	// straight and adapted are the options by site and end number.
	straight [2][]option
	adapted  [2][][]option
	scratch  *scratch
	// adds is, by site, what adapters of each style of end add there.
	adds [2]addsByStyle
}

// addsByStyle has the least and most that any adapter adds, for each style of
// the damper's end that there are adapters for.
type addsByStyle []addsRange

type addsRange struct {
	style       mount.Style
	least, most unit.Length
}

func (a addsByStyle) find(style mount.Style) (addsRange, bool) {
	for _, r := range a {
		if r.style == style {
			return r, true
		}
	}
	return addsRange{}, false
}

// take notes what one more adapter adds.
func (a *addsByStyle) take(style mount.Style, adds unit.Length) {
	for i := range *a {
		if r := &(*a)[i]; r.style == style {
			r.least, r.most = min(r.least, adds), max(r.most, adds)
			return
		}
	}
	if *a == nil {
		*a = make(addsByStyle, 0, 3) // more styles than this are rare
	}
	*a = append(*a, addsRange{style, adds, adds})
}

// newBench makes a bench for a vehicle's two sites.
func newBench(s *catalog.Snapshot, upper, lower site, inStock bool, scratch *scratch) *bench {
	b := &bench{
		snapshot: s, inStock: inStock, sites: [2]site{upper, lower}, scratch: scratch,
	}
	b.straight, b.adapted = scratch.room(s.Index().Ends())
	adapters := s.Adapters()
	for at := range b.sites {
		for i := range adapters {
			a := &adapters[i]
			if a.To.Style == b.sites[at].style && b.takes(a) {
				b.adds[at].take(a.From.Style, a.AddsLength)
			}
		}
	}
	return b
}

// options gives the ways to bolt the end of that number up at a site by some
// means; adapters come by code.
func (b *bench) options(at int, end int32, by means) []option {
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
		for i, a := range adapters {
			if b.takes(a) {
				all = append(all, option{at: at, end: end, adapter: a, place: int32(i + 1)})
			}
		}
		*known = b.best(all)
	}
	return *known
}

// takes says whether an adapter may be used at all.
func (b *bench) takes(a *mount.Adapter) bool { return a.InStock || !b.inStock }

// best keeps one adapter for each length that an end's adapters add: a possible one
// first, then the one of the fewest parts, the cheapest and the first by code.
// Nothing else of an adapter counts in the order of fits or in what is lacking, so
// the others would only make pairs that rank behind.
func (b *bench) best(all []option) []option {
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
func (b *bench) solve(o *option) *option {
	if !o.solved {
		r := b.snapshot.Fasten(catalog.Fastening{End: o.end, Adapter: o.adapter, Bracket: b.sites[o.at].bracket, InStock: b.inStock})
		o.solved, o.possible, o.parts = true, r.Possible, int32(r.Parts)
		o.cost = hardwareCost{known: r.Cost}
		if r.Cost == mount.NoPrice {
			o.cost = hardwareCost{unpriced: 1}
		}
	}
	return o
}

// inFull is the hardware of an option in every detail.
func (b *bench) inFull(o *option) *mount.Result {
	if o.full == nil {
		o.full = b.snapshot.Fasten(catalog.Fastening{End: o.end, Adapter: o.adapter, Bracket: b.sites[o.at].bracket, InStock: b.inStock, Detail: true})
	}
	return o.full
}

// possible says whether both ends of an arrangement bolt up.
func (b *bench) possible(a *arrangement) bool {
	return b.solve(a.upper).possible && b.solve(a.lower).possible
}

// parts counts the hardware of one damper in an arrangement that is possible.
func (b *bench) parts(a *arrangement) int32 { return b.solve(a.upper).parts + b.solve(a.lower).parts }

// cost is what that hardware costs.
func (b *bench) cost(a *arrangement) hardwareCost {
	return b.solve(a.upper).cost.plus(b.solve(a.lower).cost)
}

// ends gives the numbers of the damper's ends that come to the upper and the
// lower site.
func ends(g *catalog.Group, inverted bool) (upper, lower int32) {
	if inverted {
		return g.Lower, g.Upper
	}
	return g.Upper, g.Lower
}

// each calls f with every arrangement of a group by one of the means and one way
// up, possible or not.
func (t *task) each(g *catalog.Group, inverted bool, by means, f func(*arrangement)) {
	t.eachThat(g, inverted, by, func(unit.Length) bool { return true }, f)
}

// eachFitting is each without the arrangements whose lengths can't fit any
// damper of the group.
func (t *task) eachFitting(g *catalog.Group, inverted bool, by means, f func(*arrangement)) {
	box := g.Box(catalog.Root)
	t.eachThat(g, inverted, by, func(adds unit.Length) bool {
		w := t.window(Marginal, adds)
		return w.mayAdmit(box)
	}, f)
}

func (t *task) eachThat(g *catalog.Group, inverted bool, by means, wanted func(adds unit.Length) bool, f func(*arrangement)) {
	u, l := ends(g, inverted)
	pair := func(uppers, lowers []option) {
		for i := range uppers {
			for j := range lowers {
				if wanted(uppers[i].adds() + lowers[j].adds()) {
					f(t.arrange(g, inverted, &uppers[i], &lowers[j]))
				}
			}
		}
	}
	b := t.bench
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

func (t *task) arrange(g *catalog.Group, inverted bool, upper, lower *option) *arrangement {
	a := t.bench.scratch.arrangement()
	*a = arrangement{
		group: g, inverted: inverted, upper: upper, lower: lower,
		adds:     upper.adds() + lower.adds(),
		adapters: upper.adapters() + lower.adapters(),
		place:    int64(upper.place)<<32 | int64(lower.place),
	}
	for g := range a.windows {
		a.windows[g] = t.window(Grade(g), a.adds)
	}
	return a
}

// reach bounds what the arrangements of a group by some means can come to.
type reach struct {
	least, most unit.Length // added to the damper's lengths
	adapters    uint8       // at least
}

// reach bounds the arrangements of a group by some means from the styles of
// its ends alone; false where there can be none.
func (b *bench) reach(g *catalog.Group, inverted bool, by means) (reach, bool) {
	upper, lower := g.UpperStyle, g.LowerStyle
	if inverted {
		upper, lower = lower, upper
	}
	straightUpper, straightLower := upper == b.sites[atUpper].style, lower == b.sites[atLower].style
	if by == straight {
		return reach{}, straightUpper && straightLower
	}
	au, someUpper := b.adds[atUpper].find(upper)
	al, someLower := b.adds[atLower].find(lower)
	r, some := reach{}, false
	add := func(least, most unit.Length, adapters uint8) {
		if !some {
			r, some = reach{least, most, adapters}, true
			return
		}
		r = reach{min(r.least, least), max(r.most, most), min(r.adapters, adapters)}
	}
	if straightUpper && someLower {
		add(al.least, al.most, 1)
	}
	if straightLower && someUpper {
		add(au.least, au.most, 1)
	}
	if someUpper && someLower {
		add(au.least+al.least, au.most+al.most, 2)
	}
	return r, some
}
