package ride

import "midstroke/internal/fault"

// The faults of a road and of the vehicle's corner on it.
const (
	classUnknown        fault.Code = "unknown_value.road_class"
	speedOutOfRange     fault.Code = "out_of_range.speed"
	hoursOutOfRange     fault.Code = "out_of_range.hours"
	sprungOutOfRange    fault.Code = "out_of_range.sprung_mass"
	unsprungOutOfRange  fault.Code = "out_of_range.unsprung_mass"
	wheelRateOutOfRange fault.Code = "out_of_range.wheel_rate"
	tyreRateOutOfRange  fault.Code = "out_of_range.tyre_rate"
	dampingOutOfRange   fault.Code = "out_of_range.damping"
	travelOutOfRange    fault.Code = "out_of_range.road_travel"
)
