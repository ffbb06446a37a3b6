package fit

import (
	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// The rule of thumb for travel at the damper each way from ride height. For a
// solid axle it is common practice, no source: at least 2 in, better 2 1/2. An
// independent suspension needs somewhat less; how much less is our choice.
var ruleOf = map[Suspension]Need{
	SolidAxle:   fixed(2*unit.Inch, 2*unit.Inch+unit.Inch/2),
	Independent: fixed(unit.Inch+unit.Inch/2, 2*unit.Inch),
}

// fixed is a need that no motion ratio enters.
func fixed(least, wanted unit.Length) Need { return Need{least, wanted, least, wanted} }

// ruleSource is where a suspension's rule came from.
func ruleSource(s Suspension) string {
	if s == SolidAxle {
		return "common practice, no source"
	}
	return "our choice: somewhat less than for a solid axle"
}

// need computes the travel asked of a damper from the working length. It is nil,
// with faults, where the request doesn't say enough. ByLinkage isn't for it: see
// kinematics.need.
func (r *Request) need(ride unit.Length, faults *fault.List) *Required {
	n := &Required{Basis: r.Travel.Basis}
	before := len(*faults)
	switch r.Travel.Basis {
	case ByRule:
		r.needByRule(n, faults)
	case Stated:
		n.Compression = fixed(r.Travel.Compression, r.Travel.Compression)
		n.Extension = fixed(r.Travel.Extension, r.Travel.Extension)
		n.addStep("travel_stated", "", note.GivenAtLeast("compression", r.Travel.Compression), note.GivenAtLeast("extension", r.Travel.Extension))
	case ByWheel:
		r.needByWheel(n, faults)
	case Measured:
		r.needByMeasure(n, ride, faults)
	case ByRoad:
		r.needByRule(n, faults)
		r.needByRoad(n, faults)
	case ByLinkage:
	}
	if len(*faults) > before {
		return nil
	}
	if n.Basis != ByRoad {
		n.compressionBy, n.extensionBy = n.Compression.byRatio(), n.Extension.byRatio()
	}
	r.needAtHeights(n)
	r.addWorstRatioStep(n)
	return n
}

func (n *Required) addStep(code note.Code, source string, values ...note.Value) {
	n.Steps = append(n.Steps, note.Step{Note: note.New(code, values...), Source: source})
}

// atDamper is a travel at the wheel times the motion ratio, and times the
// largest that the ratio may be within its tolerance.
func (r *Request) atDamper(wheel unit.Length) (nominal, worst unit.Length) {
	m := &r.Readings
	return wheel.Scale(m.MotionRatio), wheel.Scale(m.MotionRatio + m.MotionRatioTolerance)
}

// addWorstRatioStep adds the step that shows what the motion ratio's tolerance adds to
// the needs, if anything.
func (r *Request) addWorstRatioStep(n *Required) {
	m := &r.Readings
	if c, e := n.Compression, n.Extension; c.WantedWorst == c.Wanted && e.WantedWorst == e.Wanted &&
		c.LeastWorst == c.Least && e.LeastWorst == e.Least {
		return
	}
	n.addStep("travel_at_worst_ratio", "", note.GivenNum("motion_ratio", m.MotionRatio, ""), note.GivenNum("tolerance", m.MotionRatioTolerance, ""),
		note.AtLeast("compression", n.Compression.LeastWorst), note.AtLeast("extension", n.Extension.LeastWorst),
		note.AtLeast("compression_wanted", n.Compression.WantedWorst), note.AtLeast("extension_wanted", n.Extension.WantedWorst))
}

func (r *Request) needByRule(n *Required, faults *fault.List) {
	rule, ok := ruleOf[r.Suspension]
	if !ok {
		faults.Add("/suspension", suspensionMissing)
		return
	}
	n.Compression, n.Extension = rule, rule
	n.addStep("travel_rule", ruleSource(r.Suspension),
		note.Word("suspension", r.Suspension.String()), note.AtLeast("least", rule.Least), note.AtLeast("wanted", rule.Wanted))
}

func (r *Request) needByWheel(n *Required, faults *fault.List) {
	ratio := r.Readings.MotionRatio
	if ratio <= 0 {
		faults.Add("/motion_ratio", ratioMissingForWheel)
		return
	}
	bump, bumpWorst := r.atDamper(r.Travel.Bump)
	droop, droopWorst := r.atDamper(r.Travel.Droop)
	n.Compression = withReserve(bump, bumpWorst, r.Travel.Reserve)
	n.Extension = withReserve(droop, droopWorst, r.Travel.Reserve)
	n.held = wheelTravel{r.Travel.Bump, r.Travel.Droop}
	n.addStep("travel_wheel", "",
		note.Given("bump", r.Travel.Bump), note.Given("droop", r.Travel.Droop), note.GivenNum("motion_ratio", ratio, ""),
		note.AtLeast("compression", n.Compression.Least), note.AtLeast("extension", n.Extension.Least))
	n.addReserveStep(r.Travel.Reserve)
}

// needByMeasure takes the lengths taped at full bump and full droop, corrected to
// the reference points as the readings were.
func (r *Request) needByMeasure(n *Required, ride unit.Length, faults *fault.List) {
	bump, bumpFaults := r.Readings.ToPlanes(r.Travel.AtBump)
	droop, droopFaults := r.Readings.ToPlanes(r.Travel.AtDroop)
	if len(bumpFaults)+len(droopFaults) > 0 {
		// The readings were refused for the same faults already.
		return
	}
	if bump <= 0 {
		faults.Add("/travel/at_bump", nothingLeftAtBump)
		return
	}
	if bump >= ride {
		faults.Add("/travel/at_bump", bumpNotShorter)
	}
	if droop <= ride {
		faults.Add("/travel/at_droop", droopNotLonger)
	}
	n.computed(ride-bump, droop-ride, r.Travel.Reserve)
	n.addStep("travel_measured", "", n.fromLengths("ride", ride, "bump", bump, "droop", droop)...)
	n.addReserveStep(r.Travel.Reserve)
}

// computed sets needs that came from lengths: that much at least, and the reserve
// more wanted.
func (n *Required) computed(compression, extension, reserve unit.Length) {
	compression, extension = max(0, compression), max(0, extension)
	n.Compression = withReserve(compression, compression, reserve)
	n.Extension = withReserve(extension, extension, reserve)
}

func withReserve(least, worst, reserve unit.Length) Need {
	return Need{least, least + reserve, worst, worst + reserve}
}

func (n *Required) addReserveStep(reserve unit.Length) {
	source, added := "", note.Given("reserve", reserve)
	if reserve == DefaultReserve {
		// Nobody gave it, and six decimals of inches would look as if somebody had.
		source, added = "common practice, no source", note.AtLeast("reserve", reserve)
	}
	least := [2]note.Value{note.AtLeast("least_compression", n.Compression.Least), note.AtLeast("least_extension", n.Extension.Least)}
	wanted := [2]note.Value{note.AtLeast("compression", n.Compression.Wanted), note.AtLeast("extension", n.Extension.Wanted)}
	note.Follow(note.Sum(wanted[0], &least[0], &added), note.Sum(wanted[1], &least[1], &added))
	n.addStep("travel_reserve", source, added, least[0], least[1], wanted[0], wanted[1])
}

// fromLengths are the values of a step in which the least needs are what the damper is
// longer at ride height than at its shortest, and shorter than at its longest.
func (n *Required) fromLengths(rideName string, ride unit.Length, shortName string, short unit.Length, longName string, long unit.Length) []note.Value {
	r, s, l := note.Len(rideName, ride), note.Len(shortName, short), note.Len(longName, long)
	compression, extension := note.AtLeast("compression", n.Compression.Least), note.AtLeast("extension", n.Extension.Least)
	note.Follow(note.Difference(compression, &r, &s), note.Difference(extension, &l, &r))
	return []note.Value{r, s, l, compression, extension}
}

// prefer is the ride position that shares the stroke in the ratio of the
// wanted travels, one half where both are 0.
func (n *Required) prefer() Ratio {
	c, e := n.Compression.Wanted, n.Extension.Wanted
	if c+e == 0 {
		return Ratio{1, 2}
	}
	return Ratio{int64(c), int64(c + e)}
}
