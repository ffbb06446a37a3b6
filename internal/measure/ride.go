package measure

import (
	"midstroke/internal/note"
)

// toRide brings the length to ride height and to the planned change of it, and
// says whether it could. With a linkage it only judges what is there and hands
// the heights on: whoever knows the linkage corrects the length.
//
// With Δ the gap while measuring less the gap at ride height, p the planned
// change (positive up) and MR the motion ratio, taken as constant,
//
//	L_ride = L - MR Δ + MR p
//
// because a body that stands Δ too high has extended the damper by MR Δ. Both
// heights share one error of MR. At worst the length is off by
//
//	MR 2 t_gap + t_MR (|Δ - p| + 2 t_gap)
//
// where t are half-widths; the gap's counts twice, once for each gap. The
// variance (JCGM 100:2008, 5.1.2) gains
//
//	2 (MR t_gap/√3)² + ((Δ - p) t_MR/√3)²
//
// of which the last term stays apart, as Working.RatioShift: the needs may share
// that error of MR.
func (r *Readings) toRide(w *Working, c *corrected) bool {
	if r.Condition.NotAtRide && !r.judgeGaps(w) {
		return false
	}
	if r.HasLinkage {
		return true
	}
	ratio := note.GivenNum("motion_ratio", r.MotionRatio, "")
	if r.Condition.NotAtRide {
		if w.RideDelta.Abs() > ConstantRatioLimit {
			w.addReason(MeasureAgain, "far_from_ride_height",
				note.AtLeast("difference", w.RideDelta.Abs()), note.Size("limit", ConstantRatioLimit))
		}
		change := -w.RideDelta.Scale(r.MotionRatio)
		c.shift(change)
		c.addStep("ride_height", "", ratio,
			note.Given("arch_gap", r.Condition.ArchGap), note.Given("arch_gap_at_ride", r.Condition.ArchGapAtRide))
		w.Cautions = append(w.Cautions, note.New("corrected_to_ride_height", note.Len("by", change)))
	}
	if r.PlannedChange != 0 {
		if r.PlannedChange.Abs() > ConstantRatioLimit {
			w.addReason(MeasureAgain, "planned_change_large",
				note.AtLeast("change", r.PlannedChange.Abs()), note.Size("limit", ConstantRatioLimit))
		}
		c.shift(r.PlannedChange.Scale(r.MotionRatio))
		c.addStep("planned_change", "", ratio, note.Given("change", r.PlannedChange))
	}
	change, gaps := r.PlannedChange-w.RideDelta, 2*w.GapTolerance
	c.widen(gaps.Scale(r.MotionRatio) + (change.Abs() + gaps).Scale(r.MotionRatioTolerance))
	c.addVariance(2 * rectangular(r.MotionRatio*w.GapTolerance.Mm()))
	w.RatioShift = change.Mm() * r.MotionRatioTolerance
	return true
}

// judgeGaps names what is missing to bring the length from where the vehicle stood
// to ride height. Where nothing is missing it hands on the gaps.
func (r *Readings) judgeGaps(w *Working) bool {
	gaps := &r.Condition
	complete := true
	need := func(given bool, code note.Code) {
		if !given {
			w.addReason(MeasureAgain, code)
			complete = false
		}
	}
	need(gaps.ArchGap != 0, "arch_gap_missing")
	need(gaps.ArchGapAtRide != 0, "arch_gap_at_ride_missing")
	need(r.MotionRatio != 0 || r.HasLinkage, "motion_ratio_missing")
	if !complete {
		return false
	}
	w.RideDelta = gaps.ArchGap - gaps.ArchGapAtRide
	if w.GapTolerance = gaps.GapTolerance; w.GapTolerance == 0 {
		w.GapTolerance = AssumedTolerance
	}
	return true
}
