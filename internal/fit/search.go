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

// search finds the best fits, best first, by branch and bound: a queue holds
// what is not yet looked into under a lower bound of its rank, and dampers
// under their own. Whatever dampers come off first are the best there are,
// and what lies behind them is never looked at.
func (t *task) search(top int) []found {
	q := &queue[prospect]{less: func(a, b *prospect) bool { return a.rank.compare(&b.rank) < 0 }}
	t.eachGroup(func(g *catalog.Group, inverted bool) {
		for _, by := range [2]means{straight, adapted} {
			if bound, ok := t.groupBound(g, inverted, by); ok {
				q.push(prospect{rank: bound, kind: wholeGroup, group: g, by: by})
			}
		}
	})
	best := make([]found, 0, top)
	for len(best) < top {
		p, ok := q.pop()
		if !ok {
			break
		}
		switch p.kind {
		case wholeGroup:
			t.openGroup(q, &p)
		case subtree:
			t.openNode(q, &p)
		case oneDamper:
			// The damper's best arrangement came first; any other is dropped.
			if !holds(best, p.damper) {
				best = append(best, found{rank: p.rank, arrangement: p.arrangement, point: p.point})
			}
		}
	}
	return best
}

func holds(best []found, damper int32) bool {
	for i := range best {
		if best[i].damper == damper {
			return true
		}
	}
	return false
}

// prospect is something on the queue: a group whose hardware isn't worked out
// yet, a part of a group's tree in one arrangement and grade, or a damper.
type prospect struct {
	rank
	kind        prospectKind
	by          means          // of a whole group
	group       *catalog.Group // of a whole group
	arrangement *arrangement   // of a subtree or a damper
	node        int32          // of a subtree
	point       *catalog.Point // of a damper
}

type prospectKind uint8

const (
	wholeGroup prospectKind = iota
	subtree
	oneDamper
)

// eachGroup calls f with every group and way up that the limits admit.
func (t *task) eachGroup(f func(g *catalog.Group, inverted bool)) {
	groups := t.snapshot.Index().Groups()
	for i := range groups {
		g := &groups[i]
		if !t.allowsGroup(g) {
			continue
		}
		for _, inverted := range [2]bool{false, true} {
			if t.allowsWayUp(g, inverted) {
				f(g, inverted)
			}
		}
	}
}

// groupBound bounds the rank of every fit that a group can give by some means
// the one way up, before its hardware is worked out; false where there can be
// none.
func (t *task) groupBound(g *catalog.Group, inverted bool, by means) (rank, bool) {
	reach, ok := t.bench.reach(g, inverted, by)
	if !ok {
		return rank{}, false
	}
	box := g.Box(catalog.Root)
	if !t.mayAllow(box) {
		return rank{}, false
	}
	for _, grade := range [2]Grade{Clear, Tight} {
		w := t.window(grade, reach.least)
		w.extendedLeast = t.window(grade, reach.most).extendedLeast
		if !w.mayAdmit(box) {
			continue
		}
		r := rank{grade: grade, adapters: reach.adapters, stroke: box.StrokeLeast, price: box.PriceLeast, damper: box.DamperLeast, inverted: asRank(inverted)}
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

// openGroup works out the group's hardware and puts its trees on the queue.
func (t *task) openGroup(q *queue[prospect], p *prospect) {
	t.bench.each(p.group, p.inverted == 1, p.by, func(a *arrangement) {
		if !a.possible {
			return
		}
		for _, grade := range [2]Grade{Clear, Tight} {
			a.windows[grade] = t.window(grade, a.adds)
		}
		for _, grade := range [2]Grade{Clear, Tight} {
			t.pushNode(q, a, grade, catalog.Root)
		}
	})
}

func (t *task) pushNode(q *queue[prospect], a *arrangement, grade Grade, number int32) {
	box, w := a.group.Box(number), &a.windows[grade]
	if !w.mayAdmit(box) || !t.mayAllow(box) {
		return
	}
	q.push(prospect{
		rank: rank{
			grade: grade, adapters: a.adapters, step: t.stepBound(box, a.adds, w), parts: a.parts,
			stroke: max(box.StrokeLeast, w.strokeLeast()), price: box.PriceLeast,
			inverted: asRank(a.inverted), damper: box.DamperLeast,
		},
		kind: subtree, arrangement: a, node: number,
	})
}

// openNode puts a node's children on the queue or, of a leaf, the dampers that
// fit in just this grade.
func (t *task) openNode(q *queue[prospect], p *prospect) {
	a := p.arrangement
	lower, upper, leaf := a.group.Below(p.node)
	if leaf == nil {
		t.pushNode(q, a, p.grade, lower)
		t.pushNode(q, a, p.grade, upper)
		return
	}
	for i := range leaf {
		point := &leaf[i]
		if grade, ok := t.grade(a, point); ok && grade == p.grade && t.allowsPoint(point) {
			q.push(prospect{rank: t.rankOf(a, point, grade), kind: oneDamper, arrangement: a, point: point})
		}
	}
}

// grade says how well a damper fits in an arrangement, if at all.
func (t *task) grade(a *arrangement, p *catalog.Point) (Grade, bool) {
	switch {
	case !a.windows[Tight].admits(p):
		return Tight, false
	case a.windows[Clear].admits(p):
		return Clear, true
	}
	return Tight, true
}

// rankOf gives a fit its place in the order.
func (t *task) rankOf(a *arrangement, p *catalog.Point, grade Grade) rank {
	return rank{
		grade: grade, adapters: a.adapters,
		step:  nearness(t.value-a.adds-p.Compressed, p.Stroke(), t.prefer),
		parts: a.parts, stroke: p.Stroke(), price: p.Price.OrDearest(),
		inverted: asRank(a.inverted), damper: p.Damper,
	}
}

// stepBound is the least step of nearness that any damper of the box inside
// the window can have. Ride position (value − C)/(E − C) falls as either
// length grows while C ≤ value ≤ E, so that two corners bound it.
func (t *task) stepBound(b *catalog.Box, adds unit.Length, w *window) int32 {
	cMost, eLeast := min(b.CompressedMost, w.compressedMost), max(b.ExtendedLeast, w.extendedLeast)
	ride := t.value - adds
	most := position(ride, b.CompressedLeast, eLeast)
	least := position(ride, cMost, b.ExtendedMost)
	prefer := t.prefer.Float()
	if least <= prefer && prefer <= most {
		return 0
	}
	off := min(math.Abs(least-prefer), math.Abs(most-prefer))
	// A bound that is a hair low costs a look; one a hair high loses a fit.
	const hair = 1e-9
	return max(0, int32(math.Ceil((off-hair)*stepsPerWhole))-1)
}

// position is the ride position, 0 to 1, also where a box's corner is no
// damper that can be.
func position(ride, compressed, extended unit.Length) float64 {
	if extended <= compressed {
		return 0
	}
	return min(1, max(0, float64(ride-compressed)/float64(extended-compressed)))
}
