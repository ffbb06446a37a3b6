package fit

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"midstroke/internal/fault"
	"midstroke/internal/linkage"
	"midstroke/internal/measure"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// kinematics is what a linkage adds to a request: the travel that it asks of a
// damper, the readings carried along its own curve to ride height, and what
// moving a mount does. nil where there is none.
//
// The linkage's wheel travel counts from ride height as it is now; ride is
// where a planned change of height puts the wheel.
type kinematics struct {
	linkage   *linkage.Linkage
	ride      float64 // mm, negative where the body will be raised
	low, high float64 // the range judged, mm, on the same count
	length    float64 // at ride, by the geometry, mm
	ratio     float64 // motion ratio at ride
	shortest  linkage.Extreme
	longest   linkage.Extreme
	disagree  []note.Note
}

// kinematics builds the request's linkage and brings the working length, as
// measured, to ride height by it.
func (r *Request) kinematics(w *measure.Working, faults *fault.List) *kinematics {
	if r.Travel.Basis != ByLinkage || r.Linkage == nil {
		return nil
	}
	l, found := linkage.New(*r.Linkage)
	if len(found) > 0 {
		faults.AddUnder("/travel/linkage", found)
		return nil
	}
	k := &kinematics{linkage: l, ride: -w.PlannedChange.Mm()}
	k.low, k.high = k.ride-r.Travel.Droop.Mm(), k.ride+r.Travel.Bump.Mm()
	var err error
	if k.length, k.ratio, err = l.At(k.ride); err != nil {
		unreachable(faults, "/planned_change", err)
		return nil
	}
	if k.shortest, k.longest, err = l.Extremes(k.low, k.high); err != nil {
		unreachable(faults, "/travel/range", err)
		return nil
	}
	if w.Value > 0 {
		k.toRide(r, w, faults)
	}
	return k
}

func unreachable(faults *fault.List, pointer string, err error) {
	var e *linkage.TravelError
	code := "unreachable"
	if errors.As(err, &e) {
		code = e.Code
	}
	faults.Add(pointer, code, "%s", err)
}

// toRide carries the working length from where it was taped to ride height and
// on to the planned one, and holds it against the geometry's.
func (k *kinematics) toRide(r *Request, w *measure.Working, faults *fault.List) {
	taped := -w.RideDelta.Mm() // wheel travel while the tape was held
	at, ratio, err := k.linkage.At(taped)
	if err != nil {
		unreachable(faults, "/condition/arch_gap", err)
		return
	}
	now, _, err := k.linkage.At(0)
	if err != nil {
		unreachable(faults, "/travel/linkage", err)
		return
	}
	// Both gaps are off by their tolerance at worst.
	tolerance := 2 * w.GapTolerance.Mm()
	shortest, longest, err := k.linkage.Extremes(taped-tolerance, taped+tolerance)
	if err != nil {
		unreachable(faults, "/condition/gap_tolerance", err)
		return
	}
	if w.RideDelta != 0 || tolerance != 0 {
		w.Value += unit.FromMm(now - at)
		w.Low += unit.FromMm(now) - longest.Length
		w.High += unit.FromMm(now) - shortest.Length
		uGap := ratio * w.GapTolerance.Mm() / sqrt3
		w.StdUncertainty = math.Sqrt(w.StdUncertainty*w.StdUncertainty + 2*uGap*uGap)
		w.Steps = append(w.Steps, note.Step{
			Note:   note.New("ride_height_by_linkage", note.Len("wheel_travel", unit.FromMm(taped))),
			Result: note.Len("length", w.Value),
		})
	}
	geometry := unit.FromMm(now)
	if geometry < w.Low || geometry > w.High {
		k.disagree = []note.Note{note.New("lengths_disagree", note.Len("measured", w.Value), note.Len("geometry", geometry))}
	}
	if w.PlannedChange != 0 {
		change := unit.FromMm(k.length) - geometry
		w.Value, w.Low, w.High = w.Value+change, w.Low+change, w.High+change
		w.Steps = append(w.Steps, note.Step{
			Note:   note.New("planned_change_by_linkage", note.Len("change", w.PlannedChange)),
			Result: note.Len("length", w.Value),
		})
	}
}

// need is the travel that the linkage asks of a damper.
func (k *kinematics) need(r *Request) *Required {
	n := &Required{Basis: ByLinkage}
	if k == nil {
		return nil
	}
	ride := unit.FromMm(k.length)
	n.computed(ride-k.shortest.Length, k.longest.Length-ride, r.Travel.Reserve)
	n.say("travel_linkage", "",
		note.Len("bump", r.Travel.Bump), note.Len("droop", r.Travel.Droop),
		note.Len("compression", n.Compression.Least), note.Len("extension", n.Extension.Least))
	n.sayReserve(r.Travel.Reserve)
	return n
}

// moved is what moving a mount by d mm along the damper at ride makes of the
// needs and the motion ratio; ok is false where it can't be moved so.
func (k *kinematics) moved(m linkage.Mount, d float64) (c, e unit.Length, ratio float64, at [3]unit.Length, ok bool) {
	v := r3.Scale(d, k.linkage.Direction())
	if m == linkage.LowerMount {
		v = r3.Scale(-1, v)
	}
	l, err := k.linkage.Move(m, v)
	if err != nil {
		return 0, 0, 0, at, false
	}
	ride, ratio, err := l.At(k.ride)
	if err != nil {
		return 0, 0, 0, at, false
	}
	shortest, longest, err := l.Extremes(k.low, k.high)
	if err != nil {
		return 0, 0, 0, at, false
	}
	length := unit.FromMm(ride)
	at = [3]unit.Length{unit.FromMm(v.X), unit.FromMm(v.Y), unit.FromMm(v.Z)}
	return max(0, length-shortest.Length), max(0, longest.Length-length), ratio, at, true
}

func (k *kinematics) cautions() []note.Note {
	if k == nil {
		return nil
	}
	list := append([]note.Note(nil), k.disagree...)
	for _, e := range [2]linkage.Extreme{k.shortest, k.longest} {
		if e.Interior {
			list = append(list, note.New("over_centre",
				note.Len("wheel_travel", e.WheelTravel-unit.FromMm(k.ride)), note.Len("length", e.Length)))
		}
	}
	return list
}
