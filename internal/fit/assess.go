package fit

import (
	"midstroke/internal/catalog"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// verdict is the result for one damper: at most one of fits and misses holds.
type verdict struct {
	fits   bool
	fit    found // its best arrangement, where it fits
	misses bool
	miss   missed // the least remedy, where one would make it fit
	// excluded is what rules it out before any length is looked at, if anything does.
	excluded *exclusion
	nearest  lengths
}

// ways are all arrangements of two ends: as listed or inverted, and by means. They
// are made once for all dampers that have these ends.
type ways [2][2][]*arrangement

func (t *task) ways(ends ends) *ways {
	w := new(ways)
	all := func(unit.Length) bool { return true }
	for i, inverted := range bothWaysUp {
		for _, by := range [2]means{straight, adapted} {
			t.each(ends, inverted, by, all, func(a *arrangement) { w[i][by] = append(w[i][by], a) })
		}
	}
	return w
}

// match says whether the ends match the vehicle's one way up, by any means.
func (w *ways) match(inverted bool) bool {
	way := &w[asRank(inverted)]
	return len(way[straight])+len(way[adapted]) > 0
}

// matched says whether the ends match either way up that a damper is made for.
func (w *ways) matched(of catalog.Traits) bool {
	return w.match(false) || of.Invertible() && w.match(true)
}

// matchedBy is matched by one of the means.
func (w *ways) matchedBy(by means, of catalog.Traits) bool {
	return len(w[0][by]) > 0 || of.Invertible() && len(w[1][by]) > 0
}

// matchedAsAllowed says whether the ends match a way up in which the request lets a
// damper be mounted.
func (t *task) matchedAsAllowed(w *ways, of catalog.Traits) bool {
	return t.allowsWayUp(of, false) && w.match(false) || t.allowsWayUp(of, true) && w.match(true)
}

// assess holds one damper against the task in every arrangement
// there is. It answers explain and codes; search and misses find the same without
// looking at every damper.
func (t *task) assess(w *ways, p *catalog.Point) (v verdict) {
	if v.excluded = t.excluded(w, p); v.excluded != nil {
		return v
	}
	t.eachAdmitted(w, p, func(a *arrangement) {
		if a.adapters == 0 || !t.limits.NoAdapters {
			t.assessFit(&v, a, p)
			v.nearest.consider(t, a, p)
		}
	})
	if !v.fits {
		t.eachAdmitted(w, p, func(a *arrangement) { t.assessMiss(&v, a, p) })
	}
	return v
}

// eachAdmitted calls f with each arrangement of a damper that may be mounted so.
func (t *task) eachAdmitted(w *ways, p *catalog.Point, f func(*arrangement)) {
	for i, inverted := range bothWaysUp {
		if !t.allowsWayUp(p.Traits, inverted) {
			continue
		}
		for _, arrangements := range w[i] {
			for _, a := range arrangements {
				f(a)
			}
		}
	}
}

func (t *task) assessFit(v *verdict, a *arrangement, p *catalog.Point) {
	grade, fits := gradeIn(&a.windows, p)
	if !fits || !t.bolting.possible(a) {
		return
	}
	f := found{rank: t.rankOf(a, p, grade), arrangement: a, point: p}
	if !v.fits || f.rank.compare(&v.fit.rank) < 0 {
		v.fits, v.fit = true, f
	}
}

func (t *task) assessMiss(v *verdict, a *arrangement, p *catalog.Point) {
	if a.adapters > 0 && !t.limits.NoAdapters {
		return
	}
	by, ok := t.leastRemedy(a, p)
	if !ok {
		return
	}
	m := missed{
		missRank:    missRank{by: by, adapters: a.adapters, inverted: asRank(a.inverted), damper: p.Damper, place: a.place},
		arrangement: a, point: p,
	}
	if !v.misses || m.missRank.compare(&v.miss.missRank) < 0 {
		v.misses, v.miss = true, m
	}
}

// explain counts every damper of the catalogue.
func (t *task) explain() (Counts, []Count) {
	var total Counts
	byReason := map[note.Code]int{}
	trees, numEnds := t.snapshot.Index().Trees(), t.snapshot.Index().Ends()
	scratch := t.bolting.scratch
	var v verdict // one for all, since each would be allocated
	for i := range trees {
		var w *ways
		var of ends
		before := scratch.arrangements.used
		points := trees[i].Points()
		for _, place := range scratch.byEnds(points, numEnds) {
			p := &points[place]
			if w == nil || endsOf(p) != of {
				// Only counts are kept, so the next ends reuse the room of the last.
				scratch.arrangements.used = before
				of = endsOf(p)
				w = t.ways(of)
			}
			v = t.assess(w, p)
			t.count(&v, p, &total, byReason)
		}
		scratch.arrangements.used = before
	}
	return total, inOrder(byReason)
}

func (t *task) count(v *verdict, p *catalog.Point, total *Counts, byReason map[note.Code]int) {
	total.Dampers++
	switch {
	case v.fits:
		total.Fits++
	case v.misses:
		total.NearMisses++
	default:
		total.RuledOut++
		byReason[t.firstReason(v, p)]++
	}
}
