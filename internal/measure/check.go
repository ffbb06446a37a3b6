package measure

import (
	"math"
	"strconv"

	"midstroke/internal/fault"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// MaxMotionRatio is a bound against slips of the pen: no damper moves ten
// times as far as its wheel. Our choice.
const MaxMotionRatio = 10

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
	r.checkMountMove(&faults)
	return faults
}

func (r *Readings) checkReadings(faults *fault.List) {
	switch n := len(r.Readings); {
	case n == 0:
		faults.Add("/readings", readingsMissing)
		return
	case n > MaxReadings:
		faults.Add("/readings", tooManyReadings, note.Num("most", MaxReadings, ""))
		return
	}
	sided := 0
	for i, reading := range r.Readings {
		at := "/readings/" + strconv.Itoa(i)
		switch l := reading.Length; {
		case l <= 0:
			faults.Add(at, readingNotPositive)
		case l > unit.MaxLength:
			faults.Add(at, readingTooLarge)
		}
		if reading.Side != Unsided {
			sided++
		}
	}
	if sided != 0 && sided != len(r.Readings) {
		faults.Add("/readings", sideMixed)
	}
}

func (r *Readings) checkTape(faults *fault.List) {
	const at = "/sideways_offset"
	switch offset := r.Tape.SidewaysOffset; {
	case offset != nil && (*offset < 0 || *offset > unit.MaxLength):
		bounded(faults, at, *offset)
	case r.Tape.Vertical && offset == nil:
		faults.Add(at, offsetMissing)
	case !r.Tape.Vertical && offset != nil && *offset != 0:
		faults.Add(at, offsetOutOfPlace)
	}
}

func (r *Readings) checkMotion(faults *fault.List) {
	ratio, half := r.MotionRatio, r.MotionRatioTolerance
	ratioCan := ratio >= 0 && ratio <= MaxMotionRatio // false for NaN
	if !ratioCan {
		faults.Add("/motion_ratio", ratioOutOfRange, note.Num("most", MaxMotionRatio, ""))
	}
	switch {
	case math.IsNaN(half) || half < 0:
		faults.Add("/motion_ratio_tolerance", negative)
	case half == 0 || !ratioCan:
	case ratio == 0 && !r.HasLinkage:
		faults.Add("/motion_ratio_tolerance", ratioToleranceOutOfPlace)
	case ratio != 0 && half >= ratio:
		faults.Add("/motion_ratio_tolerance", ratioToleranceOutOfRange)
	}
	change := r.PlannedChange
	bounded(faults, "/planned_change", change.Abs())
	if change != 0 && ratio == 0 && !r.HasLinkage {
		faults.Add("/motion_ratio", ratioMissingForChange)
	}
}

func (r *Readings) checkMountMove(faults *fault.List) {
	const at = "/planned_mount_move"
	bounded(faults, at, r.PlannedMountMove.Abs())
	if r.PlannedMountMove != 0 && r.HasLinkage {
		faults.Add(at, mountMoveOutOfPlace)
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
	found := mount.CheckPlane(e.Style, e.Plane)
	faults.AddUnder("", found)
	if len(found) > 0 && e.Style != mount.NoStyle {
		return faults // what a wrong plane needs doesn't matter
	}
	need := func(pointer string, given bool, missing fault.Code) {
		if !given {
			faults.Add(pointer, missing)
		}
	}
	switch e.Plane {
	case mount.NearEdge, mount.FarEdge:
		need("/bolt", e.BoltDiameter != 0, boltMissing)
	case mount.SeatFace:
		need("/bar_offset", e.BarOffset != nil, barOffsetMissing)
	case mount.FrameFarFace:
		need("/plate", e.Plate != 0, plateMissing)
	case mount.StudTip:
		need("/stud_length", e.StudLength != 0, studLengthMissing)
	case mount.StylesOwn, mount.BoltCentre, mount.BarCentre, mount.InnerWasher, mount.FrameFace:
	}
	return faults
}

// bounded finds a fault in a length that must be 0 to unit.MaxLength.
func bounded(faults *fault.List, pointer string, l unit.Length) {
	switch {
	case l < 0:
		faults.Add(pointer, negative)
	case l > unit.MaxLength:
		faults.Add(pointer, tooLarge)
	}
}
