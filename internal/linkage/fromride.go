package linkage

import (
	"errors"

	"midstroke/internal/fault"
	"midstroke/internal/unit"
)

// FromRide is a damper's movement from a ride height, in metres, as a corner at rest
// wants it. For an axle it is that in pure heave.
type FromRide struct {
	linkage *Linkage
	// ride is the wheel travel at that ride height, and length the damper's there, mm.
	ride, length float64
}

// FromRide counts from wheel travel ride in mm. The error is that of [Linkage.At].
func (l *Linkage) FromRide(ride float64) (FromRide, error) {
	length, _, err := l.At(ride)
	return FromRide{l, ride, length}, err
}

// ratioChangeOver is the wheel travel over which a ratio's change is taken, mm each
// way: short enough for the change to be that at one height, long enough for
// rounding not to show.
const ratioChangeOver = 0.05

const mmInMetre = 1000

// At gives at wheel travel z up from ride height, m, by how much the damper is shorter than
// there, m, its motion ratio, and the change of that with wheel travel up, 1/m. It says
// false where the linkage doesn't get there, or where the damper's ends meet. It allocates nothing.
func (f FromRide) At(z float64) (shorter, ratio, change float64, ok bool) {
	l, at := f.linkage, f.ride+z*mmInMetre
	if !(at >= l.low.z && at <= l.high.z) {
		return 0, 0, 0, false
	}
	here := l.solve(at, pose{})
	if here.length < tellApart {
		return 0, 0, 0, false
	}
	// Where the linkage ends nearby the change is taken to one side.
	low, high := max(at-ratioChangeOver, l.low.z), min(at+ratioChangeOver, l.high.z)
	below, above := l.solve(low, here.pose), l.solve(high, here.pose)
	return (f.length - here.length) / mmInMetre, here.ratio, (above.ratio - below.ratio) / (high - low) * mmInMetre, true
}

// Check reports a wheel travel up from ride that the linkage doesn't reach, as a fault of
// the field at pointer.
func (f FromRide) Check(faults *fault.List, pointer string, travel unit.Length) {
	var e *TravelError
	if _, _, err := f.linkage.At(f.ride + travel.Mm()); errors.As(err, &e) {
		*faults = append(*faults, e.From(f.ride).Fault(pointer))
	}
}
