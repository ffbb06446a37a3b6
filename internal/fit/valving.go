package fit

import (
	"math"
	"slices"

	"midstroke/internal/catalog"
	"midstroke/internal/damping"
	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/ride"
)

// Verdicts is a set of verdicts on a damper's damping.
type Verdicts uint8

// With gives the set with a verdict more.
func (s Verdicts) With(v damping.Verdict) Verdicts { return s | 1<<v }

// Has says whether a verdict is in the set.
func (s Verdicts) Has(v damping.Verdict) bool { return s&(1<<v) != 0 }

// valving judges the dampers of one answer by their force tables. Many dampers have
// the same table, so what was found for one is remembered.
type valving struct {
	// sure has the verdict on each valving. What wasn't sure is worked out when it is
	// asked for. Where the gas force counts, byTable has the verdict on each table.
	sure    catalog.Verdicts
	byTable []damping.Verdict
	briefs  catalog.Briefs
}

// settled gives the request with a motion ratio that only its corner names, so that
// it is given once and serves both.
func (r *Request) settled() *Request {
	if r.Corner == nil || r.Readings.MotionRatio != 0 || r.Travel.Basis == ByLinkage {
		return r
	}
	q := *r
	q.Readings.MotionRatio = r.Corner.DamperRatio
	return &q
}

// question asks which damping a corner wants, with the damper's ratio from a linkage
// or from the request. Its faults are those of a ratio that contradicts the linkage's.
func (r *Request) question(c ride.Corner, kin *kinematics) (*damping.Question, fault.List) {
	q := &damping.Question{Corner: c}
	if r.Targets != nil {
		q.Targets = *r.Targets
	}
	var faults fault.List
	switch {
	case kin != nil:
		// The sweep has seen that the linkage reaches ride height.
		curve, _ := kin.linkage.FromRide(kin.ride)
		faults.AddUnder("/corner", q.Corner.PutOnLinkage(curve))
	case q.Corner.DamperRatio == 0:
		q.Corner.DamperRatio = r.Readings.MotionRatio
	}
	return q, faults
}

// rater prepares the judging of dampers, nil where the request has no corner.
func (r *Request) rater(kin *kinematics, faults *fault.List) *damping.Rater {
	switch {
	case r.Corner == nil:
		if r.Targets != nil || r.Limits.Damping != 0 {
			faults.Add("/corner", cornerMissing)
		}
		return nil
	case r.Travel.Basis == ByLinkage && kin == nil:
		return nil // the linkage has a fault
	}
	if kin == nil && r.ratiosDiffer("/corner", r.Corner, faults) {
		return nil
	}
	question, found := r.question(*r.Corner, kin)
	if len(found) > 0 {
		faults.AddUnder("", found)
		return nil
	}
	rater, found := damping.NewRater(question)
	faults.AddUnder("", found)
	return rater
}

// ratiosDiffer says whether a corner has another ratio of the damper than the request.
func (r *Request) ratiosDiffer(pointer string, c *ride.Corner, faults *fault.List) bool {
	ratio := r.Readings.MotionRatio
	if c.DamperRatio == 0 || c.DamperRatio == ratio {
		return false
	}
	faults.Add(pointer+"/damper_ratio", ratiosDiffer, note.Num("damper_ratio", c.DamperRatio, ""), note.Num("motion_ratio", ratio, ""))
	return true
}

