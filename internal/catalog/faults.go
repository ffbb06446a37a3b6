package catalog

import (
	"errors"

	"midstroke/internal/fault"
)

// ErrNotFound says that no such catalogue or revision is held.
var ErrNotFound = errors.New("no such catalogue or revision")

// The codes of the faults of dampers and settings.
const (
	wordMissing       fault.Code = "missing.word"
	notLonger         fault.Code = "not_longer.extended"
	strokeImpossible  fault.Code = "stroke_impossible"
	toleranceTooLarge fault.Code = "tolerance_too_large"
	bodyTooLarge      fault.Code = "body_too_large"
	oilOnlyInverted   fault.Code = "oil_only_inverted"
	gasOfNoTable      fault.Code = "gas_of_no_table"
	currencyUnknown   fault.Code = "currency"
	mostBelowLeast    fault.Code = "most_below_least"
)
