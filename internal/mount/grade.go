package mount

import (
	"strings"

	"midstroke/internal/enum"
	"midstroke/internal/unit"
)

// Grade is the strength class of a bolt; the zero value is none, and none is
// ever assumed.
type Grade uint8

// The grades: the property classes of ISO 898-1 for metric threads, and the
// grades of SAE J429 for inch threads.
const (
	NoGrade Grade = iota
	Class88
	Class109
	Class129
	SAE2
	SAE5
	SAE8
)

// Grades names the grades in requests.
var Grades = enum.Names[Grade]{
	NoGrade: "", Class88: "8.8", Class109: "10.9", Class129: "12.9",
	SAE2: "SAE 2", SAE5: "SAE 5", SAE8: "SAE 8",
}

// String gives the grade's name in requests, "" for none.
func (g Grade) String() string { return Grades[g] }

// parseGrade finds a grade by its name; letters count in either case, and the
// blank of "SAE 5" may be left out.
func parseGrade(name string) (Grade, bool) {
	name = strings.ToUpper(strings.TrimSpace(name))
	if rest, ok := strings.CutPrefix(name, "SAE"); ok {
		name = "SAE " + strings.TrimLeft(rest, " ")
	}
	return Grades.Parse(name)
}

// Inch says whether the grade is one for inch threads.
func (g Grade) Inch() bool { return g == SAE2 || g == SAE5 || g == SAE8 }

// source is where the grade's strength stands.
func (g Grade) source() string {
	if g.Inch() {
		return "SAE J429"
	}
	return "ISO 898-1:2013, table 3"
}

// strength is what a bolt's material bears, in MPa.
type strength struct{ proof, tensile, yield float64 }

// ksi is 1000 lbf/in² in MPa.
const ksi = 1000 * unit.NewtonsPerPound / (unit.MmPerInch * unit.MmPerInch)

// strengthOf gives the strength of a bolt of that diameter and length. A length
// that isn't known (0) counts as long, which is the weaker where it matters.
//
// ISO 898-1:2013 table 3 gives 8.8 up to 16 mm, M16 itself included, 580 MPa of
// proof and 600 above; SAE J429 lets grade 2 fall off above 3/4 in or 6 in of
// length, and grade 5 above 1 in. Both as fastener suppliers print them.
func strengthOf(g Grade, diameter, length unit.Length) strength {
	switch g {
	case Class88:
		if diameter <= 16*unit.Millimetre {
			return strength{580, 800, 640}
		}
		return strength{600, 830, 660}
	case Class109:
		return strength{830, 1040, 940}
	case Class129:
		return strength{970, 1220, 1100}
	case SAE2:
		if diameter <= unit.Inch*3/4 && length != 0 && length <= 6*unit.Inch {
			return inKsi(55, 74, 57)
		}
		return inKsi(33, 60, 36)
	case SAE5:
		if diameter <= unit.Inch {
			return inKsi(85, 120, 92)
		}
		return inKsi(74, 105, 81)
	case SAE8:
		return inKsi(120, 150, 130)
	case NoGrade:
	}
	return strength{}
}

func inKsi(proof, tensile, yield float64) strength {
	return strength{proof * ksi, tensile * ksi, yield * ksi}
}
