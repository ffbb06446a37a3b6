package fit

import (
	"cmp"

	"midstroke/internal/catalog"
	"midstroke/internal/unit"
)

// How far a near miss may lie from a fit, our choice. Two inches of mounts moved
// or of body raised is still a job for a workshop. More than half an inch of
// needed travel given up makes another vehicle. These hold for the least amount
// of a remedy. What makes the fit clear or tight adds the tolerances to it, and
// may come to securedMost.
const (
	remedyMost     = 2 * unit.Inch
	lessTravelMost = unit.Inch / 2
	securedMost    = 2 * remedyMost
)

// missRank is the order of near misses: the least remedy first.
type missRank struct {
	by       unit.Length // the least amount of any remedy
	adapters uint8
	inverted uint8
	damper   int32
	place    int64 // of the arrangement among its damper's
}

func (a *missRank) compare(b *missRank) int {
	return cmp.Or(
		cmp.Compare(a.by, b.by), cmp.Compare(a.adapters, b.adapters),
		cmp.Compare(a.inverted, b.inverted), cmp.Compare(a.damper, b.damper), cmp.Compare(a.place, b.place),
	)
}

// missed is a near miss in the arrangement that takes the least remedy.
type missed struct {
	missRank
	arrangement *arrangement
	point       *catalog.Point
}

// missBranch is a part of the search for near misses that is still to be
// opened.
type missBranch struct {
	missRank
	group       *catalog.Group
	arrangement *arrangement // nil: the whole group
	node        int32
	point       *catalog.Point // one damper, nil: all below the node
	by          means
}

// misses finds the near misses with the least remedies, at most top, by the same
// branch and bound as search: what a damper's lengths lack bounds what any remedy
// must make up. One remedy is one change, so a damper that needs an adapter and
// something else besides is none. Where adapters are ruled out, the adapter is
// the remedy.
func (t *task) misses(top int) []missed {
	if top <= 0 {
		return nil
	}
	q := &queue[missBranch]{
		less:  func(a, b *missBranch) bool { return a.missRank.compare(&b.missRank) < 0 },
		items: t.bench.scratch.missBranches[:0],
	}
	defer func() { t.bench.scratch.missBranches = q.items }()
	best := &shortlist[missed]{
		most:    top,
		compare: func(a, b missed) int { return a.missRank.compare(&b.missRank) },
		damper:  func(m missed) int32 { return m.damper },
	}
	t.pushMissGroups(q, best, straight)
	if t.limits.NoAdapters {
		t.pushMissGroups(q, best, adapted)
	}
	for {
		b, ok := q.pop()
		if !ok || !best.wants(missed{missRank: b.missRank}) {
			return best.items
		}
		if b.point != nil {
			t.offerMiss(best, missed{b.missRank, b.arrangement, b.point})
			continue
		}
		if b.arrangement != nil {
			t.openMiss(q, best, b.arrangement, b.node)
			continue
		}
		t.each(b.group, b.inverted == 1, b.by, func(a *arrangement) {
			if r, ok := t.missBound(a, catalog.Root); ok && best.wants(missed{missRank: r}) {
				t.openMiss(q, best, a, catalog.Root)
				return
			}
			t.bench.scratch.giveBack()
		})
	}
}

func (t *task) pushMissGroups(q *queue[missBranch], best *shortlist[missed], by means) {
	groups := t.snapshot.Index().Groups()
	for i := range groups {
		g := &groups[i]
		for _, inverted := range bothWaysUp {
			reach, ok := t.bench.reach(g, inverted, by)
			box := g.Box(catalog.Root)
			if !ok || !t.mayAllow(box, inverted) {
				continue
			}
			bound := missRank{
				by: t.boxLacks(box, reach.least, reach.most), adapters: reach.adapters,
				inverted: asRank(inverted), damper: box.DamperLeast,
			}
			if bound.by > remedyMost || !best.wants(missed{missRank: bound}) {
				continue
			}
			if _, _, leaf := g.Below(catalog.Root); leaf != nil {
				t.each(g, inverted, by, func(a *arrangement) { t.offerMisses(q, best, a, leaf) })
				continue
			}
			q.push(missBranch{missRank: bound, group: g, by: by})
		}
	}
}

