package wire

import (
	"errors"
	"fmt"
	"strings"

	"midstroke/internal/fault"
	"midstroke/internal/form"
	"midstroke/internal/unit"
)

// Fault is one thing wrong with a request, at the place where its sender wrote
// it: a JSON pointer for a body, a name for the flat form.
type Fault struct {
	// Pointer is the RFC 6901 pointer into the body, "" for the whole of it.
	Pointer string
	// Parameter is the name of the query's parameter or the file's column, ""
	// for a body.
	Parameter string
	// Code is what software can act on, in snake_case.
	Code string
	// Detail is one English sentence for a person.
	Detail string
	// Value is what the flat form has there, cut short where it is long, and
	// Item says that it is one of several, which its name alone doesn't tell.
	Value string
	Item  bool
	// More is how many faults are not listed. It goes with the code
	// "too_many_faults", which is no fault of its own.
	More int
}

// Faults are all that is wrong with a request, in the order in which they were
// found.
type Faults []Fault

// Error makes a non-empty list an error.
func (f Faults) Error() string {
	parts := make([]string, len(f))
	for i, one := range f {
		parts[i] = one.Pointer + one.Parameter + ": " + one.Detail
	}
	return strings.Join(parts, "; ")
}

// Err gives the list as an error, or nil where it is empty.
func (f Faults) Err() error {
	if len(f) == 0 {
		return nil
	}
	return f
}

// told gives faults in English, with lengths in units.
func told(found fault.List, units unit.System) Faults {
	faults := make(Faults, len(found))
	for i := range found {
		f := &found[i]
		detail := f.Text("en", units)
		if cure := f.Cure("en", units); cure != "" {
			detail += "; " + cure
		}
		faults[i] = Fault{Pointer: f.Pointer, Parameter: f.Parameter, Code: f.Code.Public(), Detail: detail, Value: f.Value, Item: f.Item}
		if f.Code == form.TooManyFaults {
			faults[i].More = int(f.Values[0].Number)
		}
	}
	return faults
}

// asFaults gives an error of package form in English.
func asFaults(err error) error {
	var syntax *form.SyntaxError
	if errors.As(err, &syntax) {
		return &SyntaxError{Offset: syntax.Offset, Detail: syntax.Text("en")}
	}
	var list fault.List
	if errors.As(err, &list) {
		return told(list, unit.Unset)
	}
	return err
}

// SyntaxError says that a body isn't JSON by RFC 8259 and I-JSON's rule that
// text is UTF-8.
type SyntaxError struct {
	// Offset counts the bytes before the place where reading stopped.
	Offset int64
	// Detail is one English sentence for a person.
	Detail string
}

func (e *SyntaxError) Error() string {
	return fmt.Sprintf("not JSON, at byte %d: %s", e.Offset, e.Detail)
}

// The codes of the faults that this package finds beside those of package form.
const (
	notWithState fault.Code = "not_with_state"
	notWithStyle fault.Code = "not_with_style"
	notWithBasis fault.Code = "not_with_basis"
	notWithKind  fault.Code = "not_with_kind"

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
)
