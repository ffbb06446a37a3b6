package measure

import (
	"math"
	"math/bits"

	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// Where the rules came from.
const commonPractice = "common practice, no source"

// What is taken for a stud's bushing and washer together where either isn't
// known: about 1/2 in, give or take 1/8 in. Common practice, no source. One
// known part is never mixed with a guess at the other.
const (
	assumedStack     = unit.Inch / 2
	assumedStackHalf = unit.Inch / 8
	// The same half-width rounded to the tenth of a millimetre, as it goes
	// into the standard uncertainty.
	assumedStackHalfMm = 3.2
)

// A reckoning is a length on its way from the tape to the reference points.
type reckoning struct {
	value, low, high unit.Length
	// variance is the square of the standard uncertainty, mm². Terms that are
	// independent add up (JCGM 100:2008, 5.1.2).
	variance float64
	steps    []note.Step
	assumed  bool // a figure that moves the length was assumed
}

// say adds a step whose result is the length so far.
func (k *reckoning) say(code, source string, values ...note.Value) {
	k.steps = append(k.steps, note.Step{Note: note.New(code, values...), Result: note.Len("length", k.value), Source: source})
}

// shift moves the length and its bounds alike.
func (k *reckoning) shift(by unit.Length) {
	k.value, k.low, k.high = k.value+by, k.low+by, k.high+by
}

// widen sets the bounds further apart by half each way.
func (k *reckoning) widen(half unit.Length) { k.low, k.high = k.low-half, k.high+half }

// rectangular is the variance, mm², of a quantity that lies anywhere within
// half mm of its value with the same probability: half²/3 (JCGM 100:2008,
// 4.3.7).
func rectangular(half float64) float64 { return half * half / 3 }

// along makes of a height the distance along the damper, L = √(v² + o²) for a
// height v and a sideways offset o. The height's uncertainty counts by v/L,
// the derivative; its bounds are carried through the formula itself.
func (k *reckoning) along(t *Tape) {
	if !t.Vertical {
		return
	}
	o, height := *t.SidewaysOffset, k.value
	k.value, k.low, k.high = hypot(height, o), hypot(max(0, k.low), o), hypot(k.high, o)
	ratio := float64(height) / float64(k.value)
	k.variance *= ratio * ratio
	k.say("path", "", note.Len("height", height), note.Len("sideways_offset", o))
}

// toReference brings the length from what was taped to at an end to the end's
// reference point.
func (k *reckoning) toReference(end string, e *EndReading) {
	switch e.Plane.Or(e.Style) {
	case mount.NearEdge:
		k.shift(half(e.BoltDiameter))
		k.say("bolt_radius_added", "", note.Word("end", end), note.Len("bolt", e.BoltDiameter))
	case mount.FarEdge:
		k.shift(-half(e.BoltDiameter))
		k.say("bolt_radius_taken_off", "", note.Word("end", end), note.Len("bolt", e.BoltDiameter))
	case mount.SeatFace:
		k.shift(*e.BarOffset)
		k.say("bar_offset", "", note.Word("end", end), note.Len("bar_offset", *e.BarOffset))
	case mount.FrameFace:
		k.lessStack(end, e)
	case mount.FrameFarFace:
		k.lessStack(end, e)
		k.shift(-e.Plate)
		k.say("plate", "", note.Word("end", end), note.Len("plate", e.Plate))
	case mount.StudTip:
		k.shift(-e.StudLength)
		k.say("stud_length", "", note.Word("end", end), note.Len("stud_length", e.StudLength))
	case mount.StylesOwn, mount.BoltCentre, mount.BarCentre, mount.InnerWasher:
	}
}

// lessStack takes a stud's bushing and washer off.
func (k *reckoning) lessStack(end string, e *EndReading) {
	if e.BushingThickness > 0 && e.WasherThickness > 0 {
		k.shift(-e.BushingThickness - e.WasherThickness)
		k.say("stud_stack", "", note.Word("end", end),
			note.Len("bushing", e.BushingThickness), note.Len("washer", e.WasherThickness))
		return
	}
	k.shift(-assumedStack)
	k.widen(assumedStackHalf)
	k.variance += rectangular(assumedStackHalfMm)
	k.assumed = true
	k.say("stud_stack_assumed", commonPractice, note.Word("end", end),
		note.Len("stack", assumedStack), note.Len("tolerance", assumedStackHalf))
}

// half gives l/2, half to even.
func half(l unit.Length) unit.Length { return unit.Mean(0, l) }

// hypot gives √(a² + b²) to the nearest nanometre, for lengths of 0 up to some
// times unit.MaxLength. There are no ties: the square of a half isn't whole.
func hypot(a, b unit.Length) unit.Length {
	aHi, aLo := bits.Mul64(uint64(a), uint64(a))
	bHi, bLo := bits.Mul64(uint64(b), uint64(b))
	lo, carry := bits.Add64(aLo, bLo, 0)
	hi, _ := bits.Add64(aHi, bHi, carry)
	// A float64 comes within a few nanometres; less than the root, or it, is
	// where the search begins.
	root := uint64(max(0, math.Hypot(float64(a), float64(b))-4))
	for {
		// The nearest is root where root² + root + 1/4 > a² + b².
		h, l := bits.Mul64(root, root+1)
		if h > hi || h == hi && l >= lo {
			return unit.Length(root)
		}
		root++
	}
}
