package measure

import (
	"math"
	"slices"
	"strconv"

	"midstroke/internal/fault"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// MaxMotionRatio is a bound against slips of the pen: no damper moves ten
// times as far as its wheel. Our choice.
const MaxMotionRatio = 10

// The codes of the faults that this package finds.
const (
	missing     = "missing"
	tooMany     = "too_many"
	notPositive = "not_positive"
	negative    = "negative"
	tooLarge    = "too_large"
	outOfRange  = "out_of_range"
	wrongPlane  = "wrong_plane"
	sideMixed   = "side_mixed"
	outOfPlace  = "out_of_place"
	impossible  = "impossible_length"
)

// check finds everything in r that can't be, before anything is computed.
func (r *Readings) check() fault.List {
	var faults fault.List
	r.checkReadings(&faults)
	bounded(&faults, "/reading_tolerance", r.Tolerance)
	faults.AddUnder("/upper", r.Upper.check())
	faults.AddUnder("/lower", r.Lower.check())
	r.checkTape(&faults)
	bounded(&faults, "/condition/arch_gap", r.Condition.ArchGap)
	bounded(&faults, "/condition/arch_gap_at_ride", r.Condition.ArchGapAtRide)
	bounded(&faults, "/condition/gap_tolerance", r.Condition.GapTolerance)
	r.checkMotion(&faults)
	return faults
}

func (r *Readings) checkReadings(faults *fault.List) {
	switch n := len(r.Readings); {
	case n == 0:
		faults.Add("/readings", missing, "give at least one reading")
		return
	case n > MaxReadings:
		faults.Add("/readings", tooMany, "give at most %d readings of the same distance", MaxReadings)
		return
	}
	sided := 0
	for i, reading := range r.Readings {
		at := "/readings/" + strconv.Itoa(i)
		switch l := reading.Length; {
		case l <= 0:
			faults.Add(at, notPositive, "a reading must be more than nothing")
		case l > unit.MaxLength:
			faults.Add(at, tooLarge, "a reading can't be more than 10 m")
		}
		if reading.Side != Unsided {
			sided++
		}
	}
	if sided != 0 && sided != len(r.Readings) {
		faults.Add("/readings", sideMixed, "say left or right for every reading or for none of them")
	}
}

func (r *Readings) checkTape(faults *fault.List) {
	const at = "/sideways_offset"
	switch offset := r.Tape.SidewaysOffset; {
	case offset != nil && (*offset < 0 || *offset > unit.MaxLength):
		bounded(faults, at, *offset)
	case r.Tape.Vertical && offset == nil:
		faults.Add(at, missing, "a height alone isn't the damper's length; give the distance between the two mounts as seen from above")
	case !r.Tape.Vertical && offset != nil && *offset != 0:
		faults.Add(at, outOfPlace, "this is used only where the tape was held vertical; say that it was, or leave this out")
	}
}

func (r *Readings) checkMotion(faults *fault.List) {
	ratio, half := r.MotionRatio, r.MotionRatioTolerance
	ratioCan := ratio >= 0 && ratio <= MaxMotionRatio // false for NaN
	if !ratioCan {
		faults.Add("/motion_ratio", outOfRange, "the motion ratio is damper travel over wheel travel: above 0 and at most %d", MaxMotionRatio)
	}
	switch {
	case math.IsNaN(half) || half < 0:
		faults.Add("/motion_ratio_tolerance", negative, "a tolerance can't be less than nothing")
	case half == 0 || !ratioCan:
	case ratio == 0 && !r.HasLinkage:
		faults.Add("/motion_ratio_tolerance", outOfPlace, "this is the tolerance of a motion ratio; give the motion ratio too, or leave this out")
	case ratio != 0 && half >= ratio:
		faults.Add("/motion_ratio_tolerance", outOfRange, "the tolerance of the motion ratio must be less than the ratio itself")
	}
	change := r.PlannedChange
	bounded(faults, "/planned_change", change.Abs())
	if change != 0 && ratio == 0 && !r.HasLinkage {
		faults.Add("/motion_ratio", missing, "a planned change of height needs the motion ratio, damper travel over wheel travel")
	}
}

// check finds what is wrong with one end.
func (e *EndReading) check() fault.List {
	var faults fault.List
	bounded(&faults, "/bolt", e.BoltDiameter)
	bounded(&faults, "/bushing_thickness", e.BushingThickness)
	bounded(&faults, "/washer_thickness", e.WasherThickness)
	bounded(&faults, "/plate", e.Plate)
	bounded(&faults, "/stud_length", e.StudLength)
	if e.BarOffset != nil {
		bounded(&faults, "/bar_offset", e.BarOffset.Abs())
	}
	switch {
	case e.Style == mount.NoStyle:
		faults.Add("/style", missing, "say what kind of end this is")
	case e.Plane != mount.StylesOwn && !slices.Contains(e.Style.Planes(), e.Plane):
		faults.Add("/measured_to", wrongPlane, "this kind of end has no such place to measure to")
		return faults // what the wrong plane would need is no help
	}
	need := func(pointer string, given bool, detail string) {
		if !given {
			faults.Add(pointer, missing, detail)
		}
	}
	switch e.Plane {
	case mount.NearEdge, mount.FarEdge:
		need("/bolt", e.BoltDiameter != 0, "measured to the bolt's edge, its diameter is needed to find its centre")
	case mount.SeatFace:
		need("/bar_offset", e.BarOffset != nil, "measured to the seat face, the distance from there to the bar's axis is needed")
	case mount.FrameFarFace:
		need("/plate", e.Plate != 0, "measured to the far side of the frame, the frame's thickness is needed")
	case mount.StudTip:
		need("/stud_length", e.StudLength != 0, "measured to the stud's tip, the stud's length from its innermost washer is needed")
	case mount.StylesOwn, mount.BoltCentre, mount.BarCentre, mount.InnerWasher, mount.FrameFace:
	}
	return faults
}

// bounded finds a fault in a length that must be 0 to unit.MaxLength.
func bounded(faults *fault.List, pointer string, l unit.Length) {
	switch {
	case l < 0:
		faults.Add(pointer, negative, "this can't be less than nothing")
	case l > unit.MaxLength:
		faults.Add(pointer, tooLarge, "this can't be more than 10 m")
	}
}
