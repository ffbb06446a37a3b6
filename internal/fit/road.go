package fit

import (
	"midstroke/internal/fault"
	"midstroke/internal/note"
)

// wantByRoad makes the travel wanted the largest that a road is expected to ask
// of the damper within the hours, or the rule's where that is more: that a road
// is smooth is no reason to want less than without it. The
// motion ratio's own tolerance is not counted: the largest travel is an
// expectation and no bound.
func (r *Request) wantByRoad(n *Required, faults *fault.List) {
	ratio := r.Readings.MotionRatio
	if ratio <= 0 {
		faults.Report("/motion_ratio", ratioMissingForRoad)
	}
	if r.Travel.Road == nil {
		faults.Report("/travel/class", roadMissing)
		return
	}
	travel, found := r.Travel.Road.Travel()
	faults.AddUnder("/travel", found)
	if len(*faults) > 0 {
		return
	}
	n.Steps = append(n.Steps, travel.Steps...)
	atDamper := travel.Largest.Scale(ratio)
	n.Steps = append(n.Steps, note.Step{
		Note:   note.New("road_at_damper", note.Len("largest", travel.Largest), note.Num("motion_ratio", ratio, "")),
		Result: note.Len("wanted", atDamper),
	})
	rule := n.Compression.Wanted // the same both ways
	n.Compression.Wanted = max(n.Compression.Wanted, atDamper)
	n.Extension.Wanted = max(n.Extension.Wanted, atDamper)
	n.Steps = append(n.Steps, note.Step{
		Note:   note.New("travel_road", note.Len("rule", rule)),
		Result: note.Len("wanted", n.Compression.Wanted),
	})
}
