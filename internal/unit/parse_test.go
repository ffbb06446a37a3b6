package unit_test

import (
	"errors"
	"strings"
	"testing"
	"unicode/utf8"

	"midstroke/internal/note"
	"midstroke/internal/unit"
)

const nm = unit.Nanometre

// spelling is one way to write a length: the length that it is, or the code
// under which it is refused.
type spelling struct {
	text string
	in   unit.System
	want unit.Length
	code string
}

// The rules are those of the project's own grammar of lengths; every length
// follows from 1 in = 25.4 mm exactly (NBS Circular 572, addendum of 1960;
// ISO 80000-3), so that 17 1/4 in = 438.15 mm = 438 150 000 nm.
const seventeenAndQuarter = 438_150_000 * nm

var spellings = []struct {
	block string
	lines []spelling
}{
	{"R2.1 blanks around, nothing, too much, commas", []spelling{
		{text: "  17 1/4 in  ", want: seventeenAndQuarter},
		{text: "\t17.25\t", in: unit.Inches, want: seventeenAndQuarter},
		{text: "17.25\r\n", in: unit.Inches, want: seventeenAndQuarter},
		{text: "\u00a017.25\u202f", in: unit.Inches, want: seventeenAndQuarter},
		{text: "", in: unit.Inches, code: "empty"},
		{text: " \t ", in: unit.Inches, code: "empty"},
		{text: "\u00a0", in: unit.Inches, code: "empty"},
		{text: "17,25 in", code: "comma"},
		{text: "1,000 mm", code: "comma"},
		{text: "17 1/4 in,", code: "comma"},
		{text: ",", in: unit.Millimetres, code: "comma"},
		{text: strings.Repeat("0", 60) + "1 mm", want: unit.Millimetre},
		{text: strings.Repeat("0", 61) + "1 mm", code: "too_long"},
		{text: strings.Repeat(" ", 100) + "1 mm", want: unit.Millimetre},
		{text: strings.Repeat("½", 65), in: unit.Inches, code: "too_long"},
		{text: strings.Repeat("17,25", 20), in: unit.Inches, code: "too_long"},
	}},
	{"R2.2 typography read as its plain form", []spelling{
		{text: "17\u00a01/4\u00a0in", want: seventeenAndQuarter},
		{text: "17\u20091/4\u2007in", want: seventeenAndQuarter},
		{text: "17\u202f1/4\u200ain", want: seventeenAndQuarter},
		{text: "1\u20325\u2033", want: 17 * unit.Inch},
		{text: "1\u20195\u201d", want: 17 * unit.Inch},
		{text: "1'5''", want: 17 * unit.Inch},
		{text: "1\u20325\u2032\u2032", want: 17 * unit.Inch},
		{text: "17 1\u20444 in", want: seventeenAndQuarter},
		{text: "17\u20101/4 in", want: seventeenAndQuarter},
		{text: "17\u20111/4 in", want: seventeenAndQuarter},
		{text: "17\u20131/4 in", want: seventeenAndQuarter},
		{text: "\u221217.25 in", want: -seventeenAndQuarter},
		{text: "17¼ in", want: seventeenAndQuarter},
		{text: "17 ¼ in", want: seventeenAndQuarter},
		{text: "17-¼ in", want: seventeenAndQuarter},
		{text: "½", in: unit.Inches, want: unit.Inch / 2},
		{text: "¾\"", want: 3 * unit.Inch / 4},
		{text: "⅛ in", want: unit.Inch / 8},
		{text: "⅜in", want: 3 * unit.Inch / 8},
		{text: "⅝ in", want: 5 * unit.Inch / 8},
		{text: "1⅞ in", want: 15 * unit.Inch / 8},
		{text: "1⅓ ft", want: 16 * unit.Inch},
		{text: "⅒ in", want: 2_540_000 * nm},
		{text: "⅐ ft", want: 43_542_857 * nm}, // 304.8/7 = 43.5428571…
		{text: "١٧ in", code: "digit_foreign"},
		{text: "1٧ in", code: "digit_foreign"},
		{text: "１７ in", code: "digit_foreign"},
		{text: "½4 in", code: "leftover"},
		{text: "½/4 in", code: "leftover"},
		{text: "½½ in", code: "leftover"},
		{text: "1/½ in", code: "digits_missing"},
		{text: "17.5½ in", code: "fraction_after_decimal"},
		{text: "17\u20145 in", code: "leftover"}, // an em dash is none of the four
		{text: "17\x00in", code: "leftover"},
		{text: "17 in\xff", code: "leftover"},
	}},
	{"R2.3 decimals", []spelling{
		{text: "17.25", in: unit.Inches, want: seventeenAndQuarter},
		{text: "438.15", in: unit.Millimetres, want: seventeenAndQuarter},
		{text: "17", in: unit.Inches, want: 17 * unit.Inch},
		{text: ".5", in: unit.Inches, want: unit.Inch / 2},
		{text: "0.5", in: unit.Inches, want: unit.Inch / 2},
		{text: "017.250", in: unit.Inches, want: seventeenAndQuarter},
		{text: "0.000001 mm", want: nm},
		{text: "0.0000005 mm", want: 0},      // half to even
		{text: "0.0000015 mm", want: 2 * nm}, // half to even
		{text: "0.0000025 mm", want: 2 * nm}, // half to even
		{text: "-0.0000015 mm", want: -2 * nm},
		{text: "0.00000050000000000000000000000000000000000000000000000000001 mm", want: nm},
		{text: "0.00000049999999999999999999999999999999999999999999999999999 mm", want: 0},
		{text: "0.00000150000000000000000000000000000000000000000000000000000 mm", want: 2 * nm},
		{text: "12.34567890123456789012345678901234567890 in", want: 313_580_244 * nm}, // 313 580 244.09…
		{text: "17.", in: unit.Inches, code: "digits_missing"},
		{text: "17. in", code: "digits_missing"},
		{text: ".", in: unit.Inches, code: "digits_missing"},
		{text: "17.2.5", in: unit.Inches, code: "compound"},
		{text: "17..25", in: unit.Inches, code: "digits_missing"},
		{text: "1e3 mm", code: "exponent"},
		{text: "1E+3", in: unit.Millimetres, code: "exponent"},
		{text: "1.5e-3 m", code: "exponent"},
		{text: "0x11 in", code: "unit_unknown"},
		{text: "1_000 mm", code: "leftover"},
		{text: "NaN", in: unit.Inches, code: "not_finite"},
		{text: "-nan mm", code: "not_finite"},
		{text: "Inf", in: unit.Inches, code: "not_finite"},
		{text: "+Infinity", in: unit.Millimetres, code: "not_finite"},
		{text: "in", code: "number_missing"},
		{text: "information", code: "number_missing"},
		{text: "about 17 in", code: "number_missing"},
		{text: "-", in: unit.Inches, code: "number_missing"},
	}},
	{"R2.3 fractions and mixed numbers", []spelling{
		{text: "17 1/4", in: unit.Inches, want: seventeenAndQuarter},
		{text: "17-1/4", in: unit.Inches, want: seventeenAndQuarter},
		{text: "17  \t1/4", in: unit.Inches, want: seventeenAndQuarter},
		{text: "69/4", in: unit.Inches, want: seventeenAndQuarter},
		{text: "18 33/64 in", want: 470_296_875 * nm},
		{text: "1/64 in", want: 396_875 * nm},
		{text: "12/16", in: unit.Inches, want: 3 * unit.Inch / 4},
		{text: "17 01/04", in: unit.Inches, want: seventeenAndQuarter},
		{text: "17 0/4", in: unit.Inches, want: 17 * unit.Inch},
		{text: "0/4", in: unit.Inches, want: 0},
		{text: "0 1/4", in: unit.Inches, want: unit.Inch / 4},
		{text: "1/3 in", want: 8_466_667 * nm}, // 8 466 666.67
		{text: "1/128 in", want: 198_438 * nm}, // 198 437.5, half to even
		{text: "3/128 in", want: 595_312 * nm}, // 595 312.5, half to even
		{text: "100000000000000000000/400000000000000000000 in", want: unit.Inch / 4},
		{text: "1/99999999999999999999999999999999 in", want: 0},
		{text: "17 1/0", in: unit.Inches, code: "fraction_zero_denominator"},
		{text: "1/00 in", code: "fraction_zero_denominator"},
		{text: "17 5/4", in: unit.Inches, code: "fraction_improper"},
		{text: "17 4/4", in: unit.Inches, code: "fraction_improper"},
		{text: "17-5/4", in: unit.Inches, code: "fraction_improper"},
		{text: "17.5 1/4", in: unit.Inches, code: "fraction_after_decimal"},
		{text: "17.5-1/4", in: unit.Inches, code: "fraction_after_decimal"},
		{text: "17 - 1/4", in: unit.Inches, code: "subtraction"},
		{text: "17 -1/4", in: unit.Inches, code: "subtraction"},
		{text: "17- 1/4", in: unit.Inches, code: "subtraction"},
		{text: "17 - ¼", in: unit.Inches, code: "subtraction"},
		{text: "17-5", in: unit.Inches, code: "subtraction"},
		{text: "17 in - 1/4 in", code: "subtraction"},
		{text: "17--1/4", in: unit.Inches, code: "leftover"},
		{text: "17 1 /4", in: unit.Inches, code: "fraction_blanks"},
		{text: "17 1/ 4", in: unit.Inches, code: "fraction_blanks"},
		{text: "1 / 4", in: unit.Inches, code: "fraction_blanks"},
		{text: "17 1/", in: unit.Inches, code: "digits_missing"},
		{text: "17 /4", in: unit.Inches, code: "fraction_blanks"},
		{text: "/4", in: unit.Inches, code: "number_missing"},
		{text: "1/-4", in: unit.Inches, code: "digits_missing"},
		{text: "1//4", in: unit.Inches, code: "digits_missing"},
		{text: "1/2/4", in: unit.Inches, code: "leftover"},
		{text: "1/2.5", in: unit.Inches, code: "leftover"},
		{text: "17 1/4 1/2", in: unit.Inches, code: "compound"},
		{text: "17 25", in: unit.Inches, code: "compound"},
	}},
	{"R2.4 units and their words", []spelling{
		{text: "17.25in", want: seventeenAndQuarter},
		{text: "17 1/4 IN", want: seventeenAndQuarter},
		{text: "17 1/4 in.", want: seventeenAndQuarter},
		{text: "17 1/4 inch", want: seventeenAndQuarter},
		{text: "17 1/4 Inches", want: seventeenAndQuarter},
		{text: `17 1/4"`, want: seventeenAndQuarter},
		{text: `17 1/4 "`, want: seventeenAndQuarter},
		{text: "2 ft", want: 2 * unit.Foot},
		{text: "2 ft.", want: 2 * unit.Foot},
		{text: "1.5 feet", want: 18 * unit.Inch},
		{text: "1 foot", want: unit.Foot},
		{text: "1 1/2'", want: 18 * unit.Inch},
		{text: "438.15 mm", want: seventeenAndQuarter},
		{text: "438.15MM", want: seventeenAndQuarter},
		{text: "43.815 cm", want: seventeenAndQuarter},
		{text: "0.43815 m", want: seventeenAndQuarter},
		{text: "1 millimetre", want: unit.Millimetre},
		{text: "2 millimeters", want: 2 * unit.Millimetre},
		{text: "2 centimetres", want: 2 * unit.Centimetre},
		{text: "1 Centimeter", want: unit.Centimetre},
		{text: "1 metre", want: unit.Metre},
		{text: "2 meters", want: 2 * unit.Metre},
		{text: "17 in", in: unit.Millimetres, want: 17 * unit.Inch},
		{text: "17 mm", in: unit.Inches, want: 17 * unit.Millimetre},
		{text: "17 in..", code: "leftover"},
		{text: "17 mm.", code: "leftover"},
		{text: "17 inch.", code: "leftover"},
		{text: "17 yd", code: "unit_unknown"},
		{text: "17 µm", code: "unit_unknown"},
		{text: "17 мм", code: "unit_unknown"},
		{text: "17 incheſ", code: "unit_unknown"},
		{text: "17 mmm", code: "unit_unknown"},
		{text: "17 abcdefghijklmnop", code: "unit_unknown"},
		{text: "17-in", code: "leftover"},
		{text: "5'''", code: "leftover"},
	}},
	{"R2.5 feet and inches", []spelling{
		{text: `1'-5 1/4"`, want: seventeenAndQuarter},
		{text: `1' 5 1/4"`, want: seventeenAndQuarter},
		{text: `1'5 1/4"`, want: seventeenAndQuarter},
		{text: `1' - 5-1/4"`, want: seventeenAndQuarter},
		{text: "1 ft 5 1/4 in", want: seventeenAndQuarter},
		{text: "1ft5.25in", want: seventeenAndQuarter},
		{text: "1 ft. 5¼ in.", want: seventeenAndQuarter},
		{text: "1 FOOT 5 INCHES", want: 17 * unit.Inch},
		{text: "1 feet - 5 inch", want: 17 * unit.Inch},
		{text: `0' 5"`, want: 5 * unit.Inch},
		{text: `1' 0"`, want: unit.Foot},
		{text: `1' 23/4"`, want: 17*unit.Inch + 3*unit.Inch/4},
		{text: `1' 11.99999999999"`, want: 2 * unit.Foot},
		{text: `-1'-5 1/4"`, want: -seventeenAndQuarter},
		{text: `1' 12"`, code: "inches_out_of_range"},
		{text: `1' 69/4"`, code: "inches_out_of_range"},
		{text: `1.5' 3"`, code: "feet_not_whole"},
		{text: `1 1/2' 3"`, code: "feet_not_whole"},
		{text: `1' 5`, in: unit.Inches, code: "inch_mark_missing"},
		{text: `1'-5 1/4`, in: unit.Inches, code: "inch_mark_missing"},
		{text: "1' 5 mm", code: "compound"},
		{text: "1' 5'", code: "compound"},
		{text: `5" 1'`, code: "compound"},
		{text: `5" 3"`, code: "compound"},
		{text: "1 m 20 cm", code: "compound"},
		{text: "1'-", code: "leftover"},
		{text: `1'--5"`, code: "leftover"},
		{text: `1' 5" - 3"`, code: "subtraction"},
		{text: `1' 5 yd`, code: "unit_unknown"},
		{text: `1' 5 1/0"`, code: "fraction_zero_denominator"},
		{text: `1' x`, code: "leftover"},
		{text: `1' 5 (in)`, code: "leftover"},
	}},
	{"R2.6 no unit, R2.7 fractions with metric units", []spelling{
		{text: "450", code: "unit_missing"},
		{text: "17 1/4", code: "unit_missing"},
		{text: "450", in: unit.Millimetres, want: 450 * unit.Millimetre},
		{text: "17 1/4", in: unit.Millimetres, code: "fraction_metric"},
		{text: "1/2 mm", in: unit.Inches, code: "fraction_metric"},
		{text: "½ cm", code: "fraction_metric"},
		{text: "17-1/4 m", code: "fraction_metric"},
		{text: "1/2", in: unit.Millimetres, code: "fraction_metric"},
	}},
	{"R2.8 signs", []spelling{
		{text: "-17 1/4 in", want: -seventeenAndQuarter},
		{text: "+17 1/4 in", want: seventeenAndQuarter},
		{text: "-17-1/4 in", want: -seventeenAndQuarter},
		{text: "-.5 mm", want: -unit.Millimetre / 2},
		{text: "0", in: unit.Inches, want: 0},
		{text: "-0", in: unit.Inches, want: 0},
		{text: "+-5 mm", code: "sign_twice"},
		{text: "--5 mm", code: "sign_twice"},
		{text: "- 5 mm", code: "sign_blank"},
		{text: "+ ½ in", code: "sign_blank"},
		{text: "5- mm", code: "leftover"},
		{text: "17 +1/4 in", code: "leftover"},
	}},
	{"R2.9 ten metres", []spelling{
		{text: "10000 mm", want: unit.MaxLength},
		{text: "10 m", want: unit.MaxLength},
		{text: "-10 m", want: -unit.MaxLength},
		{text: "10000.000000 mm", want: unit.MaxLength},
		{text: "10000.0000001 mm", code: "too_large"},
		{text: "10.000000001 m", code: "too_large"},
		{text: "10.0000000000000000000000000000001 m", code: "too_large"},
		{text: "393 11/16 in", want: 9_999_662_500 * nm},
		{text: "393 45/64 in", code: "too_large"}, // 10 000.06 mm
		{text: `32' 9 11/16"`, want: 9_999_662_500 * nm},
		{text: "33 ft", code: "too_large"},
		{text: `32' 10"`, code: "too_large"},
		{text: "-11 m", code: "too_large"},
		{text: "99999999999999999999999999999999 mm", code: "too_large"},
		{text: "18446744073709551616 in", code: "too_large"}, // 2^64
		{text: "999999999999999999999999999999/7 in", code: "too_large"},
		{text: "99999999999999999999999999999999 1/2 ft", code: "too_large"},
		{text: `99999999999999999999999999999999' 5"`, code: "too_large"},
		{text: "9999999999999999999/1 in", code: "too_large"},
	}},
	{"R2.10 anything left over", []spelling{
		{text: "17 in long", code: "leftover"},
		{text: "17 1/4 in?", code: "leftover"},
		{text: "17 1/4 in (about)", code: "leftover"},
		{text: "(17 in)", code: "number_missing"},
		{text: "17 in 3", code: "compound"},
		{text: "17%", in: unit.Inches, code: "leftover"},
		{text: "17 1/4\n1/2 in", code: "leftover"},
		{text: "=17", in: unit.Inches, code: "number_missing"},
	}},
}

