package wire

import (
	"errors"

	"midstroke/internal/fault"
	"midstroke/internal/unit"
)

// Refused is the error of a request at fault, with the units of its lengths;
// unit.Unset where it names none.
type Refused struct {
	Faults fault.List
	Units  unit.System
}

func (r *Refused) Error() string { return r.Faults.Error() }

// refused gives faults as an error, nil where there are none.
func refused(faults fault.List, units unit.System) error {
	if len(faults) == 0 {
		return nil
	}
	return &Refused{faults, units}
}

// unread gives the error of a body that couldn't be read: a *form.SyntaxError, or
// a *Refused where it holds too much.
func unread(err error) error {
	var faults fault.List
	if errors.As(err, &faults) {
		return refused(faults, unit.Unset)
	}
	return err
}

// The codes of the faults that this package finds beside those of package form.
const (
	notWithState fault.Code = "not_with_state"
	notWithStyle fault.Code = "not_with_style"
	notWithBasis fault.Code = "not_with_basis"
	notWithKind  fault.Code = "not_with_kind"
	notWithOn    fault.Code = "not_with_on"

	framesDiffer  fault.Code = "contradiction.frame"
	pointsAndAt   fault.Code = "not_together.points"
	posesOfNoAxle fault.Code = "not_with_kind.poses"
	sameCode      fault.Code = "same_code"

	notAName     fault.Code = "not_a_name"
	notAThread   fault.Code = "not_allowed.thread"
	notAnAmount  fault.Code = "not_allowed.amount"
	priceTooFine fault.Code = "too_precise.price"
	ratioTooFine fault.Code = "too_precise.ratio"

	pickAlone   fault.Code = "not_together.pick"
	rankAlone   fault.Code = "not_together.rank"
	pickMissing fault.Code = "missing.pick"

	pictureAlone fault.Code = "not_together.drawing"
	widthAlone   fault.Code = "not_together.drawing_width"
)
