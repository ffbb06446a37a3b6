package fit

import (
	"math"

	"midstroke/internal/catalog"
	"midstroke/internal/unit"
)

// found is a damper that fits, in its best arrangement.
type found struct {
	rank
	arrangement *arrangement
	point       *catalog.Point
}

// branch is a part of the search that is still to be opened: a group by some
// means, or a node of its tree in one arrangement. Its rank bounds every fit
// below it.
type branch struct {
	rank
	group       *catalog.Group
	arrangement *arrangement // nil: the whole group
	node        int32
	by          means
}

// search finds the best fits, best first, by branch and bound: it opens branches
// in the order of their bounds until no bound is better than the worst fit that
// is still listed. It never looks at the rest.
func (t *task) search(top int) []found {
	q := &queue[branch]{
		less:  func(a, b *branch) bool { return a.rank.compare(&b.rank) < 0 },
		items: t.bench.scratch.branches[:0],
	}
	defer func() { t.bench.scratch.branches = q.items }()
	best := &shortlist[found]{
		most:    top,
		compare: func(a, b found) int { return a.rank.compare(&b.rank) },
		damper:  func(f found) int32 { return f.damper },
	}
	t.pushGroups(q, best, straight)
	// A fit with adapters ranks behind every clear fit without. Until such a fit is
	// wanted, all adapted groups are one branch.
	if !t.limits.NoAdapters {
		q.push(branch{rank: rank{grade: Clear, adapters: 1}})
	}
	for {
		b, ok := q.pop()
		if !ok || !best.wants(found{rank: b.rank}) {
			return best.items
		}
		switch {
		case b.group == nil:
			t.pushGroups(q, best, adapted)
		case b.arrangement == nil:
			t.eachFitting(b.group, b.inverted == 1, b.by, func(a *arrangement) {
				// Hardware first: how many parts it takes bounds a whole tree.
				kept := false
				if t.bench.possible(a) {
					if r, ok := t.nodeBound(a, catalog.Root); ok && best.wants(found{rank: r}) {
						if kept = len(q.items) < mostQueued; kept {
							q.push(branch{rank: r, group: a.group, arrangement: a, node: catalog.Root})
						} else {
							kept = t.dive(best, a, catalog.Root)
						}
					}
				}
				if !kept {
					t.bench.scratch.giveBack()
				}
			})
		default:
			t.open(q, best, b.arrangement, b.node)
		}
	}
}

// pushGroups puts every group that may hold a fit by some means on the queue. A
// group whose tree is a single leaf is opened at once, which is cheaper.
func (t *task) pushGroups(q *queue[branch], best *shortlist[found], by means) {
	groups := t.snapshot.Index().Groups()
	for i := range groups {
		g := &groups[i]
		for _, inverted := range bothWaysUp {
			bound, ok := t.groupBound(g, inverted, by)
			if !ok || !best.wants(found{rank: bound}) {
				continue
			}
			if _, _, leaf := g.Below(catalog.Root); leaf != nil {
				t.eachFitting(g, inverted, by, func(a *arrangement) {
					if !t.offer(best, a, leaf) {
						t.bench.scratch.giveBack()
					}
				})
				continue
			}
			q.push(branch{rank: bound, group: g, by: by})
		}
	}
}

// groupBound bounds the rank of every fit that a group can give by one of the means
// and one way up, before its hardware is solved; false where there can be none.
func (t *task) groupBound(g *catalog.Group, inverted bool, by means) (rank, bool) {
	reach, ok := t.bench.reach(g, inverted, by)
	if !ok {
		return rank{}, false
	}
	box := g.Box(catalog.Root)
	if !t.mayAllow(box, inverted) {
		return rank{}, false
	}
	for grade := range Grade(grades) {
		w := t.window(grade, reach.least)
		w.extendedLeast = t.window(grade, reach.most).extendedLeast
		if !w.mayAdmit(box) {
			continue
		}
		r := rank{
			grade: grade, adapters: reach.adapters, stroke: box.StrokeLeast, price: box.PriceLeast,
			inverted: asRank(inverted), damper: box.DamperLeast,
		}
		if reach.least == reach.most {
			r.step = t.stepBound(box, reach.least, &w)
		}
		return r, true
	}
	return rank{}, false
}

func asRank(inverted bool) uint8 {
	if inverted {
		return 1
	}
	return 0
}

// nodeBound bounds the rank of every fit below a node of an arrangement that is
// possible; false where there can be none.
func (t *task) nodeBound(a *arrangement, number int32) (rank, bool) {
	box := a.group.Box(number)
	if !t.mayAllow(box, a.inverted) {
		return rank{}, false
	}
	grade := Clear
	for !a.windows[grade].mayAdmit(box) {
		if grade++; grade == grades {
			return rank{}, false
		}
	}
	w := &a.windows[grade]
	return rank{
		grade: grade, adapters: a.adapters, step: t.stepBound(box, a.adds, w), parts: t.bench.parts(a),
		stroke: max(box.StrokeLeast, w.strokeLeast()), price: box.PriceLeast,
		inverted: asRank(a.inverted), damper: box.DamperLeast,
	}, true
}

