package measure

import "midstroke/internal/fault"

// The faults of readings.
const (
	readingsMissing    fault.Code = "missing.readings"
	tooManyReadings    fault.Code = "too_many.readings"
	readingNotPositive fault.Code = "not_positive.reading"
	readingTooLarge    fault.Code = "too_large.reading"
	sideMixed          fault.Code = "side_mixed"
	offsetMissing      fault.Code = "missing.sideways_offset"
	offsetOutOfPlace   fault.Code = "out_of_place.sideways_offset"
	nothingLeft        fault.Code = "impossible_length"

	boltMissing       fault.Code = "missing.bolt_of_edge"
	barOffsetMissing  fault.Code = "missing.bar_offset"
	plateMissing      fault.Code = "missing.plate"
	studLengthMissing fault.Code = "missing.stud_length"

	ratioOutOfRange          fault.Code = "out_of_range.motion_ratio"
	ratioMissingForChange    fault.Code = "missing.motion_ratio_for_change"
	ratioToleranceOutOfPlace fault.Code = "out_of_place.motion_ratio_tolerance"
	ratioToleranceOutOfRange fault.Code = "out_of_range.motion_ratio_tolerance"

	mountMoveOutOfPlace fault.Code = "out_of_place.planned_mount_move"

	negative fault.Code = "negative"
	tooLarge fault.Code = "too_large.length"
)
