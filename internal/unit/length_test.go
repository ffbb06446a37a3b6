package unit_test

import (
	"fmt"
	"math"
	"math/big"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/unit"
)

// One inch is 25.4 mm exactly (NBS Circular 572, addendum of 1960), and the
// units are whole nanometres.
func TestUnits(t *testing.T) {
	for _, c := range []struct {
		name string
		got  unit.Length
		nm   int64
	}{
		{"mm", unit.Millimetre, 1_000_000},
		{"cm", unit.Centimetre, 10_000_000},
		{"m", unit.Metre, 1_000_000_000},
		{"in", unit.Inch, 25_400_000},
		{"ft", unit.Foot, 304_800_000},
		{"1/64 in", unit.Inch / 64, 396_875},
	} {
		if int64(c.got) != c.nm {
			t.Errorf("1 %s = %d nm; want %d", c.name, c.got, c.nm)
		}
	}
	if unit.Inch%64 != 0 {
		t.Error("1/64 in is no whole number of nanometres")
	}
}

func TestSystem(t *testing.T) {
	for _, s := range []unit.System{unit.Inches, unit.Millimetres} {
		if back, ok := unit.ParseSystem(s.String()); !ok || back != s {
			t.Errorf("ParseSystem(%q) = %v, %v", s, back, ok)
		}
	}
	for _, name := range []string{"", "IN", "inch", "cm"} {
		if s, ok := unit.ParseSystem(name); ok || s != unit.Unset {
			t.Errorf("ParseSystem(%q) = %v, %v", name, s, ok)
		}
	}
}

// Every mark of a tape comes back exactly as a text, as a JSON number and as
// the number that a person would write.
func TestRoundTripEvery64th(t *testing.T) {
	for k := unit.Length(0); k <= 60*64; k++ {
		l := k * unit.Inch / 64
		checkRoundTrip(t, l, unit.Inches)
		checkRoundTrip(t, -l, unit.Inches)
		checkNumber(t, l, unit.Inches)
		// k/64 has a finite binary form, so equality is exact.
		if got := l.In(unit.Inches); got != float64(k)/64 {
			t.Errorf("%d/64 in comes out as %v", k, got)
		}
	}
}

func TestRoundTripEveryMicrometre(t *testing.T) {
	for k := range 100_001 {
		l := unit.Length(k) * unit.Micrometre
		checkRoundTrip(t, l, unit.Millimetres)
		checkNumber(t, l, unit.Millimetres)
		written := strconv.Itoa(k/1000) + fmt.Sprintf(".%03d", k%1000)
		if want, _ := strconv.ParseFloat(written, 64); l.In(unit.Millimetres) != want {
			t.Errorf("%s mm comes out as %v", written, l.In(unit.Millimetres))
		}
	}
}

// checkNumber wants l back from the JSON number that its In is written as.
func checkNumber(t *testing.T, l unit.Length, s unit.System) {
	t.Helper()
	text := strconv.FormatFloat(l.In(s), 'f', -1, 64)
	if back, err := unit.ParseNumber(text, s); err != nil || back != l {
		t.Errorf("%d nm is written %s and read as %d nm, %v", l, text, back, err)
	}
}

