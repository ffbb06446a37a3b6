package mount

import (
	"midstroke/internal/enum"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// BoreIs says how a list gives a bore: by its true size, or by the bolt that
// it is for.
type BoreIs uint8

// Actual is the zero value: a bore is its true size unless the list says that
// it is nominal.
const (
	Actual BoreIs = iota
	Nominal
)

// BoreIsNames names the ways to give a bore.
var BoreIsNames = enum.Names[BoreIs]{Actual: "actual", Nominal: "nominal"}

// String gives "actual" or "nominal".
func (b BoreIs) String() string { return BoreIsNames[b] }

// End is one end of a damper, or one side of an adapter. It is comparable:
// equal ends bolt up alike, so an answer computes each only once. A length of 0
// is not known.
type End struct {
	Style Style

	// An eye: the bushing's bore and its width along the bolt.
	Bore   unit.Length
	BoreIs BoreIs
	Width  unit.Length

	// A stud: its thread, the length of it that a stack may take, from the
	// shoulder that the innermost washer rests on to the tip, and the diameter
	// of the bushing's spigot in the frame's hole.
	Thread       Thread
	UsableLength unit.Length
	Spigot       unit.Length

	// A bar pin: its holes' spacing and diameter, and the play of slotted holes: the
	// spacing may be up to half of Slot smaller or larger than HoleSpacing.
	HoleSpacing unit.Length
	Slot        unit.Length
	Hole        unit.Length
}

// Measure is one measure that ends of a style have. Exactly one of Length,
// Thread and BoreIs is set; it gives the place in an End that holds the value.
type Measure struct {
	// Name is its name in requests, answers and files, in snake_case.
	Name  string
	Style Style
	// Needed says that an end which is asked about alone must have it. A
	// catalogue may leave it out.
	Needed bool
	// ZeroIsNone says that 0 means "none" and not "not known".
	ZeroIsNone bool
	// Hole says that a bolt goes through it.
	Hole bool

	Length func(*End) *unit.Length
	Thread func(*End) *Thread
	BoreIs func(*End) *BoreIs

	// About says what it is. Its words are those of a catalogue's columns.
	About note.Code
}

// measures says which measure belongs to which style. It is the one such table.
var measures = []Measure{
	{Name: "bore", Style: Eye, Needed: true, Hole: true, Length: func(e *End) *unit.Length { return &e.Bore }, About: "field_bore"},
	{Name: "bore_is", Style: Eye, BoreIs: func(e *End) *BoreIs { return &e.BoreIs }, About: "field_bore_is"},
	{Name: "width", Style: Eye, Length: func(e *End) *unit.Length { return &e.Width }, About: "field_width"},
	{Name: "thread", Style: Stud, Needed: true, Thread: func(e *End) *Thread { return &e.Thread }, About: "field_thread"},
	{Name: "usable_length", Style: Stud, Length: func(e *End) *unit.Length { return &e.UsableLength }, About: "field_usable_length"},
	{Name: "spigot", Style: Stud, Length: func(e *End) *unit.Length { return &e.Spigot }, About: "field_spigot"},
	{Name: "hole_spacing", Style: BarPin, Needed: true, Length: func(e *End) *unit.Length { return &e.HoleSpacing }, About: "field_hole_spacing"},
	{Name: "slot", Style: BarPin, ZeroIsNone: true, Length: func(e *End) *unit.Length { return &e.Slot }, About: "field_slot"},
	{Name: "hole", Style: BarPin, Hole: true, Length: func(e *End) *unit.Length { return &e.Hole }, About: "field_hole"},
}

// Measures lists the measures of the ends of all styles, those of one style
// side by side. Callers change nothing in it.
func Measures() []Measure { return measures }

// Given says whether the end has the measure.
func (m *Measure) Given(e *End) bool {
	switch {
	case m.Length != nil:
		return *m.Length(e) != 0
	case m.Thread != nil:
		return *m.Thread(e) != Thread{}
	}
	return *m.BoreIs(e) != Actual
}

// Shear says through how many planes the bolt is sheared. Where it isn't given
// one plane is assumed, the weaker case.
type Shear uint8

// The ways a bolt is held: in one plate or between two.
const (
	NoShear Shear = iota
	SingleShear
	DoubleShear
)

// Shears names the ways a bolt is held.
var Shears = enum.Names[Shear]{NoShear: "", SingleShear: "single", DoubleShear: "double"}

// String gives "single", "double" or "".
func (s Shear) String() string { return Shears[s] }

// Bracket is the place on the vehicle for one end. A length of 0 was not given.
type Bracket struct {
	Bolt    Bolt
	Opening unit.Length // inside width between the plates
	Plate   unit.Length // thickness of one plate
	Washer  unit.Length // thickness of one washer
	Shear   Shear
	Grade   string // property class or SAE grade of the bolt, "" unknown

	HoleSpacing unit.Length // of the two holes that take a bar pin

	FrameHole      unit.Length // that takes a stud's bushing spigot
	FrameThickness unit.Length
	Bushing        unit.Length // thickness of one of a stud's bushings, compressed
}