// boxLacks is the least that any remedy must make up for a damper of the box in
// an arrangement that adds from least to most.
func (t *task) boxLacks(b *catalog.Box, least, most unit.Length) unit.Length {
	lacks := t.total(t.shortfall(b.CompressedLeast+least+t.rodStop, b.ExtendedMost+most))
	if t.heights.helpful() && t.heights.ratio > 1 {
		// The wheel moves less than the damper's ends.
		return max(0, lacks.Scale(1/t.heights.ratio)-1)
	}
	return lacks
}

// missBound bounds the near misses below a node; false where there can be
// none.
func (t *task) missBound(a *arrangement, number int32) (missRank, bool) {
	box := a.group.Box(number)
	if !t.mayAllow(box, a.inverted) {
		return missRank{}, false
	}
	by := t.boxLacks(box, a.adds, a.adds)
	return missRank{by: by, adapters: a.adapters, inverted: asRank(a.inverted), damper: box.DamperLeast}, by <= remedyMost
}

// openMiss opens a node: its children go on the queue, the near misses of a leaf
// on the shortlist.
func (t *task) openMiss(q *queue[missBranch], best *shortlist[missed], a *arrangement, number int32) {
	lower, upper, leaf := a.group.Below(number)
	if leaf != nil {
		t.offerMisses(q, best, a, leaf)
		return
	}
	for _, child := range [2]int32{lower, upper} {
		if r, ok := t.missBound(a, child); ok && best.wants(missed{missRank: r}) {
			q.push(missBranch{missRank: r, group: a.group, arrangement: a, node: child})
		}
	}
}

// offerMisses puts the near misses among points on the shortlist. Where it takes
// some computing to tell, it puts them on the queue until their turn comes.
func (t *task) offerMisses(q *queue[missBranch], best *shortlist[missed], a *arrangement, points []catalog.Point) {
	for i := range points {
		p := &points[i]
		m := missed{
			missRank:    missRank{by: t.leastLack(a, p), adapters: a.adapters, inverted: asRank(a.inverted), damper: p.Damper, place: a.place},
			arrangement: a, point: p,
		}
		if m.by > remedyMost || !best.wants(m) || !t.allows(p, a.inverted) {
			continue
		}
		if t.kin != nil && m.by > lessTravelMost {
			t.deferMiss(q, best, m)
			continue
		}
		t.offerMiss(best, m)
	}
}

// deferMiss puts a damper on the queue that only a move of the real mounts may
// make fit.
func (t *task) deferMiss(q *queue[missBranch], best *shortlist[missed], m missed) {
	s := t.spanOf(m.arrangement, m.point)
	bound, ok := t.kin.moveBound(t.shortfall(s.compressed, s.extended), s.compressed, s.extended)
	if m.by = max(m.by, bound); ok && best.wants(m) {
		q.push(missBranch{missRank: m.missRank, arrangement: m.arrangement, point: m.point})
	}
}

// offerMiss puts a damper on the shortlist if it is a near miss. Its rank is only
// a bound so far.
func (t *task) offerMiss(best *shortlist[missed], m missed) {
	var ok bool
	if m.by, ok = t.leastRemedy(m.arrangement, m.point); ok && best.wants(m) && !t.fitsSomehow(m.arrangement.group, m.point) {
		best.offer(m)
	}
}

// fitsSomehow says whether a damper fits in any arrangement.
func (t *task) fitsSomehow(g *catalog.Group, p *catalog.Point) bool {
	fits := false
	for _, inverted := range bothWaysUp {
		if !t.allowsWayUp(p.Traits, inverted) {
			continue
		}
		for _, by := range t.means() {
			if !t.mayFit(g, p, inverted, by) {
				continue
			}
			t.eachFitting(g, inverted, by, func(a *arrangement) {
				fits = fits || a.windows[Marginal].admits(p) && t.bench.possible(a)
				t.bench.scratch.giveBack()
			})
		}
	}
	return fits
}

// mayFit says whether a damper's lengths may fit by one of the means, whatever the
// hardware.
func (t *task) mayFit(g *catalog.Group, p *catalog.Point, inverted bool, by means) bool {
	reach, ok := t.bench.reach(g, inverted, by)
	if !ok {
		return false
	}
	w := t.window(Marginal, reach.least)
	w.extendedLeast = t.window(Marginal, reach.most).extendedLeast
	return w.admits(p)
}

// means lists the means by which ends may be bolted up.
func (t *task) means() []means {
	if t.limits.NoAdapters {
		return []means{straight}
	}
	return []means{straight, adapted}
}
