package unit_test

import (
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/unit"
)

// The expected texts were worked out by hand: 1 mm is 0.03937 in, 1/32 in is 0.79375 mm.
func TestSpokenLengths(t *testing.T) {
	for _, c := range []struct {
		length            unit.Length
		in                unit.System
		nearest, down, up string
	}{
		{unit.FromMm(332), unit.Inches, "13 1/16 in", "13 1/16 in", "13 3/32 in"}, // 13.0709 in, 13 2.27/32
		{unit.FromMm(10), unit.Inches, "13/32 in", "3/8 in", "13/32 in"},          // 12.6/32
		{unit.FromMm(-10), unit.Inches, "-13/32 in", "-13/32 in", "-3/8 in"},
		{unit.FromMm(25.4 * 17.25), unit.Inches, "17 1/4 in", "17 1/4 in", "17 1/4 in"},
		{unit.FromMm(25.4 * 17.25), unit.Millimetres, "438.2 mm", "438.1 mm", "438.2 mm"}, // 438.15, half to even
		{unit.FromMm(0.04), unit.Millimetres, "0 mm", "0 mm", "0.1 mm"},
		{unit.FromMm(-0.04), unit.Millimetres, "0 mm", "-0.1 mm", "0 mm"},
	} {
		for r, want := range map[unit.Rounding]string{unit.Nearest: c.nearest, unit.Down: c.down, unit.Up: c.up} {
			if told := string(c.length.AppendSpoken(nil, c.in, r)); told != want {
				t.Errorf("%v told %q rounded %v; want %q", c.length, told, r, want)
			}
		}
	}
}

func TestSizesInTexts(t *testing.T) {
	for _, c := range []struct {
		length unit.Length
		in     unit.System
		want   string
	}{
		{unit.FromMm(12.8), unit.Inches, "0.504 in"}, // 0.50394
		{unit.FromMm(25.4 * 0.765625), unit.Inches, "49/64 in"},
		{unit.FromMm(25.4 * 0.765625), unit.Millimetres, "19.45 mm"}, // 19.446875
		{unit.FromMm(19), unit.Millimetres, "19 mm"},
	} {
		if told := string(c.length.AppendSize(nil, c.in)); told != c.want {
			t.Errorf("%v told %q; want %q", c.length, told, c.want)
		}
	}
}

// What is read back from a text lies on the side that it was rounded to, less
// than one step away.
func TestSpokenLengthsAreOnTheSafeSide(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := unit.Length(rapid.Int64Range(-int64(2*unit.Metre), int64(2*unit.Metre)).Draw(t, "length"))
		near := rapid.Int64Range(int64(unit.Grain), int64(unit.Millimetre))
		least, most := l-unit.Length(near.Draw(t, "below")), l+unit.Length(near.Draw(t, "above"))
		precision := rapid.SampledFrom([]unit.Precision{unit.Spoken, unit.Sized, unit.Fine}).Draw(t, "precision")
		for s, step := range map[unit.System]unit.Length{unit.Inches: unit.Inch / 32, unit.Millimetres: unit.Millimetre / 10} {
			down, up := readBack(t, l.AppendSpoken(nil, s, unit.Down)), readBack(t, l.AppendSpoken(nil, s, unit.Up))
			if down > l || l-down >= step || up < l || up-l >= step {
				t.Fatalf("%d nm is told as between %d and %d", l, down, up)
			}
			if told := readBack(t, l.AppendWithin(nil, s, precision, least, most)); told < least || told > most {
				t.Fatalf("%d nm is told as %d, which isn't from %d to %d", l, told, least, most)
			}
		}
	})
}

func readBack(t *rapid.T, text []byte) unit.Length {
	l, err := unit.Parse(string(text), unit.Unset)
	if err != nil {
		t.Fatalf("%q can't be read back: %v", text, err)
	}
	return l
}
