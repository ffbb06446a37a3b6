package fit

import (
	"midstroke/internal/catalog"
	"midstroke/internal/unit"
)

// route is one way to put the dampers of a tree between the two sites: which way
// up, and on which leg each end goes.
type route struct {
	tree         *catalog.Tree
	inverted     bool
	upper, lower *leg
	adds         unit.Length
	adapters     uint8
	windows      [grades]window
}

// atSites gives what a damper, or a box of them, has at the upper and at the lower
// site.
func atSites[T any](inverted bool, upper, lower T) (atUpper, atLower T) {
	if inverted {
		return lower, upper
	}
	return upper, lower
}

// eachRoute calls f with every route of a tree by one of the means and one way up
// that adds a length which is wanted.
func (t *task) eachRoute(tree *catalog.Tree, inverted bool, by means, wanted func(adds unit.Length) bool, f func(*route)) {
	upperStyle, lowerStyle := atSites(inverted, tree.UpperStyle, tree.LowerStyle)
	upper, lower := t.straightLegs(atUpper, upperStyle), t.straightLegs(atLower, lowerStyle)
	pair := func(uppers, lowers []*leg) {
		for _, u := range uppers {
			for _, l := range lowers {
				if adds := u.adds + l.adds; wanted(adds) {
					r := t.bolting.scratch.routes.take()
					*r = route{tree: tree, inverted: inverted, upper: u, lower: l, adds: adds, adapters: u.adapters() + l.adapters(), windows: t.windows(adds)}
					f(r)
				}
			}
		}
	}
	if by == straight {
		pair(upper, lower)
		return
	}
	upperAdapted, lowerAdapted := t.adaptedLegs(atUpper, upperStyle), t.adaptedLegs(atLower, lowerStyle)
	pair(upper, lowerAdapted)
	pair(upperAdapted, lower)
	pair(upperAdapted, lowerAdapted)
}

// parts bounds the hardware of the dampers below a node; false where none of them
// can be bolted up.
func (r *route) parts(b *catalog.Box) (int32, bool) {
	upper, lower := atSites(r.inverted, b.UpperEnds, b.LowerEnds)
	u, ok := r.upper.fewest(upper)
	if !ok {
		return 0, false
	}
	l, ok := r.lower.fewest(lower)
	return u + l, ok
}

// optionsOn gives how a damper's ends go on a route, solved; nil for one that
// doesn't.
func (t *task) optionsOn(r *route, p *catalog.Point) (upper, lower *option) {
	u, l := atSites(r.inverted, p.Upper, p.Lower)
	if upper = t.option(r.upper, u); upper == nil {
		return nil, nil
	}
	return upper, t.option(r.lower, l)
}
