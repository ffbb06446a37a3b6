package fit

import (
	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/note"
)

// cautions lists what must be said with an answer: what goes with any work on a
// suspension, then what comes from this request and answer.
func (r *Request) cautions(a *Answer, w *measure.Working, kin *kinematics) []note.Note {
	var list []note.Note
	say := func(code note.Code) { list = append(list, note.New(code)) }
	say("support_vehicle")
	if a.Outcome == Fits || len(a.NearMisses) > 0 {
		if a.anyGas() {
			say("gas_charge")
		}
		say("cycle_full_travel")
		say("hoses_and_joints")
		if rubber(r.Readings.Upper.Style) || rubber(r.Readings.Lower.Style) {
			say("tighten_at_ride_height")
		}
		say("fit_in_pairs")
		say("stops_not_damper")
	}
	say("local_rules")
	if a.Outcome == Fits || len(a.NearMisses) > 0 {
		say("valving_not_checked")
	}
	list = append(list, w.Cautions...)
	list = append(list, kin.cautions()...)
	list = append(list, r.heldConstant(w, a.Required)...)
	for i := range a.Fits {
		for _, end := range [2]*mount.Result{a.Fits[i].Upper, a.Fits[i].Lower} {
			list = appendNew(list, end.Cautions)
		}
	}
	return list
}

// rubber says whether an end of that style turns in a bonded bushing. Tightened
// away from ride height, that stays twisted.
func rubber(s mount.Style) bool { return s == mount.Eye || s == mount.BarPin }

func (a *Answer) anyGas() bool {
	for i := range a.Fits {
		if a.Fits[i].Damper.Gas {
			return true
		}
	}
	for i := range a.NearMisses {
		if a.NearMisses[i].Damper.Gas {
			return true
		}
	}
	return false
}

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
	if f.Upper.Open {
		list = append(list, note.New("hardware_open", note.Word("end", "upper")))
	}
	if f.Lower.Open {
		list = append(list, note.New("hardware_open", note.Word("end", "lower")))
	}
	return list
}
