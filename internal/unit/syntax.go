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
	// Code names the fault. Its words stand in the message files, by this code.
	Code string
}

// Error gives the text and the code, for programmers.
func (e *SyntaxError) Error() string { return strconv.Quote(e.Text) + " is no length: " + e.Code }

// The codes of the faults of a text.
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

func syntaxError(text, code string) error {
	return &SyntaxError{Text: shortened(text), Code: code}
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
