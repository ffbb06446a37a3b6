package mount_test

import (
	"errors"
	"strings"
	"testing"

	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

func TestParseBolt(t *testing.T) {
	for _, c := range []struct {
		text string
		in   unit.System
		want string // thread, or diameter of a pin
	}{
		// The published contract's own forms.
		{"M12", unit.Unset, "M12x1.75"},
		{"M12x1.25", unit.Inches, "M12x1.25"},
		{"1/2 in", unit.Millimetres, "1/2-13 UNC"},
		{"1/2-20 in", unit.Millimetres, "1/2-20 UNF"},
		{"7/16", unit.Inches, "7/16-14 UNC"},
		{"12.2 mm", unit.Inches, "12.2 mm"},
		// Spellings beside them, our choice.
		{" m10 ", unit.Unset, "M10x1.5"},
		{"M 10 x 1.25", unit.Unset, "M10x1.25"},
		{"M10×1", unit.Unset, "M10x1"},
		{"M16-1.5", unit.Unset, "M16x1.5"},
		{"M12x1.75", unit.Unset, "M12x1.75"},
		{"1/2-13 UNC", unit.Millimetres, "1/2-13 UNC"},
		{"1/2-20 unf", unit.Millimetres, "1/2-20 UNF"},
		{`3/8-24"`, unit.Unset, "3/8-24 UNF"},
		{`5/8"`, unit.Unset, "5/8-11 UNC"},
		{"½ in", unit.Unset, "1/2-13 UNC"},
		{"1 in", unit.Unset, "1-8 UNC"},
		{"1-12", unit.Inches, "1-12 UNF"},
		{"0.5", unit.Inches, "1/2-13 UNC"},
		{"0.4375 in", unit.Unset, "7/16-14 UNC"},
		// Any other diameter is a plain pin: 12.7 mm is one though it is 1/2 in.
		{"12.7 mm", unit.Unset, "12.7 mm"},
		{"12.7", unit.Millimetres, "12.7 mm"},
		{"12 mm", unit.Unset, "12 mm"},
		{"17/32 in", unit.Unset, "13.494 mm"},
		{"1-1/8 in", unit.Unset, "28.575 mm"},
	} {
		b, err := mount.ParseBolt(c.text, c.in)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		if got := b.Text(unit.Millimetres); got != c.want {
			t.Errorf("%q: got %s, want %s", c.text, got, c.want)
		}
		if b.Threaded() && b.Thread.Diameter != b.Diameter {
			t.Errorf("%q: bolt of %d with a thread of %d", c.text, b.Diameter, b.Thread.Diameter)
		}
	}
}

func TestParseBoltRefuses(t *testing.T) {
	for _, c := range []struct {
		text, code, says string
		in               unit.System
	}{
		{"M13", "unknown_thread", "M12, M14", unit.Unset},
		{"M", "unknown_thread", "M6", unit.Unset},
		{"M12.5", "unknown_thread", "plain diameter", unit.Unset},
		{"M12x1.2", "unknown_pitch", "1.75, 1.5, 1.25 mm", unit.Unset},
		{"M12x", "unknown_pitch", "M12x1.25", unit.Unset},
		{"M6x0.75", "unknown_pitch", "for M6 are 1 mm", unit.Unset},
		{"1/2-14 in", "unknown_thread", "13 to the inch (UNC) and 20 (UNF)", unit.Unset},
		{"1/2-20 UNC", "unknown_thread", "20 (UNF)", unit.Unset},
		{"1/2-900", "unknown_thread", "13", unit.Inches},
		{"15/32-20", "unknown_thread", "by sixteenths", unit.Inches},
		{"M1" + strings.Repeat("1", 100), "unknown_thread", "M24", unit.Unset},
		{"0 mm", "bolt_not_positive", "greater than zero", unit.Unset},
		{"-12 mm", "bolt_not_positive", "greater than zero", unit.Unset},
		// What is no bolt's name is read as a length, with a length's faults.
		{"12,5 mm", "comma", "", unit.Unset},
		{"12", "unit_missing", "", unit.Unset},
		{"7/16", "fraction_metric", "", unit.Millimetres},
		{"", "empty", "", unit.Inches},
		{"big", "number_missing", "", unit.Inches},
		{strings.Repeat("9", 200), "too_long", "", unit.Inches},
	} {
		_, err := mount.ParseBolt(c.text, c.in)
		var bolt *mount.BoltError
		var syntax *unit.SyntaxError
		var code, detail string
		switch {
		case errors.As(err, &bolt):
			code, detail = bolt.Code.Public(), err.Error()
		case errors.As(err, &syntax):
			code = string(syntax.Code)
		}
		if code != c.code || !strings.Contains(detail, c.says) {
			t.Errorf("%q: got %q (%s), want %q with %q", c.text, code, detail, c.code, c.says)
		}
	}
}

// The thread tables, from memory: ISO 261's coarse pitches with fine ones that
// are common, ASME B1.1's UNC and UNF.
func TestThreadTables(t *testing.T) {
	for _, row := range []string{
		"M6x1", "M8x1.25", "M8x1", "M10x1.5", "M10x1.25", "M10x1", "M12x1.75", "M12x1.5", "M12x1.25",
		"M14x2", "M14x1.5", "M16x2", "M16x1.5", "M18x2.5", "M18x1.5", "M20x2.5", "M20x1.5", "M22x2.5", "M22x1.5", "M24x3", "M24x2",
		"1/4-20 UNC", "1/4-28 UNF", "5/16-18 UNC", "5/16-24 UNF", "3/8-16 UNC", "3/8-24 UNF", "7/16-14 UNC", "7/16-20 UNF",
		"1/2-13 UNC", "1/2-20 UNF", "9/16-12 UNC", "9/16-18 UNF", "5/8-11 UNC", "5/8-18 UNF", "3/4-10 UNC", "3/4-16 UNF",
		"7/8-9 UNC", "7/8-14 UNF", "1-8 UNC", "1-12 UNF",
	} {
		b, err := mount.ParseBolt(row, unit.Unset)
		if err != nil {
			t.Errorf("%s: %v", row, err)
			continue
		}
		// A thread's name is read back as the same thread.
		same(t, "name", b.Thread.String(), row)
		if b.Thread.Inch() {
			// The pitch is the inch over its threads to half a nanometre.
			off := float64(b.Thread.Pitch)*float64(b.Thread.PerInch) - float64(unit.Inch)
			near(t, row+" pitch", off, 0, float64(b.Thread.PerInch)/2)
		}
	}
	same(t, "coarse bolts", len(mount.CoarseBolts()), 20)
	same(t, "no thread's name", mount.Thread{}.String(), "")
	same(t, "no bolt's name", mount.Bolt{}.Text(unit.Inches), "")
}

func FuzzParseBolt(f *testing.F) {
	for _, seed := range []string{"M12", "M12x1.25", "1/2-20 in", "7/16", "12.2 mm", "1-8 UNC", "M×", "½-13", "-", "M-", "1/2-"} {
		f.Add(seed, true)
		f.Add(seed, false)
	}
	f.Fuzz(func(t *testing.T, text string, inches bool) {
		in := unit.Millimetres
		if inches {
			in = unit.Inches
		}
		b, err := mount.ParseBolt(text, in)
		if err != nil {
			return
		}
		if b.Diameter <= 0 || b.Diameter > unit.MaxLength {
			t.Fatalf("%q gave a diameter of %d", text, b.Diameter)
		}
		if !b.Threaded() {
			return
		}
		again, err := mount.ParseBolt(b.Thread.String(), unit.Unset)
		if err != nil || again != b {
			t.Fatalf("%q is %s, which is read back as %v, %v", text, b.Thread, again, err)
		}
	})
}
