package measure_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

const (
	mm      = unit.Millimetre
	inch    = unit.Inch
	eighth  = inch / 8
	quarter = inch / 4
)

// taped makes readings of one distance without a side.
func taped(ls ...unit.Length) []measure.Reading {
	rs := make([]measure.Reading, len(ls))
	for i, l := range ls {
		rs[i].Length = l
	}
	return rs
}

// eyes is a place with an eye at both ends, taped to the bolts' centres.
func eyes(ls ...unit.Length) measure.Readings {
	return measure.Readings{
		Readings: taped(ls...), Tolerance: inch / 16,
		Upper: measure.EndReading{Style: mount.Eye}, Lower: measure.EndReading{Style: mount.Eye},
	}
}

func work(t *testing.T, r measure.Readings) measure.Working {
	t.Helper()
	w, faults := measure.WorkingLength(r)
	if len(faults) > 0 {
		t.Fatalf("refused: %v", faults)
	}
	return w
}

// uncertainty is the whole of a working length's: of the shorter side's mean, and
// of the motion ratio's tolerance as a rectangular quantity (JCGM 100:2008, 4.3.7).
func uncertainty(w measure.Working) float64 {
	return math.Hypot(w.Shorter.StdUncertainty, w.RatioShift/math.Sqrt(3))
}

func wantLengths(t *testing.T, w measure.Working, value, low, high unit.Length) {
	t.Helper()
	if w.Value != value || w.Low != low || w.High != high {
		t.Errorf("value %v, low %v, high %v; want %v, %v, %v", w.Value.Mm(), w.Low.Mm(), w.High.Mm(), value.Mm(), low.Mm(), high.Mm())
	}
}

func wantClose(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %v; want %v give or take %v", what, got, want, tolerance)
	}
}

// The place of the service's own worked example: a stud above, taped to the
// frame's face, 3/8 in of bushing and 1/16 in of washer, two readings, give or
// take 1/16 in. 16 5/8 and 16 11/16 have the mean 16 21/32; less 7/16 in that
// is 16 7/32 = 16.21875. Low and high are the least and greatest reading less
// 7/16, less and plus 1/16: arithmetic.
func TestWorkedExample(t *testing.T) {
	w := work(t, studExample())
	wantLengths(t, w, inch*519/32, inch*129/8, inch*261/16)
	for _, c := range []struct {
		got  unit.Length
		want float64
	}{{w.Value, 16.21875}, {w.Low, 16.125}, {w.High, 16.3125}} {
		if got := c.got.In(unit.Inches); got != c.want { // all three have a finite binary form
			t.Errorf("%v in; want %v", got, c.want)
		}
	}
	if w.Verdict != measure.Measured || len(w.Reasons) != 0 || len(w.Cautions) != 0 {
		t.Errorf("%v with reasons %v and cautions %v", w.Verdict, w.Reasons, w.Cautions)
	}
	wantSteps(t, w.Steps,
		"mean_of_readings 16 21/32 in: mean of 2 readings",
		"stud_stack 16 7/32 in: upper stud: less bushing 3/8 in and washer 1/16 in")
	// u² = s²/n + (1/16 in)²/3 with s² = (1/16 in)²/2, n = 2 (JCGM 100:2008,
	// 4.2.3 and 4.3.7): 1.5875 × √(1/4 + 1/3) mm.
	wantClose(t, "u", uncertainty(w), 1.5875*math.Sqrt(1.0/4+1.0/3), 1e-9)
}

func studExample() measure.Readings {
	return measure.Readings{
		Readings:  taped(16*inch+5*inch/8, 16*inch+11*inch/16),
		Tolerance: inch / 16,
		Upper:     measure.EndReading{Style: mount.Stud, Plane: mount.FrameFace, BushingThickness: 3 * inch / 8, WasherThickness: inch / 16},
		Lower:     measure.EndReading{Style: mount.Eye},
	}
}

