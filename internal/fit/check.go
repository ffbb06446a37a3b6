package fit

import (
	"midstroke/internal/damping"
	"midstroke/internal/fault"
	"midstroke/internal/measure"
)

// Check gives every fault of a request that shows without a catalogue: all that
// Find would give except unknown codes. It also takes a request that couldn't be
// read whole, and gives the faults of what was read.
func Check(r *Request) fault.List {
	r = r.settled()
	var faults fault.List
	r.asked(&faults)
	return faults
}

// asked computes what a request asks of any damper, without a catalogue: the working
// length, what a linkage adds (nil without one), what judges damping (nil without a
// corner) and the needed travel.
func (r *Request) asked(faults *fault.List) (measure.Working, *kinematics, *damping.Rater, *Required) {
	working, found := r.workingLength()
	faults.AddUnder("", found)
	k := r.kinematics(&working, faults)
	rater := r.rater(k, faults)
	required := r.required(&working, k, faults)
	r.checkHeights(faults)
	r.checkStops(faults)
	r.checkObstacles(faults)
	r.checkDroop(faults)
	return working, k, rater, required
}

// workingLength computes the working length from the readings. With a linkage,
// kinematics corrects it to ride height.
func (r *Request) workingLength() (measure.Working, fault.List) {
	readings := r.Readings
	readings.HasLinkage = r.Travel.Basis == ByLinkage
	return measure.WorkingLength(readings)
}
