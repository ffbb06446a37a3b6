package form

import (
	"strings"

	"midstroke/internal/fault"
	"midstroke/internal/note"
)

// The codes of the faults that this package finds. Those of a length's
// spelling are package unit's.
const (
	Missing        fault.Code = "missing.field"
	DuplicateField fault.Code = "duplicate_field"
	// TooManyFaults stands at the end of a list from which faults were left out. It is
	// not a fault itself; its value "count" is how many were left out.
	TooManyFaults fault.Code = "too_many_faults"

	unknownField     fault.Code = "unknown_field"
	unknownFieldNear fault.Code = "unknown_field.near"

	unknownParameter     fault.Code = "unknown_field.parameter"
	unknownParameterOf   fault.Code = "unknown_field.parameter_of"
	unknownParameterNear fault.Code = "unknown_field.parameter_near"

	// notRepeated is of a list in one parameter of a query.
	notRepeated fault.Code = "not_repeated"

	wrongType       fault.Code = "wrong_type.field" // with what it must be
	wrongTypeChoice fault.Code = "wrong_type.choice"
	notWhole        fault.Code = "wrong_type.whole"

	NotAllowed fault.Code = "not_allowed.choice"

	outOfRange       fault.Code = "out_of_range.number" // with both its ends
	outOfRangeAbove  fault.Code = "out_of_range.above"  // without the least
	outOfRangeBelow  fault.Code = "out_of_range.below"  // without the most
	outOfRangeOpen   fault.Code = "out_of_range.between"
	outOfRangeLength fault.Code = "out_of_range.length"
	notPositive      fault.Code = "not_positive.length"
	isNegative       fault.Code = "negative.length"

	// NotUTF8 and NotText are of what isn't text that Postgres can keep.
	NotUTF8 fault.Code = "not_utf8"
	NotText fault.Code = "not_text"
	// Blank is of a text without a letter, a figure or a sign.
	Blank        fault.Code = "blank"
	textTooLong  fault.Code = "text_too_long"
	tooFew       fault.Code = "too_few.items"
	tooMany      fault.Code = "too_many.items"
	tooManyInAll fault.Code = "too_many.values"

	notJSONEmpty  fault.Code = "not_json.empty"
	notJSONCutOff fault.Code = "not_json.cut_off"
	notJSONMore   fault.Code = "not_json.more"
	notJSONSyntax fault.Code = "not_json.syntax"
)

// mostFaults is how many faults are listed; a body that has more was never
// meant for this form.
const mostFaults = 200

// within says whether the fault at a is at b or inside it.
func within(a, b string) bool {
	return strings.HasPrefix(a, b) && (len(a) == len(b) || a[len(b)] == '/')
}

// merge adds the core's faults to own. It leaves out those at, within or around a field
// that is at fault already, since a field that wasn't read causes faults that don't
// exist in the request.
func merge(own, core fault.List) fault.List {
	all := own
next:
	for _, c := range core {
		for i := range own {
			if within(c.Pointer, own[i].Pointer) || within(own[i].Pointer, c.Pointer) {
				continue next
			}
		}
		all = append(all, c)
	}
	return all
}

// unlisted is the last entry of a list of faults from which some were left out.
func unlisted(more int) fault.List {
	if more <= 0 {
		return nil
	}
	return fault.List{fault.New("", TooManyFaults, note.Num("count", float64(more), ""))}
}
