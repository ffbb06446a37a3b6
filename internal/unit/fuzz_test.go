package unit_test

import (
	"encoding/json"
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"

	_ "midstroke/internal/seeded"
	"midstroke/internal/unit"
)

// Whatever comes in, Parse agrees with the reference, keeps within its limits,
// and reads again what Text writes of it.
func FuzzParse(f *testing.F) {
	for _, b := range spellings {
		for _, s := range b.lines {
			f.Add(s.text, byte(s.in))
		}
	}
	f.Fuzz(func(t *testing.T, text string, system byte) {
		checkAgainstReference(t, text, unit.System(system%3))
	})
}

func checkAgainstReference(t interface {
	Helper()
	Errorf(string, ...any)
}, text string, in unit.System) {
	t.Helper()
	got, err := unit.Parse(text, in)
	want, ok := reference(text, in)
	switch {
	case (err == nil) != ok:
		t.Errorf("Parse(%q, %q) = %v, %v; the reference: %v, %v", text, in, got, err, want, ok)
	case got != want:
		t.Errorf("Parse(%q, %q) = %d nm; the reference: %d nm", text, in, got, want)
	case got.Abs() > unit.MaxLength:
		t.Errorf("Parse(%q, %q) = %d nm, beyond the limit", text, in, got)
	}
	if err != nil {
		return
	}
	if got%unit.Micrometre == 0 {
		checkRoundTrip(t, got, unit.Millimetres)
	}
	if got%(unit.Inch/64) == 0 || got%(unit.Inch/10_000) == 0 {
		checkRoundTrip(t, got, unit.Inches)
	}
}

// checkRoundTrip wants l, which Text writes exactly, back from what it writes.
func checkRoundTrip(t interface {
	Helper()
	Errorf(string, ...any)
}, l unit.Length, s unit.System) {
	t.Helper()
	text := l.Text(s)
	if back, err := unit.Parse(text, unit.Unset); err != nil || back != l {
		t.Errorf("%d nm is written %q and read as %d nm, %v", l, text, back, err)
	}
}

// ParseNumber takes exactly the JSON numbers of at most 64 characters, and
// reads them as a big rational does.
func FuzzParseNumber(f *testing.F) {
	for _, text := range []string{"17.25", "1.65e1", "-0", "1e-400", "1e400", "017", "5.", "1e+", "9999999999999999999999e-20", "10000.0000000000001"} {
		f.Add(text, false)
	}
	f.Fuzz(func(t *testing.T, text string, metric bool) {
		in, mm := unit.Inches, big.NewRat(254, 10)
		if metric {
			in, mm = unit.Millimetres, big.NewRat(1, 1)
		}
		got, err := unit.ParseNumber(text, in)
		if len(text) > 64 || !json.Valid([]byte(text)) || strings.Trim(text, "0123456789+-.eE") != "" {
			if err == nil {
				t.Errorf("ParseNumber(%q) = %d nm", text, got)
			}
			return
		}
		if _, exponent, ok := strings.Cut(strings.ToLower(text), "e"); ok && len(exponent) > 4 {
			return // the rational would take all memory
		}
		v, ok := new(big.Rat).SetString(text)
		if !ok {
			t.Fatalf("%q is JSON and no rational", text)
		}
		negative := v.Sign() < 0
		v.Abs(v).Mul(v, mm)
		if v.Cmp(big.NewRat(10_000, 1)) > 0 {
			if err == nil {
				t.Errorf("ParseNumber(%q) = %d nm, beyond the limit", text, got)
			}
			return
		}
		want := roundHalfEven(v)
		if negative {
			want = -want
		}
		if err != nil || got != want {
			t.Errorf("ParseNumber(%q, %q) = %d nm, %v; the rational: %d nm", text, in, got, err, want)
		}
	})
}

// Spellings put together at random from the grammar's own pieces reach deeper
// than bytes at random.
func TestParseAgainstReference(t *testing.T) {
	piece := rapid.SampledFrom([]string{
		"0", "1", "5", "7", "12", "17", "64", "25.4", ".5", "0.0000005", "12345678901234567890", "/", "1/4", "5/4", "33/64", "1/0",
		"½", "⅞", " ", "\t", "\u00a0", "-", "\u2013", "+", ".", ",", "'", "\"", "''", "\u2032", "\u2033",
		"in", "in.", "Inch", "inches", "ft", "ft.", "foot", "FEET", "mm", "cm", "m", "metres", "millimeter", "e3", "x", "NaN",
	})
	rapid.Check(t, func(t *rapid.T) {
		text := strings.Join(rapid.SliceOfN(piece, 1, 9).Draw(t, "pieces"), "")
		checkAgainstReference(t, text, unit.System(rapid.IntRange(0, 2).Draw(t, "in")))
	})
}

// Lengths written as a person would, in every form that the grammar knows.
func TestParseWellFormed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		digits := func(label string, most int) string {
			return rapid.StringMatching(`[0-9]{1,`+string(rune('0'+most))+`}`).Draw(t, label)
		}
		whole := digits("whole", 3)
		number := rapid.SampledFrom([]string{
			whole, whole + "." + digits("decimals", 9), whole + "." + digits("decimals", 9) + digits("more", 9) + digits("yet more", 9),
			digits("num", 3) + "/" + digits("den", 3), whole + " " + digits("num", 2) + "/" + digits("den", 3), whole + "-" + digits("num", 2) + "/" + digits("den", 3),
			whole + "⅜", whole + " ¾",
		}).Draw(t, "number")
		text := rapid.SampledFrom([]string{"", "-", "+"}).Draw(t, "sign") +
			rapid.SampledFrom([]string{"", "", digits("feet", 2) + "'", digits("feet", 2) + " ft ", digits("feet", 1) + "' - "}).Draw(t, "feet and") +
			number + rapid.SampledFrom([]string{"", " in", `"`, "''", "mm", " cm", " m", " ft"}).Draw(t, "unit")
		checkAgainstReference(t, text, unit.System(rapid.IntRange(0, 2).Draw(t, "in")))
	})
}
