package measure_test

import (
	"fmt"
	"math"
	"math/big"
	"reflect"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	_ "midstroke/internal/seeded"
	"midstroke/internal/unit"
)

// length draws a whole number of 1/64 in or of tenths of a millimetre.
func length(t *rapid.T, label string, least, most unit.Length) unit.Length {
	grain := rapid.SampledFrom([]unit.Length{inch / 64, mm / 10}).Draw(t, label+" grain")
	return grain * unit.Length(rapid.Int64Range(int64((least+grain-1)/grain), int64(most/grain)).Draw(t, label))
}

func drawEnd(t *rapid.T, label string) measure.EndReading {
	offset := length(t, label+" offset", -2*inch, 2*inch)
	e := measure.EndReading{
		Style:        rapid.SampledFrom([]mount.Style{mount.Eye, mount.Stud, mount.BarPin, mount.Fork, mount.SpindleStrut}).Draw(t, label),
		BoltDiameter: length(t, label+" bolt", 6*mm, inch), BarOffset: &offset,
		Plate: length(t, label+" plate", mm, 10*mm), StudLength: length(t, label+" stud", 10*mm, 2*inch),
	}
	if planes := e.Style.Planes(); len(planes) > 0 {
		e.Plane = rapid.SampledFrom(append(planes, mount.StylesOwn)).Draw(t, label+" plane")
	}
	if rapid.Bool().Draw(t, label+" bushing known") {
		e.BushingThickness = length(t, label+" bushing", 5*mm, inch)
	}
	if rapid.Bool().Draw(t, label+" washer known") {
		e.WasherThickness = length(t, label+" washer", mm, 4*mm)
	}
	return e
}

// drawReadings draws a request that has no faults.
func drawReadings(t *rapid.T) measure.Readings {
	r := measure.Readings{
		Upper: drawEnd(t, "upper"), Lower: drawEnd(t, "lower"),
		Tolerance:            length(t, "tolerance", 0, inch/4),
		MotionRatio:          rapid.Float64Range(0.1, 1.5).Draw(t, "motion ratio"),
		MotionRatioTolerance: rapid.Float64Range(0, 0.09).Draw(t, "its tolerance"),
		HasLinkage:           rapid.Bool().Draw(t, "linkage"),
		PlannedChange:        length(t, "planned change", -3*inch, 3*inch),
	}
	if !r.HasLinkage && rapid.Bool().Draw(t, "mounts moved") {
		r.PlannedMountMove = length(t, "mount move", -2*inch, 2*inch)
	}
	sided := rapid.Bool().Draw(t, "sided")
	middle := length(t, "about", 12*inch, 40*inch)
	for range rapid.IntRange(1, 8).Draw(t, "readings") {
		one := measure.Reading{Length: middle + length(t, "reading", -inch/4, inch/4)}
		if sided {
			one.Side = measure.Side(rapid.IntRange(1, 2).Draw(t, "side"))
		}
		r.Readings = append(r.Readings, one)
	}
	if rapid.Bool().Draw(t, "vertical") {
		offset := length(t, "sideways", 0, 20*inch)
		r.Tape = measure.Tape{Vertical: true, SidewaysOffset: &offset}
	}
	if rapid.Bool().Draw(t, "not at ride") {
		r.Condition = measure.Condition{
			NotAtRide: true, ArchGap: length(t, "gap", 12*inch, 16*inch), ArchGapAtRide: length(t, "gap at ride", 12*inch, 16*inch),
			GapTolerance: length(t, "gap tolerance", 0, inch/4),
		}
	}
	return r
}

func workable(t *rapid.T, r measure.Readings) measure.Working {
	w, faults := measure.WorkingLength(r)
	if len(faults) > 0 {
		t.Fatalf("refused: %v", faults)
	}
	return w
}

// The value lies within its bounds, and what is said can be said.
func TestBoundsAndWords(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := workable(t, drawReadings(t))
		if w.Low > w.Value || w.Value > w.High || w.Low <= 0 {
			t.Fatalf("low %v, value %v, high %v", w.Low, w.Value, w.High)
		}
		if w.Shorter.Length > w.Value || w.Value > w.Longer.Length || w.Low > w.Shorter.Length || w.Longer.Length > w.High {
			t.Fatalf("low %v, sides %v and %v, value %v, high %v", w.Low, w.Shorter.Length, w.Longer.Length, w.Value, w.High)
		}
		if !(w.Shorter.StdUncertainty > 0) || (w.Verdict == measure.Measured) != (len(w.Reasons) == 0) {
			t.Fatalf("u = %v, %v with %d reasons", w.Shorter.StdUncertainty, w.Verdict, len(w.Reasons))
		}
		notes := append(append([]note.Note{}, w.Reasons...), w.Cautions...)
		for _, s := range w.Steps {
			notes = append(notes, s.Note)
		}
		for _, n := range notes {
			if text := n.Text("en", unit.Inches); text == string(n.Code) || strings.ContainsAny(text, "{}") {
				t.Fatalf("%s has no words for its values: %s", n.Code, text)
			}
		}
		var last unit.Length
		for _, s := range w.Steps {
			if s.Result.Name == "length" {
				last = s.Result.Length
			}
		}
		if last != w.Value {
			t.Fatalf("the steps end with %d nm and the value is %d nm", last, w.Value)
		}
	})
}

