package measure

import (
	"math"

	"midstroke/internal/fault"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// AssumedTolerance is the half-width of a reading, and of a gap, where nothing
// was said of it: common practice, no source. Most of it goes into finding a
// bolt's centre by eye.
const AssumedTolerance = unit.Inch / 8

// How far readings may lie apart: common practice, no source. Exactly at the
// limit is within it.
const (
	repeatsLimit    = unit.Inch / 4 // of the same distance on one side
	sidesDifferOver = unit.Inch / 4 // a caution
	sidesLimit      = unit.Inch / 2 // a bent bracket, a sagged spring or a wrong point
	// ConstantRatioLimit is how far from ride height a constant motion ratio
	// can be relied on.
	ConstantRatioLimit = 75 * unit.Millimetre
)

// WorkingLength computes the working length of r, in the order average, path, ends, planned
// move of the mounts, ride height, planned change. It gives every fault there is, with pointers into the
// request's fields that r was made of; with faults the working is empty.
// Readings that can be understood but not relied on are no fault: the working's
// verdict and reasons tell.
func WorkingLength(r Readings) (Working, fault.List) {
	if faults := r.check(); len(faults) > 0 {
		return Working{}, faults
	}
	w := Working{PlannedChange: r.PlannedChange, TapeLeanDeg: -1}
	tolerance := r.Tolerance
	if tolerance == 0 {
		tolerance = AssumedTolerance
	}
	c := r.average(&w, tolerance)
	if r.Tape.Vertical {
		w.TapeLeanDeg = math.Atan2(r.Tape.SidewaysOffset.Mm(), c.value.Mm()) * 180 / math.Pi
	}
	r.toPlanes(&c)
	known := r.toRide(&w, &c)
	if known && c.low <= 0 {
		return Working{}, fault.List{fault.New("/readings", nothingLeft)}
	}
	if known {
		w.Value, w.Low, w.High = c.value, c.low, c.high
		w.Shorter, w.Longer = c.sides[0].mean(), c.sides[len(c.sides)-1].mean()
	}
	c.lineUp()
	w.Steps = c.steps
	if r.Tolerance == 0 {
		w.assume("reading_tolerance_assumed", tolerance)
	}
	if r.Condition.NotAtRide && r.Condition.GapTolerance == 0 && w.GapTolerance != 0 {
		w.assume("gap_tolerance_assumed", w.GapTolerance)
	}
	if c.assumed {
		w.Cautions = append(w.Cautions, note.New("assumed_values",
			note.Len("stack", assumedStack), note.Len("tolerance", assumedStackHalf)))
	}
	r.judgeMounting(&w)
	return w, nil
}

func (s sideMean) mean() Mean { return Mean{s.length, math.Sqrt(s.variance)} }

// ToPlanes brings one more length to the reference points, taped between the
// same places as r's readings and with the tape held alike. It corrects for path,
// ends and a planned move of the mounts, not for ride height. The faults of r's tape and ends are the same
// that WorkingLength finds. The result may be 0 or less where the taped length is too
// short for the corrections.
func (r Readings) ToPlanes(taped unit.Length) (unit.Length, fault.List) {
	var faults fault.List
	faults.AddUnder("/upper", r.Upper.check())
	faults.AddUnder("/lower", r.Lower.check())
	r.checkTape(&faults)
	if len(faults) > 0 {
		return 0, faults
	}
	c := corrected{value: taped, low: taped, high: taped}
	r.toPlanes(&c)
	return c.value, nil
}

func (r *Readings) toPlanes(c *corrected) {
	c.projectAlongDamper(&r.Tape)
	c.toReference("upper", &r.Upper)
	c.toReference("lower", &r.Lower)
	c.toMovedMounts(r.PlannedMountMove)
}

// average takes the mean of each side and then of the sides, with the bounds
// that tape and eye leave.
func (r *Readings) average(w *Working, tolerance unit.Length) corrected {
	first := r.Readings[0].Length
	c := corrected{low: first, high: first}
	for _, reading := range r.Readings {
		c.low, c.high = min(c.low, reading.Length), max(c.high, reading.Length)
	}
	c.widen(tolerance)
	for _, side := range [...]Side{Unsided, Left, Right} {
		ls := r.lengthsOf(side)
		if len(ls) == 0 {
			continue
		}
		w.judgeRepeats(side, ls)
		c.value = unit.Mean(ls...)
		c.sides = append(c.sides, sideMean{c.value, rectangular(tolerance.Mm()) + ofMean(ls)})
		c.addMeanStep(side, ls, len(ls) < len(r.Readings))
	}
	if len(c.sides) == 2 {
		left, right := c.sides[0].length, c.sides[1].length
		c.value = unit.Mean(left, right)
		c.addStepOf("mean_of_sides", "", func(above []float64, _ unit.System) float64 { return (above[0] + above[1]) / 2 })
		w.judgeSides((left - right).Abs())
		if right < left {
			c.sides[0], c.sides[1] = c.sides[1], c.sides[0]
		}
	}
	return c
}

// lengthsOf gives the readings of one side.
func (r *Readings) lengthsOf(side Side) []unit.Length {
	var lengths []unit.Length
	for _, reading := range r.Readings {
		if reading.Side == side {
			lengths = append(lengths, reading.Length)
		}
	}
	return lengths
}

// addMeanStep adds the step of one side's mean; both says that there are two sides.
func (c *corrected) addMeanStep(side Side, ls []unit.Length, both bool) {
	switch {
	case both && side == Left:
		c.addStepOf("mean_of_left", "", nil, count(ls))
	case both:
		c.addStepOf("mean_of_right", "", nil, count(ls))
	case len(ls) == 1:
		c.addStepOf("one_reading", "", nil)
	default:
		c.addStepOf("mean_of_readings", "", nil, count(ls))
	}
}

// ofMean is the variance of the mean of one side's readings, mm²: s²/n, where
// s² is their sample variance (JCGM 100:2008, 4.2.3); 0 for one reading. A
// difference between the sides is no random error and doesn't enter.
func ofMean(ls []unit.Length) float64 {
	n := float64(len(ls))
	if n < 2 {
		return 0
	}
	var mean, squares float64
	for _, l := range ls {
		mean += l.Mm() / n
	}
	for _, l := range ls {
		d := l.Mm() - mean
		squares += d * d
	}
	return squares / (n - 1) / n
}

func count(ls []unit.Length) note.Value { return note.Num("count", float64(len(ls)), "") }

// judgeRepeats judges how far readings of one side lie apart.
func (w *Working) judgeRepeats(side Side, ls []unit.Length) {
	if len(ls) < 2 {
		return
	}
	least, greatest := ls[0], ls[0]
	for _, l := range ls {
		least, greatest = min(least, l), max(greatest, l)
	}
	if spread := greatest - least; spread > repeatsLimit {
		values := []note.Value{note.AtLeast("spread", spread), note.Size("limit", repeatsLimit)}
		if side != Unsided {
			values = append(values, note.Word("side", side.String()))
		}
		w.addReason(MeasureAgain, "repeats_apart", values...)
	}
}

// judgeSides judges how far left and right differ.
func (w *Working) judgeSides(difference unit.Length) {
	switch {
	case difference > sidesLimit:
		w.addReason(MeasureAgain, "sides_apart", note.AtLeast("difference", difference), note.Size("limit", sidesLimit))
	case difference > sidesDifferOver:
		w.Cautions = append(w.Cautions, note.New("sides_differ",
			note.AtLeast("difference", difference), note.Size("limit", sidesDifferOver)))
	}
}

// outside says why an end of a style outside the method is refused.
var outside = map[mount.Style]note.Code{mount.Fork: "fork_end", mount.SpindleStrut: "spindle_strut_end"}

// judgeMounting judges the kinds of ends and the damper that was in place.
func (r *Readings) judgeMounting(w *Working) {
	for _, end := range [...]struct {
		name  string
		style mount.Style
	}{{"upper", r.Upper.Style}, {"lower", r.Lower.Style}} {
		if why, ok := outside[end.style]; ok {
			w.addReason(OutsideMethod, why, note.Word("end", end.name))
		}
	}
	if r.OldDamper.CarriesLoad {
		w.addReason(OutsideMethod, "damper_carries_load")
	}
	if r.OldDamper.AtStop {
		w.addReason(MeasureAgain, "damper_at_stop")
	}
}

// addReason gives a reason for a verdict, MeasureAgain or OutsideMethod. OutsideMethod
// stays, whatever follows.
func (w *Working) addReason(v Verdict, code note.Code, values ...note.Value) {
	if w.Verdict != OutsideMethod {
		w.Verdict = v
	}
	w.Reasons = append(w.Reasons, note.New(code, values...))
}

// assume says which tolerance was taken because none was stated.
func (w *Working) assume(code note.Code, tolerance unit.Length) {
	t := note.Len("tolerance", tolerance)
	w.Steps = append(w.Steps, note.Step{Note: note.New(code, t), Result: t, Source: commonPractice})
}
