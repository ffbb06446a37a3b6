package fit

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// leg is one way to bring dampers' ends of one style to a site: as they are, or
// each by an adapter that adds a certain length. It knows of every end how many
// parts that takes, or that it can't be done, as soon as that was worked out.
// From this it bounds what any of a set of ends can come to.
type leg struct {
	at     int
	by     means
	adds   unit.Length
	parts  []int8 // by end: how many, or one of the values below
	atMost [partsCounted + 1]catalog.EndSet
	// settled are the ends of which all is known. Of these, curable are those that
	// can't be done, but one change makes possible; cureLeast is the least of those
	// changes.
	settled, curable catalog.EndSet
	cureLeast        unit.Length
}

// Of an end in leg.parts.
const (
	notSolved  int8 = -1
	impossible int8 = -2
)

// partsCounted is up to how many parts a leg tells apart; the last set of atMost
// has all ends that can be done at all.
const partsCounted = 6

// straightLegs are the legs of ends of one style that come to a site as they are:
// one, or none where the site is of another style.
func (t *task) straightLegs(at int, style mount.Style) []*leg {
	b := t.bolting
	if style != b.sites[at].style {
		return nil
	}
	if b.straightLegs[at] == nil {
		l := b.scratch.leg(t.snapshot.Index().Ends(), notSolved)
		l.at, l.by, l.cureLeast = at, straight, unit.MaxLength
		for k := range l.atMost {
			l.atMost[k] = math.MaxUint64
		}
		b.straightLegs[at] = []*leg{l}
	}
	return b.straightLegs[at]
}

// adaptedLegs are the legs by adapters of the ends of one style, one for each length
// that any of the adapters adds, in order.
func (t *task) adaptedLegs(at int, style mount.Style) []*leg {
	b, x := t.bolting, t.snapshot.Index()
	for _, known := range b.adaptedLegs[at] {
		if known.style == style {
			return known.legs
		}
	}
	var legs []*leg
	for end := range int32(x.Ends()) {
		if x.End(end).Style != style {
			continue
		}
		for _, number := range t.snapshot.Adapted(end, b.sites[at].style) {
			a := &t.snapshot.Adapters()[number]
			if !b.takes(a) {
				continue
			}
			i, known := slices.BinarySearchFunc(legs, a.AddsLength, func(l *leg, adds unit.Length) int { return cmp.Compare(l.adds, adds) })
			if !known {
				l := b.scratch.leg(x.Ends(), impossible)
				l.at, l.by, l.adds = at, adapted, a.AddsLength
				legs = slices.Insert(legs, i, l)
			}
			l := legs[i]
			l.parts[end] = notSolved
			for k := 1; k <= partsCounted; k++ { // the adapter is a part
				l.atMost[k] |= x.Set(end)
			}
		}
	}
	b.adaptedLegs[at] = append(b.adaptedLegs[at], legsOfStyle{style, legs})
	return legs
}

// legsOfStyle are the legs by adapters of the ends of one style.
type legsOfStyle struct {
	style mount.Style
	legs  []*leg
}

// adapters is how many adapters the leg takes.
func (l *leg) adapters() uint8 {
	if l.by == adapted {
		return 1
	}
	return 0
}

// fewest bounds the parts that any of the ends takes; false where none can be done.
func (l *leg) fewest(of catalog.EndSet) (parts int32, ok bool) {
	for k, ends := range l.atMost {
		if ends&of != 0 {
			return int32(k), true
		}
	}
	return 0, false
}

// option is the way an end goes on this leg, solved; nil where there is none.
func (t *task) option(l *leg, end int32) *option {
	if l.parts[end] == impossible && l.by == adapted {
		return nil
	}
	options := t.bolting.options(l.at, end, l.by) // one for each length, in order
	i := sort.Search(len(options)-1, func(i int) bool { return options[i].adds() >= l.adds })
	o := &options[i]
	if t.bolting.solve(o); l.parts[end] == notSolved {
		parts := impossible
		if o.possible {
			parts = int8(min(o.parts, math.MaxInt8))
		}
		t.learn(l, end, parts)
	}
	return o
}

// learn notes how many parts an end takes on a leg.
func (t *task) learn(l *leg, end int32, parts int8) {
	t.bolting.learned++
	l.parts[end] = parts
	x := t.snapshot.Index()
	bit := x.Set(end)
	fewest := partsCounted + 1 // of the ends that share the bit
	for _, other := range x.Sharing(x.End(end).Style, bit) {
		switch known := l.parts[other]; known {
		case impossible:
		case notSolved:
			fewest = min(fewest, int(l.adapters()))
		default:
			fewest = min(fewest, int(known), partsCounted)
		}
	}
	for k := range l.atMost {
		if k >= fewest {
			l.atMost[k] |= bit
		} else {
			l.atMost[k] &^= bit
		}
	}
}

// cure bounds the change that makes one of the ends possible that isn't; false where
// there is none.
func (l *leg) cure(of catalog.EndSet) (least unit.Length, ok bool) {
	if of&^l.settled != 0 {
		return 0, true
	}
	return l.cureLeast, of&l.curable != 0
}

// settle works out every end of a set on a straight leg, and which of those that
// can't be done one change makes possible.
func (t *task) settle(l *leg, ends catalog.EndSet) {
	left := ends &^ l.settled
	l.settled |= ends
	for left != 0 {
		bit := left & -left
		left &^= bit
		for _, end := range t.snapshot.Index().Sharing(t.bolting.sites[l.at].style, bit) {
			if o := t.option(l, end); !o.possible {
				for _, c := range t.bolting.cures(o) {
					l.curable |= bit
					l.cureLeast = min(l.cureLeast, c.By)
				}
			}
		}
	}
}
