package fit

import (
	"slices"

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
		_, p := t.snapshot.Index().Find(damper)
		w := t.ways(endsOf(p))
		v := t.assess(w, p)
		j := Judgement{Code: t.snapshot.Dampers()[damper].Code, Verdict: VerdictRuledOut, Reasons: t.reasons(&v, w, p)}
		switch {
		case v.fits:
			j.Verdict = VerdictFits
		case v.misses:
			j.Verdict = VerdictNearMiss
		}
		a.Judged = append(a.Judged, j)
		if judged[damper] {
			continue
		}
		judged[damper] = true
		t.count(&v, p, &total, byReason)
		if v.fits {
			fits = append(fits, v.fit)
		} else if v.misses {
			misses = append(misses, v.miss)
		}
	}
	slices.SortFunc(fits, func(a, b found) int { return a.rank.compare(&b.rank) })
	slices.SortFunc(misses, func(a, b missed) int { return a.missRank.compare(&b.missRank) })
	a.Counts, a.RuledOut = &total, inOrder(byReason)
	return fits, misses
}
