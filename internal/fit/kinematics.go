package fit

import (
	"errors"
	"math"
	"slices"

	"midstroke/internal/fault"
	"midstroke/internal/linkage"
	"midstroke/internal/measure"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// kinematics is what a linkage adds to a request: the travel that it asks of a
// damper, the readings corrected to ride height along its own curve, the effect of
// moving a mount, and where stops must act. It is nil without a linkage.
//
// The linkage's own wheel travel counts from the ride height that it was
// measured at. The sweep's counts from where a planned change of height puts the
// wheel, as the request's range does.
type kinematics struct {
	linkage *linkage.Linkage
	ride    float64 // mm, negative where the body will be raised
	judged  linkage.Range
	sweep   *linkage.Sweep
	// now is the damper's length by the points at the present ride height.
	now unit.Length
	// length is the damper's at ride by the linkage's points, and offset by how
	// much the reading is longer. The reading counts: every length by the points
	// is off by as much. shorter and longer are the same for the means of the
	// two sides.
	length, offset    unit.Length
	shorter, longer   unit.Length
	shortest, longest linkage.Extreme
	heights           heightShift
	// plain is the sweep's, for moves within reach.
	plain    bool
	taped    taped
	disagree []note.Note
	surroundings
}

// taped is where the wheel was while the tape was held, in mm of the linkage's own
// wheel travel, and by how much that may be wrong.
type taped struct {
	at, tolerance float64
	byGaps        bool // false at ride height
}

// kinematics builds the request's linkage and brings the working length, as
// measured, to ride height by it.
func (r *Request) kinematics(w *measure.Working, faults *fault.List) *kinematics {
	if r.Travel.Basis != ByLinkage {
		return nil
	}
	if r.Linkage == nil {
		faults.Add("/travel/linkage", linkageMissing)
		return nil
	}
	l, found := linkage.New(*r.Linkage)
	if len(found) > 0 {
		faults.AddUnder("/travel/linkage", found)
		return nil
	}
	k := &kinematics{
		linkage: l, ride: -w.PlannedChange.Mm(),
		judged: linkage.Range{Bump: r.Travel.Bump, Droop: r.Travel.Droop},
	}
	before := len(*faults)
	r.sweepRange(k, faults)
	r.sweepHeights(k, faults)
	r.surroundings(k, faults)
	if w.Value > 0 {
		k.toRide(w, faults)
	}
	if len(*faults) > before {
		return nil
	}
	if w.Value > 0 {
		k.toPlanned(w)
		k.shorter, k.longer = w.Shorter.Length-k.length, w.Longer.Length-k.length
		if w.Low <= 0 {
			faults.Add("/readings", nothingLeftByLinkage)
			return nil
		}
	}
	return k
}

// sweepRange moves the linkage through the range of travel about ride height.
func (r *Request) sweepRange(k *kinematics, faults *fault.List) {
	ride, t := k.ride, &k.judged
	length, _, err := k.linkage.At(ride)
	if err != nil {
		report(faults, "/planned_change", "wheel_travel_after_change", 0, err)
		return
	}
	if t.Bump == 0 && t.Droop == 0 {
		faults.Add("/travel/range", linkage.NoTravel)
		return
	}
	before := len(*faults)
	if _, _, err = k.linkage.At(ride + t.Bump.Mm()); err != nil {
		report(faults, "/travel/range/bump", "", ride, err)
	}
	if _, _, err = k.linkage.At(ride - t.Droop.Mm()); err != nil {
		report(faults, "/travel/range/droop", "", ride, err)
	}
	if len(*faults) > before {
		return
	}
	if k.sweep, err = k.linkage.Sweep(ride, *t); err != nil {
		report(faults, "/travel/range", "", ride, err)
		return
	}
	k.length = unit.FromMm(length)
	k.shortest, k.longest = k.sweep.Extremes()
	k.plain = k.sweep.Plain(remedyMost.Mm())
}

// sweepHeights moves the linkage to the ends of the range of ride heights. Where
// the body is lower the wheel is higher.
func (r *Request) sweepHeights(k *kinematics, faults *fault.List) {
	length, _, err := k.linkage.At(k.ride)
	if err != nil {
		return // swept has reported it
	}
	at := func(pointer string, wheel unit.Length) unit.Length {
		l, _, err := k.linkage.At(k.ride + wheel.Mm())
		if err != nil {
			report(faults, pointer, "", k.ride, err)
			return 0
		}
		return unit.FromMm(l) - unit.FromMm(length)
	}
	k.heights.lowest = at("/ride_height_range/below", r.Heights.Below)
	k.heights.highest = at("/ride_height_range/above", -r.Heights.Above)
}

// report makes the linkage's error a fault of the field at pointer: the linkage
// can't be brought to what that field asks for. Wheel travel in it counts from
// ride; what names it where it isn't plain wheel travel.
func report(faults *fault.List, pointer, what string, ride float64, err error) {
	var e *linkage.TravelError
	errors.As(err, &e) // a linkage has no other errors
	told := e.From(ride)
	if told.What == "" {
		told.What = what
	}
	*faults = append(*faults, told.Fault(pointer))
}

// toRide corrects the working length from where it was taped to the present ride
// height, and compares it with the one by the linkage's points.
func (k *kinematics) toRide(w *measure.Working, faults *fault.List) {
	now, _, err := k.linkage.At(0)
	if err != nil {
		report(faults, "/travel/linkage", "", 0, err)
		return
	}
	if w.RideDelta != 0 || w.GapTolerance != 0 {
		if !k.fromGaps(w, now, faults) {
			return
		}
	}
	k.now = unit.FromMm(now)
	k.offset = w.Value - k.now
	k.compare(w)
}

// compare cautions where the length as taped and the one by the linkage's points, both
// at the present ride height, differ by more than the bounds of the one and the rounding
// of the other explain. The reading counts. But one of the two is wrong, and nobody
// knows yet which: the worst case, and with it the grade, reaches to either.
func (k *kinematics) compare(w *measure.Working) {
	rounding := k.linkage.LengthRounding()
	if k.now >= w.Low-rounding && k.now <= w.High+rounding {
		return
	}
	k.disagree = []note.Note{note.New("lengths_disagree", note.Size("measured", w.Value), note.Size("geometry", k.now))}
	w.Low, w.High = min(w.Low, k.now), max(w.High, k.now)
}

// fromGaps corrects the working length along the linkage's curve by the gaps
// between wheel and arch, in place of L - MR Δ: with Δ the wheel was at -Δ of
// wheel travel, so
//
//	L_ride = L + L(0) - L(-Δ).
//
// At worst both gaps are off by their tolerance. The variance gains
// 2 (MR t_gap/√3)² as it does by a motion ratio.
func (k *kinematics) fromGaps(w *measure.Working, now float64, faults *fault.List) bool {
	k.taped = taped{at: -w.RideDelta.Mm(), tolerance: 2 * w.GapTolerance.Mm(), byGaps: true}
	at, ratio, err := k.linkage.At(k.taped.at)
	if err != nil {
		report(faults, "/condition/arch_gap", "wheel_travel_while_taped", 0, err)
		return false
	}
	below, above, err := k.taped.doubt(k.linkage)
	if err != nil {
		report(faults, "/condition/arch_gap", "", 0, err)
		return false
	}
	change := unit.FromMm(now) - unit.FromMm(at)
	shift(w, change)
	w.Low, w.High = w.Low-below, w.High+above
	uGap := math.Sqrt2 * ratio * w.GapTolerance.Mm() / sqrt3
	for _, side := range [2]*measure.Mean{&w.Shorter, &w.Longer} {
		side.StdUncertainty = math.Hypot(side.StdUncertainty, uGap)
	}
	addAlongCurve(w, change, "ride_height_by_linkage", note.Given("wheel_travel", unit.FromMm(k.taped.at)), note.Len("from", unit.FromMm(at)), note.Len("to", unit.FromMm(now)))
	w.Cautions = append(w.Cautions, note.New("corrected_to_ride_height", note.Len("by", change)))
	return true
}

// doubt is how far the length at ride height may lie below and above its value,
// at worst, because the gaps are known to within a tolerance: the wheel may have
// been somewhat higher or lower while the tape was held.
func (p taped) doubt(l *linkage.Linkage) (below, above unit.Length, err error) {
	if !p.byGaps {
		return 0, 0, nil
	}
	low, high := l.Reach()
	at, _, err := l.At(p.at)
	if err != nil {
		return 0, 0, err
	}
	shortest, longest, err := l.Extremes(max(low, p.at-p.tolerance), min(high, p.at+p.tolerance))
	if err != nil {
		return 0, 0, err
	}
	return longest.Length - unit.FromMm(at), unit.FromMm(at) - shortest.Length, nil
}

// toPlanned corrects the working length to where a planned change puts it.
func (k *kinematics) toPlanned(w *measure.Working) {
	if w.PlannedChange == 0 {
		return
	}
	shift(w, k.length-k.now)
	addAlongCurve(w, k.length-k.now, "planned_change_by_linkage", note.Given("change", w.PlannedChange), note.Len("from", k.now), note.Len("to", k.length))
}

// addAlongCurve adds the step of a correction that was just made along the linkage's
// curve, from one length by its points to another.
func addAlongCurve(w *measure.Working, change unit.Length, code note.Code, why, from, to note.Value) {
	before, result := note.Len("before", w.Value-change), note.Len("length", w.Value)
	note.Follow(note.Line{Result: result, Parts: []*note.Value{&before, &to, &from}, Of: func(x []float64) float64 { return x[0] + x[1] - x[2] }})
	w.Steps = append(w.Steps, note.Step{Note: note.New(code, why, before, from, to), Result: result})
}

// shift changes a working length with its bounds and both sides' means.
func shift(w *measure.Working, by unit.Length) {
	for _, l := range [5]*unit.Length{&w.Value, &w.Low, &w.High, &w.Shorter.Length, &w.Longer.Length} {
		*l += by
	}
}

// need is the travel that the linkage asks of a damper.
func (k *kinematics) need(r *Request) *Required {
	if k == nil {
		return nil
	}
	n := &Required{Basis: ByLinkage}
	n.computed(k.length-k.shortest.Length, k.longest.Length-k.length, r.Travel.Reserve)
	n.addStep("travel_linkage", "", append([]note.Value{note.Given("bump", r.Travel.Bump), note.Given("droop", r.Travel.Droop)},
		n.fromLengths("ride", k.length, "shortest", k.shortest.Length, "longest", k.longest.Length)...)...)
	n.addReserveStep(r.Travel.Reserve)
	r.needAtHeights(n)
	n.held = wheelTravel{} // the linkage has its own curve
	return n
}

func (k *kinematics) cautions() []note.Note {
	if k == nil {
		return nil
	}
	return slices.Concat(k.disagree, k.sweep.Cautions(), k.twists.Cautions())
}
