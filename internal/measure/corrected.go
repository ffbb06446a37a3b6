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

// A stud's bushing and washer together are taken as about 1/2 in, give or take
// 1/8 in, where either isn't known. Common practice, no source. One known part
// is never mixed with a guess at the other.
const (
	assumedStack     = unit.Inch / 2
	assumedStackHalf = unit.Inch / 8
	// The standard uncertainty takes the same half-width rounded to 0.1 mm.
	assumedStackHalfMm = 3.2
)

// corrected is a length on its way from the tape to the damper's reference
// points at ride height: the readings with the corrections made so far.
type corrected struct {
	value, low, high unit.Length
	// sides are the means of the sides that were measured, one or two, the
	// shorter first. Without sides it is the mean of all readings.
	sides   []sideMean
	steps   []note.Step
	column  []note.ColumnLine // of the steps' results
	told    unit.Length       // the length after the last step
	assumed bool              // a figure that moves the length was assumed
}

// sideMean is the mean of one side's readings with its variance, mm².
// Independent terms add up (JCGM 100:2008, 5.1.2).
type sideMean struct {
	length   unit.Length
	variance float64
}

// addStep adds a step that changed the length so far, and whose result it is.
func (c *corrected) addStep(code note.Code, source string, values ...note.Value) {
	change := c.value - c.told
	c.addStepOf(code, source, func(above []float64, s unit.System) float64 { return above[len(above)-1] + change.In(s) }, values...)
}

// addStepOf adds a step whose result, the length so far, comes from those above by of.
func (c *corrected) addStepOf(code note.Code, source string, of func(above []float64, s unit.System) float64, values ...note.Value) {
	c.steps = append(c.steps, note.Step{Note: note.New(code, values...), Result: note.Len("length", c.value), Source: source})
	c.column = append(c.column, note.ColumnLine{Of: of})
	c.told = c.value
}

// lineUp gives the results of all steps the same decimals, so many that they add up.
func (c *corrected) lineUp() {
	for i := range c.steps {
		c.column[i].Result = &c.steps[i].Result
	}
	note.Column(c.column)
}

// shift moves the length, its bounds and the sides' means alike.
func (c *corrected) shift(by unit.Length) {
	c.value, c.low, c.high = c.value+by, c.low+by, c.high+by
	for i := range c.sides {
		c.sides[i].length += by
	}
}

// widen sets the bounds further apart by half each way.
func (c *corrected) widen(half unit.Length) { c.low, c.high = c.low-half, c.high+half }

// addVariance adds an independent term to the variance of each side's mean.
func (c *corrected) addVariance(term float64) {
	for i := range c.sides {
		c.sides[i].variance += term
	}
}

// rectangular is the variance, mm², of a quantity that lies anywhere within
// half mm of its value with the same probability: half²/3 (JCGM 100:2008,
// 4.3.7).
func rectangular(half float64) float64 { return half * half / 3 }

// projectAlongDamper turns a height into the distance along the damper, L = √(v² + o²) for a
// height v and a sideways offset o. The height's uncertainty counts by v/L,
// the derivative; its bounds go through the formula itself.
func (c *corrected) projectAlongDamper(t *Tape) {
	if !t.Vertical {
		return
	}
	o, height := *t.SidewaysOffset, c.value
	across := note.Given("sideways_offset", o)
	c.value, c.low, c.high = hypot(height, o), hypot(max(0, c.low), o), hypot(c.high, o)
	for i := range c.sides {
		s := &c.sides[i]
		l := hypot(s.length, o)
		ratio := float64(s.length) / float64(l)
		s.length, s.variance = l, s.variance*ratio*ratio
	}
	tall := note.Len("height", height)
	note.Follow(note.Line{Result: note.Len("length", c.value), Parts: []*note.Value{&tall, &across}, Of: func(x []float64) float64 { return math.Hypot(x[0], x[1]) }})
	c.addStepOf("path", "", nil, tall, across)
}

// toReference corrects the length from the plane that the tape was held to at an end
// to the end's reference point.
func (c *corrected) toReference(end string, e *EndReading) {
	switch e.Plane.Or(e.Style) {
	case mount.NearEdge:
		c.shift(half(e.BoltDiameter))
		c.addStep("bolt_radius_added", "", note.Word("end", end), note.Given("bolt", e.BoltDiameter))
	case mount.FarEdge:
		c.shift(-half(e.BoltDiameter))
		c.addStep("bolt_radius_taken_off", "", note.Word("end", end), note.Given("bolt", e.BoltDiameter))
	case mount.SeatFace:
		c.shift(*e.BarOffset)
		c.addStep("bar_offset", "", note.Word("end", end), note.Given("bar_offset", *e.BarOffset))
	case mount.FrameFace:
		c.lessStack(end, e)
	case mount.FrameFarFace:
		c.lessStack(end, e)
		c.shift(-e.Plate)
		c.addStep("plate", "", note.Word("end", end), note.Given("plate", e.Plate))
	case mount.StudTip:
		c.shift(-e.StudLength)
		c.addStep("stud_length", "", note.Word("end", end), note.Given("stud_length", e.StudLength))
	case mount.StylesOwn, mount.BoltCentre, mount.BarCentre, mount.InnerWasher:
	}
}

// toMovedMounts corrects the length for a planned move of the mounts.
func (c *corrected) toMovedMounts(apart unit.Length) {
	if apart == 0 {
		return
	}
	c.shift(apart)
	code := note.Code("planned_mounts_apart")
	if apart < 0 {
		code = "planned_mounts_together"
	}
	c.addStep(code, "", note.Given("by", apart.Abs()))
}

// lessStack takes a stud's bushing and washer off.
func (c *corrected) lessStack(end string, e *EndReading) {
	if e.BushingThickness > 0 && e.WasherThickness > 0 {
		c.shift(-e.BushingThickness - e.WasherThickness)
		c.addStep("stud_stack", "", note.Word("end", end),
			note.Given("bushing", e.BushingThickness), note.Given("washer", e.WasherThickness))
		return
	}
	c.shift(-assumedStack)
	c.widen(assumedStackHalf)
	c.addVariance(rectangular(assumedStackHalfMm))
	c.assumed = true
	c.addStep("stud_stack_assumed", commonPractice, note.Word("end", end),
		note.Len("stack", assumedStack), note.Len("tolerance", assumedStackHalf))
}

// half gives l/2, half to even.
func half(l unit.Length) unit.Length { return unit.Mean(0, l) }

// hypot gives √(a² + b²) to the nearest nanometre, for lengths of 0 up to some
// times unit.MaxLength. There are no ties, as the square of a half isn't whole.
func hypot(a, b unit.Length) unit.Length {
	aHi, aLo := bits.Mul64(uint64(a), uint64(a))
	bHi, bLo := bits.Mul64(uint64(b), uint64(b))
	lo, carry := bits.Add64(aLo, bLo, 0)
	hi, _ := bits.Add64(aHi, bHi, carry)
	// A float64 comes within a few nanometres: the search starts at or below
	// the root.
	root := uint64(max(0, math.Hypot(float64(a), float64(b))-4))
	for {
		// root is the nearest once root² + root + 1/4 > a² + b².
		h, l := bits.Mul64(root, root+1)
		if h > hi || h == hi && l >= lo {
			return unit.Length(root)
		}
		root++
	}
}
