package fit_test

import (
	"math"
	"slices"
	"testing"

	"midstroke/internal/fit"
	"midstroke/internal/linkage"
	"midstroke/internal/measure"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// What an answer says must hold on the vehicle: on both of its sides, at every
// height it is driven at, and for whatever its motion ratio really is.

func sided(left, right unit.Length) []measure.Reading {
	return []measure.Reading{
		{Length: left, Side: measure.Left}, {Length: left, Side: measure.Left},
		{Length: right, Side: measure.Right}, {Length: right, Side: measure.Right},
	}
}

// Left 539.275 twice, right 551.275 twice, give or take 1 mm, 70 mm stated each
// way. By hand: the right side alone wants at least 621.275 extended, so 619.275 is
// 2 mm short there; at the mean of 545.275 it would have 4 to spare.
func TestEachSideMustFit(t *testing.T) {
	r := metric(t, 545, 70)
	r.Readings.Tolerance = mm
	r.Readings.Readings = sided(539_275*unit.Micrometre, 551_275*unit.Micrometre)
	d := eyes("one", 465*mm, 619_275*unit.Micrometre)
	a := find(t, r, stocked(d))
	if a.Working.Value != 545_275*unit.Micrometre {
		t.Errorf("working length %v, want 545.275 mm", a.Working.Value.Mm())
	}
	if a.Outcome != fit.NoFit || len(a.NearMisses) != 1 || a.NearMisses[0].ShortBy != (fit.Both{Extension: 2 * mm}) {
		t.Fatalf("outcome %s, near misses %+v; want none that fits and one short of 2 mm in extension", a.Outcome, a.NearMisses)
	}
	// Each side by itself agrees: the right one refuses it as well.
	for _, c := range []struct {
		reading unit.Length
		want    fit.Outcome
	}{{539_275 * unit.Micrometre, fit.Fits}, {551_275 * unit.Micrometre, fit.NoFit}} {
		one := *r
		one.Readings.Readings = []measure.Reading{{Length: c.reading}, {Length: c.reading}}
		if got := find(t, &one, stocked(d)).Outcome; got != c.want {
			t.Errorf("the side of %v mm by itself: %s, want %s", c.reading.Mm(), got, c.want)
		}
	}
	// One that fits both: travel, margin and likelihood are those of the worse side.
	d.Extended = 623_275 * unit.Micrometre
	f := find(t, r, stocked(d)).Fits[0]
	// 539.275 - 465 and 623.275 - 551.275; less 70 and, in the worst case, 1 mm of
	// reading and 1/16 in of length.
	if want := (fit.Both{Compression: 74_275 * unit.Micrometre, Extension: 72 * mm}); f.Travel != want {
		t.Errorf("travel %v, want %v", f.Travel, want)
	}
	if want := (fit.Both{Compression: 4_275 * unit.Micrometre, Extension: 2 * mm}); f.Margin != want {
		t.Errorf("margin %v, want %v", f.Margin, want)
	}
	if want := (fit.Both{Compression: 1_687_500, Extension: -587_500}); f.Worst != want || f.Grade != fit.Marginal {
		t.Errorf("worst %v, %s, want %v and marginal", f.Worst, f.Grade, want)
	}
	if want := (545.275 - 465) / (623.275 - 465); math.Abs(f.RidePosition-want) > 1e-12 {
		t.Errorf("ride position %v, want %v, of the mean", f.RidePosition, want)
	}
	// On the right side 2 mm of extension against 1 mm of reading and 1/16 in of
	// length, rectangular; of compression there is plenty. Φ by
	// math.Erfc. The readings of a side are alike, so they don't scatter.
	u := math.Hypot(1, 1.5875) / math.Sqrt(3)
	if want := 0.5 * math.Erfc(-2/u/math.Sqrt2); math.Abs(f.Likelihood-want) > 1e-6 {
		t.Errorf("likelihood %.6f, want %.6f, of the right side", f.Likelihood, want)
	}
}

// The side whose readings scatter may be the less likely one though it has more
// room: 4 mm of margin against s/√n of 596 and 604, that is 4 mm, and 2.5 against
// none; by hand, 1 mm of reading and no length tolerance.
func TestTheLikelihoodIsTheWorseSides(t *testing.T) {
	r := metric(t, 600, 70)
	r.Readings.Tolerance = mm
	r.Readings.Readings = []measure.Reading{
		{Length: 597 * mm, Side: measure.Left}, {Length: 603 * mm, Side: measure.Left},
		{Length: 601 * mm, Side: measure.Right}, {Length: 601 * mm, Side: measure.Right},
	}
	d := eyes("one", 400*mm, 673*mm+mm/2)
	d.LengthTolerance = 0
	f := find(t, r, stocked(d)).Fits[0]
	// Left: 3.5 of extension, u² = 18/2 + 1/3. Right: 2.5, u² = 1/3.
	left := 0.5 * math.Erfc(-3.5/math.Sqrt(9+1.0/3)/math.Sqrt2)
	right := 0.5 * math.Erfc(-2.5/math.Sqrt(1.0/3)/math.Sqrt2)
	if left > right {
		t.Fatal("the case is none")
	}
	if math.Abs(f.Likelihood-left) > 1e-6 {
		t.Errorf("likelihood %.6f, want the left side's %.6f; the right one's is %.6f", f.Likelihood, left, right)
	}
	within(t, "margin in extension", f.Margin.Extension, 2.5, 1e-9)
}

// By a linkage each side has its own offset from the points: 370 by hand, left 2 mm
// shorter and right 4 longer, 129 of compression and 39 of extension.
func TestEachSideMustFitByALinkage(t *testing.T) {
	r := onHand(t, 0)
	r.Readings.Readings = sided(368*mm, 374*mm)
	a := find(t, r, stocked(eyes("one", 230*mm, 420*mm)))
	if len(a.Fits) != 1 || a.Fits[0].Margin != (fit.Both{Compression: 9 * mm, Extension: 7 * mm}) {
		t.Fatalf("fits %+v, want one with 9 and 7 mm to spare", a.Fits)
	}
	// Stops keep their reserve on the side where it counts: 236 + 2 and 414 - 4 by
	// the points, see TestStopsByALinkage.
	within(t, "bump stop", *a.Fits[0].Stops.Bump, 350-math.Sqrt(238*238-120*120), 1e-6)
	within(t, "strap", *a.Fits[0].Stops.Droop, 350-math.Sqrt(410*410-120*120), 1e-6)
}

// By hand, 400 mm at ride height, 50 mm stated each way at a ratio of 0.8, driven
// from 30 mm below to 20 above: 24 mm shorter there and 16 longer, so 74 and 66 are
// needed from ride height.
func TestARangeOfRideHeights(t *testing.T) {
	r := metric(t, 400, 50)
	r.Readings.MotionRatio = 0.8
	r.Heights = fit.Heights{Below: 30 * mm, Above: 20 * mm}
	for _, c := range []struct {
		compressed, extended unit.Length
		want                 fit.Outcome
	}{
		{326 * mm, 466 * mm, fit.Fits},
		{326*mm + 1, 466 * mm, fit.NoFit},
		{326 * mm, 466*mm - 1, fit.NoFit},
	} {
		if got := find(t, r, stocked(eyes("one", c.compressed, c.extended))).Outcome; got != c.want {
			t.Errorf("%d to %d nm: %s, want %s", c.compressed, c.extended, got, c.want)
		}
	}
	a := find(t, r, stocked(eyes("one", 300*mm, 480*mm)))
	if a.Required.Compression != exactly(74*mm, 74*mm) || a.Required.Extension != exactly(66*mm, 66*mm) {
		t.Errorf("required %+v and %+v, want 74 and 66 mm", a.Required.Compression, a.Required.Extension)
	}
	at := a.Fits[0].AtHeights
	if at == nil || at.Lowest != (fit.Both{Compression: 76 * mm, Extension: 104 * mm}) || at.Highest != (fit.Both{Compression: 116 * mm, Extension: 64 * mm}) {
		t.Errorf("at the ends of the range %+v, want 76, 104 and 116, 64 mm", at)
	}
	// What isn't known of the ratio reaches them: 30 and 20 mm at 0.9.
	r.Readings.MotionRatioTolerance = 0.1
	if c := find(t, r, stocked()).Required.Compression; c.LeastWorst != 77*mm || c.Least != 74*mm {
		t.Errorf("least %v and %v mm at worst, want 74 and 77", c.Least.Mm(), c.LeastWorst.Mm())
	}
}

// By hand: to stops that are fixed in the vehicle the needs stay, and the range
// shows what is left: 70 mm either way of the wheel at 0.8 is 56, and the damper
// has 80 and 90.
func TestARangeOfRideHeightsBetweenFixedStops(t *testing.T) {
	r := metric(t, 400, 0)
	r.Readings.MotionRatio = 0.8
	r.Travel = fit.Travel{Basis: fit.ByWheel, Bump: 70 * mm, Droop: 70 * mm, Reserve: fit.DefaultReserve}
	r.Heights = fit.Heights{Below: 30 * mm, Above: 20 * mm}
	a := find(t, r, stocked(eyes("one", 320*mm, 490*mm)))
	if a.Required.Compression != exactly(56*mm, 66*mm) {
		t.Errorf("compression %+v, want 56 and 66 mm", a.Required.Compression)
	}
	at := a.Fits[0].AtHeights
	if at == nil || at.Lowest != (fit.Both{Compression: 56 * mm, Extension: 114 * mm}) || at.Highest != (fit.Both{Compression: 96 * mm, Extension: 74 * mm}) {
		t.Errorf("at the ends of the range %+v, want 56, 114 and 96, 74 mm", at)
	}
	// Lengths taped at bump and droop say the same.
	r.Travel = fit.Travel{Basis: fit.Measured, AtBump: 344 * mm, AtDroop: 456 * mm, Reserve: fit.DefaultReserve}
	if again := find(t, r, stocked(eyes("one", 320*mm, 490*mm))); again.Required.Compression != a.Required.Compression || *again.Fits[0].AtHeights != *at {
		t.Errorf("as measured %+v and %+v", again.Required.Compression, again.Fits[0].AtHeights)
	}
}

// The linkage by hand is 120 across: 241 long 141 mm up and 409 long 41 mm down,
// which are the lowest and the highest of the range too.
func TestARangeOfRideHeightsAlongACurve(t *testing.T) {
	r := onHand(t, 0)
	r.Heights = fit.Heights{Below: 141 * mm, Above: 41 * mm}
	a := find(t, r, stocked(eyes("one", 230*mm, 430*mm)))
	if a.Required.Compression != exactly(129*mm, 139*mm) {
		t.Errorf("compression %+v, want 129 and 139 mm", a.Required.Compression)
	}
	at := a.Fits[0].AtHeights
	if at == nil || at.Lowest != (fit.Both{Compression: 11 * mm, Extension: 189 * mm}) || at.Highest != (fit.Both{Compression: 179 * mm, Extension: 21 * mm}) {
		t.Errorf("at the ends of the range %+v, want 11, 189 and 179, 21 mm", at)
	}
}

func TestFaultsOfARangeOfRideHeights(t *testing.T) {
	arm := linkage.Spec{
		Kind:   linkage.SwingArm,
		PivotA: pt(0, 300, 300), PivotB: pt(0, 700, 300), Wheel: pt(-500, 650, 300),
		Damper: linkage.Damper{Upper: pt(-400, 600, 700), Lower: pt(-400, 600, 300)},
	}
	for _, c := range []struct {
		name   string
		change func(*fit.Request)
		want   []string
	}{
		{"no motion ratio", func(r *fit.Request) { r.Readings.MotionRatio = 0 }, []string{"/motion_ratio"}},
		{"no motion ratio for lengths taped", func(r *fit.Request) {
			r.Readings.MotionRatio = 0
			r.Travel = fit.Travel{Basis: fit.Measured, AtBump: 340 * mm, AtDroop: 460 * mm}
		}, []string{"/motion_ratio"}},
		{"no motion ratio, asked for once", func(r *fit.Request) {
			r.Readings.MotionRatio = 0
			r.Travel = fit.Travel{Basis: fit.ByWheel, Bump: mm, Droop: mm}
		}, []string{"/motion_ratio"}},
		{"below and above with a sign", func(r *fit.Request) { r.Heights = fit.Heights{Below: -mm, Above: -mm} },
			[]string{"/ride_height_range/below", "/ride_height_range/above"}},
		{"too far for anything", func(r *fit.Request) { r.Heights.Above = unit.MaxLength + 1 }, []string{"/ride_height_range/above"}},
		// The arm's circle goes 500 mm either way.
		{"where the linkage can't go", func(r *fit.Request) {
			*r = *onLinkage(r, suspension{"arm", arm, 50 * mm, 50 * mm}, 0)
			r.Heights = fit.Heights{Below: 600 * mm, Above: 600 * mm}
		}, []string{"/ride_height_range/below", "/ride_height_range/above"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := metric(t, 400, 50)
			r.Readings.MotionRatio = 0.8
			r.Heights = fit.Heights{Below: 30 * mm, Above: 20 * mm}
			c.change(r)
			_, faults := fit.Find(r, stocked())
			var got []string
			for i := range faults {
				got = append(got, faults[i].Pointer)
				for _, lang := range note.Languages() {
					if text := faults[i].Text(lang, unit.Millimetres); text == string(faults[i].Code) || text == "" {
						t.Errorf("%s has no words in %s", faults[i].Code, lang)
					}
				}
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("faults at %v, want %v", got, c.want)
			}
		})
	}
}

// 430 mm, wheel travel 100 up and 100 down, ratio 0.7 ± 0.2: by hand 70 and 70 mm at
// least, 90 and 90 at a ratio of 0.9, 10 more wanted. A damper with 85 each way was
// told as clear with a likelihood of 1, and at 0.9 there was none.
func TestTheRatiosToleranceReachesTheNeeds(t *testing.T) {
	r := metric(t, 430, 0)
	r.Readings.Tolerance = mm
	r.Readings.MotionRatio, r.Readings.MotionRatioTolerance = 0.7, 0.2
	r.Travel = fit.Travel{Basis: fit.ByWheel, Bump: 100 * mm, Droop: 100 * mm, Reserve: fit.DefaultReserve}
	want := fit.Need{Least: 70 * mm, Wanted: 80 * mm, LeastWorst: 90 * mm, WantedWorst: 100 * mm}
	damper := func(each unit.Length) *fit.Fit {
		d := eyes("one", 430*mm-each, 430*mm+each)
		d.LengthTolerance = mm
		a := find(t, r, stocked(d))
		if a.Required.Compression != want || a.Required.Extension != want {
			t.Errorf("required %+v and %+v, want %+v", a.Required.Compression, a.Required.Extension, want)
		}
		if len(a.Fits) == 0 {
			return nil
		}
		return &a.Fits[0]
	}
	for _, c := range []struct {
		each unit.Length
		want string
	}{
		{70*mm - 1, ""}, {70 * mm, "marginal"}, {92*mm - 1, "marginal"}, {92 * mm, "tight"}, {102*mm - 1, "tight"}, {102 * mm, "clear"},
	} {
		got := ""
		f := damper(c.each)
		if f != nil {
			got = f.Grade.String()
			if worst := c.each - 92*mm; f.Worst != (fit.Both{Compression: worst, Extension: worst}) {
				t.Errorf("%d nm each way: worst %v, want %d", c.each, f.Worst, worst)
			}
		}
		if got != c.want {
			t.Errorf("%d nm each way is graded %q, want %q", c.each, got, c.want)
		}
	}
	// One error of the ratio, u = 0.2/√3, takes 100 mm of it from both surpluses of
	// 15 mm at once; reading and lengths have 1/√3 mm each. 0.894084 came of the double
	// integral over both errors by Simpson's rule in Python, apart from this program.
	if got := damper(85 * mm).Likelihood; math.Abs(got-0.894084) > 1e-5 {
		t.Errorf("likelihood %.6f, want 0.894084", got)
	}
}

// The ratio's error moves the length and the needs together. By hand: the body stood
// 40 mm too high, so a larger ratio makes the length at ride height shorter by 40 mm
// of it, and compression asks for 60 more: 100 in all. Extension gains 40 and asks
// for 60: 20.
func TestTheRatiosErrorIsShared(t *testing.T) {
	r := metric(t, 460, 0)
	r.Readings.Tolerance = unit.Nanometre
	r.Readings.MotionRatio, r.Readings.MotionRatioTolerance = 0.5, 0.1
	r.Readings.Condition = measure.Condition{NotAtRide: true, ArchGap: 440 * mm, ArchGapAtRide: 400 * mm, GapTolerance: unit.Nanometre}
	r.Travel = fit.Travel{Basis: fit.ByWheel, Bump: 60 * mm, Droop: 60 * mm}
	d := eyes("one", 400*mm, 600*mm) // 440 at ride: 40 and 160 for 30 and 30
	d.LengthTolerance = 0
	f := find(t, r, stocked(d)).Fits[0]
	within(t, "margin in compression", f.Margin.Compression, 10, 1e-9)
	u := 100 * 0.1 / math.Sqrt(3)
	if want := 0.5 * math.Erfc(-10/u/math.Sqrt2); math.Abs(f.Likelihood-want) > 1e-6 {
		t.Errorf("likelihood %.6f, want %.6f", f.Likelihood, want)
	}
	d = eyes("one", 300*mm, 474*mm) // 140 and 34 for 30 and 30
	d.LengthTolerance = 0
	f = find(t, r, stocked(d)).Fits[0]
	u = 20 * 0.1 / math.Sqrt(3)
	if want := 0.5 * math.Erfc(-4/u/math.Sqrt2); math.Abs(f.Likelihood-want) > 1e-6 {
		t.Errorf("likelihood %.6f, want %.6f", f.Likelihood, want)
	}
}

// A damper of 400 mm that leans 45°, 282.843 across and up: closed form,
// √(282.843² + 432.843²) - 400 = 117.06 for 150 mm of droop where a constant ratio
// says 106.07, and 400 - √(282.843² + 132.843²) = 87.51 for 150 mm of bump.
func TestAConstantRatioIsNotTrustedFar(t *testing.T) {
	r := metric(t, 400, 0)
	r.Readings.MotionRatio = math.Sqrt2 / 2
	r.Travel = fit.Travel{Basis: fit.ByWheel, Bump: 150 * mm, Droop: 150 * mm}
	figures := func(n note.Note) map[string]float64 {
		all := map[string]float64{}
		for _, v := range n.Values {
			all[v.Name] = v.Length.Mm() + v.Number
		}
		return all
	}
	got := figures(told(t, find(t, r, stocked()).Cautions, "ratio_held_constant"))
	for name, want := range map[string]float64{
		"bump": 150, "droop": 150, "compression": 106.066, "extension": 106.066, "leaning_extension": 117.062, "leaning_compression": 87.513,
	} {
		if math.Abs(got[name]-want) > 2e-3 {
			t.Errorf("%s is %v, want %v", name, got[name], want)
		}
	}
	// A bump beyond where it lies flat: no shorter than 282.843.
	r.Travel.Bump = 300 * mm
	if got := figures(told(t, find(t, r, stocked()).Cautions, "ratio_held_constant")); math.Abs(got["leaning_compression"]-117.157) > 2e-3 {
		t.Errorf("leaning_compression is %v, want 117.157", got["leaning_compression"])
	}
	silent := func(what string) {
		t.Helper()
		for _, n := range find(t, r, stocked()).Cautions {
			if n.Code == "ratio_held_constant" {
				t.Errorf("%s is cautioned about", what)
			}
		}
	}
	// Just 75 mm either way it is (common practice, no source).
	r.Travel.Bump, r.Travel.Droop = 75*mm, 75*mm
	silent("75 mm")
	r.Travel.Droop++
	told(t, find(t, r, stocked()).Cautions, "ratio_held_constant")
	// Above a ratio of 1 no straight damper has such a one, and there are no figures.
	r.Readings.MotionRatio = 1.2
	if got := figures(told(t, find(t, r, stocked()).Cautions, "ratio_held_constant")); got["leaning_extension"] != 0 || len(got) != 6 {
		t.Errorf("figures %v of a ratio of 1.2", got)
	}
	// The same goes for roads and for a range of heights.
	road := onARoad(t, 'D')
	told(t, find(t, road, stocked()).Cautions, "ratio_held_constant")
	r = metric(t, 400, 50)
	r.Readings.MotionRatio, r.Heights = 0.8, fit.Heights{Above: 80 * mm}
	told(t, find(t, r, stocked()).Cautions, "ratio_held_constant")
	r.Heights.Above = 70 * mm
	silent("70 mm of range")
	// A linkage has its own curve.
	r = onHand(t, 0)
	r.Heights = fit.Heights{Below: 100 * mm}
	silent("a linkage")
}

// A tape held upright, 250 up and 400 sideways: 58° (arctan by a pocket
// calculator), past the 45° of common practice. Twin-tubes with oil alone were
// offered there.
func TestLeanThatIsKnownCounts(t *testing.T) {
	oil, withGas := eyes("oil", 380*mm, 560*mm), gas(eyes("gas", 380*mm, 560*mm))
	offset := 400 * mm
	r := metric(t, 250, 70) // √(250² + 400²) = 471.7
	r.LeanDeg = -1
	r.Readings.Tape = measure.Tape{Vertical: true, SidewaysOffset: &offset}
	a := find(t, r, stocked(oil, withGas))
	if len(a.Fits) != 1 || a.Fits[0].Damper.Code != "gas" {
		t.Errorf("fits %s, want the one with gas alone", fitCodes(a))
	}
	step := func(a *fit.Answer, code string) float64 {
		t.Helper()
		for _, s := range a.Working.Steps {
			if string(s.Code) == code {
				return s.Result.Number
			}
		}
		t.Fatalf("no step %s", code)
		return 0
	}
	if got := step(a, "lean_by_tape"); got != 57.99 {
		t.Errorf("leans %v°, want 57.99", got)
	}
	// Less is known to be stated than is taped: the larger counts, and the other way
	// round.
	r.LeanDeg = 30
	if got := step(find(t, r, stocked(oil)), "lean_by_tape"); got != 57.99 {
		t.Errorf("leans %v°", got)
	}
	r.LeanDeg = 70
	if got := step(find(t, r, stocked(oil)), "lean_stated"); got != 70 {
		t.Errorf("leans %v°", got)
	}
	// By a linkage, the largest over the travel: 120 across, 350 less 141 up is
	// 29.86°, and 250 up 58 mm from 45° and a little more.
	r = onHand(t, 0)
	r.LeanDeg = -1
	if got, want := step(find(t, r, stocked(oil)), "lean_by_linkage"), math.Atan2(120, 209)*180/math.Pi; math.Abs(got-want) > 0.006 {
		t.Errorf("leans %v°, want %v", got, want)
	}
	for _, c := range []struct {
		bump unit.Length
		want int
	}{{229 * mm, 1}, {231 * mm, 0}} { // 45° at 230 up
		r.Travel.Bump = c.bump
		d := eyes("oil", 100*mm, 500*mm)
		if got := len(find(t, r, stocked(d)).Fits); got != c.want {
			t.Errorf("%v mm up: %d fits, want %d", c.bump.Mm(), got, c.want)
		}
	}
	r = metric(t, 395, 70)
	r.LeanDeg = -1
	for _, s := range find(t, r, stocked(oil)).Working.Steps {
		if s.Code == "lean_stated" {
			t.Error("a lean that nobody knows is told")
		}
	}
}

// A twin-tube without gas is never turned over, whatever a list says.
func TestATwinTubeWithoutGasIsNeverInverted(t *testing.T) {
	oil := eyes("oil", 300*mm, 500*mm)
	oil.Upper.Width, oil.Invertible = 30*mm, true
	r := metric(t, 395, 70)
	r.Limits.Mounting = fit.Inverted
	if a := find(t, r, stocked(oil)); a.Outcome != fit.NoFit {
		t.Errorf("%s is offered inverted", fitCodes(a))
	}
	if a := find(t, r, stocked(gas(oil))); a.Outcome != fit.Fits || !a.Fits[0].Inverted {
		t.Errorf("with gas: %s", a.Outcome)
	}
	r.Codes = []string{"oil"}
	if j := find(t, r, stocked(oil)).Judged[0]; j.Verdict != fit.VerdictRuledOut || j.Reasons[0].Code != "mounting" {
		t.Errorf("%s for %v, want ruled out by its mounting", j.Verdict, j.Reasons)
	}
}

// As many near misses as fits fall short of the list, unless a number is asked for.
func TestHowManyNearMissesAreTold(t *testing.T) {
	r := everyday()
	r.Top = 30
	all := find(t, r, catalogues[0])
	if len(all.Fits) == 0 || len(all.Fits) >= 30 || len(all.NearMisses) != 30-len(all.Fits) {
		t.Fatalf("%d fits and %d near misses, want some fits and 30 in all", len(all.Fits), len(all.NearMisses))
	}
	r.Top = len(all.Fits)
	if a := find(t, r, catalogues[0]); len(a.NearMisses) != 0 {
		t.Errorf("%d near misses beside a full list", len(a.NearMisses))
	}
	most := fit.MostListed
	r.NearMisses = &most
	all = find(t, r, catalogues[0])
	for _, n := range []int{0, 1, 7} {
		r.NearMisses = &n
		a := find(t, r, catalogues[0])
		if len(a.NearMisses) != n || len(a.Fits) != r.Top {
			t.Errorf("%d near misses and %d fits, want %d and %d", len(a.NearMisses), len(a.Fits), n, r.Top)
		}
		for i := range a.NearMisses {
			if a.NearMisses[i].Damper != all.NearMisses[i].Damper {
				t.Errorf("near miss %d is %s, want %s", i, a.NearMisses[i].Damper.Code, all.NearMisses[i].Damper.Code)
			}
		}
	}
}