func TestText(t *testing.T) {
	for _, c := range []struct {
		l    unit.Length
		s    unit.System
		want string
	}{
		{0, unit.Inches, "0 in"},
		{0, unit.Millimetres, "0 mm"},
		{unit.Inch, unit.Inches, "1 in"},
		{seventeenAndQuarter, unit.Inches, "17 1/4 in"},
		{-seventeenAndQuarter, unit.Inches, "-17 1/4 in"},
		{3 * unit.Inch / 8, unit.Inches, "3/8 in"},
		{-unit.Inch / 64, unit.Inches, "-1/64 in"},
		{seventeenAndQuarter, unit.Millimetres, "438.15 mm"},
		{seventeenAndQuarter, unit.Unset, "438.15 mm"},
		{unit.Inch / 10, unit.Inches, "0.1 in"},
		{1234 * unit.Inch / 10_000, unit.Inches, "0.1234 in"},
		{10*unit.Inch + unit.Inch/100, unit.Inches, "10.01 in"},
		{-10 * unit.Millimetre, unit.Inches, "-0.3937 in"},
		{100 * unit.Millimetre, unit.Millimetres, "100 mm"},
		{5 * unit.Micrometre, unit.Millimetres, "0.005 mm"},
		{-1_050 * unit.Micrometre, unit.Millimetres, "-1.05 mm"},
		{500 * nm, unit.Millimetres, "0 mm"},       // half to even
		{1_500 * nm, unit.Millimetres, "0.002 mm"}, // half to even
		// What rounds to zero has no sign.
		{-nm, unit.Millimetres, "0 mm"},
		{-nm, unit.Inches, "0 in"},
		{unit.MaxLength, unit.Millimetres, "10000 mm"},
		{math.MaxInt64, unit.Millimetres, "9223372036854.776 mm"},
		{math.MinInt64, unit.Millimetres, "-9223372036854.776 mm"},
	} {
		if got := c.l.Text(c.s); got != c.want {
			t.Errorf("%d nm in %q is written %q; want %q", c.l, c.s, got, c.want)
		}
	}
}

// In is right to six decimals over the whole range of a Length.
func TestInAgainstRational(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := unit.Length(rapid.Int64().Draw(t, "nm"))
		exact, _ := new(big.Rat).SetFrac64(int64(l), int64(unit.Inch)).Float64()
		// Half of the sixth decimal, and two roundings to a float64.
		if got := l.In(unit.Inches); math.Abs(got-exact) > 0.5000001e-6+math.Abs(exact)*0x1p-52 {
			t.Fatalf("%d nm is %v in; want %v", l, got, exact)
		}
		exact, _ = new(big.Rat).SetFrac64(int64(l), int64(unit.Millimetre)).Float64()
		if got := l.In(unit.Millimetres); math.Abs(got-exact) > math.Abs(exact)*0x1p-52 {
			t.Fatalf("%d nm is %v mm; want %v", l, got, exact)
		}
	})
}

func TestMean(t *testing.T) {
	for _, c := range []struct {
		ls   []unit.Length
		want unit.Length
	}{
		{nil, 0},
		{[]unit.Length{7}, 7},
		{[]unit.Length{1, 2}, 2}, // 1.5, half to even
		{[]unit.Length{2, 3}, 2}, // 2.5, half to even
		{[]unit.Length{-1, -2}, -2},
		{[]unit.Length{-2, -3}, -2},
		{[]unit.Length{-1, 0}, 0},
		{[]unit.Length{1, 1, 2}, 1},
		{[]unit.Length{1, 2, 2}, 2},
		{[]unit.Length{-1, -1, -2}, -1},
		{[]unit.Length{16*unit.Inch + 5*unit.Inch/8, 16*unit.Inch + 11*unit.Inch/16}, 16*unit.Inch + 21*unit.Inch/32},
	} {
		if got := unit.Mean(c.ls...); got != c.want {
			t.Errorf("the mean of %v is %d; want %d", c.ls, got, c.want)
		}
	}
}

func TestScaleAndFromMm(t *testing.T) {
	// 31 mm × 0.91 = 28.21 mm: arithmetic.
	if got := (31 * unit.Millimetre).Scale(0.91); got != 28_210_000*nm {
		t.Errorf("0.91 of 31 mm is %d nm", got)
	}
	for _, c := range []struct {
		mm   float64
		want unit.Length
	}{{438.15, seventeenAndQuarter}, {-0.5e-6, 0}, {1.5e-6, 2}, {0, 0}} {
		if got := unit.FromMm(c.mm); got != c.want {
			t.Errorf("%v mm is %d nm; want %d", c.mm, got, c.want)
		}
	}
	if got := seventeenAndQuarter.Mm(); got != 438.15 { // the nearest float64 to a quotient of two whole ones
		t.Errorf("17 1/4 in is %v mm", got)
	}
	if (-3*nm).Abs() != 3 || (3*nm).Abs() != 3 {
		t.Error("Abs keeps a sign")
	}
}
