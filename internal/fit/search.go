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

// branch is a part of the search that is still to be opened: a node of a tree on
// one route. Its key in the queue bounds every fit below it.
type branch struct {
	route   *route // nil: all routes with adapters
	node    int32
	learned int32 // how much was known of the ends
}

// search is one search under way.
type search struct {
	*task
	queue queue[branch]
	best  shortlist[found]
	next  found // the damper at hand, here so that it takes no memory of its own
}

// search finds the best fits, best first, by branch and bound: it opens branches
// in the order of their bounds until no bound is better than the worst fit that
// is still listed. It never looks at the rest.
func (t *task) search(top int) []found {
	s := &search{
		task:  t,
		queue: queue[branch]{t.bolting.scratch.branches[:0]},
		best: shortlist[found]{
			most:    top,
			compare: func(a, b *found) int { return a.rank.compare(&b.rank) },
			key:     func(f *found) key { return f.rank.key() },
			damper:  func(f *found) int32 { return f.damper },
		},
	}
	s.pushRoutes(straight)
	// A fit with adapters ranks behind every clear fit without. Until such a fit is
	// wanted, all adapted routes are one branch.
	if !t.limits.NoAdapters {
		bound := rank{grade: Clear, adapters: 1}
		s.queue.push(bound.key(), branch{})
	}
	for {
		b, ok := s.queue.pop()
		if !ok || !s.best.mayWant(b.key) {
			t.bolting.scratch.branches = s.queue.items
			return s.best.items
		}
		switch {
		case b.branch.route == nil:
			s.pushRoutes(adapted)
		case s.stillBest(b.key, b.branch):
			s.open(b.branch.route, b.branch.node)
		}
	}
}

// pushRoutes puts every route by some means that may hold a fit on the queue.
func (s *search) pushRoutes(by means) {
	trees := s.snapshot.Index().Trees()
	for i := range trees {
		box := trees[i].Box(catalog.Root)
		mayFit := func(adds unit.Length) bool {
			w := s.window(Marginal, adds)
			return w.mayAdmit(box)
		}
		for _, inverted := range bothWaysUp {
			if !s.mayAllow(box, inverted) {
				continue
			}
			s.eachRoute(&trees[i], inverted, by, mayFit, func(r *route) {
				if !s.push(r, catalog.Root) {
					s.bolting.scratch.routes.giveBack()
				}
			})
		}
	}
}

// push puts a node on the queue where it may hold a fit wanted, and says whether it
// did. Where the queue is full it looks through all below the node at once.
func (s *search) push(r *route, number int32) bool {
	bound, ok := s.nodeBound(r, number)
	if !ok {
		return false
	}
	k := bound.key()
	switch {
	case !s.best.mayWant(k):
		return false
	case len(s.queue.items) < mostQueued:
		s.queue.push(k, branch{r, number, int32(s.bolting.learned)})
		return true
	default:
		s.dive(r, number)
		return false
	}
}

// stillBest says whether a branch may be opened now. Ends may have been worked out
// since it was put on the queue, so that its bound has risen: then it goes back.
func (s *search) stillBest(known key, b branch) bool {
	if b.learned == int32(s.bolting.learned) {
		return true
	}
	bound, ok := s.nodeBound(b.route, b.node)
	if !ok {
		return false
	}
	k := bound.key()
	if !known.less(k) {
		return true
	}
	if s.best.mayWant(k) {
		b.learned = int32(s.bolting.learned)
		s.queue.push(k, b)
	}
	return false
}

func asRank(inverted bool) uint8 {
	if inverted {
		return 1
	}
	return 0
}

