package mount

import (
	"cmp"

	"midstroke/internal/unit"
)

// chain is sleeves nested in one another, from the outermost in.
type chain struct {
	ok    bool
	gap   unit.Length // of all contacts from the bushing to the bolt
	cost  cost
	n     int8
	tubes [mostSleeves]int32
}

// compare orders chains of equally many sleeves and of one length, beside which the
// same spacers lie: least total gap, then cheapest.
func (c *chain) compare(d *chain) int {
	return cmp.Or(cmp.Compare(c.gap, d.gap), c.cost.compare(d.cost))
}

// compareCodes orders two chains of equally many sleeves by their codes, from
// the outermost in.
func (s *Shelf) compareCodes(c, d *chain) int {
	for i := range c.tubes[:c.n] {
		if order := cmp.Compare(s.tubes[c.tubes[i]].rank, s.tubes[d.tubes[i]].rank); order != 0 {
			return order
		}
	}
	return 0
}

// keepBetterChain keeps the better of two chains of one length in c.
func (s *Shelf) keepBetterChain(c, d *chain) {
	if !c.ok {
		*c = *d
		return
	}
	order := d.compare(c)
	if order == 0 {
		order = s.compareCodes(d, c)
	}
	if order < 0 {
		*c = *d
	}
}

// nesting is the search for sleeves that fill the room between a bushing and a
// bolt.
type nesting struct {
	*Shelf
	bore    unit.Length
	nominal bool
	into    span // the tubes that go into the bore
	bolt    unit.Length
	bores   interval // that may take the bolt
	// least and most bound the length of every sleeve.
	least, most unit.Length
	// bearing is the bore of a spacer that must bear on the longest sleeve of a chain of
	// more than one; 0 asks for nothing.
	bearing unit.Length
}

// chains calls visit with chains of n sleeves, each with the length of its
// longest: for one sleeve with every one, for more with the best chain of each
// length.
//
// Sleeves are added from the shortest to the longest, so the newest one is always
// what the bracket clamps. In a chain of three, each sleeve that may be the middle
// one remembers the best sleeve around it and the best one inside it so far. A new
// sleeve changes that for its neighbours only. So the cost of all lengths together
// is that of the pairs of sleeves that go into one another, not of the chains.
func (q *nesting) chains(n int8, visit func(c chain, longest unit.Length)) {
	if n == 1 {
		for i := q.into.from; i < q.into.to; i++ {
			if c := q.alone(i); c.ok {
				visit(c, q.tubes[i].length)
			}
		}
		return
	}
	if !q.mayNest(n) {
		return
	}
	s := &sweep{nesting: q, three: n == mostSleeves, joined: make([]bool, len(q.tubes))}
	if s.three {
		s.around, s.inside = make([]link, len(q.tubes)), make([]link, len(q.tubes))
	}
	for from := 0; from < len(q.byLength); {
		length, to := q.tubes[q.byLength[from]].length, from+1
		for to < len(q.byLength) && q.tubes[q.byLength[to]].length == length {
			to++
		}
		if between(length, q.least, q.most) {
			if best := s.add(q.byLength[from:to]); best.ok {
				visit(best, length)
			}
		}
		from = to
	}
}

// alone is the chain of one sleeve.
func (q *nesting) alone(i int32) chain {
	t := &q.tubes[i]
	onBolt := q.limits.boltIn(t.bore, t.nominal, q.bolt)
	if !onBolt.ok || !between(t.length, q.least, q.most) {
		return chain{}
	}
	return chain{
		ok: true, gap: q.inBushing(i) + onBolt.gap, cost: t.cost,
		n: 1, tubes: [mostSleeves]int32{i},
	}
}

// inBushing is the gap around a tube that goes into the bushing.
func (q *nesting) inBushing(i int32) unit.Length {
	return q.limits.sleeveIn(q.bore, q.nominal, q.tubes[i].outer).gap
}

// gap is the gap between a tube and one that goes into it.
func (q *nesting) gap(i, inner int32) unit.Length {
	t := &q.tubes[i]
	return q.limits.sleeveIn(t.bore, t.nominal, q.tubes[inner].outer).gap
}

// mayNest says whether a chain of n sleeves is possible, so that a search is worth
// its cost.
func (q *nesting) mayNest(n int8) bool {
	for i := q.into.from; i < q.into.to; i++ {
		if q.mayReach(i, n) {
			return true
		}
	}
	return false
}

// mayReach says whether a chain of n sleeves with that tube outermost may end
// on the bolt.
func (q *nesting) mayReach(i int32, n int8) bool {
	t := &q.tubes[i]
	return between(t.length, q.least, q.most) && t.reach[n-1].overlaps(q.bores)
}

