package fit

import (
	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/ride"
)

// needByRoad raises the rule's needs to what a road asks of the damper: the
// least to the travel that the road exceeds once a minute, the wanted to the
// largest that is expected within the hours. A smooth road is no reason to ask
// for less than the rule.
func (r *Request) needByRoad(n *Required, faults *fault.List) {
	ratio := r.Readings.MotionRatio
	if ratio <= 0 {
		faults.Add("/motion_ratio", ratioMissingForRoad)
	}
	if r.Travel.Road == nil {
		faults.Add("/travel/class", roadMissing)
		return
	}
	road := r.road(n, faults)
	if road.Corner == (ride.Corner{}) {
		return // each of its figures would be told as missing, too
	}
	travel, found := road.Travel()
	faults.AddUnder("/travel", found)
	if len(*faults) > 0 {
		return
	}
	n.Steps = append(n.Steps, travel.Steps...)
	rule := n.Compression // the same both ways
	once, onceWorst := r.atDamper(travel.OncePerMinute)
	// In a short drive on a soft vehicle the largest may be less than what is
	// exceeded once a minute.
	largest := max(travel.Largest, travel.OncePerMinute)
	wanted, wantedWorst := r.atDamper(largest)
	need := Need{
		Least: max(rule.Least, once), LeastWorst: max(rule.Least, onceWorst),
		Wanted: max(rule.Wanted, wanted), WantedWorst: max(rule.Wanted, wantedWorst),
	}
	n.Compression, n.Extension = need, need
	n.compressionBy.lines = [2]ratioLine{{rule.Least, 0}, {once, onceWorst - once}}
	n.extensionBy = n.compressionBy
	n.held = wheelTravel{largest, largest}
	onceAtWheel, largestAtWheel := note.AtLeast("once_a_minute", travel.OncePerMinute), note.AtLeast("largest", largest)
	onceAtDamper, wantedAtDamper := note.AtLeast("least", once), note.AtLeast("wanted", wanted)
	note.Follow(note.Times(onceAtDamper, &onceAtWheel, ratio), note.Times(wantedAtDamper, &largestAtWheel, ratio))
	n.addStep("road_at_damper", "", onceAtWheel, largestAtWheel, note.GivenNum("motion_ratio", ratio, ""), onceAtDamper, wantedAtDamper)
	n.addResultStep("travel_road_least", note.AtLeast("least", need.Least), note.AtLeast("road", once), note.AtLeast("rule", rule.Least))
	n.addResultStep("travel_road", note.AtLeast("wanted", need.Wanted), note.AtLeast("road", wanted), note.AtLeast("rule", rule.Wanted))
}

// addResultStep adds a step that comes to a figure.
func (n *Required) addResultStep(code note.Code, result note.Value, values ...note.Value) {
	n.Steps = append(n.Steps, note.Step{Note: note.New(code, values...), Result: result})
}