// nodeBound bounds the rank of every fit below a node on a route; false where there
// can be none.
func (t *task) nodeBound(r *route, number int32) (rank, bool) {
	box := r.tree.Box(number)
	grade := Clear
	for !r.windows[grade].mayAdmit(box) {
		if grade++; grade == grades {
			return rank{}, false
		}
	}
	if !t.mayAllow(box, r.inverted) {
		return rank{}, false
	}
	parts, ok := r.parts(box)
	if !ok {
		return rank{}, false
	}
	w := &r.windows[grade]
	return rank{
		grade: grade, adapters: r.adapters, damping: t.dampingBound(box), step: t.stepBound(box, r.adds, w), parts: parts,
		stroke: max(box.StrokeLeast, w.strokeLeast()), price: box.PriceLeast,
		inverted: asRank(r.inverted), damper: box.DamperLeast,
	}, true
}

// open opens a node: its children go on the queue, the dampers of a leaf on the
// shortlist.
func (s *search) open(r *route, number int32) {
	lower, upper, leaf := r.tree.Below(number)
	if leaf != nil {
		s.offer(r, leaf)
		return
	}
	s.push(r, lower)
	s.push(r, upper)
}

// mostQueued is how many branches a search keeps for later: there may be very many
// pairs of adapters, and they must not fill the memory.
const mostQueued = 1 << 14

// dive opens a node and everything below it that may hold a fit wanted. The order
// doesn't change which fits are found.
func (s *search) dive(r *route, number int32) {
	lower, upper, leaf := r.tree.Below(number)
	if leaf != nil {
		s.offer(r, leaf)
		return
	}
	for _, child := range [2]int32{lower, upper} {
		if bound, ok := s.nodeBound(r, child); ok && s.best.mayWant(bound.key()) {
			s.dive(r, child)
		}
	}
}

// offer puts the dampers that fit on the shortlist. In a common place most that
// fit are not listed, so each is dropped as soon as it is known to rank behind, and
// its hardware is worked out last.
func (s *search) offer(r *route, points []catalog.Point) {
	f := &s.next
	for i := range points {
		p := &points[i]
		grade, fits := gradeIn(&r.windows, p)
		if !fits || !s.allows(p, r.inverted) {
			continue
		}
		*f = found{point: p, rank: rank{grade: grade, adapters: r.adapters}}
		if !s.best.mayWant(f.key()) {
			continue
		}
		if f.damping = s.dampingRank(p); f.damping != 0 && !s.best.mayWant(f.key()) {
			continue
		}
		lengths := s.span(r.adds, p)
		f.step = s.step(lengths)
		f.stroke, f.price = p.Stroke(), p.Price.OrDearest()
		f.inverted, f.damper = asRank(r.inverted), p.Damper
		if !s.best.mayWant(f.key()) {
			continue
		}
		f.grade = s.demoted(grade, lengths)
		if f.grade != grade && !s.best.mayWant(f.key()) {
			continue
		}
		if upper, lower := s.optionsOn(r, p); upper != nil && lower != nil && upper.possible && lower.possible {
			f.parts, f.cost, f.place = upper.parts+lower.parts, upper.cost.plus(lower.cost), placeOf(upper, lower)
			if s.best.wants(f) {
				f.arrangement = s.arrange(r.inverted, upper, lower)
				if !s.best.offer(f) {
					s.bolting.scratch.arrangements.giveBack()
				}
			}
		}
	}
}

// gradeIn says how well a damper's lengths fit into windows, if at all.
func gradeIn(windows *[grades]window, p *catalog.Point) (grade Grade, fits bool) {
	if !windows[Marginal].admits(p) {
		return Marginal, false
	}
	for !windows[grade].admits(p) {
		grade++
	}
	return grade, true
}

// rankOf gives a fit its place in the order.
func (t *task) rankOf(a *arrangement, p *catalog.Point, grade Grade) rank {
	s := t.span(a.adds, p)
	return rank{
		grade: t.demoted(grade, s), adapters: a.adapters, damping: t.dampingRank(p), step: t.step(s),
		parts: t.bolting.parts(a), stroke: p.Stroke(), price: p.Price.OrDearest(),
		inverted: asRank(a.inverted), damper: p.Damper,
		cost: t.bolting.cost(a), place: a.place,
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
