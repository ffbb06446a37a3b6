package linkage

import (
	"math"

	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// DefaultReserve is what a stop or a strap leaves of the damper's own travel
// where nothing else is asked: 6 mm, the lower end of common practice (6 to 12
// mm, no source).
const DefaultReserve = 6 * unit.Millimetre

// ConstantStops gives the wheel travels of [Sweep.SolidBy] and [Sweep.TightBy]
// where only one motion ratio > 0 is known: z = (margin - reserve)/MR each way, compression
// and extension being what the damper has from ride to its ends. A margin that
// does not hold the reserve gives a stop on the wrong side of ride.
func ConstantStops(compression, extension, reserve unit.Length, motionRatio float64) (bump, droop Stop) {
	return Stop{(compression - reserve).Scale(1 / motionRatio), true},
		Stop{-(extension - reserve).Scale(1 / motionRatio), true}
}

// BumpStop is an elastic stop as it stands at ride. Its reserve is not among
// its own figures: whoever asks by which wheel travel it must be solid takes it
// off the damper's length.
type BumpStop struct {
	// Gap is what is open between the stop and what it strikes.
	Gap unit.Length
	// Height is the stop's own, not squashed.
	Height unit.Length
	// Squash is the fraction of Height that can be squashed before the stop is
	// solid, above 0 and below 1: some 0.5 for rubber and 0.7 for microcellular
	// foam (common practice, no source).
	Squash float64
	// MotionRatio is how far the stop moves over how far the wheel does, > 0.
	MotionRatio float64
}

// Check reports figures that can't be.
func (b BumpStop) Check() fault.List {
	var faults fault.List
	if b.Gap < 0 || b.Gap > farthest {
		faults.Add("/gap", stopGapOutOfRange)
	}
	faults = append(faults, b.CheckOnRod()...)
	checkStopRatio(b.MotionRatio, &faults)
	return faults
}

// CheckOnRod is Check for a stop on the damper's rod, which has neither a gap nor a
// motion ratio of its own.
func (b BumpStop) CheckOnRod() fault.List {
	var faults fault.List
	if b.Height <= 0 || b.Height > farthest {
		faults.Add("/height", stopHeightOutOfRange)
	}
	if !(b.Squash > 0 && b.Squash < 1) {
		faults.Add("/squash", squashOutOfRange)
	}
	return faults
}

// Solid is the height of the stop when it is solid, (1 - q) h.
func (b BumpStop) Solid() unit.Length { return b.Height - b.Height.Scale(b.Squash) }

func checkStopRatio(r float64, faults *fault.List) {
	if !(r > 0 && r <= 10) {
		faults.Add("/motion_ratio", stopRatioOutOfRange)
	}
}

// BumpStopFit is how a bump stop answers to the wheel travel by which it must
// be solid.
type BumpStopFit struct {
	// SolidAt is the wheel travel at which the stop is solid as it stands.
	SolidAt unit.Length
	// InTime says that this is not later than it must be.
	InTime bool
	// Gap is the largest gap with which a stop of this height would be solid in
	// time; negative where even a stop that touches at ride is too late.
	Gap unit.Length
	// Height is the greatest height with which a stop at this gap would be: a higher
	// one squashes farther before it is solid. 0 or less where the gap alone is too long.
	Height unit.Length
	Steps  []note.Step
}

// For judges the stop against the wheel travel by which it must be solid, as
// [Sweep.SolidBy] gives it. With gap G, height h, squash q and motion ratio
// MR_s the stop is solid at
//
//	z = (G + q h)/MR_s
//
// (geometry; q is common practice). b must have passed Check.
func (b BumpStop) For(by unit.Length) BumpStopFit {
	squashed := b.Height.Scale(b.Squash)
	way := by.Scale(b.MotionRatio) // of the stop, when it must be solid
	f := BumpStopFit{
		SolidAt: (b.Gap + squashed).Scale(1 / b.MotionRatio),
		Gap:     way - squashed,
		Height:  (way - b.Gap).Scale(1 / b.Squash),
	}
	f.InTime = b.Gap+squashed <= way
	f.Steps = []note.Step{
		{
			Note: note.New("bump_stop_solid_at", note.Given("gap", b.Gap), note.GivenNum("squash", b.Squash, ""),
				note.Given("height", b.Height), note.GivenNum("motion_ratio", b.MotionRatio, "")),
			Result: note.AtLeast("solid_at", f.SolidAt),
			Source: "geometry; the squash is common practice",
		},
		{
			Note:   note.New("bump_stop_gap", note.AtMost("by", by), note.Given("height", b.Height)),
			Result: note.AtMost("gap", f.Gap),
		},
		{
			Note:   note.New("bump_stop_height", note.AtMost("by", by), note.Given("gap", b.Gap)),
			Result: note.AtMost("height", f.Height),
		},
	}
	return f
}

// Strap is a limit strap's anchors at ride.
type Strap struct {
	// Distance is between the strap's two anchors at ride.
	Distance unit.Length
	// MotionRatio is how far the anchors move apart over how far the wheel falls,
	// > 0.
	MotionRatio float64
	// Stretch is how much longer the strap is when it stops the wheel, as a
	// fraction of its free length: 0.05 to 0.10 in common practice (no source).
	Stretch float64
}

// Check reports figures that can't be.
func (s Strap) Check() fault.List {
	var faults fault.List
	if s.Distance <= 0 || s.Distance > farthest {
		faults.Add("/distance", strapDistanceOutOfRange)
	}
	checkStopRatio(s.MotionRatio, &faults)
	if !(s.Stretch >= 0 && s.Stretch <= 0.5) {
		faults.Add("/stretch", stretchOutOfRange)
	}
	return faults
}

// StrapFit is a strap for the wheel travel by which it must be tight.
type StrapFit struct {
	// Length is the strap's free length between its anchors.
	Length unit.Length
	Steps  []note.Step
}

// For gives the strap's free length for the wheel travel by which it must be
// tight, negative as [Sweep.TightBy] gives it:
//
//	free length = (distance + MR_strap |z|)/(1 + stretch)
//
// (geometry; the stretch is common practice). s must have passed Check.
func (s Strap) For(by unit.Length) StrapFit {
	open := s.Distance - by.Scale(s.MotionRatio)
	// Rounded down: a strap must not be tight too late. The rounding of floating
	// point must not take a whole nanometre off, though.
	const noise = 1e-12
	f := StrapFit{Length: unit.Length(math.Floor(float64(open) / (1 + s.Stretch) * (1 + noise)))}
	travel, apart, length := note.AtMost("by", by.Abs()), note.AtMost("distance", open), note.AtMost("length", f.Length)
	distance, given := note.Given("distance", s.Distance), note.AtMost("distance", open)
	note.Follow(note.Line{Result: apart, Parts: []*note.Value{&distance, &travel}, Of: func(x []float64) float64 { return x[0] + x[1]*s.MotionRatio }})
	note.Follow(note.Line{Result: length, Parts: []*note.Value{&given}, Of: func(x []float64) float64 { return x[0] / (1 + s.Stretch) }})
	f.Steps = []note.Step{
		{
			Note:   note.New("strap_anchors", distance, travel, note.GivenNum("motion_ratio", s.MotionRatio, "")),
			Result: apart,
		},
		{
			Note:   note.New("strap_length", note.Num("stretch", 100*s.Stretch, "%"), given),
			Result: length,
			Source: "geometry; the stretch is common practice",
		},
	}
	return f
}
