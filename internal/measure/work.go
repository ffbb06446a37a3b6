package measure

import (
	"math"

	"midstroke/internal/fault"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// AssumedTolerance is the half-width of a reading, and of a gap, that was
// taken without saying how well: common practice, no source. Finding a bolt's
// centre by eye takes most of it.
const AssumedTolerance = unit.Inch / 8

// How far readings may lie apart: common practice, no source. Exactly at the
// limit is within it.
const (
	repeatsLimit    = unit.Inch / 4 // of the same distance on one side
	sidesDifferOver = unit.Inch / 4 // a caution
	sidesLimit      = unit.Inch / 2 // a bent bracket, a sagged spring or a wrong point
	// How far from ride height a constant motion ratio can be relied on.
	ConstantRatioLimit = 75 * unit.Millimetre
)

// Work makes the working length of r, in the order average, path, ends, ride
// height, planned change. Faults are all that there are, with pointers into
// the request's fields that r was made of; where there is one the working is
// empty. Readings that can be made sense of but not relied on are no fault:
// the working's verdict and reasons tell.
func Work(r Readings) (Working, fault.List) {
	if faults := r.check(); len(faults) > 0 {
		return Working{}, faults
	}
	w := Working{PlannedChange: r.PlannedChange}
	tolerance := r.Tolerance
	if tolerance == 0 {
		tolerance = AssumedTolerance
	}
	k := r.average(&w, tolerance)
	r.toPlanes(&k)
	known := r.toRide(&w, &k)
	if known && k.low <= 0 {
		return Working{}, fault.List{fault.New("/readings", nothingLeft)}
	}
	if known {
		w.Value, w.Low, w.High, w.StdUncertainty = k.value, k.low, k.high, math.Sqrt(k.variance)
	}
	w.Steps = k.steps
	if r.Tolerance == 0 {
		w.assume("reading_tolerance_assumed", tolerance)
	}
	if r.Condition.NotAtRide && r.Condition.GapTolerance == 0 && w.GapTolerance != 0 {
		w.assume("gap_tolerance_assumed", w.GapTolerance)
	}
	if k.assumed {
		w.Cautions = append(w.Cautions, note.New("assumed_values",
			note.Len("stack", assumedStack), note.Len("tolerance", assumedStackHalf)))
	}
	r.judgeMounting(&w)
	return w, nil
}

// ToPlanes brings one more length, taped between the same places as r's
// readings and with the tape held alike, to the reference points: it corrects
// for path and ends, not for ride height. Faults in r's tape and ends are those
// that Work finds there too. The result may be nothing or less where the taped
// length is too short for the corrections.
func (r Readings) ToPlanes(taped unit.Length) (unit.Length, fault.List) {
	var faults fault.List
	faults.AddUnder("/upper", r.Upper.check())
	faults.AddUnder("/lower", r.Lower.check())
	r.checkTape(&faults)
	if len(faults) > 0 {
		return 0, faults
	}
	k := reckoning{value: taped, low: taped, high: taped}
	r.toPlanes(&k)
	return k.value, nil
}

func (r *Readings) toPlanes(k *reckoning) {
	k.along(&r.Tape)
	k.toReference("upper", &r.Upper)
	k.toReference("lower", &r.Lower)
}

// average takes the mean of each side and then of the sides, with the bounds
// that tape and eye leave.
func (r *Readings) average(w *Working, tolerance unit.Length) reckoning {
	var sides [Right + 1][]unit.Length
	first := r.Readings[0].Length
	k := reckoning{low: first, high: first, variance: rectangular(tolerance.Mm()) + ofMean(r.Readings)}
	for _, reading := range r.Readings {
		sides[reading.Side] = append(sides[reading.Side], reading.Length)
		k.low, k.high = min(k.low, reading.Length), max(k.high, reading.Length)
	}
	k.widen(tolerance)
	for side, ls := range sides {
		w.judgeRepeats(Side(side), ls)
	}
	left, right := unit.Mean(sides[Left]...), unit.Mean(sides[Right]...)
	if left != 0 && right != 0 {
		k.value = left
		k.say("mean_of_left", "", count(sides[Left]))
		k.value = right
		k.say("mean_of_right", "", count(sides[Right]))
		k.value = unit.Mean(left, right)
		k.say("mean_of_sides", "")
		w.judgeSides((left - right).Abs())
		return k
	}
	for _, ls := range sides {
		switch len(ls) {
		case 0:
		case 1:
			k.value = ls[0]
			k.say("one_reading", "")
		default:
			k.value = unit.Mean(ls...)
			k.say("mean_of_readings", "", count(ls))
		}
	}
	return k
}

// ofMean is the variance of the mean of all readings, mm²: s²/n, where s² is
// their sample variance (JCGM 100:2008, 4.2.3); 0 for one reading.
func ofMean(readings []Reading) float64 {
	n := float64(len(readings))
	if n < 2 {
		return 0
	}
	var mean, squares float64
	for _, reading := range readings {
		mean += reading.Length.Mm() / n
	}
	for _, reading := range readings {
		d := reading.Length.Mm() - mean
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
		values := []note.Value{note.Len("spread", spread), note.Len("limit", repeatsLimit)}
		if side != Unsided {
			values = append(values, note.Word("side", side.String()))
		}
		w.refuse(MeasureAgain, "repeats_apart", values...)
	}
}

// judgeSides judges how far left and right differ.
func (w *Working) judgeSides(difference unit.Length) {
	switch {
	case difference > sidesLimit:
		w.refuse(MeasureAgain, "sides_apart", note.Len("difference", difference), note.Len("limit", sidesLimit))
	case difference > sidesDifferOver:
		w.Cautions = append(w.Cautions, note.New("sides_differ",
			note.Len("difference", difference), note.Len("limit", sidesDifferOver)))
	}
}

// judgeMounting judges what was measured on: kinds of ends, and the damper
// that was in place.
func (r *Readings) judgeMounting(w *Working) {
	for _, end := range [...]struct {
		name  string
		style mount.Style
	}{{"upper", r.Upper.Style}, {"lower", r.Lower.Style}} {
		switch end.style {
		case mount.Fork:
			w.refuse(OutsideMethod, "fork_end", note.Word("end", end.name))
		case mount.SpindleStrut:
			w.refuse(OutsideMethod, "spindle_strut_end", note.Word("end", end.name))
		case mount.NoStyle, mount.Eye, mount.Stud, mount.BarPin:
		}
	}
	if r.OldDamper.CarriesLoad {
		w.refuse(OutsideMethod, "damper_carries_load")
	}
	if r.OldDamper.AtStop {
		w.refuse(MeasureAgain, "damper_at_stop")
	}
}

// refuse gives a reason for a verdict; the gravest verdict stays.
func (w *Working) refuse(v Verdict, code string, values ...note.Value) {
	w.Verdict = max(w.Verdict, v)
	w.Reasons = append(w.Reasons, note.New(code, values...))
}

// assume says which tolerance was taken for want of a stated one.
func (w *Working) assume(code string, tolerance unit.Length) {
	t := note.Len("tolerance", tolerance)
	w.Steps = append(w.Steps, note.Step{Note: note.New(code, t), Result: t, Source: commonPractice})
}
