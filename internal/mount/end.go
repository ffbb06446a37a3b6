package mount

import "midstroke/internal/unit"

// BoreIs says how a list gives a bore: by its true size, or by the bolt that
// it is for.
type BoreIs uint8

// Actual is the zero value: a bore is taken at its word unless the list says
// that it is nominal.
const (
	Actual BoreIs = iota
	Nominal
)

// String gives "actual" or "nominal".
func (b BoreIs) String() string {
	if b == Nominal {
		return "nominal"
	}
	return "actual"
}

// ParseBoreIs reads "actual" or "nominal".
func ParseBoreIs(name string) (BoreIs, bool) {
	switch name {
	case "actual":
		return Actual, true
	case "nominal":
		return Nominal, true
	}
	return Actual, false
}

// End is one end of a damper, or one side of an adapter. It is comparable:
// two ends that are equal bolt up alike, so an answer works each out once. A
// length of 0 is not known.
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

	// A bar pin: its holes' spacing and diameter, and by how much slotted holes
	// let the spacing differ, in all: from half of Slot less than HoleSpacing to
	// half of it more.
	HoleSpacing unit.Length
	Slot        unit.Length
	Hole        unit.Length
}

// Shear says through how many planes the bolt is sheared; where that isn't said
// it is reckoned as one, the weaker.
type Shear uint8

// The ways a bolt is held: in one plate or between two.
const (
	NoShear Shear = iota
	SingleShear
	DoubleShear
)

var shearNames = [...]string{NoShear: "", SingleShear: "single", DoubleShear: "double"}

// String gives "single", "double" or "".
func (s Shear) String() string { return shearNames[s] }

// ParseShear reads "single" or "double".
func ParseShear(name string) (Shear, bool) {
	i, ok := indexOf(shearNames[:], name)
	return Shear(i), ok
}

// Bracket is one end of the place on the vehicle. A length of 0 was not given.
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
