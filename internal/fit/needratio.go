package fit

import (
	"slices"

	"midstroke/internal/unit"
)

// ratioLine is a length that grows with the motion ratio: at the ratio as it was given,
// and by how much more at the largest that it may be.
type ratioLine struct{ at, more unit.Length }

// off gives the length in mm where the motion ratio is off by e of its tolerance.
func (l ratioLine) off(e float64) float64 { return l.at.Mm() + l.more.Mm()*e }

// ratioNeed is how the least travel needed one way depends on the motion ratio: the
// larger of two lines, and no more than a limit if there is one, but no less than what
// the request states. A road's line may cross the rule's, and a droop limit's may cross
// both.
type ratioNeed struct {
	lines   [2]ratioLine
	limit   ratioLine
	limited bool
	stated  unit.Length
}

// byRatio is for a need on one line.
func (n Need) byRatio() ratioNeed {
	return ratioNeed{lines: [2]ratioLine{{n.Least, n.LeastWorst - n.Least}}}
}

// plus is a need of which more is asked.
func (n ratioNeed) plus(nominal, worst unit.Length) ratioNeed {
	for i := range n.lines {
		n.lines[i].at += nominal
		n.lines[i].more += worst - nominal
	}
	return n
}

// atMost is a need of which no more is asked than a limit, but no less than stated.
func (n ratioNeed) atMost(nominal, worst, stated unit.Length) ratioNeed {
	n.limit, n.limited, n.stated = ratioLine{nominal, worst - nominal}, true, stated
	return n
}

// off gives the need in mm where the motion ratio is off by e of its tolerance.
func (n *ratioNeed) off(e float64) float64 {
	least := max(n.lines[0].off(e), n.lines[1].off(e))
	if n.limited {
		least = min(least, max(n.limit.off(e), n.stated.Mm()))
	}
	return least
}

// change is by how many mm the need changes where the motion ratio is off by e of its
// tolerance.
func (n *ratioNeed) change(e float64) float64 { return n.off(e) - n.off(0) }

// bends gives the errors, in standard uncertainties, at which the need changes its
// slope.
func (n *ratioNeed) bends() (all []float64) {
	const most = outermost / sqrt3 // of the tolerance
	cross := func(a, b ratioLine) {
		if a.more == b.more {
			return
		}
		if e := (a.at - b.at).Mm() / (b.more - a.more).Mm(); -most < e && e < most {
			all = append(all, e)
		}
	}
	cross(n.lines[0], n.lines[1])
	if n.limited {
		cross(n.lines[0], n.limit)
		cross(n.lines[1], n.limit)
		stated := ratioLine{at: n.stated}
		cross(stated, n.limit)
		cross(stated, n.lines[0])
		cross(stated, n.lines[1])
	}
	// Where the lines that cross aren't the ones that count, the need goes on straight.
	all = slices.DeleteFunc(all, func(e float64) bool {
		const near = 1e-3
		before, after := n.off(e)-n.off(e-near), n.off(e+near)-n.off(e)
		return -1e-9 < before-after && before-after < 1e-9
	})
	for i := range all {
		all[i] *= sqrt3
	}
	return all
}
