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
// everything that is to be said of them.
func FindEvery(r *Request, s *catalog.Snapshot) (Everyone, fault.List) {
	r = r.settled()
	var faults fault.List
	working, found := r.workingLength()
	faults.AddUnder("", found)
	kin := r.kinematics(&working, &faults)
	rater := r.rater(kin, &faults)
	required := r.required(&working, kin, &faults)
	r.checkHeights(&faults)
	r.checkDroop(&faults)
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
	lean, _ := r.knownLean(&working, kin)
	scratch := scratches.Get().(*scratch)
	defer scratch.release()
	t := r.task(s, &working, required, kin, lean, scratch)
	t.valving = newValving(rater, s)
	all := Everyone{Outcome: NoFit, CompressedMost: t.shorter - t.needC.Least - t.rodStop, ExtendedLeast: t.longer + t.needE.Least}
	for damper, grade := range t.everyGrade() {
		if grade != notServed {
			all.Outcome = Fits
			all.Served = append(all.Served, Served{int32(damper), grade})
		}
	}
	return all, nil
}

// everyGrade gives the best grade of every damper. It goes down every route and leaves out
// the branches below which nothing can fit.
func (t *task) everyGrade() []Grade {
	grades := make([]Grade, len(t.snapshot.Dampers()))
	for i := range grades {
		grades[i] = notServed
	}
	trees := t.snapshot.Index().Trees()
	for i := range trees {
		box := trees[i].Box(catalog.Root)
		mayFit := func(adds unit.Length) bool {
			w := t.window(Marginal, adds)
			return w.mayAdmit(box)
		}
		for _, inverted := range bothWaysUp {
			if !t.mayAllow(box, inverted) {
				continue
			}
			for _, by := range [2]means{straight, adapted} {
				if by == adapted && t.limits.NoAdapters {
					continue
				}
				t.eachRoute(&trees[i], inverted, by, mayFit, func(r *route) {
					t.gradeBelow(r, catalog.Root, grades)
					t.bolting.scratch.routes.giveBack()
				})
			}
		}
	}
	return grades
}

// gradeBelow notes the grades of the dampers below a node on a route.
func (t *task) gradeBelow(r *route, number int32, grades []Grade) {
	if _, ok := t.nodeBound(r, number); !ok {
		return
	}
	lower, upper, leaf := r.tree.Below(number)
	if leaf == nil {
		t.gradeBelow(r, lower, grades)
		t.gradeBelow(r, upper, grades)
		return
	}
	for i := range leaf {
		p := &leaf[i]
		grade, fits := gradeIn(&r.windows, p)
		if !fits || grade >= grades[p.Damper] || !t.allows(p, r.inverted) {
			continue
		}
		if grade = t.demoted(grade, t.span(r.adds, p)); grade >= grades[p.Damper] {
			continue
		}
		if upper, lower := t.optionsOn(r, p); upper != nil && lower != nil && upper.possible && lower.possible {
			grades[p.Damper] = grade
		}
	}
}
