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
	Code Code
}

// Error gives the text and the code, for programmers.
func (e *SyntaxError) Error() string {
	return strconv.Quote(e.Text) + " is no length: " + string(e.Code)
}

// Code names why a text is no length.
type Code string

// The codes.
const (
	isEmpty                 Code = "empty"
	tooLong                 Code = "too_long"
	tooLarge                Code = "too_large"
	hasComma                Code = "comma"
	numberMissing           Code = "number_missing"
	notFinite               Code = "not_finite"
	notJSON                 Code = "not_a_number"
	digitForeign            Code = "digit_foreign"
	digitsMissing           Code = "digits_missing"
	hasExponent             Code = "exponent"
	signs                   Code = "sign_twice"
	signBlank               Code = "sign_blank"
	subtraction             Code = "subtraction"
	fractionMetric          Code = "fraction_metric"
	fractionZeroDenominator Code = "fraction_zero_denominator"
	fractionImproper        Code = "fraction_improper"
	fractionBlanks          Code = "fraction_blanks"
	fractionAfterDecimal    Code = "fraction_after_decimal"
	unitMissing             Code = "unit_missing"
	unitUnknown             Code = "unit_unknown"
	feetNotWhole            Code = "feet_not_whole"
	inchesTooMany           Code = "inches_out_of_range"
	inchMarkMissing         Code = "inch_mark_missing"
	compound                Code = "compound"
	leftover                Code = "leftover"
)

func syntaxError(text string, code Code) error {
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
