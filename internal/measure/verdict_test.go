package measure_test

import (
	"strings"
	"testing"

	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// The limits of readings that lie apart are common practice, no source; each
// is tried exactly and one nanometre beyond. Half a nanometre goes to the even
// one.
func TestLimits(t *testing.T) {
	sided := func(left, right unit.Length) measure.Readings {
		r := eyes()
		r.Readings = []measure.Reading{{Length: left, Side: measure.Left}, {Length: right, Side: measure.Right}}
		return r
	}
	leftTwice := func(a, b unit.Length) measure.Readings {
		r := eyes()
		r.Readings = []measure.Reading{{Length: a, Side: measure.Left}, {Length: 20 * inch, Side: measure.Right}, {Length: b, Side: measure.Left}}
		return r
	}
	raised := func(delta, planned unit.Length) measure.Readings {
		r := eyes(20 * inch)
		r.MotionRatio = 1
		r.PlannedChange = planned
		r.Condition = measure.Condition{NotAtRide: delta != 0, ArchGap: 400*mm + delta, ArchGapAtRide: 400 * mm}
		return r
	}
	linked := func(r measure.Readings) measure.Readings {
		r.HasLinkage = true
		return r
	}
	for _, c := range []struct {
		name    string
		r       measure.Readings
		reason  string
		caution string
		value   unit.Length
	}{
		{"repeats at 1/4 in", eyes(20*inch, 20*inch+quarter), "", "", 20*inch + eighth},
		{"repeats over 1/4 in", eyes(20*inch, 20*inch+quarter+1), "repeats_apart", "", 20*inch + eighth},
		{"repeats of a side at 1/4 in", leftTwice(20*inch-eighth, 20*inch+eighth), "", "", 20 * inch},
		{"repeats of a side over 1/4 in", leftTwice(20*inch-eighth, 20*inch+eighth+1), "repeats_apart", "", 20 * inch},
		{"sides at 1/4 in", sided(20*inch, 20*inch+quarter), "", "", 20*inch + eighth},
		{"sides over 1/4 in", sided(20*inch, 20*inch+quarter+1), "", "sides_differ", 20*inch + eighth},
		{"sides over 1/4 in, the other way", sided(20*inch+quarter+1, 20*inch), "", "sides_differ", 20*inch + eighth},
		{"sides at 1/2 in", sided(20*inch, 20*inch+inch/2), "", "sides_differ", 20*inch + quarter},
		{"sides over 1/2 in", sided(20*inch, 20*inch+inch/2+1), "sides_apart", "", 20*inch + quarter},
		{"75 mm from ride height", raised(75*mm, 0), "", "corrected_to_ride_height", 433 * mm},
		{"75 mm below ride height", raised(-75*mm, 0), "", "corrected_to_ride_height", 583 * mm},
		{"more than 75 mm from ride height", raised(75*mm+1, 0), "far_from_ride_height", "corrected_to_ride_height", 433*mm - 1},
		{"more than 75 mm below ride height", raised(-75*mm-1, 0), "far_from_ride_height", "corrected_to_ride_height", 583*mm + 1},
		{"more than 75 mm from ride height, linkage", linked(raised(75*mm+1, 0)), "", "", 508 * mm},
		{"75 mm planned", raised(0, 75*mm), "", "", 583 * mm},
		{"75 mm down planned", raised(0, -75*mm), "", "", 433 * mm},
		{"more than 75 mm planned", raised(0, 75*mm+1), "planned_change_large", "", 583*mm + 1},
		{"more than 75 mm planned, linkage", linked(raised(0, 75*mm+1)), "", "", 508 * mm},
		{"both", raised(25*mm, 50*mm), "", "corrected_to_ride_height", 533 * mm},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := work(t, c.r)
			verdict := measure.Measured
			if c.reason != "" {
				verdict = measure.MeasureAgain
			}
			if got := noteCodes(w.Reasons); w.Verdict != verdict || got != c.reason {
				t.Errorf("%v because of %q; want %v because of %q", w.Verdict, got, verdict, c.reason)
			}
			if got := noteCodes(w.Cautions); got != c.caution {
				t.Errorf("cautions %q; want %q", got, c.caution)
			}
			if w.Value != c.value || w.Value <= 0 || w.Low >= w.Value || w.High <= w.Value {
				t.Errorf("%d nm within %d and %d; want %d nm", w.Value, w.Low, w.High, c.value)
			}
		})
	}
}

