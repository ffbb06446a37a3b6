package unit

// Exact by definition (international yard and pound agreement of 1959, standard
// acceleration of free fall).
const (
	KgPerPound      = 0.45359237
	NewtonsPerPound = KgPerPound * 9.80665 // of force
	MmPerInch       = 25.4
	KmPerMile       = 1.609344
)

// beside are the units of masses, forces, speeds and what is made of them, as they are
// written beside inches in place of the one beside millimetres, and how much of that
// one each is.
var beside = map[string]struct {
	name string
	size float64
}{
	"kg":    {"lb", KgPerPound},
	"N":     {"lbf", NewtonsPerPound},
	"N/mm":  {"lbf/in", NewtonsPerPound / MmPerInch},
	"N·s/m": {"lbf·s/in", NewtonsPerPound / MmPerInch * 1000},
	"m/s":   {"in/s", MmPerInch / 1000},
	"MPa":   {"psi", NewtonsPerPound / (MmPerInch * MmPerInch)},
	"km/h":  {"mph", KmPerMile},
	"W":     {"in·lbf/s", NewtonsPerPound * MmPerInch / 1000},
}

// Figure gives a figure of a unit that is written beside millimetres ("N", "N/mm",
// "N·s/m", "m/s", "km/h", "kg", "MPa", "W") as it is written beside the lengths of s. A figure of
// any other unit stays as it is.
func (s System) Figure(n float64, name string) (float64, string) {
	if other, ok := beside[name]; ok && s == Inches {
		return n / other.size, other.name
	}
	return n, name
}