// The order of the readings is no part of the answer, and the input stays as
// it was.
func TestOrderOfReadings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawReadings(t)
		before := append([]measure.Reading(nil), r.Readings...)
		want := workable(t, r)
		if !reflect.DeepEqual(before, r.Readings) {
			t.Fatal("the readings were changed")
		}
		r.Readings = rapid.Permutation(r.Readings).Draw(t, "another order")
		got := workable(t, r)
		// A sum of float64s depends on its order in the last bits.
		for _, means := range [][2]*measure.Mean{{&got.Shorter, &want.Shorter}, {&got.Longer, &want.Longer}} {
			if math.Abs(means[0].StdUncertainty-means[1].StdUncertainty) > 1e-9 {
				t.Fatalf("u = %v and %v", means[0].StdUncertainty, means[1].StdUncertainty)
			}
			means[0].StdUncertainty = means[1].StdUncertainty
		}
		if !reflect.DeepEqual(got, want) {
			t.Fatalf("%+v\nand %+v", got, want)
		}
	})
}

// With the tape along the damper, readings that are all longer by as much make
// a length that is longer by as much.
func TestShift(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawReadings(t)
		r.Tape = measure.Tape{}
		before := workable(t, r)
		// An even number of nanometres, so that what is rounded half to even
		// goes the same way.
		by := 2 * length(t, "by", 0, 10*inch)
		r.Readings = append([]measure.Reading(nil), r.Readings...)
		for i := range r.Readings {
			r.Readings[i].Length += by
		}
		after := workable(t, r)
		if after.Value-before.Value != by || after.Low-before.Low != by || after.High-before.High != by {
			t.Fatalf("longer by %v, and the length by %v within %v and %v", by, after.Value-before.Value, after.Low-before.Low, after.High-before.High)
		}
		if math.Abs(uncertainty(after)-uncertainty(before)) > 1e-9 || after.Verdict != before.Verdict {
			t.Fatalf("u = %v and %v, %v and %v", uncertainty(before), uncertainty(after), before.Verdict, after.Verdict)
		}
	})
}

// Whether a form is filled in with inches or millimetres is no part of the
// answer: the same figures written in both give the same.
func TestUnitsDoNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawReadings(t)
		inInches := rewritten(t, r, func(l unit.Length) (unit.Length, error) {
			return unit.Parse(fmt.Sprintf("%d/25400000", l), unit.Inches) // 25 400 000 nm an inch
		})
		inMillimetres := rewritten(t, r, func(l unit.Length) (unit.Length, error) {
			return unit.ParseNumber(fmt.Sprintf("%de-6", l), unit.Millimetres)
		})
		if a, b := workable(t, inInches), workable(t, inMillimetres); !reflect.DeepEqual(a, b) {
			t.Fatalf("%+v\nand %+v", a, b)
		}
	})
}

// rewritten gives r with every length written and read again.
func rewritten(t *rapid.T, r measure.Readings, write func(unit.Length) (unit.Length, error)) measure.Readings {
	again := func(l unit.Length) unit.Length {
		sign := unit.Length(1)
		if l < 0 {
			sign = -1
		}
		back, err := write(l.Abs())
		if err != nil {
			t.Fatal(err)
		}
		return sign * back
	}
	r.Readings = append([]measure.Reading(nil), r.Readings...)
	for i := range r.Readings {
		r.Readings[i].Length = again(r.Readings[i].Length)
	}
	if o := r.Tape.SidewaysOffset; o != nil {
		l := again(*o)
		r.Tape.SidewaysOffset = &l
	}
	for _, e := range []*measure.EndReading{&r.Upper, &r.Lower} {
		for _, l := range []*unit.Length{&e.BoltDiameter, &e.BushingThickness, &e.WasherThickness, &e.Plate, &e.StudLength} {
			*l = again(*l)
		}
		l := again(*e.BarOffset)
		e.BarOffset = &l
	}
	for _, l := range []*unit.Length{&r.Tolerance, &r.PlannedChange, &r.PlannedMountMove, &r.Condition.ArchGap, &r.Condition.ArchGapAtRide, &r.Condition.GapTolerance} {
		*l = again(*l)
	}
	return r
}

