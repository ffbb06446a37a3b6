package fit

import (
	"math"
	"slices"

	"midstroke/internal/fault"
	"midstroke/internal/linkage"
	"midstroke/internal/measure"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// DroopLimit is what ends the wheel's droop in the vehicle, whatever the damper
// allows.
type DroopLimit struct {
	// By is one of DroopLimiters.
	By string
	// Travel is that of the wheel from ride height down to there.
	Travel unit.Length
}

// DroopLimiters lists what may end droop, by its names in requests.
func DroopLimiters() []string { return []string{"hose", "joint", "spring", "strap"} }

// checkDroop finds what is wrong with the droop limit.
func (r *Request) checkDroop(faults *fault.List) {
	d := r.DroopLimit
	if d == nil {
		return
	}
	if !slices.Contains(DroopLimiters(), d.By) {
		faults.Add("/droop_limit/by", droopLimiterUnknown)
	}
	if d.Travel <= 0 || d.Travel > unit.MaxLength {
		faults.Add("/droop_limit/travel", droopLimitOutOfRange)
	} else {
		r.checkDroopAtWheel(faults)
	}
	if r.Travel.Basis != ByLinkage && r.Readings.MotionRatio <= 0 {
		faults.Add("/droop_limit", motionUnknown)
	}
}

// checkDroopAtWheel reports travel at the wheel that the request itself asks for
// beyond the droop limit.
func (r *Request) checkDroopAtWheel(faults *fault.List) {
	d := r.DroopLimit
	beyond := func(field string, asked unit.Length) {
		if asked > d.Travel {
			faults.Add("/droop_limit/travel", droopLimitBelowTravel,
				note.Word("by", d.By), note.Len("limit", d.Travel), note.Word("field", field), note.Len("asked", asked))
		}
	}
	switch r.Travel.Basis {
	case ByWheel:
		beyond("travel.droop", r.Travel.Droop)
	case ByLinkage:
		beyond("travel.range.droop", r.Travel.Droop)
	case ByRule, Stated, Measured, ByRoad:
	}
	beyond("ride_height_range.above", r.Heights.Above)
}

// limitDroop keeps the extension needed within what the droop limit leaves: its
// travel at the damper and the reserve. A need by the rule or a road gives way to
// the limit. An extension that the request states itself never does: one that no
// damper could use before the limit contradicts it.
func (r *Request) limitDroop(n *Required, w *measure.Working, faults *fault.List) {
	d, ratio := r.DroopLimit, r.Readings.MotionRatio
	if n == nil || d == nil || d.Travel <= 0 || ratio <= 0 || n.Basis == ByWheel || n.Basis == ByLinkage {
		return
	}
	reserve := r.Travel.Reserve
	if reserve == 0 && !n.Basis.stopsFixed() {
		reserve = DefaultReserve
	}
	nominal, worst := r.atDamper(d.Travel)
	nominal, worst = nominal+reserve, worst+reserve
	most := worst
	if ratio < 1 && w.Value > 0 {
		_, leaning := straightDamper(w.Value.Mm(), ratio, 0, d.Travel.Mm())
		most = max(most, unit.FromMm(leaning)+reserve)
	}
	field, asked := r.statedExtension(n)
	if asked > most {
		faults.Add("/droop_limit/travel", droopLimitBelowExtension,
			note.Word("by", d.By), note.Len("limit", d.Travel), note.Word("field", field), note.Len("asked", asked), note.Within("most", most, 0, most))
		return
	}
	n.droop = droopNeed{travel: d.Travel, reserve: reserve, unlimited: n.Extension}
	if n.Basis == Stated {
		n.droop.stated = r.Travel.Extension
	}
	n.extensionBy = n.extensionBy.atMost(nominal, worst, asked)
	limited := n.Extension.atMost(max(nominal, asked), max(worst, asked))
	if limited == n.Extension {
		return
	}
	n.Extension, n.held.down = limited, d.Travel
	values := []note.Value{
		note.Given("limit", d.Travel), note.Word("by", d.By), note.GivenNum("motion_ratio", ratio, ""), note.Given("reserve", reserve),
		note.AtLeast("extension", nominal),
	}
	if worst != nominal {
		// 0.8 and 0.05 are 0.85, and not 0.8500000000000001.
		largest := math.Round(1e9*(ratio+r.Readings.MotionRatioTolerance)) / 1e9
		values = append(values, note.GivenNum("largest", largest, ""), note.AtLeast("worst", worst))
	}
	if asked > nominal {
		values = append(values, note.AtLeast("stated", asked))
	}
	n.addStep("droop_limited", "", values...)
}

// atMost is a need of which no more is asked.
func (n Need) atMost(nominal, worst unit.Length) Need {
	return Need{min(n.Least, nominal), min(n.Wanted, nominal), min(n.LeastWorst, worst), min(n.WantedWorst, worst)}
}

// of is what a need asks of a grade.
func (n Need) of(g Grade) unit.Length {
	switch g {
	case Clear:
		return n.WantedWorst
	case Tight:
		return n.LeastWorst
	case Marginal, notServed:
	}
	return n.Least
}

// droopNeed is what the extension needed is made of where a droop limit applies; the
// zero value is without one. The limit is fixed in the vehicle: a raised body leaves
// less droop up to it.
type droopNeed struct {
	travel, reserve unit.Length // of the limit, and what is wanted beyond it
	unlimited       Need
	stated          unit.Length // the extension that the request states itself
}

// needAfterRaise is by how much more extension a grade needs once the body is raised
// by so much, or less below 0.
func (t *task) needAfterRaise(g Grade, by unit.Length) unit.Length {
	d := &t.droop
	if d.travel == 0 {
		return 0
	}
	left := d.travel - by
	nominal, worst := left.Scale(t.heights.ratio)+d.reserve, left.Scale(t.heights.ratio+t.heights.tolerance)+d.reserve
	after := d.unlimited.atMost(max(nominal, d.stated), max(worst, d.stated))
	return after.of(g) - t.needE.of(g)
}

// raisedMost is how far the body may be raised for the droop limit to leave any
// droop, the extension that the request states itself and the range of ride heights.
func (t *task) raisedMost() unit.Length {
	d := &t.droop
	if d.travel == 0 {
		return unit.MaxLength
	}
	needed := max(0, d.stated-d.reserve).Scale(1 / (t.heights.ratio + t.heights.tolerance))
	return d.travel - max(1, needed+1, t.drivenAt.Above)
}

// statedExtension is the extension that the request itself says is needed, and the
// field that says it; 0 where a rule or a road does.
func (r *Request) statedExtension(n *Required) (field string, asked unit.Length) {
	switch n.Basis {
	case Stated:
		return "travel.extension", r.Travel.Extension
	case Measured:
		return "travel.at_droop", n.Extension.Least
	case ByRule, ByWheel, ByLinkage, ByRoad:
	}
	return "", 0
}

// pastDroopLimit says whether a damper lets the wheel go below the droop limit.
func (t *task) pastDroopLimit(f *Fit) bool {
	d := t.asked.droopLimit
	if d == nil {
		return false
	}
	if t.kinematics == nil {
		return f.Travel.Extension > d.Travel.Scale(t.heights.ratio)
	}
	stop, room := t.kinematics.sweep.TightBy(t.kinematics.guarded(f, 0, -1))
	return room && (!stop.Found || -stop.WheelTravel > d.Travel)
}

// atDroopLimit is the wheel travel at which a strap must be tight, no farther down
// than the droop limit, with a note where the damper extends past that.
func (t *task) atDroopLimit(f *Fit, droop linkage.Stop) (linkage.Stop, []note.Note) {
	if !t.pastDroopLimit(f) {
		return droop, nil
	}
	d := t.asked.droopLimit
	if !droop.Found || droop.WheelTravel < -d.Travel {
		droop = linkage.Stop{WheelTravel: -d.Travel, Found: true}
	}
	values := []note.Value{note.Word("by", d.By), note.Len("limit", d.Travel), note.AtMost("droop", -droop.WheelTravel)}
	return droop, []note.Note{note.New("droop_past_limit", values...)}
}
