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

func (a *missRank) key() key {
	return key{uint64(a.by), (uint64(a.adapters)<<1|uint64(a.inverted))<<damperBits | uint64(a.damper)}
}

// missed is a near miss in the arrangement that takes the least remedy.
type missed struct {
	missRank
	arrangement *arrangement
	point       *catalog.Point
}

// missBranch is a part of the search for near misses that is still to be opened: a
// node of a tree on one route, or one damper.
type missBranch struct {
	route *route
	node  int32
	miss  missed // one damper, where it has a point
}

// missSearch is one search for near misses under way.
type missSearch struct {
	*task
	queue queue[missBranch]
	best  shortlist[missed]
	next  missed // the damper at hand, here so that it takes no memory of its own
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
	s := &missSearch{
		task:  t,
		queue: queue[missBranch]{t.bolting.scratch.missBranches[:0]},
		best: shortlist[missed]{
			most:    top,
			compare: func(a, b *missed) int { return a.missRank.compare(&b.missRank) },
			key:     func(m *missed) key { return m.missRank.key() },
			damper:  func(m *missed) int32 { return m.damper },
		},
	}
	s.pushRoutes(straight)
	if t.limits.NoAdapters {
		s.pushRoutes(adapted)
	}
	for {
		b, ok := s.queue.pop()
		if !ok || !s.best.mayWant(b.key) {
			t.bolting.scratch.missBranches = s.queue.items
			return s.best.items
		}
		if b.branch.miss.point != nil {
			s.next = b.branch.miss
			s.offer(&s.next)
		} else {
			s.open(b.branch.route, b.branch.node)
		}
	}
}

// pushRoutes puts every route by some means that may hold a near miss on the queue.
func (s *missSearch) pushRoutes(by means) {
	trees := s.snapshot.Index().Trees()
	for i := range trees {
		for _, inverted := range bothWaysUp {
			s.eachRoute(&trees[i], inverted, by, isRemedy, func(r *route) {
				if r.adapters > 1 || !s.push(r, catalog.Root) {
					s.bolting.scratch.routes.giveBack()
				}
			})
		}
	}
}

// isRemedy says whether an adapter that adds a length may be a remedy.
func isRemedy(adds unit.Length) bool { return adds.Abs() <= remedyMost }

// push puts a node on the queue where it may hold a near miss wanted.
func (s *missSearch) push(r *route, number int32) bool {
	bound, ok := s.missBound(r, number)
	k := bound.key()
	if ok = ok && s.best.mayWant(k); ok {
		s.queue.push(k, missBranch{route: r, node: number})
	}
	return ok
}

// open opens a node: its children go on the queue, the near misses of a leaf on the
// shortlist.
func (s *missSearch) open(r *route, number int32) {
	lower, upper, leaf := r.tree.Below(number)
	if leaf != nil {
		s.offerLeaf(r, leaf)
		return
	}
	s.push(r, lower)
	s.push(r, upper)
}

// missBound bounds the near misses below a node; false where there can be none.
func (t *task) missBound(r *route, number int32) (missRank, bool) {
	box := r.tree.Box(number)
	if !t.mayAllow(box, r.inverted) {
		return missRank{}, false
	}
	bound := missRank{adapters: r.adapters, inverted: asRank(r.inverted), damper: box.DamperLeast}
	if r.adapters > 0 {
		bound.by = r.adds.Abs()
		_, possible := r.parts(box)
		return bound, possible && r.windows[Marginal].mayAdmit(box)
	}
	bound.by = t.boxLacks(box)
	if bound.by > remedyMost {
		return missRank{}, false
	}
	upper, lower := atSites(r.inverted, box.UpperEnds, box.LowerEnds)
	if bound.by == 0 && r.windows[Marginal].admitsAll(box) {
		// The lengths lack nothing, so that only hardware can.
		t.settle(r.upper, upper)
		t.settle(r.lower, lower)
		least, ok := r.cureLeast(upper, lower)
		bound.by = least
		return bound, ok && least <= remedyMost
	}
	_, curable := r.cureLeast(upper, lower)
	_, possible := r.parts(box)
	return bound, curable || possible
}