func noteCodes(notes []note.Note) string {
	var all []string
	for _, n := range notes {
		all = append(all, string(n.Code))
	}
	return strings.Join(all, " ")
}

// Readings that can't be relied on, or not by this method, say why; their
// length stands where it can be had.
func TestVerdicts(t *testing.T) {
	for _, c := range []struct {
		name    string
		change  func(*measure.Readings)
		verdict measure.Verdict
		reasons string
		known   bool
	}{
		{"nothing wrong", func(*measure.Readings) {}, measure.Measured, "", true},
		{"fork above", func(r *measure.Readings) { r.Upper.Style = mount.Fork }, measure.OutsideMethod, "fork_end", true},
		{"spindle strut below", func(r *measure.Readings) { r.Lower.Style = mount.SpindleStrut }, measure.OutsideMethod, "spindle_strut_end", true},
		{"both", func(r *measure.Readings) { r.Upper.Style, r.Lower.Style = mount.Fork, mount.SpindleStrut }, measure.OutsideMethod, "fork_end spindle_strut_end", true},
		{"damper at its stop", func(r *measure.Readings) { r.OldDamper.AtStop = true }, measure.MeasureAgain, "damper_at_stop", true},
		{"damper carries load", func(r *measure.Readings) { r.OldDamper.CarriesLoad = true }, measure.OutsideMethod, "damper_carries_load", true},
		{"carries load, at its stop", func(r *measure.Readings) { r.OldDamper = measure.OldDamper{AtStop: true, CarriesLoad: true} }, measure.OutsideMethod, "damper_carries_load damper_at_stop", true},
		{"not at ride height, nothing known", func(r *measure.Readings) { r.Condition.NotAtRide = true }, measure.MeasureAgain, "arch_gap_missing arch_gap_at_ride_missing motion_ratio_missing", false},
		{"no gap", func(r *measure.Readings) {
			r.MotionRatio = 0.9
			r.Condition = measure.Condition{NotAtRide: true, ArchGapAtRide: 400 * mm}
		}, measure.MeasureAgain, "arch_gap_missing", false},
		{"no gap at ride height", func(r *measure.Readings) {
			r.MotionRatio = 0.9
			r.Condition = measure.Condition{NotAtRide: true, ArchGap: 400 * mm}
		}, measure.MeasureAgain, "arch_gap_at_ride_missing", false},
		{"no motion ratio", func(r *measure.Readings) {
			r.Condition = measure.Condition{NotAtRide: true, ArchGap: 400 * mm, ArchGapAtRide: 390 * mm}
		}, measure.MeasureAgain, "motion_ratio_missing", false},
		{"linkage and no gaps", func(r *measure.Readings) {
			r.HasLinkage = true
			r.Condition = measure.Condition{NotAtRide: true}
		}, measure.MeasureAgain, "arch_gap_missing arch_gap_at_ride_missing", false},
		{"linkage for a motion ratio", func(r *measure.Readings) {
			r.HasLinkage = true
			r.Condition = measure.Condition{NotAtRide: true, ArchGap: 400 * mm, ArchGapAtRide: 390 * mm}
		}, measure.Measured, "", true},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := eyes(20 * inch)
			c.change(&r)
			w := work(t, r)
			if got := noteCodes(w.Reasons); w.Verdict != c.verdict || got != c.reasons {
				t.Errorf("%v because of %q; want %v because of %q", w.Verdict, got, c.verdict, c.reasons)
			}
			if known := w.Value > 0; known != c.known {
				t.Errorf("the length %v is known: %v", w.Value, known)
			}
			if c.known {
				wantLengths(t, w, 20*inch, 20*inch-inch/16, 20*inch+inch/16)
			} else {
				wantLengths(t, w, 0, 0, 0)
			}
			if !strings.HasPrefix(codes(w.Steps), "one_reading") {
				t.Errorf("the steps are %s", codes(w.Steps))
			}
		})
	}
}
