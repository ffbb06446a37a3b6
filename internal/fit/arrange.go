package fit

import (
	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// site is one end of the place on the vehicle.
type site struct {
	style   mount.Style
	bracket mount.Bracket
}

// option is one way to bolt a damper's end up at a site: straight, or through
// an adapter.
type option struct {
	adapter *mount.Adapter // nil: straight
	adds    unit.Length
	result  mount.Result // quick: without working
	parts   int32
}

func (o *option) adapters() uint8 {
	if o.adapter != nil {
		return 1
	}
	return 0
}

// options are every way to bolt one end up at one site, worked out once in an
// answer however many dampers share the end.
type options struct {
	straight []option // none, or the one
	adapted  []option // by code
}

// arrangement is a damper's group put between the two sites in one way. The
// same holds for every damper of the group.
type arrangement struct {
	group        *catalog.Group
	inverted     bool
	upper, lower *option
	adds         unit.Length
	adapters     uint8
	parts        int32
	possible     bool      // both ends bolt up
	windows      [2]window // by grade
}

// means says by what an end is bolted up.
type means uint8

const (
	straight means = iota // both ends as they are
	adapted               // an adapter at one end or both
)

// reach bounds what the arrangements of a group by some means can come to.
type reach struct {
	least, most unit.Length // added to the damper's lengths
	adapters    uint8       // at least
}

// reach bounds the arrangements of a group by some means, before the hardware
// is worked out; false where there can be none.
func (b *bench) reach(g *catalog.Group, inverted bool, by means) (reach, bool) {
	upper, lower := g.UpperStyle, g.LowerStyle
	if inverted {
		upper, lower = lower, upper
	}
	straightUpper, straightLower := upper == b.sites[atUpper].style, lower == b.sites[atLower].style
	if by == straight {
		return reach{}, straightUpper && straightLower
	}
	au, al := b.adds[atUpper][upper], b.adds[atLower][lower]
	r, any := reach{adapters: 2}, false
	add := func(least, most unit.Length, adapters uint8) {
		if !any {
			r = reach{least, most, adapters}
			any = true
			return
		}
		r = reach{min(r.least, least), max(r.most, most), min(r.adapters, adapters)}
	}
	if straightUpper && al.any {
		add(al.least, al.most, 1)
	}
	if straightLower && au.any {
		add(au.least, au.most, 1)
	}
	if au.any && al.any {
		add(au.least+al.least, au.most+al.most, 2)
	}
	return r, any
}

// addsRange is the least and most that any adapter adds.
type addsRange struct {
	any         bool
	least, most unit.Length
}

func arrange(g *catalog.Group, inverted bool, upper, lower *option) arrangement {
	return arrangement{
		group: g, inverted: inverted, upper: upper, lower: lower,
		adds:     upper.adds + lower.adds,
		adapters: upper.adapters() + lower.adapters(),
		parts:    upper.parts + lower.parts,
		possible: upper.result.Possible && lower.result.Possible,
	}
}

// bench works out options and remembers them.
type bench struct {
	snapshot *catalog.Snapshot
	sites    [2]site               // upper, lower
	at       [2]map[int32]*options // by site, by end number
	// adds is, by site and by the damper's style, what adapters add there.
	adds [2]map[mount.Style]addsRange
}

// newBench makes a bench for a vehicle's two sites; adapters says whether any
// may be used.
func newBench(s *catalog.Snapshot, upper, lower site, adapters bool) *bench {
	b := &bench{
		snapshot: s, sites: [2]site{upper, lower},
		at:   [2]map[int32]*options{{}, {}},
		adds: [2]map[mount.Style]addsRange{{}, {}},
	}
	if !adapters {
		return b
	}
	for at := range b.sites {
		for i := range s.Adapters() {
			a := &s.Adapters()[i]
			if a.To.Style != b.sites[at].style {
				continue
			}
			r, known := b.adds[at][a.From.Style]
			if !known {
				r = addsRange{true, a.AddsLength, a.AddsLength}
			}
			b.adds[at][a.From.Style] = addsRange{true, min(r.least, a.AddsLength), max(r.most, a.AddsLength)}
		}
	}
	return b
}

const (
	atUpper = 0
	atLower = 1
)

// options gives the ways to bolt the end of that number up at a site.
func (b *bench) options(at int, end int32) *options {
	o, known := b.at[at][end]
	if known {
		return o
	}
	o = &options{}
	b.at[at][end] = o
	damperEnd, place, shelf := b.snapshot.Index().End(end), b.sites[at], b.snapshot.Shelf()
	if damperEnd.Style == place.style {
		r := shelf.BoltUp(*damperEnd, place.bracket, mount.Options{})
		o.straight = []option{{result: r, parts: int32(r.Parts)}}
	}
	for _, a := range shelf.Adapted(*damperEnd, place.style) {
		r := shelf.BoltUp(a.To, place.bracket, mount.Options{})
		o.adapted = append(o.adapted, option{adapter: a, adds: a.AddsLength, result: r, parts: int32(r.Parts) + 1})
	}
	return o
}

// ends gives the numbers of the damper's ends that come to the upper and the
// lower site.
func ends(g *catalog.Group, inverted bool) (upper, lower int32) {
	if inverted {
		return g.Lower, g.Upper
	}
	return g.Upper, g.Lower
}

// each calls f with every arrangement of a group by some means the one way up.
func (b *bench) each(g *catalog.Group, inverted bool, by means, f func(*arrangement)) {
	u, l := ends(g, inverted)
	upper, lower := b.options(atUpper, u), b.options(atLower, l)
	pair := func(us, ls []option) {
		for i := range us {
			for j := range ls {
				a := arrange(g, inverted, &us[i], &ls[j])
				f(&a)
			}
		}
	}
	if by == straight {
		pair(upper.straight, lower.straight)
		return
	}
	pair(upper.straight, lower.adapted)
	pair(upper.adapted, lower.straight)
	pair(upper.adapted, lower.adapted)
}
