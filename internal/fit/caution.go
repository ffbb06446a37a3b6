package fit

import (
	"slices"
	"strings"

	"midstroke/internal/catalog"
	"midstroke/internal/damping"
	"midstroke/internal/measure"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// cautions lists the cautions of an answer: first those of any work on a suspension,
// then those of this request and answer.
func (r *Request) cautions(a *Answer, w *measure.Working, k *kinematics) []note.Note {
	var list []note.Note
	say := func(code note.Code) { list = append(list, note.New(code)) }
	say("support_vehicle")
	if a.Outcome == Fits || len(a.NearMisses) > 0 {
		if a.any(func(d *catalog.Damper) bool { return d.Gas }) {
			say("gas_charge")
		}
		list = append(list, r.gasLifts(a)...)
		if a.any(func(d *catalog.Damper) bool { return carriesLoad(d.Adjusters) }) {
			say("carries_load")
		}
		say("cycle_full_travel")
		say("axle_clearance")
		say("hoses_and_joints")
		if r.Readings.Upper.Style.Rubber() || r.Readings.Lower.Style.Rubber() {
			say("tighten_at_ride_height")
		}
		say("fit_in_pairs")
		say("stops_not_damper")
	}
	say("local_rules")
	list = append(list, a.valvingUnchecked()...)
	if r.isPlanned() {
		say("planned_not_made")
	}
	if up := r.Travel.GivenUp; up != (Both{}) {
		list = append(list, note.New("travel_given_up", note.AtLeast("compression", up.Compression), note.AtLeast("extension", up.Extension)))
	}
	list = append(list, w.Cautions...)
	list = append(list, k.cautions()...)
	list = append(list, r.heldConstant(w, a)...)
	for i := range a.Fits {
		list = appendNew(list, a.Fits[i].cautions())
	}
	for i := range a.Hardware {
		list = appendNew(list, a.Hardware[i].Cautions)
	}
	return list
}

// isPlanned says whether the answer is for a change that is still to be made.
func (r *Request) isPlanned() bool {
	return r.Readings.PlannedChange != 0 || r.Readings.PlannedMountMove != 0
}

// any says whether something holds for any fit or near miss that is listed.
func (a *Answer) any(holds func(*catalog.Damper) bool) bool {
	return slices.ContainsFunc(a.Fits, func(f Fit) bool { return holds(f.Damper) }) ||
		slices.ContainsFunc(a.NearMisses, func(m NearMiss) bool { return holds(m.Damper) })
}

// valvingUnchecked says of which dampers listed the damping wasn't judged: of all where
// the request has no corner, else of those named.
func (a *Answer) valvingUnchecked() []note.Note {
	if a.Damping == nil {
		if len(a.Fits)+len(a.NearMisses) == 0 {
			return nil
		}
		return []note.Note{note.New("valving_not_checked")}
	}
	var codes []string
	look := func(d *catalog.Damper, b *damping.Brief) {
		// A damper that fits both ways up is listed twice.
		if (b == nil || b.Verdict == 0) && !slices.Contains(codes, d.Code) {
			codes = append(codes, d.Code)
		}
	}
	for i := range a.Fits {
		look(a.Fits[i].Damper, a.Fits[i].Damping)
	}
	for i := range a.NearMisses {
		look(a.NearMisses[i].Damper, a.NearMisses[i].Damping)
	}
	if len(codes) == 0 {
		return nil
	}
	count := note.Num("count", float64(len(codes)), "")
	if len(codes) > mostNamed {
		codes = append(codes[:mostNamed], "…")
	}
	return []note.Note{note.New("valving_not_checked_of", note.Word("dampers", strings.Join(codes, ", ")), count)}
}

// mostNamed is how many dampers a caution names.
const mostNamed = 5

// gasForce is how hard a gas damper pushes itself apart where its list doesn't say,
// in N: 2.5 MPa on a rod of 12.4 mm, p·π·d²/4. gasLift is by how much that raises a
// light corner. Both are common practice, no source.
const (
	gasForce = 302
	gasLift  = 10 * unit.Millimetre
)

// gasLifts says by how much gas dampers raise a corner: F·MR over the wheel rate
// where that is known, else what is common. With a corner it is the most that any
// damper listed does, and the dampers with which it never settles are named.
func (r *Request) gasLifts(a *Answer) []note.Note {
	rise := gasLift
	switch road := r.Travel.Road; {
	case a.Damping != nil:
		return a.gasOnCorner()
	case !a.any(func(d *catalog.Damper) bool { return d.Gas }):
		return nil
	case road != nil && road.Corner.WheelRate > 0:
		rise = unit.FromMm(gasForce * r.Readings.MotionRatio / road.Corner.WheelRate)
	}
	return []note.Note{note.New("gas_lifts", note.Len("rise", rise))}
}

// gasOnCorner is gasLifts with a corner.
func (a *Answer) gasOnCorner() []note.Note {
	greatest, lifts := 0.0, false
	var never []string
	look := func(d *catalog.Damper) {
		force, known := d.Forces.GasForce()
		if d.Gas && !known {
			force = gasForce
		}
		rise, ok := a.Damping.GasRise(force)
		switch {
		case !ok && !slices.Contains(never, d.Code): // one that fits both ways up is listed twice
			never = append(never, d.Code)
		case ok && d.Gas:
			greatest, lifts = max(greatest, rise), true
		}
	}
	for i := range a.Fits {
		look(a.Fits[i].Damper)
	}
	for i := range a.NearMisses {
		look(a.NearMisses[i].Damper)
	}
	list := damping.GasNeverSettles(never)
	if lifts {
		const perMetre = 1000
		list = append(list, note.New("gas_lifts", note.Len("rise", unit.FromMm(greatest*perMetre))))
	}
	return list
}

// cautions are those of a fit's notes that are also cautions of the whole answer.
func (f *Fit) cautions() []note.Note {
	var list []note.Note
	for _, n := range f.Notes {
		if slices.Contains(cautionNotes, n.Code) {
			list = append(list, n)
		}
	}
	return list
}

// cautionNotes are the codes of those notes.
var cautionNotes = []note.Code{"clearance_small", "stop_comes_late", "droop_past_limit"}

// appendNew appends the notes whose code isn't there yet. The ends they came from
// carry them too, with their values.
func appendNew(list, more []note.Note) []note.Note {
next:
	for _, n := range more {
		for _, known := range list {
			if known.Code == n.Code {
				continue next
			}
		}
		list = append(list, n)
	}
	return list
}

// notes lists what is unusual about a fit.
func notes(f *Fit) []note.Note {
	var list []note.Note
	if f.Inverted {
		list = append(list, note.New("mounted_inverted"))
	}
	return list
}
