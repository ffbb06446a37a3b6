// Package catalog holds what there is to choose from: damper geometries and
// hardware as one immutable Snapshot of a revision, and the index that
// searches it.
package catalog

import (
	"slices"
	"strings"

	"midstroke/internal/damping"
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
//
// The fields of one byte stand together: there may be a million dampers, and so they
// take the least room.
type Damper struct {
	Code         string
	Description  string
	Construction Construction
	// Gas says that it is charged with gas and so may lean at any angle.
	Gas       bool
	Adjusters Adjusters
	// Invertible says that it may also be mounted the other way up.
	Invertible bool
	InStock    bool
	// GasIncluded says that the force table includes the gas force.
	GasIncluded bool
	Reservoir   damping.Reservoir

	Compressed, Extended unit.Length
	// LengthTolerance is the half-width of both lengths.
	LengthTolerance unit.Length
	BodyDiameter    unit.Length

	Upper, Lower mount.End

	Price  mount.Price
	Forces Forces
}

// Stroke is the length between the two limits.
func (d *Damper) Stroke() unit.Length { return d.Extended - d.Compressed }

var damperTable = Table[Damper]{
	Name: "dampers", Item: "damper", Fields: damperFields, Blank: Damper{Price: mount.NoPrice}, Faults: (*Damper).Faults, judge: damperJudge,
	Code:  func(d *Damper) *string { return &d.Code },
	Price: func(d *Damper) *mount.Price { return &d.Price },
}

var damperFields = slices.Concat(
	identity(func(d *Damper) *string { return &d.Code }, func(d *Damper) *string { return &d.Description }),
	[]Field[Damper]{
		{
			Name: "construction", Kind: KindOneOf, Needed: true, Words: Constructions[:], WrongWord: "construction", Filter: "construction",
			Choice: func(d *Damper) *uint8 { return (*uint8)(&d.Construction) },
			About:  "field_construction",
		},
		yesNo("gas", "field_gas", func(d *Damper) *bool { return &d.Gas }),
		{
			Name: "adjusters", Kind: KindListOf, Words: adjusterNames[:], WrongWord: "adjusters", Filter: "adjusters",
			Set:   func(d *Damper) *uint8 { return (*uint8)(&d.Adjusters) },
			About: "field_adjusters",
		},
		length("compressed", "field_compressed", func(d *Damper) *unit.Length { return &d.Compressed }),
		length("extended", "field_extended", func(d *Damper) *unit.Length { return &d.Extended }),
		{Name: "stroke", Kind: KindLength, Filter: "stroke", Computed: (*Damper).Stroke, About: "field_stroke"},
		{
			Name: "length_tolerance", Kind: KindLength, Needed: true, Zero: ZeroCounts, ListOnly: true,
			Length: func(d *Damper) *unit.Length { return &d.LengthTolerance },
			About:  "field_length_tolerance",
		},
		length("body_diameter", "field_body_diameter", func(d *Damper) *unit.Length { return &d.BodyDiameter }),
	},
	end("upper", "upper", false, func(d *Damper) *mount.End { return &d.Upper }),
	end("lower", "lower", false, func(d *Damper) *mount.End { return &d.Lower }),
	[]Field[Damper]{{
		Name: "invertible", Kind: KindYesNo, Filter: "invertible", ListOnly: true,
		YesNo: func(d *Damper) *bool { return &d.Invertible }, About: "field_invertible",
	}},
	[]Field[Damper]{
		{
			Name: "reservoir", Kind: KindOneOf, Words: damping.Reservoirs[:], Filter: "reservoir", ListOnly: true,
			Choice: func(d *Damper) *uint8 { return (*uint8)(&d.Reservoir) },
			About:  "field_reservoir",
		},
		{
			Name: "force_table", Kind: KindForces, Filter: "force_table", ListOnly: true,
			Forces: func(d *Damper) *Forces { return &d.Forces },
			About:  "field_force_table",
		},
		{
			Name: "gas_included", Kind: KindYesNo, ListOnly: true,
			YesNo: func(d *Damper) *bool { return &d.GasIncluded },
			About: "field_gas_included",
		},
		{
			Name: "gas_force_n", Kind: KindNumber, ListOnly: true,
			Number:    func(d *Damper) (float64, bool) { return d.Forces.GasForce() },
			SetNumber: func(d *Damper, n float64) { d.Forces.SetGasForce(n) },
			About:     "field_gas_force",
		},
		{
			Name: "test_temperature_c", Kind: KindNumber, ListOnly: true,
			Number:    func(d *Damper) (float64, bool) { return d.Forces.Celsius() },
			SetNumber: func(d *Damper, n float64) { d.Forces.SetCelsius(n) },
			About:     "field_test_temperature",
		},
	},
	stock(func(d *Damper) *bool { return &d.InStock }, func(d *Damper) *mount.Price { return &d.Price }),
)

// Faults gives every fault of a damper, with pointers from the damper.
//
// Both lengths are between the ends' reference points. The rod that comes out
// over the stroke must go back into a body that stands between the ends, so the
// stroke is at most the compressed length less the length of the two ends.
func (d *Damper) Faults() fault.List { return append(d.faultsBesideForces(), d.forceFaults()...) }

// damperJudge makes a Judge of dampers. It remembers sound force tables with what goes
// with them: many dampers of a list have the same, and nothing of a damper takes longer
// to judge.
func damperJudge() func(*Damper) fault.List {
	type forces struct {
		Forces
		gasIncluded bool
		reservoir   damping.Reservoir
	}
	sound := map[forces]struct{}{}
	return func(d *Damper) fault.List {
		faults := d.faultsBesideForces()
		this := forces{d.Forces, d.GasIncluded, d.Reservoir}
		if _, ok := sound[this]; ok {
			return faults
		}
		wrong := d.forceFaults()
		if len(wrong) == 0 && len(d.Forces.Text()) <= longestRemembered {
			if len(sound) >= mostRemembered {
				clear(sound)
			}
			sound[this] = struct{}{}
		}
		return append(faults, wrong...)
	}
}

// faultsBesideForces are all but forceFaults.
func (d *Damper) faultsBesideForces() fault.List {
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

// forceFaults gives what is wrong with the force table and what goes with it. Of
// each field only the first fault is told: a slip in one point often makes several.
func (d *Damper) forceFaults() fault.List {
	if d.Forces == (Forces{}) {
		var faults fault.List
		if d.GasIncluded {
			faults.Add("/gas_included", gasOfNoTable)
		}
		return faults
	}
	table := d.ForceTable()
	var faults fault.List
	told := map[string]bool{}
	for _, f := range table.Faults() {
		field := forceFields[strings.SplitN(f.Pointer, "/", 3)[1]]
		if !told[field] {
			told[field] = true
			f.Pointer = "/" + field
			faults = append(faults, f)
		}
	}
	return faults
}

// forceFields are the fields of a damper by the members of a damping.Table that
// they hold.
var forceFields = map[string]string{"curves": "force_table", "gas_force": "gas_force_n", "test_temperature": "test_temperature_c"}

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
