package unit

import (
	"strconv"
	"strings"
	"unicode/utf8"
)

// SyntaxError says why a text is no length.
type SyntaxError struct {
	// Text is what was read, cut short where it is long.
	Text string
	// Code names the fault in snake_case for software.
	Code string
	// Detail is one English sentence that tells the cure, without a full stop.
	Detail string
}

// Error gives the text and what is wrong with it.
func (e *SyntaxError) Error() string { return strconv.Quote(e.Text) + ": " + e.Detail }

// The faults of a text.
const (
	isEmpty                 = "empty"
	tooLong                 = "too_long"
	tooLarge                = "too_large"
	hasComma                = "comma"
	numberMissing           = "number_missing"
	notFinite               = "not_finite"
	notJSON                 = "not_a_number"
	digitForeign            = "digit_foreign"
	digitsMissing           = "digits_missing"
	hasExponent             = "exponent"
	signs                   = "sign_twice"
	signBlank               = "sign_blank"
	subtraction             = "subtraction"
	fractionMetric          = "fraction_metric"
	fractionZeroDenominator = "fraction_zero_denominator"
	fractionImproper        = "fraction_improper"
	fractionBlanks          = "fraction_blanks"
	fractionAfterDecimal    = "fraction_after_decimal"
	unitMissing             = "unit_missing"
	unitUnknown             = "unit_unknown"
	feetNotWhole            = "feet_not_whole"
	inchesTooMany           = "inches_out_of_range"
	inchMarkMissing         = "inch_mark_missing"
	compound                = "compound"
	leftover                = "leftover"
)

func cure(code string) string {
	switch code {
	case isEmpty:
		return "nothing is written here; write a length, as in 17 1/4 in or 438.15 mm"
	case tooLong:
		return "a length takes at most 64 characters; write it shorter"
	case tooLarge:
		return "no more than 10 m (393.7 in) can be meant here; check the figure and its unit"
	case hasComma:
		return "write a point for decimals and no commas at all, as in 17.25, for a comma can be read in two ways"
	case numberMissing:
		return "begin with a number, as in 17 1/4 in or 438.15 mm"
	case notFinite:
		return "write a number in figures, as in 17.25; infinity and NaN are no lengths"
	case notJSON:
		return "write a plain number, as in 17.25"
	case digitForeign:
		return "write the figures as 0 to 9"
	case digitsMissing:
		return "write figures on both sides of a fraction's slash and after a point, as in 1/4 or 17.0"
	case hasExponent:
		return "write the number out without an exponent, as in 1000 and not 1e3"
	case signs:
		return "write one sign at most, before the number"
	case signBlank:
		return "write the sign and the number without a blank between them, as in -1/4"
	case subtraction:
		return "this reads as a subtraction; write a mixed number as 17 1/4 or 17-1/4, without blanks around the hyphen"
	case fractionMetric:
		return "fractions go with inches and feet alone; write millimetres as a decimal or check the unit"
	case fractionZeroDenominator:
		return "a fraction can't have 0 below its slash; check the figures"
	case fractionImproper:
		return "the fraction after a whole number must be less than one; write 17 5/4 as 18 1/4"
	case fractionBlanks:
		return "write a fraction without blanks around its slash, as in 1/4"
	case fractionAfterDecimal:
		return "write either decimals or a fraction, as in 17.5 or 17 1/2, and not both"
	case unitMissing:
		return "name the unit, as in 17 1/4 in or 438.15 mm, for a bare number could be either"
	case unitUnknown:
		return "write the unit as in, ft, mm, cm or m"
	case feetNotWhole:
		return "the feet before inches must be a whole number; write 1.5 ft alone or 1 ft 6 in"
	case inchesTooMany:
		return "the inches after feet must be less than 12; write 1 ft 14 in as 2 ft 2 in or 26 in"
	case inchMarkMissing:
		return "mark the inches after the feet too, as in 1 ft 5 1/4 in"
	case compound:
		return "write one number with one unit, or whole feet and then inches, as in 1 ft 5 1/4 in"
	case leftover:
		return "write the number and its unit and nothing after them, as in 17 1/4 in"
	}
	return "write a length, as in 17 1/4 in or 438.15 mm"
}

func syntaxError(text, code string) error {
	return &SyntaxError{Text: shortened(text), Code: code, Detail: cure(code)}
}

// shortened gives at most the first maxCharacters characters of text, as valid
// UTF-8.
func shortened(text string) string {
	n, i := 0, 0
	for i < len(text) && n < maxCharacters {
		_, size := utf8.DecodeRuneInString(text[i:])
		i += size
		n++
	}
	short := strings.ToValidUTF8(text[:i], "\ufffd")
	if i < len(text) {
		short += "…"
	}
	return short
}