// road gives the road that travel is needed for, with the request's corner where it
// has one. Where its damping isn't known the wanted one stands for it.
func (r *Request) road(n *Required, faults *fault.List) ride.Road {
	road := *r.Travel.Road
	if r.Corner != nil {
		if road.Corner != (ride.Corner{}) {
			faults.Add("/travel/corner", cornerTwice)
		}
		road.Corner = *r.Corner
	}
	if road.Corner == (ride.Corner{}) {
		faults.Add("/travel/corner", cornerMissing)
		return road
	}
	if r.Corner == nil && r.Readings.MotionRatio > 0 {
		r.ratiosDiffer("/travel/corner", &road.Corner, faults)
	}
	if road.Corner.Damping == 0 && r.Readings.MotionRatio > 0 {
		// Faults of the corner are found by the road.
		question, _ := r.question(road.Corner, nil)
		if rater, found := damping.NewRater(question); len(found) == 0 {
			road.Corner.Damping = rater.Wanted().AtWheel
			n.Steps = append(n.Steps, note.Step{
				Note:   note.New("road_damping_wanted", note.Num("damping_ratio", rater.Targets().Ratio.Range.Wanted, "")),
				Result: note.Num("damping", math.Round(road.Corner.Damping), "N·s/m"),
			})
		}
	}
	return road
}

// newValving prepares the judging of a snapshot's dampers, nil without a rater.
func newValving(rater *damping.Rater, s *catalog.Snapshot) *valving {
	if rater == nil {
		return nil
	}
	v := &valving{sure: s.Verdicts(rater), briefs: s.Briefs(rater)}
	if rater.GasCounts() {
		v.byTable = slices.Repeat([]damping.Verdict{damping.Undecided}, len(s.ForceTables()))
	}
	return v
}

// verdict is that on a damper's damping; 0 where nothing is judged or nothing is
// known.
func (t *task) verdict(p *catalog.Point) damping.Verdict {
	v := t.valving
	if v == nil {
		return 0
	}
	if v.byTable != nil {
		return t.verdictByTable(p)
	}
	valving := t.snapshot.Valving(p)
	if valving < 0 {
		return 0
	}
	known := &v.sure.Of[valving]
	if *known == damping.Undecided {
		*known = v.briefs.Verdict(valving)
	}
	return *known
}

// verdictByTable is verdict where the gas force counts.
func (t *task) verdictByTable(p *catalog.Point) damping.Verdict {
	number := t.snapshot.ForceTable(p.Damper)
	if number < 0 {
		return 0
	}
	known := &t.valving.byTable[number]
	if *known == damping.Undecided {
		*known = t.valving.briefs.VerdictOf(number)
	}
	return *known
}

// dampingRank is a damper's place in the order by its damping.
func (t *task) dampingRank(p *catalog.Point) uint8 {
	if t.valving == nil {
		return 0
	}
	switch t.verdict(p) {
	case damping.InRange:
		return 0
	case damping.Soft, damping.Firm:
		return 2
	case damping.Undecided: // verdict has decided it
	}
	return 1
}

// dampingBound is the least place in the order by its damping that any damper of the
// box may have.
func (t *task) dampingBound(b *catalog.Box) uint8 {
	switch v := t.valving; {
	case v == nil || b.Forces&v.sure.InRange != 0:
		return 0
	case b.Forces&v.sure.Unknown != 0:
		return 1
	}
	return 2
}

// mayDamp says whether the limits may admit the damping of any damper of the box.
func (t *task) mayDamp(b *catalog.Box) bool {
	switch limit := t.limits.Damping; {
	case limit == 0:
		return true
	case limit.Has(damping.Soft) || limit.Has(damping.Firm):
		return b.Forces&^catalog.NoForces != 0
	}
	return b.Forces&t.valving.sure.InRange != 0
}

// admitsDamping says whether the limits admit a damper's damping.
func (t *task) admitsDamping(p *catalog.Point) bool {
	return t.limits.Damping == 0 || t.limits.Damping.Has(t.verdict(p))
}

// brief is a damper's damping, nil where nothing is judged or known.
func (t *task) brief(damper int32) *damping.Brief {
	if t.valving == nil {
		return nil
	}
	number := t.snapshot.ForceTable(damper)
	if number < 0 {
		return nil
	}
	brief, ok := t.valving.briefs.Of(number)
	if !ok {
		return nil
	}
	return &brief
}
