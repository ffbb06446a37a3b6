package unit_test

import (
	"errors"
	"strings"
	"testing"

	"midstroke/internal/unit"
)

func TestParseNumber(t *testing.T) {
	nines := strings.Repeat("9", 40)
	for _, s := range []spelling{
		// RFC 8259 section 6: what a number is.
		{text: "17.25", in: unit.Inches, want: seventeenAndQuarter},
		{text: "438.15", in: unit.Millimetres, want: seventeenAndQuarter},
		{text: "1.65e1", in: unit.Inches, want: 419_100_000 * nm},
		{text: "1.65E+1", in: unit.Inches, want: 419_100_000 * nm},
		{text: "165e-1", in: unit.Inches, want: 419_100_000 * nm},
		{text: "-0", in: unit.Inches, want: 0},
		{text: "0", in: unit.Inches, want: 0},
		{text: "-1.5", in: unit.Millimetres, want: -1_500_000 * nm},
		{text: "1e4", in: unit.Millimetres, want: unit.MaxLength},
		{text: "0.1e5", in: unit.Millimetres, want: unit.MaxLength},
		{text: "1e-6", in: unit.Millimetres, want: nm},
		{text: "5e-7", in: unit.Millimetres, want: 0},       // half to even
		{text: "15e-7", in: unit.Millimetres, want: 2 * nm}, // half to even
		{text: "25e-7", in: unit.Millimetres, want: 2 * nm}, // half to even
		{text: "5.0000000000000000000000000000000000001e-7", in: unit.Millimetres, want: nm},
		{text: nines + "e-37", in: unit.Millimetres, want: unit.Metre},            // 1000 less 1e-37 mm
		{text: "0.3937007874015748", in: unit.Inches, want: 10 * unit.Millimetre}, // 10/25.4 as a float64 prints
		// Exponents beyond all reason.
		{text: "1e-999999999999999999999999999999", in: unit.Inches, want: 0},
		{text: "0e999999999999999999999999999999", in: unit.Inches, want: 0},
		{text: "1e999999999999999999999999999999", in: unit.Inches, code: "too_large"},
		{text: "0.00000000000000000000000000001e29", in: unit.Millimetres, want: unit.Millimetre},
		{text: "1e5", in: unit.Millimetres, code: "too_large"},
		{text: "10000.00000001", in: unit.Millimetres, code: "too_large"},
		{text: "-394", in: unit.Inches, code: "too_large"},
		// No JSON number.
		{text: "", in: unit.Inches, code: "empty"},
		{text: "017", in: unit.Inches, code: "not_a_number"},
		{text: ".5", in: unit.Inches, code: "not_a_number"},
		{text: "5.", in: unit.Inches, code: "not_a_number"},
		{text: "+5", in: unit.Inches, code: "not_a_number"},
		{text: "-", in: unit.Inches, code: "not_a_number"},
		{text: "1e", in: unit.Inches, code: "not_a_number"},
		{text: "1e+", in: unit.Inches, code: "not_a_number"},
		{text: "1.e3", in: unit.Inches, code: "not_a_number"},
		{text: " 1", in: unit.Inches, code: "not_a_number"},
		{text: "1 ", in: unit.Inches, code: "not_a_number"},
		{text: "0x1", in: unit.Inches, code: "not_a_number"},
		{text: "NaN", in: unit.Inches, code: "not_a_number"},
		{text: "17 1/4", in: unit.Inches, code: "not_a_number"},
		{text: "17,5", in: unit.Inches, code: "not_a_number"},
		{text: "½", in: unit.Inches, code: "not_a_number"},
		{text: "1\x00", in: unit.Inches, code: "not_a_number"},
		{text: strings.Repeat("1", 65), in: unit.Inches, code: "too_long"},
		{text: "450", code: "unit_missing"},
	} {
		got, err := unit.ParseNumber(s.text, s.in)
		var syntax *unit.SyntaxError
		switch errors.As(err, &syntax); {
		case s.code == "" && (err != nil || got != s.want):
			t.Errorf("ParseNumber(%q, %q) = %d nm, %v; want %d nm", s.text, s.in, got, err, s.want)
		case s.code != "" && (syntax == nil || string(syntax.Code) != s.code):
			t.Errorf("ParseNumber(%q, %q) = %d nm, %v; want it refused as %s", s.text, s.in, got, err, s.code)
		}
	}
}

func BenchmarkParseNumber(b *testing.B) {
	for _, text := range []string{"16.65625", "1.65e1", "1e-999999999"} {
		b.Run(text, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				sink, _ = unit.ParseNumber(text, unit.Inches)
			}
		})
	}
}
