// Package catalog holds what there is to choose from: damper geometries and
// hardware as one immutable Snapshot of a revision, and the index that
// searches it.
package catalog

import (
	"slices"

	"midstroke/internal/enum"
	"midstroke/internal/fault"
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

// Constructions names the constructions in requests, answers and files.
var Constructions = enum.Names[Construction]{"", TwinTube: "twin_tube", Monotube: "monotube"}

// String gives "twin_tube", "monotube" or "".
func (c Construction) String() string { return Constructions[c] }

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
	if i := slices.Index(adjusterNames[:], name); i >= 0 {
		return 1 << i, true
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

var damperTable = Table[Damper]{
	Name: "dampers", Item: "damper", Fields: damperFields, Blank: Damper{Price: mount.NoPrice}, Faults: (*Damper).Faults,
	Code:  func(d *Damper) *string { return &d.Code },
	Price: func(d *Damper) *mount.Price { return &d.Price },
}

var damperFields = slices.Concat(
	identity(func(d *Damper) *string { return &d.Code }, func(d *Damper) *string { return &d.Description }),
	[]Field[Damper]{
		{
			Name: "construction", Kind: KindOneOf, Needed: true, Words: Constructions[:], WrongWord: "construction", Filter: "construction",
			Choice:      func(d *Damper) *uint8 { return (*uint8)(&d.Construction) },
			Description: "how it is built",
		},
		yesNo("gas", "whether it is charged with gas", func(d *Damper) *bool { return &d.Gas }),
		{
			Name: "adjusters", Kind: KindListOf, Words: adjusterNames[:], WrongWord: "adjusters", Filter: "adjusters",
			Set:         func(d *Damper) *uint8 { return (*uint8)(&d.Adjusters) },
			Description: "what can be adjusted on it",
		},
		length("compressed", "length between the reference points when fully compressed", func(d *Damper) *unit.Length { return &d.Compressed }),
		length("extended", "length between the reference points when fully extended", func(d *Damper) *unit.Length { return &d.Extended }),
		{Name: "stroke", Kind: KindLength, Filter: "stroke", Computed: (*Damper).Stroke, Description: "extended less compressed length"},
		{
			Name: "length_tolerance", Kind: KindLength, Needed: true, Zero: ZeroCounts, ListOnly: true,
			Length:      func(d *Damper) *unit.Length { return &d.LengthTolerance },
			Description: "how far either length may be off, each way",
		},
		length("body_diameter", "diameter of the body", func(d *Damper) *unit.Length { return &d.BodyDiameter }),
	},
	end("upper", "upper", false, func(d *Damper) *mount.End { return &d.Upper }),
	end("lower", "lower", false, func(d *Damper) *mount.End { return &d.Lower }),
	[]Field[Damper]{{
		Name: "invertible", Kind: KindYesNo, Filter: "invertible", ListOnly: true,
		YesNo: func(d *Damper) *bool { return &d.Invertible }, Description: "whether it may be mounted the other way up",
	}},
	stock(func(d *Damper) *bool { return &d.InStock }, func(d *Damper) *mount.Price { return &d.Price }),
)

// Faults gives every fault of a damper, with pointers from the damper.
//
// Both lengths are between the ends' reference points. The rod that comes out
// over the stroke must go back into a body that stands between the ends, so the
// stroke is at most the compressed length less the length of the two ends.
func (d *Damper) Faults() fault.List {
	faults := mount.ListingFaults(d.Code, d.Description, d.Price)
	for i := range damperFields {
		if f := &damperFields[i]; f.Group == "" && f.Stored() {
			f.check(d, &faults)
		}
	}
	switch known := d.Compressed > 0 && d.Extended > 0; {
	case !known:
	case d.Extended <= d.Compressed:
		faults.Add("/extended", notLonger)
	case d.Extended > 2*d.Compressed-endLength(&d.Upper)-endLength(&d.Lower):
		faults.Add("/extended", strokeImpossible)
	case 2*d.LengthTolerance >= d.Stroke():
		faults.Add("/length_tolerance", toleranceTooLarge)
	}
	if d.Compressed > 0 && d.BodyDiameter >= d.Compressed {
		faults.Add("/body_diameter", bodyTooLarge)
	}
	if d.Invertible && d.Construction == TwinTube && !d.Gas {
		faults.Add("/invertible", oilOnlyInverted)
	}
	faults.AddUnder("/upper", d.Upper.Faults())
	faults.AddUnder("/lower", d.Lower.Faults())
	return faults
}

// endLength is the least length that an end takes up between the reference
// points: half the bore of an eye.
func endLength(e *mount.End) unit.Length {
	if e.Style == mount.Eye {
		return e.Bore / 2
	}
	return 0
}

// Contents is everything in one revision of a catalogue.
type Contents struct {
	Currency string // ISO 4217
	Limits   mount.Limits
	Dampers  []Damper
	Sleeves  []mount.Sleeve
	Spacers  []mount.Spacer
	Adapters []mount.Adapter
}
