package fit

import "midstroke/internal/fault"

// The faults of a request as a whole; those of its parts are the other
// packages'.
const (
	linkageMissing       fault.Code = "missing.linkage"
	suspensionMissing    fault.Code = "missing.suspension"
	ratioMissingForWheel fault.Code = "missing.motion_ratio_for_wheel"
	ratioMissingForRoad  fault.Code = "missing.motion_ratio_for_road"
	cornerMissing        fault.Code = "missing.corner"
	cornerTwice          fault.Code = "contradiction.corner_twice"
	ratiosDiffer         fault.Code = "contradiction.damper_ratio"
	roadMissing          fault.Code = "missing.road"
	nothingLeftByLinkage fault.Code = "impossible_length.by_linkage"
	nothingLeftAtBump    fault.Code = "impossible_length.at_bump"
	bumpNotShorter       fault.Code = "not_shorter"
	droopNotLonger       fault.Code = "not_longer"
	motionUnknown        fault.Code = "motion_unknown"
	UnknownCode          fault.Code = "unknown_code"
	unknownLocation      fault.Code = "unknown_location"
	ratioMissingForRange fault.Code = "missing.motion_ratio_for_heights"
	heightsOutOfRange    fault.Code = "out_of_range.ride_heights"

	droopLimiterUnknown  fault.Code = "unknown_value.droop_limit"
	droopLimitOutOfRange fault.Code = "out_of_range.droop_limit"

	droopLimitBelowTravel    fault.Code = "contradiction.droop_limit_below_travel"
	droopLimitBelowExtension fault.Code = "contradiction.droop_limit_below_extension"

	linkageMissingForObstacles fault.Code = "missing.linkage_for_obstacles"
)
