package fit

import (
	"midstroke/internal/fault"
	"midstroke/internal/linkage"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// DefaultStopReserve is what a bump stop and a strap leave of the damper's own
// travel unless the request says otherwise: common practice, no source.
const DefaultStopReserve = linkage.DefaultReserve

// checkStops finds what is wrong with the bump stop and the strap asked about.
func (r *Request) checkStops(faults *fault.List) {
	check := func(pointer string, found fault.List) {
		if r.Travel.Basis != ByLinkage && r.Readings.MotionRatio <= 0 {
			faults.Add(pointer, motionUnknown)
		}
		faults.AddUnder(pointer, found)
	}
	switch stop := r.BumpStop; {
	case stop == nil:
	case stop.OnRod:
		faults.AddUnder("/bump_stop", stop.CheckOnRod())
	default:
		check("/bump_stop", stop.Check())
	}
	if r.Strap != nil {
		check("/strap", r.Strap.Check())
	}
}

// stopsAsked is what a request says of the stops.
type stopsAsked struct {
	// bumpStop and strap are nil where they weren't asked about, and bumpStop where
	// it is on the rod.
	bumpStop *BumpStop
	strap    *Strap
	onRod    *BumpStop // nil where no stop rides on the damper's rod
	// bump and droop are the wheel travels asked for; 0 where that isn't told at
	// the wheel.
	bump, droop unit.Length
	droopLimit  *DroopLimit // nil where there is none
}

func (r *Request) stopsAsked() stopsAsked {
	s := stopsAsked{bumpStop: r.BumpStop, strap: r.Strap, droopLimit: r.DroopLimit}
	if s.bumpStop != nil && s.bumpStop.OnRod {
		s.bumpStop, s.onRod = nil, s.bumpStop
	}
	if r.Travel.Basis == ByLinkage || r.Travel.Basis == ByWheel {
		s.bump, s.droop = r.Travel.Bump, r.Travel.Droop
	}
	return s
}

// any says whether a stop was asked about, or something ends droop.
func (s *stopsAsked) any() bool {
	return s.bumpStop != nil || s.strap != nil || s.onRod != nil || s.droopLimit != nil
}

// reserves are what is left of the damper at the bump stop and at the strap. A stop
// on the rod ends the travel where it is solid.
func (s *stopsAsked) reserves() (bump, droop unit.Length) {
	bump, droop = DefaultStopReserve, DefaultStopReserve
	switch {
	case s.onRod != nil:
		bump = 0
	case s.bumpStop != nil:
		bump = s.bumpStop.Reserve
	}
	if s.strap != nil {
		droop = s.strap.Reserve
	}
	return bump, droop
}

// stops says where the suspension's stops must act for a fit, with notes on what is
// unusual about them: by the linkage where there is one, else by the motion ratio
// where a stop was asked about, else nil.
func (t *task) stops(f *Fit) (*Stops, []note.Note) {
	if t.kinematics == nil && (t.heights.ratio <= 0 || !t.asked.any()) {
		return nil, nil
	}
	out := &Stops{}
	var notes []note.Note
	bumpReserve, droopReserve := t.asked.reserves()
	bump, bumpRoom := t.solidBy(f, bumpReserve)
	droop, droopRoom := t.tightBy(f, droopReserve)
	if t.kinematics != nil && bumpRoom && droopRoom {
		bump, droop = t.kinematics.together(f, bump, droop, bumpReserve, droopReserve)
	}
	switch {
	case !bumpRoom:
		out.late = t.asked.bumpStop != nil
		notes = append(notes, note.New("no_room_for_bump_stop", note.Len("reserve", bumpReserve)))
	case bump.Found:
		out.Bump = &bump.WheelTravel
		if bump.WheelTravel < t.asked.bump && t.asked.onRod == nil {
			notes = append(notes, note.New("bump_stop_within_range",
				note.AtMost("bump", bump.WheelTravel), note.AtLeast("asked", t.asked.bump), note.Len("reserve", bumpReserve)))
		}
		if s := t.asked.bumpStop; s != nil {
			stop := s.For(bump.WheelTravel)
			out.BumpStop, out.late = &stop, !stop.InTime
			if out.late {
				notes = append(notes, comesLate(&stop, bump.WheelTravel))
			}
		}
	}
	droop, past := t.atDroopLimit(f, droop)
	notes = append(notes, past...)
	switch {
	case !droopRoom:
		notes = append(notes, note.New("no_room_for_strap", note.Len("reserve", droopReserve)))
	case droop.Found:
		out.Droop = &droop.WheelTravel
		if -droop.WheelTravel < t.asked.droop {
			notes = append(notes, note.New("strap_within_range",
				note.AtMost("droop", -droop.WheelTravel), note.AtLeast("asked", t.asked.droop), note.Len("reserve", droopReserve)))
		}
		if s := t.asked.strap; s != nil {
			strap := s.For(droop.WheelTravel)
			out.Strap = &strap
		}
	}
	return out, notes
}

// comesLate says that a stop is solid after the wheel travel by which it must be, and with
// which gap or height alone it would be in time, where there is such.
func comesLate(stop *linkage.BumpStopFit, by unit.Length) note.Note {
	values := []note.Value{note.AtLeast("solid_at", stop.SolidAt), note.AtMost("by", by)}
	if stop.Gap > 0 {
		values = append(values, note.AtMost("gap", stop.Gap))
	}
	if stop.Height > 0 {
		values = append(values, note.AtMost("height", stop.Height))
	}
	return note.New("stop_comes_late", values...)
}

// solidBy gives the wheel travel up from ride at which a damper has no more
// than the reserve left; there is no room where it has less at ride already.
func (t *task) solidBy(f *Fit, reserve unit.Length) (stop linkage.Stop, room bool) {
	if t.kinematics != nil {
		return t.kinematics.sweep.SolidBy(t.kinematics.guarded(f, reserve, +1))
	}
	stop, _ = linkage.ConstantStops(f.Travel.Compression, f.Travel.Extension, reserve, t.heights.ratio)
	return stop, stop.WheelTravel >= 0
}

// tightBy is solidBy down from ride, negative.
func (t *task) tightBy(f *Fit, reserve unit.Length) (stop linkage.Stop, room bool) {
	if t.kinematics != nil {
		return t.kinematics.sweep.TightBy(t.kinematics.guarded(f, reserve, -1))
	}
	_, stop = linkage.ConstantStops(f.Travel.Compression, f.Travel.Extension, reserve, t.heights.ratio)
	return stop, stop.WheelTravel <= 0
}

// guarded are the lengths by the linkage's points, mm, between which a damper
// must stay on one way from ride, up for +1. A stop keeps its reserve at the end
// that it guards. Past dead centre the damper comes to its other end: there a stop
// keeps its reserve as far as the travel asked for leaves one. The nanometre is for the
// rounding of the travel's own extremes, of which ride height may be one.
func (k *kinematics) guarded(f *Fit, reserve unit.Length, way float64) (least, most float64) {
	least, most = k.compressedByPoints(f.Compressed+reserve), k.extendedByPoints(f.Extended-reserve)
	if _, ratio := k.sweep.Ride(); (ratio < 0) == (way < 0) {
		return least, min(max(most, (k.longest.Length+unit.Nanometre).Mm()), k.extendedByPoints(f.Extended))
	}
	return max(min(least, (k.shortest.Length-unit.Nanometre).Mm()), k.compressedByPoints(f.Compressed)), most
}

// together moves both stops closer to ride where one wheel at each of them takes the
// damper past either reserve.
func (k *kinematics) together(f *Fit, bump, droop linkage.Stop, bumpReserve, droopReserve unit.Length) (_, _ linkage.Stop) {
	inner, outer := bumpReserve, droopReserve
	if _, ratio := k.sweep.Ride(); ratio < 0 {
		inner, outer = outer, inner
	}
	return k.sweep.Together(bump, droop, k.compressedByPoints(f.Compressed+inner), k.extendedByPoints(f.Extended-outer))
}
