package fit

import (
	"math"

	"midstroke/internal/catalog"
	"midstroke/internal/fault"
	"midstroke/internal/measure"
	"midstroke/internal/unit"
)

// Served is a damper that fits a request, with the grade of its best arrangement.
type Served struct {
	Damper int32 // its place in the list by code
	Grade  Grade
}

// Everyone is all dampers that fit one request.
type Everyone struct {
	Outcome Outcome
	// Served is in the order of the dampers.
	Served []Served
	// CompressedMost and ExtendedLeast are the lengths that a damper without adapters
	// must have to fit at all. They are there where Outcome is Fits or NoFit.
	CompressedMost, ExtendedLeast unit.Length
}

// notServed marks a damper that doesn't fit.
const notServed Grade = math.MaxUint8

// FindEvery finds all dampers that fit. Find gives the best of the same dampers, with
// everything that is to be said of them, and the same faults.
func FindEvery(r *Request, s *catalog.Snapshot) (Everyone, fault.List) {
	r = r.settled()
	var faults fault.List
	s = s.At(r.Limits.InStockAt)
	working, k, rater, required := r.asked(&faults)
	r.namedDampers(s, &faults)
	r.checkLocation(s, &faults)
	if len(faults) > 0 {
		return Everyone{}, faults
	}
	switch working.Verdict {
	case measure.MeasureAgain:
		return Everyone{Outcome: MeasureAgain}, nil
	case measure.OutsideMethod:
		return Everyone{Outcome: OutsideMethod}, nil
	case measure.Measured:
	}
	lean, _ := r.knownLean(&working, k)
	scratch := scratches.Get().(*scratch)
	defer scratch.release()
	t := r.task(s, &working, required, k, lean, scratch)
	t.valving = newValving(rater, s)
	all := Everyone{Outcome: NoFit, CompressedMost: t.shorter - t.needC.Least - t.rodStop, ExtendedLeast: t.longer + t.needE.Least}
	if all.Served = t.served(); len(all.Served) > 0 {
		all.Outcome = Fits
	}
	return all, nil
}

// grading finds the best grade of every damper. Of the hardware only the length that it
// adds counts, so each end is worked out once, whatever the other end and the lengths.
type grading struct {
	*task
	usable [grades]window
	grades []Grade
	fits   int
	// adds are the lengths that each end can add at each site, by site and end number.
	adds [2][]endAdds
}

// endAdds are the different lengths with which an end can be bolted up at a site: 0 as it
// is, and those of its adapters.
type endAdds struct {
	known bool
	all   []unit.Length
}

// addsRange is from the least to the most length that hardware may add. It is empty where
// least is more than most.
type addsRange struct{ least, most unit.Length }

// served lists all dampers that fit, with their best grades.
func (t *task) served() []Served {
	scratch := t.bolting.scratch
	g := &grading{task: t, grades: scratch.notServed(len(t.snapshot.Dampers())), adds: scratch.noAdds(t.snapshot.Index().Ends())}
	for grade := range g.usable {
		g.usable[grade] = t.usable(Grade(grade))
	}
	trees := t.snapshot.Index().Trees()
	for i := range trees {
		for _, inverted := range bothWaysUp {
			w := &wayUp{tree: &trees[i], inverted: inverted}
			if g.addsOn(w); w.adds.least <= w.adds.most {
				g.gradeBelow(w, catalog.Root)
			}
		}
	}
	if g.fits == 0 {
		return nil
	}
	all := make([]Served, 0, g.fits)
	for damper, grade := range g.grades {
		if grade != notServed {
			all = append(all, Served{int32(damper), grade})
		}
	}
	return all
}

// wayUp is the dampers of a tree one way up, with what their hardware may add.
type wayUp struct {
	tree     *catalog.Tree
	inverted bool
	adds     addsRange
}

// addsOn bounds what hardware may add to the dampers of a tree.
func (g *grading) addsOn(w *wayUp) {
	upperStyle, lowerStyle := atSites(w.inverted, w.tree.UpperStyle, w.tree.LowerStyle)
	upper, lower := g.bolting.addsRange(atUpper, upperStyle, !g.limits.NoAdapters), g.bolting.addsRange(atLower, lowerStyle, !g.limits.NoAdapters)
	w.adds = addsRange{1, 0}
	if upper.least <= upper.most && lower.least <= lower.most {
		w.adds = addsRange{upper.least + lower.least, upper.most + lower.most}
	}
}

// wanted narrows a range to what a damper, or the nearest of a box, may add to fit at all.
func (g *grading) wanted(of addsRange, compressed, extended unit.Length) addsRange {
	w := &g.usable[Marginal]
	return addsRange{max(of.least, w.extendedLeast-extended), min(of.most, w.compressedMost-compressed-g.rodStop)}
}

// gradeBelow notes the grades that the dampers below a node have one way up.
func (g *grading) gradeBelow(w *wayUp, number int32) {
	box := w.tree.Box(number)
	if r := g.wanted(w.adds, box.CompressedLeast, box.ExtendedMost); r.least > r.most || !g.mayAllow(box, w.inverted) {
		return
	}
	lower, upper, leaf := w.tree.Below(number)
	if leaf == nil {
		g.gradeBelow(w, lower)
		g.gradeBelow(w, upper)
		return
	}
	for i := range leaf {
		g.gradeOne(w, &leaf[i])
	}
}

// gradeOne notes the best grade of a damper one way up.
func (g *grading) gradeOne(w *wayUp, p *catalog.Point) {
	known := &g.grades[p.Damper]
	wanted := g.wanted(w.adds, p.Compressed, p.Extended)
	if wanted.least > wanted.most || *known == Clear || p.Stroke() <= g.rodStop || !g.allows(p, w.inverted) {
		return
	}
	upper, lower := atSites(w.inverted, p.Upper, p.Lower)
	best := *known
	for _, u := range g.endAdds(atUpper, upper) {
		for _, l := range g.endAdds(atLower, lower) {
			if adds := u + l; wanted.least <= adds && adds <= wanted.most {
				best = min(best, g.gradeOf(g.span(adds, p)))
			}
		}
	}
	if *known == notServed && best != notServed {
		g.fits++
	}
	*known = best
}

// gradeOf is the grade of a damper that fits.
func (g *grading) gradeOf(s span) Grade {
	c, e := s.compressed+s.tolerance, s.extended-s.tolerance
	for grade := Clear; grade < Marginal; grade++ {
		if w := &g.usable[grade]; c <= w.compressedMost && e >= w.extendedLeast {
			return g.demoted(grade, s)
		}
	}
	return Marginal
}

// endAdds gives the lengths that an end can add at a site.
func (g *grading) endAdds(at int, end int32) []unit.Length {
	a := &g.adds[at][end]
	if !a.known {
		a.known, a.all = true, g.bolting.appendAdds(a.all[:0], at, end, !g.limits.NoAdapters)
	}
	return a.all
}
