package fit

import (
	"slices"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/note"
)

// The verdicts on a damper that was asked about by its code.
const (
	VerdictFits     = "fits"
	VerdictNearMiss = "near_miss"
	VerdictRuledOut = "ruled_out"
)

// judge holds just the named dampers against the task, each with its reasons. It
// counts them as explain counts a catalogue, and gives all fits and near misses
// in their order.
func (t *task) judge(a *Answer, named []int32) (fits []found, misses []missed) {
	var total Counts
	byReason := map[note.Code]int{}
	judged := map[int32]bool{}
	for _, damper := range named {
		g, p := t.snapshot.Index().Find(damper)
		v := t.assess(t.ways(g), g, p)
		j := Judgement{Code: t.snapshot.Dampers()[damper].Code, Verdict: VerdictRuledOut, Reasons: v.reasons}
		switch {
		case v.fit != nil:
			j.Verdict = VerdictFits
		case v.miss != nil:
			j.Verdict = VerdictNearMiss
		}
		a.Judged = append(a.Judged, j)
		if judged[damper] {
			continue
		}
		judged[damper] = true
		t.count(&v, &total, byReason)
		if v.fit != nil {
			fits = append(fits, *v.fit)
		} else if v.miss != nil {
			misses = append(misses, *v.miss)
		}
	}
	slices.SortFunc(fits, func(a, b found) int { return a.rank.compare(&b.rank) })
	slices.SortFunc(misses, func(a, b missed) int { return a.missRank.compare(&b.missRank) })
	a.Counts, a.RuledOut = &total, inOrder(byReason)
	return fits, misses
}

// pickList is what to take off the shelf for so many dampers.
func pickList(d *catalog.Damper, f *Fit, dampers int) []Pick {
	list := []Pick{{Kind: "damper", Code: d.Code, Quantity: dampers}}
	add := func(kind, code string, quantity int) {
		for i := range list {
			if list[i].Kind == kind && list[i].Code == code {
				list[i].Quantity += quantity
				return
			}
		}
		list = append(list, Pick{Kind: kind, Code: code, Quantity: quantity})
	}
	for _, end := range [2]*mount.Result{f.Upper, f.Lower} {
		if end.Adapter != nil {
			add("adapter", end.Adapter.Code, dampers)
		}
	}
	for _, end := range [2]*mount.Result{f.Upper, f.Lower} {
		for _, s := range end.Sleeves {
			add("sleeve", s.Sleeve.Code, s.Quantity*dampers)
		}
	}
	for _, end := range [2]*mount.Result{f.Upper, f.Lower} {
		if end.Spacers == nil {
			continue
		}
		for _, s := range end.Spacers.EachSide {
			add("spacer", s.Spacer.Code, 2*s.Quantity*dampers)
		}
	}
	return list
}
