// Package coverage says which of many requests a catalogue serves, and which few dampers
// serve most of them.
//
// Choosing a set is the problem of maximum coverage, and of partial set cover where a
// share is wanted. Both are NP-hard. A greedy choice comes first: of n dampers it
// serves at least 1 − 1/e of what the best n serve (Nemhauser, Wolsey and Fisher 1978).
// Then branch and bound looks for a better set within a limit of work. The limit counts
// steps, so that the same question always has the same answer.
package coverage

import (
	"cmp"
	"math"
	"slices"

	"midstroke/internal/fit"
)

// Demand is one request with its weight, above 0, and all dampers that fit it.
type Demand struct {
	Weight int64
	By     []fit.Served
}

// Share is how much of all demands is served.
type Share struct {
	// Total is the weight of all demands, Served that of those that some damper fits.
	Total, Served int64
	// ByGrade is the weight by the best grade of each demand.
	ByGrade [3]int64
}

// ShareOf adds up what is served.
func ShareOf(demands []Demand) (s Share) {
	for i := range demands {
		d := &demands[i]
		s.Total += d.Weight
		if len(d.By) == 0 {
			continue
		}
		s.Served += d.Weight
		best := d.By[0].Grade
		for _, by := range d.By[1:] {
			best = min(best, by.Grade)
		}
		s.ByGrade[best] += d.Weight
	}
	return s
}

// Alone is what one damper serves.
type Alone struct {
	Damper int32
	// Serves is the weight of all demands that it fits, Only that of those which no
	// other damper fits.
	Serves, Only int64
}

// Part gives the least weight that is a share of a total, 0 to 1.
func Part(total int64, share float64) int64 {
	// A hair less, so that 0.9 of 10 is 9 whatever the rounding.
	const hair = 1e-9
	return max(0, min(total, int64(math.Ceil(float64(total)*share-hair))))
}

// EachAlone gives what each damper serves that fits any demand, the most first.
func EachAlone(demands []Demand) []Alone {
	var byDamper []Alone // as many as the last damper's place asks for
	for i := range demands {
		d := &demands[i]
		for _, by := range d.By {
			if more := int(by.Damper) + 1 - len(byDamper); more > 0 {
				byDamper = append(byDamper, make([]Alone, more)...)
			}
			one := &byDamper[by.Damper]
			one.Damper = by.Damper
			one.Serves += d.Weight
			if len(d.By) == 1 {
				one.Only += d.Weight
			}
		}
	}
	all := slices.DeleteFunc(byDamper, func(a Alone) bool { return a.Serves == 0 })
	slices.SortFunc(all, func(a, b Alone) int { return cmp.Or(cmp.Compare(b.Serves, a.Serves), cmp.Compare(a.Damper, b.Damper)) })
	return all
}

// Choice is one damper of a set, with the weight that it adds to those before it.
type Choice struct {
	Damper int32
	Adds   int64
}

// Set is a set of dampers that was chosen.
type Set struct {
	Chosen []Choice
	Served int64
	// Exact says that no better set exists. Otherwise the limit of work was reached, or
	// the greedy choice stands.
	Exact bool
	// MostServed bounds what any set of as many dampers serves, and LeastDampers how few
	// dampers can serve what was wanted. Where Exact, they are those of the set.
	MostServed   int64
	LeastDampers int
}

// Effort says how much a search may do.
type Effort struct {
	// Work is how many steps the search for a better set takes at most.
	Work int
	// Pause is called after every millisecond or so of work. Where it is false the rest
	// isn't done, and what there is then is no answer. Nil for no pauses.
	Pause func() bool
}

// Best chooses the set of at most n dampers that serves most.
func Best(demands []Demand, n int, e Effort) Set {
	p := newProblem(demands, e.Pause)
	n = min(n, len(p.items))
	greedy := p.greedy(func(served int64, chosen int) bool { return chosen >= n })
	bound := p.mostOf(greedy.order, n)
	s := search{problem: p, most: n, left: e.Work, best: greedy.served, bestOrder: greedy.order}
	exact := bound <= greedy.served || s.run()
	set := p.set(s.bestOrder)
	set.LeastDampers = len(set.Chosen)
	if set.Exact, set.MostServed = exact, bound; exact {
		set.MostServed = set.Served
	}
	return set
}

// Smallest chooses the fewest dampers that serve a weight of at least wanted, or of all
// that can be served where that is less.
func Smallest(demands []Demand, wanted int64, e Effort) Set {
	p := newProblem(demands, e.Pause)
	wanted = min(wanted, p.total)
	greedy := p.greedy(func(served int64, _ int) bool { return served >= wanted })
	order, least, exact := greedy.order, p.leastOf(greedy.order, wanted), true
	left := e.Work
	for least < len(order) {
		s := search{problem: p, most: least, left: left, best: wanted - 1, enough: wanted}
		done := s.run()
		left = s.left
		if s.bestOrder != nil {
			order = s.bestOrder
			break
		}
		if !done {
			exact = false
			break
		}
		least++
	}
	set := p.set(order)
	set.Exact, set.LeastDampers, set.MostServed = exact, least, p.total
	return set
}
