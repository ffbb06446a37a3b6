package ride

import "midstroke/internal/fault"

// The faults of a road and of the vehicle's corner on it.
const (
	classUnknown             fault.Code = "unknown_value.road_class"
	speedOutOfRange          fault.Code = "out_of_range.speed"
	hoursOutOfRange          fault.Code = "out_of_range.hours"
	sprungOutOfRange         fault.Code = "out_of_range.sprung_mass"
	unsprungOutOfRange       fault.Code = "out_of_range.unsprung_mass"
	ladenBelowUnladen        fault.Code = "laden_below_unladen"
	springMissing            fault.Code = "missing.spring"
	springTwice              fault.Code = "spring_twice"
	springRatioMissing       fault.Code = "missing.spring_ratio"
	springRatioMissingBeside fault.Code = "missing.spring_ratio_beside"
	springRateOutOfRange     fault.Code = "out_of_range.spring_rate"
	wheelRateOutOfRange      fault.Code = "out_of_range.wheel_rate"
	tyreRateOutOfRange       fault.Code = "out_of_range.tyre_rate"
	RatioOutOfRange          fault.Code = "out_of_range.part_ratio"
	ratioNotOfLinkage        fault.Code = "contradiction.ratio_of_linkage"
	changeNotOfLinkage       fault.Code = "contradiction.ratio_change_of_linkage"
	ratioChangeOutOfRange    fault.Code = "out_of_range.part_ratio_change"
	rollBarOutOfRange        fault.Code = "out_of_range.roll_bar_rate"
	frictionOutOfRange       fault.Code = "out_of_range.friction"
	dampersOutOfRange        fault.Code = "out_of_range.dampers"
	dampingOutOfRange        fault.Code = "out_of_range.damping"
	neverSettles             fault.Code = "never_settles"
	travelOutOfRange         fault.Code = "out_of_range.road_travel"
)
