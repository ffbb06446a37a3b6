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
	SolidAxle:   {Least: 2 * unit.Inch, Wanted: 2*unit.Inch + unit.Inch/2},
	Independent: {Least: unit.Inch + unit.Inch/2, Wanted: 2 * unit.Inch},
}

// ruleSource is where a suspension's rule came from.
func ruleSource(s Suspension) string {
	if s == SolidAxle {
		return "common practice, no source"
	}
	return "our choice: somewhat less than for a solid axle"
}

// need reckons the travel asked of a damper from the working length ride. It
// is nil, with faults, where the request doesn't say enough.
func (r *Request) need(ride unit.Length, faults *fault.List) *Required {
	n := &Required{Basis: r.Travel.Basis}
	before := len(*faults)
	switch r.Travel.Basis {
	case ByRule:
		r.needByRule(n, faults)
	case Stated:
		n.Compression = Need{r.Travel.Compression, r.Travel.Compression}
		n.Extension = Need{r.Travel.Extension, r.Travel.Extension}
		n.say("travel_stated", "", note.Len("compression", r.Travel.Compression), note.Len("extension", r.Travel.Extension))
	case ByWheel:
		r.needByWheel(n, faults)
	case Measured:
		r.needByMeasure(n, ride, faults)
	case ByLinkage:
		// reckoned where the linkage is: see kinematics
	case ByRoad:
		r.needByRule(n, faults)
		r.wantByRoad(n, faults)
	}
	if len(*faults) > before {
		return nil
	}
	return n
}

func (n *Required) say(code, source string, values ...note.Value) {
	n.Steps = append(n.Steps, note.Step{Note: note.New(code, values...), Source: source})
}

func (r *Request) needByRule(n *Required, faults *fault.List) {
	rule, ok := ruleOf[r.Suspension]
	if !ok {
		faults.Report("/suspension", suspensionMissing)
		return
	}
	n.Compression, n.Extension = rule, rule
	n.say("travel_rule", ruleSource(r.Suspension),
		note.Word("suspension", r.Suspension.String()), note.Len("least", rule.Least), note.Len("wanted", rule.Wanted))
}

func (r *Request) needByWheel(n *Required, faults *fault.List) {
	ratio := r.Readings.MotionRatio
	if ratio <= 0 {
		faults.Report("/motion_ratio", ratioMissingForWheel)
		return
	}
	n.computed(r.Travel.Bump.Scale(ratio), r.Travel.Droop.Scale(ratio), r.Travel.Reserve)
	n.say("travel_wheel", "",
		note.Len("bump", r.Travel.Bump), note.Len("droop", r.Travel.Droop), note.Num("motion_ratio", ratio, ""),
		note.Len("compression", n.Compression.Least), note.Len("extension", n.Extension.Least))
	n.sayReserve(r.Travel.Reserve)
}

// needByMeasure takes the lengths taped at full bump and full droop, brought
// to the reference points as the readings were.
func (r *Request) needByMeasure(n *Required, ride unit.Length, faults *fault.List) {
	bump, bumpFaults := r.Readings.ToPlanes(r.Travel.AtBump)
	droop, droopFaults := r.Readings.ToPlanes(r.Travel.AtDroop)
	if len(bumpFaults)+len(droopFaults) > 0 {
		// The readings were refused for the same faults already.
		return
	}
	if bump <= 0 {
		faults.Report("/travel/at_bump", nothingLeftAtBump)
		return
	}
	if bump >= ride {
		faults.Report("/travel/at_bump", bumpNotShorter)
	}
	if droop <= ride {
		faults.Report("/travel/at_droop", droopNotLonger)
	}
	n.computed(ride-bump, droop-ride, r.Travel.Reserve)
	n.say("travel_measured", "",
		note.Len("ride", ride), note.Len("bump", bump), note.Len("droop", droop),
		note.Len("compression", n.Compression.Least), note.Len("extension", n.Extension.Least))
	n.sayReserve(r.Travel.Reserve)
}

// computed sets a travel that was reckoned: that much at least, and a reserve
// more wanted.
func (n *Required) computed(compression, extension, reserve unit.Length) {
	n.Compression = Need{Least: max(0, compression), Wanted: max(0, compression) + reserve}
	n.Extension = Need{Least: max(0, extension), Wanted: max(0, extension) + reserve}
}

func (n *Required) sayReserve(reserve unit.Length) {
	source := ""
	if reserve == DefaultReserve {
		source = "common practice, no source"
	}
	n.say("travel_reserve", source, note.Len("reserve", reserve),
		note.Len("compression", n.Compression.Wanted), note.Len("extension", n.Extension.Wanted))
}

// prefer is the ride position that shares the stroke in the ratio of the
// wanted travels, one half where both are nought.
func (n *Required) prefer() Ratio {
	c, e := n.Compression.Wanted, n.Extension.Wanted
	if c+e == 0 {
		return Ratio{1, 2}
	}
	return Ratio{int64(c), int64(c + e)}
}
