package damping

import "midstroke/internal/fault"

// The faults of a question.
const (
	damperRatioMissing  fault.Code = "missing.damper_ratio"
	RideHzOutOfRange    fault.Code = "out_of_range.ride_frequency"
	RatioOutOfRange     fault.Code = "out_of_range.damping_ratio"
	ratiosCrossed       fault.Code = "damping_ratios_crossed"
	ratioLowOverHigh    fault.Code = "damping_ratios_crossed.ends"
	SplitOutOfRange     fault.Code = "out_of_range.rebound_over_compression"
	classUnknown        fault.Code = "unknown_value.damping_road_class"
	roadSpeedOutOfRange fault.Code = "out_of_range.road_speed"
	tooManyVelocities   fault.Code = "too_many_velocities"
)

// The faults of a spring.
const (
	ratioOfSpringMissing fault.Code = "missing.ratio_of_spring"
	coilMissing          fault.Code = "missing.coil"
	coilFigureMissing    fault.Code = "missing.coil_figure"
	springOutOfRange     fault.Code = "out_of_range.spring"
	endsMissing          fault.Code = "missing.spring_ends"
	rateTwice            fault.Code = "coil_and_rate"
	coilTooTight         fault.Code = "coil_too_tight"
	turnsTooFew          fault.Code = "turns_too_few"
	freeBelowSolid       fault.Code = "free_below_solid"
)