func wantSteps(t *testing.T, steps []note.Step, want ...string) {
	t.Helper()
	var got []string
	for _, s := range steps {
		got = append(got, string(s.Code)+" "+s.Result.Words(unit.Inches)+": "+s.Text("en", unit.Inches))
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("the steps are\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// Every plane of every style, at either end: what it adds to a reading of
// 20 in. The corrections are geometry; 1/2 in for an unknown stack, give or
// take 1/8 in, is common practice, no source.
func TestPlanes(t *testing.T) {
	forward, backward := 3*inch/8, -quarter
	for _, c := range []struct {
		name    string
		end     measure.EndReading
		adds    unit.Length
		wider   unit.Length
		code    string // of its step
		caution bool
	}{
		{"eye", measure.EndReading{Style: mount.Eye}, 0, 0, "", false},
		{"eye, bolt centre", measure.EndReading{Style: mount.Eye, Plane: mount.BoltCentre}, 0, 0, "", false},
		{"eye, near edge", measure.EndReading{Style: mount.Eye, Plane: mount.NearEdge, BoltDiameter: inch / 2}, quarter, 0, "bolt_radius_added", false},
		{"eye, far edge", measure.EndReading{Style: mount.Eye, Plane: mount.FarEdge, BoltDiameter: 12 * mm}, -6 * mm, 0, "bolt_radius_taken_off", false},
		{"bar pin", measure.EndReading{Style: mount.BarPin}, 0, 0, "", false},
		{"bar pin, bar centre", measure.EndReading{Style: mount.BarPin, Plane: mount.BarCentre}, 0, 0, "", false},
		{"bar pin, seat face, axis beyond", measure.EndReading{Style: mount.BarPin, Plane: mount.SeatFace, BarOffset: &forward}, forward, 0, "bar_offset", false},
		{"bar pin, seat face, axis before", measure.EndReading{Style: mount.BarPin, Plane: mount.SeatFace, BarOffset: &backward}, backward, 0, "bar_offset", false},
		{"bar pin, seat face, axis on it", measure.EndReading{Style: mount.BarPin, Plane: mount.SeatFace, BarOffset: new(unit.Length)}, 0, 0, "bar_offset", false},
		{"stud", measure.EndReading{Style: mount.Stud}, 0, 0, "", false},
		{"stud, inner washer", measure.EndReading{Style: mount.Stud, Plane: mount.InnerWasher, BushingThickness: inch, WasherThickness: inch}, 0, 0, "", false},
		{"stud, frame face", measure.EndReading{Style: mount.Stud, Plane: mount.FrameFace, BushingThickness: 15 * mm, WasherThickness: 3 * mm}, -18 * mm, 0, "stud_stack", false},
		{"stud, frame face, nothing known", measure.EndReading{Style: mount.Stud, Plane: mount.FrameFace}, -inch / 2, eighth, "stud_stack_assumed", true},
		{"stud, frame face, bushing alone", measure.EndReading{Style: mount.Stud, Plane: mount.FrameFace, BushingThickness: 15 * mm}, -inch / 2, eighth, "stud_stack_assumed", true},
		{"stud, frame face, washer alone", measure.EndReading{Style: mount.Stud, Plane: mount.FrameFace, WasherThickness: 3 * mm}, -inch / 2, eighth, "stud_stack_assumed", true},
		{"stud, far face", measure.EndReading{Style: mount.Stud, Plane: mount.FrameFarFace, BushingThickness: 15 * mm, WasherThickness: 3 * mm, Plate: 4 * mm}, -22 * mm, 0, "stud_stack plate", false},
		{"stud, far face, stack unknown", measure.EndReading{Style: mount.Stud, Plane: mount.FrameFarFace, Plate: 4 * mm}, -inch/2 - 4*mm, eighth, "stud_stack_assumed plate", true},
		{"stud, tip", measure.EndReading{Style: mount.Stud, Plane: mount.StudTip, StudLength: 45 * mm}, -45 * mm, 0, "stud_length", false},
	} {
		for _, end := range []string{"upper", "lower"} {
			t.Run(c.name+"/"+end, func(t *testing.T) {
				r := eyes(20 * inch)
				if end == "upper" {
					r.Upper = c.end
				} else {
					r.Lower = c.end
				}
				w := work(t, r)
				value := 20*inch + c.adds
				wantLengths(t, w, value, value-inch/16-c.wider, value+inch/16+c.wider)
				if got := codes(w.Steps); got != strings.TrimSpace("one_reading "+c.code) {
					t.Errorf("the steps are %s", got)
				}
				for _, s := range w.Steps[1:] {
					if s.Values[0] != note.Word("end", end) {
						t.Errorf("the step %s is about %v", s.Code, s.Values[0])
					}
				}
				if got := len(w.Cautions) == 1 && w.Cautions[0].Code == "assumed_values"; got != c.caution {
					t.Errorf("the cautions are %v", w.Cautions)
				}
				// The default tolerance of a reading, which most answers have, is told by a step alone.
				if c.caution && !strings.Contains(w.Cautions[0].Text("en", unit.Inches), "bushing and washer were not measured: 1/2 in is assumed for both together, give or take 1/8 in") {
					t.Errorf("reads %q", w.Cautions[0].Text("en", unit.Inches))
				}
				if w.Verdict != measure.Measured {
					t.Errorf("%v", w.Verdict)
				}
				if extra, faults := r.ToPlanes(18 * inch); extra != 18*inch+c.adds || faults != nil {
					t.Errorf("ToPlanes(18 in) = %v, %v", extra.Text(unit.Inches), faults)
				}
			})
		}
	}
}

func codes(steps []note.Step) string {
	var all []string
	for _, s := range steps {
		all = append(all, string(s.Code))
	}
	return strings.Join(all, " ")
}

// A plane belongs to its own style alone.
func TestPlaneOfAnotherStyle(t *testing.T) {
	for _, styleName := range mount.Styles.All() {
		style, _ := mount.Styles.Parse(styleName)
		for _, planeName := range mount.Planes.All() {
			plane, _ := mount.Planes.Parse(planeName)
			end := measure.EndReading{Style: style, Plane: plane, BoltDiameter: 12 * mm, BarOffset: new(unit.Length), Plate: mm, StudLength: mm}
			has := false
			for _, p := range style.Planes() {
				has = has || p == plane
			}
			for _, at := range []string{"/upper", "/lower"} {
				r := eyes(20 * inch)
				if at == "/upper" {
					r.Upper = end
				} else {
					r.Lower = end
				}
				_, faults := measure.WorkingLength(r)
				refused := len(faults) == 1 && faults[0].Pointer == at+"/measured_to" && faults[0].Code == "wrong_plane"
				if has && len(faults) > 0 || !has && !refused {
					t.Errorf("%s measured to %s: %v", styleName, planeName, faults)
				}
			}
		}
	}
}

// Values from books and arithmetic that a pencil can check.
func TestCheckValues(t *testing.T) {
	t.Run("half a graduation of 1/16 in: a/√3, JCGM 100:2008 4.3.7", func(t *testing.T) {
		r := eyes(438_150 * unit.Micrometre)
		r.Tolerance = inch / 32 // half-width 0.79375 mm
		wantClose(t, "u", uncertainty(work(t, r)), 0.45827, 1e-4)
	})
	t.Run("root of the sum of squares of 0.4583, 0.8660, 0.8660: JCGM 100:2008 5.1.2", func(t *testing.T) {
		r := eyes(438_150 * unit.Micrometre)
		r.Tolerance = inch / 32
		// Two gaps of half-width 1.5 mm at motion ratio 1: 1.5/√3 = 0.8660 each.
		r.MotionRatio = 1
		r.Condition = measure.Condition{NotAtRide: true, ArchGap: 400 * mm, ArchGapAtRide: 400 * mm, GapTolerance: 1500 * unit.Micrometre}
		wantClose(t, "u", uncertainty(work(t, r)), 1.30768, 1e-4)
	})
	t.Run("350 mm to the frame, stack unknown: common practice, 1/2 in, no source", func(t *testing.T) {
		r := eyes(350 * mm)
		r.Upper = measure.EndReading{Style: mount.Stud, Plane: mount.FrameFace}
		// A tape of 1/16 in (half-width 0.79375 mm) and ±1.5 mm at each end,
		// as one half-width of equal variance.
		r.Tolerance = unit.FromMm(math.Sqrt(0.79375*0.79375 + 2*1.5*1.5))
		w := work(t, r)
		if w.Value != 337_300*unit.Micrometre {
			t.Errorf("%v mm; want 337.3", w.Value.Mm())
		}
		// √((0.79375² + 2 × 1.5² + 3.2²)/3), JCGM 100:2008 5.1.2
		wantClose(t, "u", uncertainty(w), 2.26348, 1e-3)
	})
	t.Run("498 mm at a gap of 452, 421 at ride, motion ratio 0.91: 498 - 0.91 × 31", func(t *testing.T) {
		r := eyes(498 * mm)
		r.MotionRatio = 0.91
		r.Condition = measure.Condition{NotAtRide: true, ArchGap: 452 * mm, ArchGapAtRide: 421 * mm}
		w := work(t, r)
		if w.Value != 469_790*unit.Micrometre {
			t.Errorf("%v mm; want 469.79", w.Value.Mm())
		}
		// Common practice, no source: each gap to 1/8 in, so 2 × 0.91 × 3.175.
		wantLengths(t, w, w.Value, w.Value-inch/16-5_778_500, w.Value+inch/16+5_778_500)
		if got := codes(w.Steps); got != "one_reading ride_height gap_tolerance_assumed" {
			t.Errorf("the steps are %s", got)
		}
		if len(w.Cautions) != 1 || w.Cautions[0].Code != "corrected_to_ride_height" {
			t.Errorf("the cautions are %v", w.Cautions)
		}
		if w.RideDelta != 31*mm || w.GapTolerance != eighth {
			t.Errorf("handed on: %v and %v", w.RideDelta, w.GapTolerance)
		}
	})
	t.Run("a tape 5° off the damper's line of 438.15 mm: L (1 - cos 5°) = 1.6673 mm", func(t *testing.T) {
		sin, cos := math.Sincos(5 * math.Pi / 180)
		r := eyes(unit.FromMm(438.15 * cos))
		offset := unit.FromMm(438.15 * sin)
		r.Tape = measure.Tape{Vertical: true, SidewaysOffset: &offset}
		w := work(t, r)
		wantClose(t, "length", w.Value.Mm(), 438.15, 2e-6)
		wantClose(t, "error", w.Value.Mm()-r.Readings[0].Length.Mm(), 1.6673, 1e-3)
		wantClose(t, "u", uncertainty(w), 1.5875/math.Sqrt(3)*cos, 1e-9)
	})
}

// 300, 400, 500: the tape's own tolerance goes through the same triangle.
func TestVerticalTape(t *testing.T) {
	r := eyes(300 * mm)
	r.Tolerance = 3 * mm
	offset := 400 * mm
	r.Tape = measure.Tape{Vertical: true, SidewaysOffset: &offset}
	r.Lower = measure.EndReading{Style: mount.Eye, Plane: mount.NearEdge, BoltDiameter: 10 * mm}
	w := work(t, r)
	wantLengths(t, w, 505*mm, unit.FromMm(math.Hypot(297, 400))+5*mm, unit.FromMm(math.Hypot(303, 400))+5*mm)
	wantClose(t, "u", uncertainty(w), 3/math.Sqrt(3)*300/500, 1e-9)
	if got := codes(w.Steps); got != "one_reading path bolt_radius_added" {
		t.Errorf("the steps are %s", got)
	}
	if l, faults := r.ToPlanes(300 * mm); l != 505*mm || faults != nil {
		t.Errorf("ToPlanes = %v, %v", l, faults)
	}

	offset = 0
	w = work(t, r)
	wantLengths(t, w, 305*mm, 302*mm, 308*mm)
}

// What isn't said is taken from common practice, and said.
func TestAssumedTolerance(t *testing.T) {
	r := eyes(20 * inch)
	r.Tolerance = 0
	w := work(t, r)
	wantLengths(t, w, 20*inch, 20*inch-eighth, 20*inch+eighth)
	wantSteps(t, w.Steps, "one_reading 20 in: the one reading",
		"reading_tolerance_assumed 1/8 in: no tolerance of the readings was given, so 1/8 in either way is assumed")
	if w.Steps[1].Source == "" {
		t.Error("an assumed figure has no source")
	}
}

// Both sides are worth the same, however many readings each has.
func TestSides(t *testing.T) {
	r := eyes()
	r.Readings = []measure.Reading{
		{Length: 400 * mm, Side: measure.Left}, {Length: 402 * mm, Side: measure.Left}, {Length: 402 * mm, Side: measure.Left}, {Length: 404 * mm, Side: measure.Left},
		{Length: 398 * mm, Side: measure.Right},
	}
	w := work(t, r)
	wantLengths(t, w, 400*mm, 398*mm-inch/16, 404*mm+inch/16)
	wantSteps(t, w.Steps, "mean_of_left 15.827 in: left side: mean of 4", "mean_of_right 15.669 in: right side: mean of 1",
		"mean_of_sides 15.748 in: mean of the left and right sides")
	// Scatter within a side: s² of 400, 402, 402, 404 is 8/3 mm², n = 4, by hand;
	// one reading has none.
	tape := 1.5875 * 1.5875 / 3
	wantMeans(t, w, 398*mm, math.Sqrt(tape), 402*mm, math.Sqrt(8.0/3/4+tape))

	r.Readings = r.Readings[:4]
	w = work(t, r)
	wantLengths(t, w, 402*mm, 400*mm-inch/16, 404*mm+inch/16)
	wantMeans(t, w, 402*mm, math.Sqrt(8.0/3/4+tape), 402*mm, math.Sqrt(8.0/3/4+tape))
	if got := codes(w.Steps); got != "mean_of_readings" {
		t.Errorf("the steps are %s", got)
	}
}

func wantMeans(t *testing.T, w measure.Working, shorter unit.Length, uShorter float64, longer unit.Length, uLonger float64) {
	t.Helper()
	if w.Shorter.Length != shorter || w.Longer.Length != longer {
		t.Errorf("the sides are %v and %v; want %v and %v", w.Shorter.Length.Mm(), w.Longer.Length.Mm(), shorter.Mm(), longer.Mm())
	}
	wantClose(t, "u of the shorter side", w.Shorter.StdUncertainty, uShorter, 1e-9)
	wantClose(t, "u of the longer side", w.Longer.StdUncertainty, uLonger, 1e-9)
}

// Every correction reaches each side's mean: heights of 297 and 303 over an
// offset of 400 mm (Pythagoras), a bolt's radius, and 0.8 of 30 mm too high.
func TestSidesAreCorrectedAlike(t *testing.T) {
	r := eyes()
	r.Tolerance = 2 * mm
	r.Readings = []measure.Reading{{Length: 303 * mm, Side: measure.Left}, {Length: 297 * mm, Side: measure.Right}}
	offset := 400 * mm
	r.Tape = measure.Tape{Vertical: true, SidewaysOffset: &offset}
	r.Lower = measure.EndReading{Style: mount.Eye, Plane: mount.NearEdge, BoltDiameter: 10 * mm}
	r.MotionRatio, r.MotionRatioTolerance = 0.8, 0.05
	r.Condition = measure.Condition{NotAtRide: true, ArchGap: 430 * mm, ArchGapAtRide: 400 * mm, GapTolerance: 2 * mm}
	w := work(t, r)
	short, long := math.Hypot(297, 400), math.Hypot(303, 400)
	// JCGM 100:2008 5.1.2, as in TestRideHeightTolerances.
	u := func(height, length float64) float64 {
		tape := 2 * height / length
		return math.Sqrt((tape*tape + 2*1.6*1.6) / 3)
	}
	wantMeans(t, w, unit.FromMm(short)+5*mm-24*mm, u(297, short), unit.FromMm(long)+5*mm-24*mm, u(303, long))
	// The body stood 30 mm high, so a larger ratio makes the length shorter.
	wantClose(t, "shift by the ratio's tolerance", w.RatioShift, -30*0.05, 1e-12)
}

// 250 up and 400 sideways: 58° from upright, arctan(400/250) by a pocket
// calculator.
func TestLeanByTheTape(t *testing.T) {
	r := eyes(250 * mm)
	offset := 400 * mm
	r.Tape = measure.Tape{Vertical: true, SidewaysOffset: &offset}
	wantClose(t, "lean", work(t, r).TapeLeanDeg, 57.9946, 1e-4)
	if got := work(t, eyes(250*mm)).TapeLeanDeg; got >= 0 {
		t.Errorf("a tape along the damper tells a lean of %v°", got)
	}
}

// With a linkage the heights are handed on and the length stays as measured.
func TestLinkageTakesOver(t *testing.T) {
	r := eyes(20 * inch)
	r.HasLinkage = true
	r.MotionRatio = 0.5 // a linkage replaces it
	r.PlannedChange = 40 * mm
	r.Condition = measure.Condition{NotAtRide: true, ArchGap: 500 * mm, ArchGapAtRide: 390 * mm, GapTolerance: 2 * mm}
	w := work(t, r)
	wantLengths(t, w, 20*inch, 20*inch-inch/16, 20*inch+inch/16)
	wantClose(t, "u", uncertainty(w), 1.5875/math.Sqrt(3), 1e-12)
	if w.RideDelta != 110*mm || w.GapTolerance != 2*mm || w.PlannedChange != 40*mm {
		t.Errorf("handed on: %v, %v, %v", w.RideDelta, w.GapTolerance, w.PlannedChange)
	}
	if got := codes(w.Steps); got != "one_reading" {
		t.Errorf("the steps are %s", got)
	}
	if len(w.Cautions) != 0 {
		t.Errorf("the cautions are %v", w.Cautions)
	}
}

// Both corrections of height, with their tolerances: by hand from
// L - MR Δ + MR p and its worst case.
func TestRideHeightTolerances(t *testing.T) {
	r := eyes(500 * mm)
	r.Tolerance = mm
	r.MotionRatio, r.MotionRatioTolerance = 0.8, 0.05
	r.PlannedChange = -10 * mm
	r.Condition = measure.Condition{NotAtRide: true, ArchGap: 430 * mm, ArchGapAtRide: 400 * mm, GapTolerance: 2 * mm}
	w := work(t, r)
	// 500 - 0.8 × 30 - 0.8 × 10 = 468; 1 + 0.8 × 4 + 0.05 × (40 + 4) = 6.4
	wantLengths(t, w, 468*mm, 461_600*unit.Micrometre, 474_400*unit.Micrometre)
	// JCGM 100:2008 5.1.2: (1 + 2 (0.8 × 2)² + (40 × 0.05)²)/3
	wantClose(t, "u", uncertainty(w), math.Sqrt((1+2*1.6*1.6+2*2)/3.0), 1e-9)
	wantSteps(t, w.Steps[1:],
		"ride_height 18.74 in: to ride height: less 0.8 × (16.929134 in - 15.748031 in), the arch gap while measuring and at ride height",
		"planned_change 18.425 in: for the planned change of height: 0.8 × -0.393701 in at the wheel")
}

// A planned move of the mounts changes the length by as much, whichever way the
// tape ran, and no uncertainty: by hand. What was taped stays as it was. In inches the column
// has five decimals, since with four 16.9291 and 0.472441 are 17.4015 and 442 mm are 17.4016.
func TestPlannedMountMove(t *testing.T) {
	r := eyes(430 * mm)
	r.Tolerance = mm
	before := uncertainty(work(t, r))
	r.PlannedMountMove = 12 * mm
	w := work(t, r)
	wantLengths(t, w, 442*mm, 441*mm, 443*mm)
	wantClose(t, "u", uncertainty(w), before, 0)
	wantSteps(t, w.Steps[1:], "planned_mounts_apart 17.40157 in: for the planned move of the mounts: plus 0.472441 in, by which they come apart along the damper")
	r.PlannedMountMove = -30 * mm
	w = work(t, r)
	wantLengths(t, w, 400*mm, 399*mm, 401*mm)
	wantSteps(t, w.Steps[1:], "planned_mounts_together 15.748 in: for the planned move of the mounts: less 1.181102 in, by which they come together along the damper")
	// 300 up and 400 sideways are 500 along the damper.
	offset := 400 * mm
	r = eyes(300 * mm)
	r.Tape, r.PlannedMountMove = measure.Tape{Vertical: true, SidewaysOffset: &offset}, 20*mm
	if got := work(t, r).Value; got != 520*mm {
		t.Errorf("on a slant it is %v", got)
	}
	if got, _ := r.ToPlanes(300 * mm); got != 520*mm {
		t.Errorf("another length is %v", got)
	}
}

func ExampleWorkingLength() {
	w, faults := measure.WorkingLength(studExample())
	fmt.Println(w.Verdict == measure.Measured, len(faults))
	for _, s := range w.Steps {
		fmt.Println(s.Text("en", unit.Inches), "=", s.Result.Words(unit.Inches))
	}
	fmt.Println(w.Low.Text(unit.Inches), "to", w.High.Text(unit.Inches))
	// Output:
	// true 0
	// mean of 2 readings = 16 21/32 in
	// upper stud: less bushing 3/8 in and washer 1/16 in = 16 7/32 in
	// 16 1/8 in to 16 5/16 in
}

func ExampleReadings_ToPlanes() {
	bump, _ := studExample().ToPlanes(14 * unit.Inch)
	fmt.Println(bump.Text(unit.Inches))
	// Output: 13 9/16 in
}

func BenchmarkWork(b *testing.B) {
	r := studExample()
	b.ReportAllocs()
	for b.Loop() {
		if w, _ := measure.WorkingLength(r); w.Value <= 0 {
			b.Fatal("nothing came of it")
		}
	}
}