// open opens a node: its children go on the queue, the dampers of a leaf on the
// shortlist.
func (t *task) open(q *queue[branch], best *shortlist[found], a *arrangement, number int32) {
	lower, upper, leaf := a.group.Below(number)
	if leaf != nil {
		t.offer(best, a, leaf)
		return
	}
	for _, child := range [2]int32{lower, upper} {
		if r, ok := t.nodeBound(a, child); ok && best.wants(found{rank: r}) {
			q.push(branch{rank: r, group: a.group, arrangement: a, node: child})
		}
	}
}

// mostQueued is how many branches a search keeps for later. Past that it opens an
// arrangement at once: there may be very many pairs of adapters, and they must
// not fill the memory.
const mostQueued = 1 << 14

// dive opens a node and everything below it that may hold a fit wanted, and says
// whether one was taken. The order doesn't change which fits are found.
func (t *task) dive(best *shortlist[found], a *arrangement, number int32) bool {
	lower, upper, leaf := a.group.Below(number)
	if leaf != nil {
		return t.offer(best, a, leaf)
	}
	taken := false
	for _, child := range [2]int32{lower, upper} {
		if r, ok := t.nodeBound(a, child); ok && best.wants(found{rank: r}) {
			taken = t.dive(best, a, child) || taken
		}
	}
	return taken
}

// offer puts the dampers that fit on the shortlist. In a common place most that
// fit are not listed, so each is dropped as soon as it is known to rank behind.
func (t *task) offer(best *shortlist[found], a *arrangement, points []catalog.Point) (taken bool) {
	known := false // that the arrangement is possible
	for i := range points {
		p := &points[i]
		grade, fits := a.grade(p)
		if !fits || !t.allows(p, a.inverted) {
			continue
		}
		r := rank{grade: grade, adapters: a.adapters}
		if !best.wants(found{rank: r}) {
			continue
		}
		if !known {
			if !t.bench.possible(a) {
				return taken
			}
			known = true
		}
		s := t.spanOf(a, p)
		r.grade, r.step = t.demoted(r.grade, s), t.step(s)
		if !best.wants(found{rank: r}) {
			continue
		}
		r.parts, r.stroke, r.price = t.bench.parts(a), p.Stroke(), p.Price.OrDearest()
		r.inverted, r.damper = asRank(a.inverted), p.Damper
		r.cost, r.place = t.bench.cost(a), a.place
		taken = best.offer(found{rank: r, arrangement: a, point: p}) || taken
	}
	return taken
}

// grade says how well a damper's lengths fit in an arrangement, if at all.
func (a *arrangement) grade(p *catalog.Point) (grade Grade, fits bool) {
	if !a.windows[Marginal].admits(p) {
		return Marginal, false
	}
	for !a.windows[grade].admits(p) {
		grade++
	}
	return grade, true
}

// rankOf gives a fit its place in the order.
func (t *task) rankOf(a *arrangement, p *catalog.Point, grade Grade) rank {
	s := t.spanOf(a, p)
	return rank{
		grade: t.demoted(grade, s), adapters: a.adapters, step: t.step(s),
		parts: t.bench.parts(a), stroke: p.Stroke(), price: p.Price.OrDearest(),
		inverted: asRank(a.inverted), damper: p.Damper,
		cost: t.bench.cost(a), place: a.place,
	}
}

// step is the step of nearness of a damper that fits.
func (t *task) step(s span) int32 {
	return nearness(t.value-s.compressed, s.extended-s.compressed, t.prefer)
}

// stepBound is the least step of nearness that any damper of the box inside
// the window can have. Ride position (value − C)/(E − C), with the usable lengths C
// and E, falls as either grows while C ≤ value ≤ E, so two corners bound it.
func (t *task) stepBound(b *catalog.Box, adds unit.Length, w *window) int32 {
	cMost, eLeast := min(b.CompressedMost, w.compressedMost), max(b.ExtendedLeast, w.extendedLeast)
	ride := t.value - adds
	most := position(ride, b.CompressedLeast+t.rodStop, eLeast)
	least := position(ride, cMost+t.rodStop, b.ExtendedMost)
	prefer := t.prefer.Float()
	if least <= prefer && prefer <= most {
		return 0
	}
	off := min(math.Abs(least-prefer), math.Abs(most-prefer))
	// A bound that is slightly low costs time; one slightly high loses a fit.
	const hair = 1e-9
	return max(0, int32(math.Ceil((off-hair)*stepsPerWhole))-1)
}

// position is the ride position, 0 to 1, also at a box's corner where no damper
// can be.
func position(ride, compressed, extended unit.Length) float64 {
	if extended <= compressed {
		return 0
	}
	return min(1, max(0, float64(ride-compressed)/float64(extended-compressed)))
}