// sweep goes through the sleeves by length.
type sweep struct {
	*nesting
	three bool
	// joined are the tubes gone through.
	joined []bool
	// around and inside are, for each tube as the middle one of three, the best
	// of the joined tubes between the bushing and it, and between it and the
	// bolt.
	around, inside []link
}

// link is a tube beside another in a chain.
type link struct {
	ok   bool
	gap  unit.Length // on both its sides
	cost cost
	tube int32
}

// keepBetterLink keeps the better of the two links in l: by gap, cost and code.
func (q *nesting) keepBetterLink(l *link, gap unit.Length, tube int32) {
	t := &q.tubes[tube]
	if l.ok {
		order := cmp.Compare(gap, l.gap)
		if order == 0 {
			order = t.cost.compare(l.cost)
		}
		if order == 0 {
			order = cmp.Compare(t.rank, q.tubes[l.tube].rank)
		}
		if order >= 0 {
			return
		}
	}
	*l = link{ok: true, gap: gap, cost: t.cost, tube: tube}
}

// add joins tubes of one length. It gives the best chain that has one of them and,
// for the rest, tubes that were joined before.
func (s *sweep) add(group []int32) chain {
	for _, i := range group {
		s.join(i)
	}
	var best chain
	for _, i := range group {
		if t := &s.tubes[i]; bearingBore(t.outer, t.bore) < s.bearing {
			continue // another one of this length may bear the spacer
		}
		if s.three {
			s.threeWith(i, &best)
		} else {
			s.twoWith(i, &best)
		}
	}
	return best
}

// outermost says whether a tube goes into the bushing, and innermost whether
// the bolt goes into it and with which gap.
func (s *sweep) outermost(i int32) bool { return s.into.from <= i && i < s.into.to }

func (s *sweep) innermost(i int32) contact {
	t := &s.tubes[i]
	return s.limits.boltIn(t.bore, t.nominal, s.bolt)
}

func (s *sweep) join(i int32) {
	s.joined[i] = true
	if !s.three {
		return
	}
	if s.outermost(i) && s.mayReach(i, 3) {
		outside := s.inBushing(i)
		for j := s.tubes[i].inside.from; j < s.tubes[i].inside.to; j++ {
			if s.mayReach(j, 2) {
				s.keepBetterLink(&s.around[j], outside+s.gap(i, j), i)
			}
		}
	}
	if onBolt := s.innermost(i); onBolt.ok {
		for _, span := range s.tubes[i].around {
			for _, j := range s.byBore[span.from:span.to] {
				s.keepBetterLink(&s.inside[j], s.gap(j, i)+onBolt.gap, i)
			}
		}
	}
}

// twoWith tries every chain of two that a tube is in.
func (s *sweep) twoWith(i int32, best *chain) {
	if s.outermost(i) && s.mayReach(i, 2) {
		outside := s.inBushing(i)
		for j := s.tubes[i].inside.from; j < s.tubes[i].inside.to; j++ {
			if !s.joined[j] {
				continue
			}
			if onBolt := s.innermost(j); onBolt.ok {
				s.try(best, outside+s.gap(i, j)+onBolt.gap, i, j)
			}
		}
	}
	if onBolt := s.innermost(i); onBolt.ok {
		for _, span := range s.tubes[i].around {
			for _, j := range s.byBore[span.from:span.to] {
				if s.joined[j] && s.outermost(j) {
					s.try(best, s.inBushing(j)+s.gap(j, i)+onBolt.gap, j, i)
				}
			}
		}
	}
}

// threeWith tries every chain of three that a tube is in.
func (s *sweep) threeWith(i int32, best *chain) {
	if out, in := &s.around[i], &s.inside[i]; out.ok && in.ok {
		s.try(best, out.gap+in.gap, out.tube, i, in.tube)
	}
	if s.outermost(i) && s.mayReach(i, 3) {
		outside := s.inBushing(i)
		for j := s.tubes[i].inside.from; j < s.tubes[i].inside.to; j++ {
			if in := &s.inside[j]; s.joined[j] && in.ok {
				s.try(best, outside+s.gap(i, j)+in.gap, i, j, in.tube)
			}
		}
	}
	if onBolt := s.innermost(i); onBolt.ok {
		for _, span := range s.tubes[i].around {
			for _, j := range s.byBore[span.from:span.to] {
				if out := &s.around[j]; s.joined[j] && out.ok {
					s.try(best, out.gap+s.gap(j, i)+onBolt.gap, out.tube, j, i)
				}
			}
		}
	}
}

// try keeps a chain in best if it is better.
func (s *sweep) try(best *chain, gap unit.Length, tubes ...int32) {
	if best.ok && gap > best.gap {
		return
	}
	c := chain{ok: true, gap: gap, n: int8(len(tubes))}
	for at, i := range tubes {
		c.tubes[at] = i
		c.cost = c.cost.plus(s.tubes[i].cost)
	}
	s.keepBetterChain(best, &c)
}
