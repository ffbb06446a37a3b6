package linkage

import "midstroke/internal/fault"

// NoTravel is the fault of a range that is zero both ways.
const NoTravel fault.Code = "no_travel"

// The faults of a linkage's points.
const (
	kindMissing          fault.Code = "missing.kind"
	kindUnknown          fault.Code = "unknown_value.kind"
	pointMissing         fault.Code = "missing.point"
	pointNotForKind      fault.Code = "not_for_kind.point"
	onNotForKind         fault.Code = "not_for_kind.damper_on"
	onUnknown            fault.Code = "unknown_value.damper_on"
	notInPlane           fault.Code = "wrong_dimension.plane"
	notInSpace           fault.Code = "wrong_dimension.space"
	coordinateOutOfRange fault.Code = "out_of_range.coordinate"

	noLength     fault.Code = "same_place.damper"
	damperOnAxis fault.Code = "on_axis.damper"

	pivotsMeet     fault.Code = "no_axis.pivots"
	wheelOnAxis    fault.Code = "on_axis.wheel"
	axisUpright    fault.Code = "dead_centre.axis_upright"
	wheelAboveAxis fault.Code = "dead_centre.wheel_above_axis"
	wheelNotLifted fault.Code = "dead_centre.wheel"

	wheelsSwapped fault.Code = "wheels_swapped"
	noTrack       fault.Code = "same_place.wheels"
	axleLeans     fault.Code = "out_of_range.axle_lean"

	uprightNoLength fault.Code = "same_place.upright"
	armNoAxis       fault.Code = "no_axis.arm"
	armNoLength     fault.Code = "on_axis.arm"
	rodNoLength     fault.Code = "same_place.tie_rod"
	rodNoLever      fault.Code = "on_axis.tie_rod"
	armsDeadCentre  fault.Code = "dead_centre.arms"
	rodDeadCentre   fault.Code = "dead_centre.tie_rod"
)

// The faults of the bolts' directions.
const (
	axisNotInSpace  fault.Code = "wrong_dimension.axis"
	axisNoLength    fault.Code = "no_length.axis"
	axisAlongDamper fault.Code = "along_damper"
)

// The faults of obstacles and of a damper's body.
const (
	tooManyObstacles   fault.Code = "too_many.obstacles"
	obstacleNotInSpace fault.Code = "wrong_dimension.obstacle"
	obstacleOutOfRange fault.Code = "out_of_range.obstacle"
	radiusOutOfRange   fault.Code = "out_of_range.radius"
	bodyOutOfRange     fault.Code = "out_of_range.body"
)

// The faults of what is asked of a linkage.
const (
	bumpOutOfRange   fault.Code = "out_of_range.bump"
	droopOutOfRange  fault.Code = "out_of_range.droop"
	pointsAndList    fault.Code = "contradiction.points"
	pointsOutOfRange fault.Code = "out_of_range.points"
	listOutOfRange   fault.Code = "out_of_range.at"
	posesNotForKind  fault.Code = "not_for_kind.poses"
	posesOutOfRange  fault.Code = "out_of_range.poses"
	rollOutOfRange   fault.Code = "out_of_range.roll"
	heaveOutOfRange  fault.Code = "out_of_range.heave"
	notANumber       fault.Code = "out_of_range.not_a_number"
	rangeReversed    fault.Code = "out_of_range.range_reversed"

	endsMeetAt       fault.Code = "no_length.travel"
	endsMeetAtRoll   fault.Code = "no_length.roll"
	endsMeetAtCorner fault.Code = "no_length.corner"
)

// The faults of a wheel travel out of reach, by what ends the travel.
const (
	// unreachable is what their codes begin with.
	unreachable = "unreachable"

	travelBound   fault.Code = unreachable + ".bound"
	endsMeet      fault.Code = unreachable + ".ends_meet"
	wheelAtTop    fault.Code = unreachable + ".wheel_at_top"
	wheelAtBottom fault.Code = unreachable + ".wheel_at_bottom"
	armsInLine    fault.Code = unreachable + ".arms_in_line"
	rodInLine     fault.Code = unreachable + ".tie_rod_in_line"
	wheelAtEnd    fault.Code = unreachable + ".wheel_at_end"
	armHalfRound  fault.Code = unreachable + ".arm_half_round"
	axleOnEnd     fault.Code = unreachable + ".axle_on_end"
)

// The faults of a bump stop and a strap.
const (
	stopGapOutOfRange       fault.Code = "out_of_range.stop_gap"
	stopHeightOutOfRange    fault.Code = "out_of_range.stop_height"
	squashOutOfRange        fault.Code = "out_of_range.squash"
	stopRatioOutOfRange     fault.Code = "out_of_range.stop_motion_ratio"
	strapDistanceOutOfRange fault.Code = "out_of_range.strap_distance"
	stretchOutOfRange       fault.Code = "out_of_range.stretch"
)