func TestParse(t *testing.T) {
	for _, b := range spellings {
		t.Run(b.block, func(t *testing.T) {
			for _, s := range b.lines {
				checkSpelling(t, s)
			}
		})
	}
}

func checkSpelling(t *testing.T, s spelling) {
	t.Helper()
	got, err := unit.Parse(s.text, s.in)
	if s.code == "" {
		if err != nil || got != s.want {
			t.Errorf("Parse(%q, %q) = %d nm, %v; want %d nm", s.text, s.in, got, err, s.want)
		}
		return
	}
	var syntax *unit.SyntaxError
	switch {
	case err == nil:
		t.Errorf("Parse(%q, %q) = %d nm; want it refused as %s", s.text, s.in, got, s.code)
	case !errors.As(err, &syntax):
		t.Errorf("Parse(%q, %q): %T is no SyntaxError", s.text, s.in, err)
	case string(syntax.Code) != s.code:
		t.Errorf("Parse(%q, %q) refused as %s; want %s", s.text, s.in, syntax.Code, s.code)
	}
	if syntax == nil {
		return
	}
	switch words := note.FaultText("en", s.in, string(syntax.Code), nil); {
	case words == string(syntax.Code) || strings.HasSuffix(words, "."):
		t.Errorf("Parse(%q, %q): %q is no sentence without its full stop", s.text, s.in, words)
	}
}