// cureLeast bounds the change that makes the hardware of a damper possible where one
// end can't be bolted up and the other can; false where there is none.
func (r *route) cureLeast(upper, lower catalog.EndSet) (least unit.Length, ok bool) {
	_, upperGoes := r.upper.fewest(upper)
	_, lowerGoes := r.lower.fewest(lower)
	byUpper, upperMay := r.upper.cure(upper)
	byLower, lowerMay := r.lower.cure(lower)
	least = unit.MaxLength
	if upperMay && lowerGoes {
		least, ok = byUpper, true
	}
	if lowerMay && upperGoes {
		least, ok = min(least, byLower), true
	}
	return least, ok
}

// boxLacks is the least that any remedy must make up for a damper of the box as it
// is.
func (t *task) boxLacks(b *catalog.Box) unit.Length {
	return t.asRemedy(t.shortfall(b.CompressedLeast+t.rodStop, b.ExtendedMost))
}

// offerLeaf puts the near misses among points on the shortlist. Where it takes
// some computing to tell, it puts them on the queue until their turn comes.
func (s *missSearch) offerLeaf(r *route, points []catalog.Point) {
	m := &s.next
	for i := range points {
		p := &points[i]
		*m = missed{point: p, missRank: missRank{adapters: r.adapters, inverted: asRank(r.inverted), damper: p.Damper}}
		lengths := s.span(r.adds, p)
		short := s.shortfall(lengths.compressed, lengths.extended)
		m.by = s.asRemedy(short)
		if m.by > remedyMost || r.adapters > 0 && m.by > 0 || !s.best.mayWant(m.key()) || !s.allows(p, r.inverted) {
			continue
		}
		upper, lower := s.optionsOn(r, p)
		if upper == nil || lower == nil || r.adapters == 0 && short == (Both{}) && upper.possible == lower.possible {
			continue // fits, or takes more than one change
		}
		m.arrangement = s.arrange(r.inverted, upper, lower)
		m.place = m.arrangement.place
		if s.kinematics != nil && m.by > lessTravelMost {
			s.putOff(m)
			continue
		}
		s.offer(m)
	}
}

// putOff puts a damper on the queue that only a move of the real mounts may make
// fit.
func (s *missSearch) putOff(m *missed) {
	lengths := s.span(m.arrangement.adds, m.point)
	bound, ok := s.kinematics.moveBound(s.shortfall(lengths.compressed, lengths.extended), lengths.compressed, lengths.extended)
	m.by = max(m.by, bound)
	if k := m.key(); ok && s.best.mayWant(k) {
		s.queue.push(k, missBranch{miss: *m})
	}
}

// offer puts a damper on the shortlist if it is a near miss. Its rank is only a
// bound so far.
func (s *missSearch) offer(m *missed) {
	var ok bool
	if m.by, ok = s.leastRemedy(m.arrangement, m.point); ok && s.best.wants(m) && !s.fitsSomehow(m.point) {
		s.best.offer(m)
	}
}

// fitsSomehow says whether a damper fits in any arrangement.
func (t *task) fitsSomehow(p *catalog.Point) bool {
	fits := false
	admits := func(adds unit.Length) bool {
		w := t.window(Marginal, adds)
		return !fits && w.admits(p)
	}
	for _, inverted := range bothWaysUp {
		if !t.allowsWayUp(p.Traits, inverted) {
			continue
		}
		for _, by := range t.means() {
			t.each(endsOf(p), inverted, by, admits, func(a *arrangement) {
				fits = fits || t.bolting.possible(a)
				t.bolting.scratch.arrangements.giveBack()
			})
		}
	}
	return fits
}

// means lists the means by which ends may be bolted up.
func (t *task) means() []means {
	if t.limits.NoAdapters {
		return []means{straight}
	}
	return []means{straight, adapted}
}
