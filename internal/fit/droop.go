package fit

import (
	"slices"

	"midstroke/internal/fault"
	"midstroke/internal/linkage"
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
	}
	if r.Travel.Basis != ByLinkage && r.Readings.MotionRatio <= 0 {
		faults.Add("/droop_limit", motionUnknown)
	}
}

// droop is the droop travel asked for at the wheel. What is asked for gives way to
// the droop limit.
func (r *Request) droop() unit.Length {
	if d := r.DroopLimit; d != nil && d.Travel > 0 {
		return min(r.Travel.Droop, d.Travel)
	}
	return r.Travel.Droop
}

// limitDroop keeps the extension needed within what the droop limit leaves: its
// travel at the damper and the reserve.
func (r *Request) limitDroop(n *Required, k *kinematics) {
	d := r.DroopLimit
	if n == nil || d == nil || d.Travel <= 0 {
		return
	}
	reserve := r.Travel.Reserve
	if reserve == 0 && !n.Basis.stopsFixed() {
		reserve = DefaultReserve
	}
	if asked := r.Travel.Droop; asked > d.Travel && (n.Basis == ByWheel || n.Basis == ByLinkage) {
		n.say("droop_gives_way", "", note.Len("asked", asked), note.Len("limit", d.Travel), note.Word("by", d.By))
	}
	if k != nil {
		return // the range judged ends at the limit
	}
	nominal, worst := r.atDamper(d.Travel)
	nominal, worst = nominal+reserve, worst+reserve
	e := &n.Extension
	if e.Wanted <= nominal && e.WantedWorst <= worst {
		return
	}
	*e = Need{min(e.Least, nominal), min(e.Wanted, nominal), min(e.LeastWorst, worst), min(e.WantedWorst, worst)}
	n.say("droop_limited", "", note.Len("limit", d.Travel), note.Word("by", d.By), note.Num("motion_ratio", r.Readings.MotionRatio, ""),
		note.Len("reserve", reserve), note.Len("extension", nominal))
}

// pastDroopLimit says whether a damper lets the wheel go below the droop limit.
func (t *task) pastDroopLimit(f *Fit) bool {
	d := t.asked.droopLimit
	if d == nil {
		return false
	}
	if t.kin == nil {
		return f.Travel.Extension > d.Travel.Scale(t.heights.ratio)
	}
	stop, room := t.kin.sweep.TightBy(t.kin.guarded(f, 0, -1))
	return room && (!stop.Found || -stop.WheelTravel > d.Travel)
}

// atDroopLimit draws the wheel travel at which a strap must be tight in to the
// droop limit, and says so.
func (t *task) atDroopLimit(f *Fit, droop linkage.Stop) (linkage.Stop, []note.Note) {
	if !t.pastDroopLimit(f) {
		return droop, nil
	}
	d := t.asked.droopLimit
	if !droop.Found || droop.WheelTravel < -d.Travel {
		droop = linkage.Stop{WheelTravel: -d.Travel, Found: true}
	}
	values := []note.Value{note.Word("by", d.By), note.Len("limit", d.Travel), note.Len("droop", -droop.WheelTravel)}
	return droop, []note.Note{note.New("droop_past_limit", values...)}
}
