// Package catalog holds what there is to choose from: damper geometries and
// hardware as one immutable Snapshot of a revision, and the index that
// searches it.
package catalog

import (
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// Construction is how a damper is built.
type Construction uint8

// The constructions.
const (
	TwinTube Construction = iota + 1
	Monotube
)

// Constructions lists the constructions by name.
func Constructions() []string { return []string{TwinTube.String(), Monotube.String()} }

// String gives "twin_tube", "monotube" or "".
func (c Construction) String() string {
	switch c {
	case TwinTube:
		return "twin_tube"
	case Monotube:
		return "monotube"
	}
	return ""
}

// ParseConstruction reads "twin_tube" or "monotube".
func ParseConstruction(name string) (Construction, bool) {
	switch name {
	case "twin_tube":
		return TwinTube, true
	case "monotube":
		return Monotube, true
	}
	return 0, false
}

// Adjusters is the set of what can be adjusted on a damper.
type Adjusters uint8

// What can be adjusted.
const (
	Compression Adjusters = 1 << iota
	Rebound
	RideHeight
)

var adjusterNames = [...]string{"compression", "rebound", "ride_height"}

// AdjusterNames lists every adjuster by its name, in a fixed order.
func AdjusterNames() []string { return adjusterNames[:] }

// ParseAdjuster finds an adjuster by its name.
func ParseAdjuster(name string) (Adjusters, bool) {
	for i, n := range adjusterNames {
		if n == name {
			return 1 << i, true
		}
	}
	return 0, false
}

// Names lists the adjusters in the set, in a fixed order.
func (a Adjusters) Names() []string {
	names := make([]string, 0, len(adjusterNames))
	for i, n := range adjusterNames {
		if a&(1<<i) != 0 {
			names = append(names, n)
		}
	}
	return names
}

// Has says whether every adjuster in want is in a.
func (a Adjusters) Has(want Adjusters) bool { return a&want == want }

// Damper is one damper's geometry as the catalogue lists it. Lengths are
// between the ends' reference points.
type Damper struct {
	Code         string
	Description  string
	Construction Construction
	// Gas says that it is charged with gas and so may lean at any angle.
	Gas       bool
	Adjusters Adjusters

	Compressed, Extended unit.Length
	// LengthTolerance is the half-width of both lengths.
	LengthTolerance unit.Length
	BodyDiameter    unit.Length

	Upper, Lower mount.End
	// Invertible says that it may also be mounted the other way up.
	Invertible bool

	InStock bool
	Price   mount.Price
}

// Stroke is the length between the two limits.
func (d *Damper) Stroke() unit.Length { return d.Extended - d.Compressed }

// Contents is everything in one revision of a catalogue.
type Contents struct {
	Currency string // ISO 4217
	Limits   mount.Limits
	Dampers  []Damper
	Sleeves  []mount.Sleeve
	Spacers  []mount.Spacer
	Adapters []mount.Adapter
}
