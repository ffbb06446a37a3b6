package wire

import (
	"fmt"
	"strings"

	"midstroke/internal/fault"
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

// inBody are the core's faults of a request that came as a body, with lengths in
// units.
func inBody(core fault.List, units unit.System) Faults {
	faults := make(Faults, len(core))
	for i := range core {
		f := &core[i]
		detail := f.Text("en", units)
		if cure := f.Cure("en", units); cure != "" {
			detail += "; " + cure
		}
		faults[i] = Fault{Pointer: f.Pointer, Code: f.Code.Public(), Detail: detail}
	}
	return faults
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

// The codes of the faults that this package finds. Those of a length's
// spelling are package unit's, those of a bolt package mount's.
const (
	missingField   = "missing"
	unknownField   = "unknown_field"
	duplicateField = "duplicate_field"
	wrongType      = "wrong_type"
	notAllowed     = "not_allowed"
	outOfRange     = "out_of_range"
	notPositive    = "not_positive"
	isNegative     = "negative"
	textTooLong    = "text_too_long"
	isBlank        = "blank"
	tooFew         = "too_few"
	tooMany        = "too_many"
	tooPrecise     = "too_precise"
	tooDeep        = "too_deep"
	tooManyFaults  = "too_many_faults"
	notWithState   = "not_with_state"
	notWithStyle   = "not_with_style"
	notWithBasis   = "not_with_basis"
	notWithKind    = "not_with_kind"
	notTogether    = "not_together"
	sameCode       = "same_code"
	notAName       = "not_a_name"
	contradiction  = "contradiction"
)

// mostFaults is how many faults are listed; a body that has more was never
// meant for this form.
const mostFaults = 200

// unlisted says, as the last of a list, that there are more faults than are
// listed; nothing where there are none.
func unlisted(more int) Faults {
	if more <= 0 {
		return nil
	}
	return Faults{{Code: tooManyFaults, Detail: fmt.Sprintf("%d more faults are not listed", more), More: more}}
}

// within says whether the fault at a is at b or inside it.
func within(a, b string) bool {
	return strings.HasPrefix(a, b) && (len(a) == len(b) || a[len(b)] == '/')
}

// merge adds the core's faults to f, leaving out each that stands at, within
// or around a field that is at fault already: half a reading breeds faults of
// its own.
func merge(f, core fault.List) fault.List {
	own := len(f)
next:
	for _, c := range core {
		for _, o := range f[:own] {
			if within(c.Pointer, o.Pointer) || within(o.Pointer, c.Pointer) {
				continue next
			}
		}
		f = append(f, c)
	}
	return f
}