// The bounds are the worst case: whatever the true reading, stack, gaps and
// motion ratio within their tolerances, the true length lies between them, and
// the worst of them reaches them.
func TestWorstCase(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawReadings(t)
		r.Readings = r.Readings[:1]
		r.HasLinkage = false
		if r.Tolerance == 0 {
			r.Tolerance = measure.AssumedTolerance
		}
		if r.Condition.NotAtRide && r.Condition.GapTolerance == 0 {
			r.Condition.GapTolerance = measure.AssumedTolerance
		}
		w := workable(t, r)
		unknown := 0.0 // half-width of the stacks, mm
		for _, s := range w.Steps {
			if s.Code == "stud_stack_assumed" {
				unknown += 3.175
			}
		}
		// What the ends add, known from the length alone.
		nothing := r
		nothing.Condition, nothing.PlannedChange, nothing.Tape = measure.Condition{}, 0, measure.Tape{}
		ends := workable(t, nothing).Value.Mm() - r.Readings[0].Length.Mm()
		least, greatest := math.Inf(1), math.Inf(-1)
		sign := []float64{-1, 1}
		for _, a := range sign {
			for _, b := range sign {
				for _, g := range sign {
					for _, h := range sign {
						for _, m := range sign {
							l := r.Readings[0].Length.Mm() + a*r.Tolerance.Mm()
							if r.Tape.Vertical {
								l = math.Hypot(l, r.Tape.SidewaysOffset.Mm())
							}
							ratio := r.MotionRatio + m*r.MotionRatioTolerance
							delta := r.Condition.ArchGap.Mm() - r.Condition.ArchGapAtRide.Mm() + (g-h)*r.Condition.GapTolerance.Mm()
							if !r.Condition.NotAtRide {
								delta = 0
							}
							l += ends + b*unknown - ratio*delta + ratio*r.PlannedChange.Mm()
							least, greatest = min(least, l), max(greatest, l)
						}
					}
				}
			}
		}
		// The corners bound the true length, for it is linear in each quantity
		// or rises with it. The cross term of the ratio's and the gaps' error
		// is taken against the length on both sides, which is within that term
		// of what the corners reach.
		cross := 2 * 2 * r.MotionRatioTolerance * r.Condition.GapTolerance.Mm()
		const rounding = 5e-6
		if w.Low.Mm() > least+rounding || w.High.Mm() < greatest-rounding {
			t.Fatalf("%v to %v doesn't hold %v to %v", w.Low.Mm(), w.High.Mm(), least, greatest)
		}
		if w.Low.Mm() < least-cross-rounding || w.High.Mm() > greatest+cross+rounding {
			t.Fatalf("%v to %v is wider than %v to %v", w.Low.Mm(), w.High.Mm(), least, greatest)
		}
	})
}

// The path's root is right to the nanometre: big integers say so.
func TestPathIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		height := unit.Length(rapid.Int64Range(int64(inch), int64(unit.MaxLength)).Draw(t, "height"))
		offset := unit.Length(rapid.Int64Range(0, int64(unit.MaxLength)).Draw(t, "offset"))
		r := eyes(height)
		r.Tape = measure.Tape{Vertical: true, SidewaysOffset: &offset}
		// ⌊√(4n)⌋ is twice the root without its last half; its half, rounded
		// up, is the nearest.
		n := new(big.Int).Mul(big.NewInt(int64(height)), big.NewInt(int64(height)))
		n.Add(n, new(big.Int).Mul(big.NewInt(int64(offset)), big.NewInt(int64(offset))))
		n.Lsh(n, 2).Sqrt(n)
		want := unit.Length((n.Int64() + 1) / 2)
		if got := workable(t, r).Value; got != want {
			t.Fatalf("√(%d² + %d²) = %d; want %d", height, offset, got, want)
		}
	})
}

// The uncertainty of eyes at ride height is that of the mean and that of the
// tolerance; gonum's sample variance is the independent reference.
func TestUncertaintyOfMean(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := eyes()
		var all []float64
		for range rapid.IntRange(2, 8).Draw(t, "readings") {
			l := length(t, "reading", 19*inch, 20*inch)
			r.Readings = append(r.Readings, measure.Reading{Length: l})
			all = append(all, l.Mm())
		}
		want := math.Sqrt(stat.Variance(all, nil)/float64(len(all)) + 1.5875*1.5875/3)
		if got := uncertainty(workable(t, r)); math.Abs(got-want) > 1e-9 {
			t.Fatalf("u = %v; want %v", got, want)
		}
	})
}
