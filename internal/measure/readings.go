// Package measure turns readings into the working length of the damper: the
// distance between its two reference points with the vehicle at ride height. It
// tells how far off that may be, how the two sides differ, and every step.
package measure

import (
	"midstroke/internal/enum"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// Readings is everything that was taken on the vehicle for one place of a
// damper. A length or ratio of 0 was not given; where 0 is a value, a nil
// pointer is what was not given.
type Readings struct {
	// Readings are 1 to MaxReadings of the same distance, each above 0. Either
	// all of them name their side or none does.
	Readings []Reading
	// Tolerance is the half-width of what tape and eye can't tell, over both
	// ends together; AssumedTolerance where it isn't given.
	Tolerance unit.Length

	Upper, Lower EndReading
	Tape         Tape
	Condition    Condition

	// MotionRatio is damper travel over wheel travel, above 0 and at most
	// MaxMotionRatio. Tolerance is the half-width of it, less than the ratio.
	MotionRatio, MotionRatioTolerance float64
	// HasLinkage says that the suspension's geometry is known and replaces the
	// motion ratio: the caller corrects for ride height and for the planned
	// change.
	HasLinkage bool
	// PlannedChange is the change in body height still to come, at the wheel:
	// positive raises the body.
	PlannedChange unit.Length
	// PlannedMountMove is a move of the mounts still to come, along the damper:
	// positive moves them apart. There is none with a linkage, whose points it
	// would change.
	PlannedMountMove unit.Length

	OldDamper OldDamper
}

// MaxReadings is how many readings of one distance are taken.
const MaxReadings = 8

// A Reading is one distance off the tape.
type Reading struct {
	Length unit.Length
	Side   Side
}

// Side is the side of the vehicle that a reading was taken on.
type Side uint8

// The sides; Unsided where nothing was said.
const (
	Unsided Side = iota
	Left
	Right
)

// Sides names the sides in requests and answers.
var Sides = enum.Names[Side]{Unsided: "", Left: "left", Right: "right"}

// String gives "left", "right" or "".
func (s Side) String() string { return Sides[s] }

// EndReading is one end of the place: what it is, and what the tape was held
// to there.
type EndReading struct {
	Style mount.Style
	Plane mount.Plane
	// BoltDiameter is for the planes at the bolt's edges.
	BoltDiameter unit.Length
	// BarOffset is how far the bar's axis lies beyond its seat face, seen from
	// the other end: positive where the axis is the farther. Nil is not given.
	BarOffset *unit.Length
	// A stud's parts between the washer face nearest the damper and the plane
	// that was taped to: the bushing as compressed, the washer, the frame's
	// plate, and the stud from that face to its tip.
	BushingThickness, WasherThickness, Plate, StudLength unit.Length
}

// Tape says how the tape ran.
type Tape struct {
	// Vertical is set where a height was taken and not the distance along the
	// damper.
	Vertical bool
	// SidewaysOffset is the distance between the two ends as seen from above,
	// 0 or more. Vertical needs it; nil is not given.
	SidewaysOffset *unit.Length
}

// Condition says how the vehicle stood. The gaps are from the wheel's centre
// to the arch above it.
type Condition struct {
	// NotAtRide is set where the vehicle didn't stand at ride height, loaded
	// and level.
	NotAtRide bool
	// ArchGap is the gap while measuring, ArchGapAtRide the one at ride
	// height.
	ArchGap, ArchGapAtRide unit.Length
	// GapTolerance is the half-width of each gap; AssumedTolerance where it
	// isn't given.
	GapTolerance unit.Length
}

// OldDamper is what is known of the damper that was in place.
type OldDamper struct {
	// AtStop is set where it was bottomed or topped out.
	AtStop bool
	// CarriesLoad is set where the vehicle would drop without it.
	CarriesLoad bool
}

// Verdict says whether a working length can be relied on.
type Verdict uint8

// The verdicts. Any but Measured has reasons.
const (
	// Measured lengths can be used.
	Measured Verdict = iota
	// MeasureAgain lengths would be a guess.
	MeasureAgain
	// OutsideMethod lengths mean nothing for this kind of mounting.
	OutsideMethod
)

// Working is the working length and how it came about.
type Working struct {
	Verdict Verdict
	// Reasons say why the verdict isn't Measured, and what to do instead.
	Reasons []note.Note

	// Value is the mean of the sides. It lies between Low and High, which bound
	// it in the worst case. All three stand whatever the verdict. They are 0
	// only where a figure is missing to bring the readings to ride height. With
	// a linkage they are at the height at which the readings were taken.
	Value, Low, High unit.Length
	// Shorter and Longer are the means of the two sides, both the same where no
	// sides or only one were told. Both dampers of an axle are alike, so each
	// side must fit: compression counts from Shorter, extension from Longer.
	Shorter, Longer Mean
	// RatioShift is by how many mm the length changes where the motion ratio
	// is larger by its tolerance. 0 with a linkage.
	RatioShift float64
	// TapeLeanDeg is the damper's angle from upright as it follows from a tape
	// held vertical, negative where the tape was held along the damper.
	TapeLeanDeg float64

	// Steps lead to Value: each has the length so far as its result, named
	// "length", or an assumed "tolerance".
	Steps    []note.Step
	Cautions []note.Note

	// RideDelta is the gap while measuring less the gap at ride height,
	// GapTolerance the half-width of each of the two; both 0 at ride height.
	// PlannedChange is the one of the readings. Without a linkage Value has
	// them in it; with one the caller brings Value to the height wanted.
	RideDelta, GapTolerance, PlannedChange unit.Length
}

// Mean is the mean of one side's readings at the reference points.
type Mean struct {
	Length unit.Length
	// StdUncertainty is the standard uncertainty of Length in mm, as JCGM
	// 100:2008 means it, without the motion ratio's term, which RatioShift has.
	// With a linkage it is also without the terms of the ride height.
	StdUncertainty float64
}