// What a caller shows again is short and can be written as JSON, whatever came
// in.
func TestSyntaxErrorText(t *testing.T) {
	for _, text := range []string{strings.Repeat("é", 1000), strings.Repeat("\xff", 1000), "\xff"} {
		_, err := unit.Parse(text, unit.Inches)
		var syntax *unit.SyntaxError
		if !errors.As(err, &syntax) {
			t.Fatalf("%q was read", text)
		}
		if n := utf8.RuneCountInString(syntax.Text); n > 65 || !utf8.ValidString(syntax.Text) {
			t.Errorf("the error repeats %d characters: %q", n, syntax.Text)
		}
		if !strings.Contains(err.Error(), string(syntax.Code)) {
			t.Errorf("%q doesn't say what is wrong", err)
		}
	}
}

// An ordinary spelling costs no memory.
func TestParseAllocatesNothing(t *testing.T) {
	for _, text := range ordinary {
		if n := testing.AllocsPerRun(100, func() { sink, _ = unit.Parse(text, unit.Inches) }); n != 0 {
			t.Errorf("Parse(%q) allocates %v times", text, n)
		}
	}
	if n := testing.AllocsPerRun(100, func() { sink, _ = unit.ParseNumber("16.65625", unit.Inches) }); n != 0 {
		t.Errorf("ParseNumber allocates %v times", n)
	}
}

// ordinary are spellings as they come in.
var ordinary = []string{"17 1/4", "17-1/4", "17.25", "17 1/4 in", `17 1/4"`, "1 ft 5 1/4 in", `1'-5 1/4"`, "476 mm", "47.6 cm", "17¼"}

var sink unit.Length

func BenchmarkParse(b *testing.B) {
	for _, text := range ordinary {
		b.Run(text, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				sink, _ = unit.Parse(text, unit.Inches)
			}
		})
	}
}
