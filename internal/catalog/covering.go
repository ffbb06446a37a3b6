package catalog

import (
	"cmp"
	"slices"

	"midstroke/internal/damping"
)

// Rated is a damper with its damping on a corner, nil where it has no force table.
type Rated struct {
	Damper *Damper
	Rating *damping.Rating
}

// Covering says which dampers give a corner the damping that it wants.
type Covering struct {
	Dampers []Rated
	// More says that more dampers are in range than are listed.
	More bool
	// Judged is how many were looked at, and Verdicts how many got each verdict;
	// at 0 stand those that couldn't be judged.
	Judged   int
	Verdicts [4]int
}

// Covering judges all dampers and lists the nearest: those in range first, nearest
// to the wanted ratio first, then those outside by how far.
func (s *Snapshot) Covering(r *damping.Rater, most int) Covering {
	judged := make([]damping.Judgement, len(s.forces.tables))
	for i := range judged {
		judged[i] = r.Judge(&s.forces.tables[i])
	}
	c := Covering{Judged: len(s.contents.Dampers)}
	var list []int32
	for i := range s.contents.Dampers {
		number := s.ForceTable(int32(i))
		if number < 0 || judged[number].Verdict == 0 {
			c.Verdicts[0]++
			continue
		}
		c.Verdicts[judged[number].Verdict]++
		list = append(list, int32(i))
	}
	of := func(damper int32) *damping.Judgement { return &judged[s.forces.numbers[damper]] }
	slices.SortFunc(list, func(a, b int32) int {
		return cmp.Or(cmp.Compare(of(a).Outside, of(b).Outside), cmp.Compare(of(a).Away, of(b).Away), cmp.Compare(a, b))
	})
	c.Dampers = make([]Rated, 0, min(most, len(list)))
	for _, damper := range list[:min(most, len(list))] {
		c.Dampers = append(c.Dampers, s.rated(r, damper))
	}
	c.More = c.Verdicts[damping.InRange] > len(c.Dampers)
	return c
}

// CoveringOf judges just the dampers at these places in the list by code.
func (s *Snapshot) CoveringOf(r *damping.Rater, places []int32) Covering {
	c := Covering{Judged: len(places)}
	for _, damper := range places {
		one := s.rated(r, damper)
		verdict := damping.Verdict(0)
		if one.Rating != nil {
			verdict = one.Rating.Verdict
		}
		c.Verdicts[verdict]++
		c.Dampers = append(c.Dampers, one)
	}
	return c
}

func (s *Snapshot) rated(r *damping.Rater, damper int32) Rated {
	one := Rated{Damper: &s.contents.Dampers[damper]}
	if number := s.ForceTable(damper); number >= 0 {
		if rating, ok := r.Rate(&s.forces.tables[number]); ok {
			one.Rating = &rating
		}
	}
	return one
}
