package measure

import (
	"midstroke/internal/note"
)

// toRide brings the length to ride height and on to the planned change of it,
// and says whether it could. With a linkage it only judges what is there and
// hands the heights on: whoever knows the linkage carries the length.
//
// With Δ the gap while measuring less the gap at ride height, p the planned
// change (positive up) and MR the motion ratio, taken as constant,
//
//	L_ride = L - MR Δ + MR p
//
// for a body that stands Δ too high has drawn the damper out by MR Δ. Both
// heights share one error of MR, so at worst the length is off by
//
//	MR 2 t_gap + t_MR (|Δ - p| + 2 t_gap)
//
// where t are half-widths, the gap's counting twice as there are two gaps; the
// standard uncertainty (JCGM 100:2008, 5.1.2) gains
//
//	2 (MR t_gap/√3)² + ((Δ - p) t_MR/√3)²
func (r *Readings) toRide(w *Working, k *reckoning) bool {
	if r.Condition.NotAtRide && !r.judgeGaps(w) {
		return false
	}
	if r.HasLinkage {
		return true
	}
	ratio := note.Num("motion_ratio", r.MotionRatio, "")
	if r.Condition.NotAtRide {
		if w.RideDelta.Abs() > ConstantRatioLimit {
			w.refuse(MeasureAgain, "far_from_ride_height",
				note.Len("difference", w.RideDelta.Abs()), note.Len("limit", ConstantRatioLimit))
		}
		change := -w.RideDelta.Scale(r.MotionRatio)
		k.shift(change)
		k.say("ride_height", "", ratio,
			note.Len("arch_gap", r.Condition.ArchGap), note.Len("arch_gap_at_ride", r.Condition.ArchGapAtRide))
		w.Cautions = append(w.Cautions, note.New("corrected_to_ride_height", note.Len("by", change)))
	}
	if r.PlannedChange != 0 {
		if r.PlannedChange.Abs() > ConstantRatioLimit {
			w.refuse(MeasureAgain, "planned_change_large",
				note.Len("change", r.PlannedChange.Abs()), note.Len("limit", ConstantRatioLimit))
		}
		k.shift(r.PlannedChange.Scale(r.MotionRatio))
		k.say("planned_change", "", ratio, note.Len("change", r.PlannedChange))
	}
	away, gaps := (w.RideDelta - r.PlannedChange).Abs(), 2*w.GapTolerance
	k.widen(gaps.Scale(r.MotionRatio) + (away + gaps).Scale(r.MotionRatioTolerance))
	k.variance += 2*rectangular(r.MotionRatio*w.GapTolerance.Mm()) + rectangular(away.Mm()*r.MotionRatioTolerance)
	return true
}

// judgeGaps names what is missing to get from a vehicle that isn't at ride
// height to one that is; it hands on the gaps where nothing is.
func (r *Readings) judgeGaps(w *Working) bool {
	c := &r.Condition
	complete := true
	need := func(given bool, code string) {
		if !given {
			w.refuse(MeasureAgain, code)
			complete = false
		}
	}
	need(c.ArchGap != 0, "arch_gap_missing")
	need(c.ArchGapAtRide != 0, "arch_gap_at_ride_missing")
	need(r.MotionRatio != 0 || r.HasLinkage, "motion_ratio_missing")
	if !complete {
		return false
	}
	w.RideDelta = c.ArchGap - c.ArchGapAtRide
	if w.GapTolerance = c.GapTolerance; w.GapTolerance == 0 {
		w.GapTolerance = AssumedTolerance
	}
	return true
}
