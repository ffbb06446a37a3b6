package linkage_test

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/linkage"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

func travel(tb rapid.TB, l *linkage.Linkage, bump, droop float64) *linkage.Travel {
	tb.Helper()
	t, faults := l.Travel(linkage.Options{Range: linkage.Range{Bump: mm(bump), Droop: mm(droop)}})
	if len(faults) > 0 {
		tb.Fatalf("%v", faults)
	}
	return t
}

// TestOverCentre: a 260, b 60 from 80 down to 110 up. The damper lies flat at
// z = b, where it is a long; the bump end alone would say 264.764. Closed form.
func TestOverCentre(t *testing.T) {
	got := travel(t, mustNew(t, inclined(260, 60)), 110, 80)
	near(t, "shortest", got.Shortest.Length.Mm(), 260, 1e-6)
	near(t, "its wheel travel", got.Shortest.WheelTravel.Mm(), 60, 1e-4)
	if !got.Shortest.Interior {
		t.Error("the shortest length is said to lie at an end")
	}
	length, _ := at(t, mustNew(t, inclined(260, 60)), 110)
	near(t, "length at full bump", length, 264.764, 1e-3)
	near(t, "longest", got.Longest.Length.Mm(), math.Hypot(260, 140), 1e-6)
	near(t, "compression", got.Compression.Mm(), math.Hypot(260, 60)-260, 1e-6)
	near(t, "motion ratio at most", got.MotionRatio.Most, 140/math.Hypot(260, 140), 1e-12)
	near(t, "motion ratio at least", got.MotionRatio.Least, -50/math.Hypot(260, 50), 1e-12)
	if len(got.Cautions) != 1 || got.Cautions[0].Code != "over_centre" {
		t.Fatalf("cautions are %v", got.Cautions)
	}
	wantWords(t, got.Cautions[0])
	if z := got.Cautions[0].Values[0].Length.Mm(); math.Abs(z-60) > 1e-4 {
		t.Errorf("the caution names %g of wheel travel, want 60", z)
	}
}

// wantWords: a note has English words, with all its values in them.
func wantWords(t *testing.T, n note.Note) {
	t.Helper()
	if text := n.Text("en", unit.Inches); text == string(n.Code) || strings.ContainsAny(text, "{}") {
		t.Errorf("%s reads %q", n.Code, text)
	}
}

// TestOverCentreOnASample: the turn falls exactly on a point of the curve.
func TestOverCentreOnASample(t *testing.T) {
	l := mustNew(t, inclined(260, 60))
	got, faults := l.Travel(linkage.Options{Range: linkage.Range{Bump: mm(120), Droop: 0}, Points: 1001})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if len(got.Cautions) != 1 || got.Shortest.Length != mm(260) || got.Shortest.WheelTravel != mm(60) {
		t.Errorf("got %+v, %v", got.Shortest, got.Cautions)
	}
}

// TestExtremesAgainstDenseSampling samples every kind 20,001 times.
func TestExtremesAgainstDenseSampling(t *testing.T) {
	for name, s := range everyKind() {
		if s.Kind == linkage.SolidAxle {
			continue
		}
		t.Run(name, func(t *testing.T) {
			l := mustNew(t, s)
			low, high := l.Reach()
			low, high = max(0.97*low, -400), min(0.97*high, 400)
			shortest, longest, err := l.Extremes(low, high)
			if err != nil {
				t.Fatal(err)
			}
			least, most := math.Inf(1), 0.0
			const n = 20_000
			for i := range n + 1 {
				f := float64(i) / n
				length, _ := at(t, l, low*(1-f)+high*f)
				least, most = min(least, length), max(most, length)
			}
			near(t, "shortest", shortest.Length.Mm(), least, 1e-3)
			near(t, "longest", longest.Length.Mm(), most, 1e-3)
			// Never inside what sampling found, nanometres aside.
			if shortest.Length.Mm() > least+1e-6 || longest.Length.Mm() < most-1e-6 {
				t.Errorf("%v to %v does not hold %g to %g", shortest.Length, longest.Length, least, most)
			}
			for _, e := range []linkage.Extreme{shortest, longest} {
				length, _ := at(t, l, min(high, max(low, e.WheelTravel.Mm())))
				near(t, "length where the extreme is said to be", length, e.Length.Mm(), 2e-6)
				atEnd := math.Abs(e.WheelTravel.Mm()-low) < 1e-5 || math.Abs(e.WheelTravel.Mm()-high) < 1e-5
				if e.Interior == atEnd {
					t.Errorf("%+v between %g and %g", e, low, high)
				}
			}
		})
	}
}

// TestTurnsAreCounted: one caution for each turn of a random wishbone;
// dense sampling counts the turns and the range of the motion ratio.
func TestTurnsAreCounted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := mustNew(t, randomWishbone(t))
		low, high := l.Reach()
		r := linkage.Range{Bump: mm(min(0.95*high, 250)), Droop: mm(min(-0.95*low, 250))}
		got, faults := l.Travel(linkage.Options{Range: r})
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		turns, before := 0, 0.0
		const n = 1500
		least, most := math.Inf(1), math.Inf(-1)
		for i := range n + 1 {
			f := float64(i) / n
			_, ratio := at(t, l, -r.Droop.Mm()*(1-f)+r.Bump.Mm()*f)
			if ratio*before < 0 {
				turns++
			}
			before = ratio
			least, most = min(least, ratio), max(most, ratio)
		}
		if len(got.Cautions) != turns {
			t.Errorf("%d cautions, and the damper turns round %d times", len(got.Cautions), turns)
		}
		// Not inside what sampling found, and outside by no more than sampling
		// misses near the end of a reach.
		if r := got.MotionRatio; r.Least > least+1e-7 || r.Least < least-1e-3 || r.Most < most-1e-7 || r.Most > most+1e-3 {
			t.Errorf("motion ratio from %.9g to %.9g, sampled %.9g to %.9g", r.Least, r.Most, least, most)
		}
	})
}

// randomAxle draws an axle with its damper anywhere, level ones and ones that
// lean either way included.
func randomAxle(t *rapid.T) linkage.Spec {
	c := func(low, high float64) unit.Length { return mm(rapid.Float64Range(low, high).Draw(t, "coordinate")) }
	return linkage.Spec{
		Kind:      linkage.SolidAxle,
		RollPoint: linkage.Point{0, c(-60, 60), c(250, 500)},
		Wheels: linkage.Wheels{
			Left:  linkage.Point{0, c(600, 900), c(320, 380)},
			Right: linkage.Point{0, c(-900, -600), c(320, 380)},
		},
		Damper: linkage.Damper{
			Upper: linkage.Point{c(-200, 200), c(-700, 700), c(250, 800)},
			Lower: linkage.Point{c(-200, 200), c(-700, 700), c(200, 500)},
		},
	}
}

// TestAxleExtremesAgainstDenseSampling holds the closed form over the whole
// square against a grid of 201 by 201: random axles, and some that are known to
// have an extreme in an unlikely place.
func TestAxleExtremesAgainstDenseSampling(t *testing.T) {
	seen := map[string]bool{}
	across := func(roll, upperY, upperZ, lowerY, lowerZ float64) linkage.Spec {
		s := axle()
		s.RollPoint = pt(0, 0, roll)
		s.Damper = linkage.Damper{Upper: pt(0, upperY, upperZ), Lower: pt(0, lowerY, lowerZ)}
		return s
	}
	for _, s := range []linkage.Spec{
		across(300, 264, 757, -557, 428), // from one side to the other
		across(405, -382, 696, 534, 497),
		across(350, 200, 340, 600, 330), // level, beside the roll point
		across(600, 300, 380, 650, 330), // outwards and flat, below it
	} {
		if !againstGrid(t, s, 100, 100, seen) {
			t.Errorf("%+v is refused", s)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		bump, droop := rapid.Float64Range(20, 200).Draw(t, "bump"), rapid.Float64Range(20, 200).Draw(t, "droop")
		if !againstGrid(t, randomAxle(t), bump, droop, seen) {
			t.Skip("no damper, or its ends meet")
		}
	})
	for _, what := range []string{
		"shortest at a corner", "shortest on an edge", "shortest inside", "longest at a corner", "longest on an edge",
	} {
		if !seen[what] {
			t.Errorf("no case has its %s", what)
		}
	}
}

// againstGrid compares one axle and marks in seen where its extremes lie. It is
// false where there is nothing to compare.
func againstGrid(t rapid.TB, s linkage.Spec, bump, droop float64, seen map[string]bool) bool {
	t.Helper()
	l, faults := linkage.New(s)
	if len(faults) > 0 {
		return false
	}
	a, _ := l.Axle()
	shortest, longest, err := l.Extremes(-droop, bump)
	if err != nil {
		return false
	}
	least, most := math.Inf(1), 0.0
	const n = 200
	for i := range n + 1 {
		for j := range n + 1 {
			length, err := a.Corner(-droop+(bump+droop)*float64(i)/n, -droop+(bump+droop)*float64(j)/n)
			if err != nil {
				t.Fatal(err)
			}
			least, most = min(least, length), max(most, length)
		}
	}
	// What a grid of step h can miss at a turn: the bend of the length, some
	// multiple of 1/length, times h².
	h := (bump + droop) / n
	miss := func(length float64) float64 { return 1e-6 + min(h, 4*h*h/length) }
	if got := shortest.Length.Mm(); got > least+1e-6 || got < least-miss(got) {
		t.Errorf("shortest %g, sampled %g", got, least)
	}
	if got := longest.Length.Mm(); got < most-1e-6 || got > most+miss(got) {
		t.Errorf("longest %g, sampled %g", got, most)
	}
	for what, e := range map[string]linkage.Extreme{"shortest": shortest, "longest": longest} {
		length, err := a.Corner(e.Left.Mm(), e.Right.Mm())
		if err != nil {
			t.Fatal(err)
		}
		near(t, "length where the extreme is said to be", length, e.Length.Mm(), 5e-6)
		onEdge := func(z unit.Length) bool { return z == mm(bump) || z == mm(-droop) }
		switch l, r := onEdge(e.Left), onEdge(e.Right); {
		case l && r:
			what += " at a corner"
		case l || r:
			what += " on an edge"
		default:
			what += " inside"
		}
		seen[what] = true
		if corner := onEdge(e.Left) && onEdge(e.Right); corner == e.Interior {
			t.Errorf("%+v", e)
		}
	}
	return true
}

// TestAxleCrossedWheels: an outward-leaning damper below the roll point is
// longest with one wheel up and the other down, and one from side to side has
// its longest between the corners. [TestAxleExtremesAgainstDenseSampling] has
// the lengths.
func TestAxleCrossedWheels(t *testing.T) {
	s := axle()
	s.RollPoint = pt(0, 0, 600)
	s.Damper = linkage.Damper{Upper: pt(0, 300, 380), Lower: pt(0, 650, 330)}
	got := travel(t, mustNew(t, s), 80, 80)
	if e := got.Longest; e.Left != mm(80) || e.Right != mm(-80) || e.Interior || e.WheelTravel != 0 {
		t.Errorf("longest is %+v", e)
	}

	s.RollPoint = pt(0, 0, 300)
	s.Damper = linkage.Damper{Upper: pt(0, 264, 757), Lower: pt(0, -557, 428)}
	got = travel(t, mustNew(t, s), 100, 100)
	if !got.Longest.Interior {
		t.Errorf("longest is %+v", got.Longest)
	}
	codes := map[string]int{}
	for _, c := range got.Cautions {
		codes[string(c.Code)]++
		wantWords(t, c)
	}
	if codes["extreme_between_corners"] != 1 || codes["axle_sideways"] != 1 || codes["over_centre"] != 0 {
		t.Errorf("cautions are %v", got.Cautions)
	}

	// Level at 10 mm of heave.
	s.Damper = linkage.Damper{Upper: pt(0, 200, 340), Lower: pt(0, 600, 330)}
	got = travel(t, mustNew(t, s), 80, 80)
	if len(got.Cautions) == 0 || got.Cautions[0].Code != "over_centre" {
		t.Errorf("cautions are %v", got.Cautions)
	}
}

func TestExtremesRefuse(t *testing.T) {
	l := mustNew(t, trailing())
	for _, c := range []struct{ low, high float64 }{{-600, 0}, {0, 600}, {10, -10}, {math.NaN(), 0}, {0, math.NaN()}} {
		_, _, err := l.Extremes(c.low, c.high)
		var e *linkage.TravelError
		if !errors.As(err, &e) {
			t.Errorf("%v: got %v", c, err)
		}
	}
	// The mount goes right through the damper's upper end.
	s := trailing()
	s.Damper.Upper = pt(-math.Sqrt(400*400-100*100), 600, 400)
	l = mustNew(t, s)
	_, _, err := l.Extremes(-100, 200)
	var e *linkage.TravelError
	if !errors.As(err, &e) || e.Code.Public() != "no_length" {
		t.Fatalf("got %v", err)
	}
	near(t, "where the damper's ends meet", e.Travel, 125, 1e-3)
	_, _, err = l.At(125)
	if !errors.As(err, &e) || e.Code.Public() != "no_length" {
		t.Errorf("got %v", err)
	}
}

// TestCurve: the points asked for, evenly spaced, both ends among them; or the
// wheel travels listed, in their order.
func TestCurve(t *testing.T) {
	l := mustNew(t, spatial())
	r := linkage.Range{Bump: mm(70), Droop: mm(50)}
	for _, n := range []int{0, 2, 3, 41, 200, 201, 202, 1001} {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			got, faults := l.Travel(linkage.Options{Range: r, Points: n})
			if len(faults) > 0 {
				t.Fatal(faults)
			}
			want := n
			if n == 0 {
				want = linkage.DefaultPoints
			}
			if len(got.Curve) != want {
				t.Fatalf("%d points", len(got.Curve))
			}
			if len(got.Trace) < 201 {
				t.Errorf("the extremes were looked for on %d samples", len(got.Trace))
			}
			if got.Curve[0].WheelTravel != -r.Droop || got.Curve[want-1].WheelTravel != r.Bump {
				t.Errorf("from %v to %v", got.Curve[0].WheelTravel, got.Curve[want-1].WheelTravel)
			}
			for i, s := range got.Curve {
				near(t, "wheel travel", s.WheelTravel.Mm(), -50+120*float64(i)/float64(want-1), 1e-6)
				length, ratio := at(t, l, s.WheelTravel.Mm())
				near(t, "length", s.Length.Mm(), length, 2e-6)
				near(t, "motion ratio", s.MotionRatio, ratio, 1e-8)
			}
		})
	}
	listed := []unit.Length{mm(90), 0, mm(-33.3)}
	got, faults := l.Travel(linkage.Options{Range: r, At: listed})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	for i, z := range listed {
		length, ratio := at(t, l, z.Mm())
		want := linkage.Sample{WheelTravel: z, Length: mm(length), MotionRatio: ratio}
		if !reflect.DeepEqual(got.Curve[i], want) {
			t.Errorf("at %v: %+v, want %+v", z, got.Curve[i], want)
		}
	}
}

func TestPoses(t *testing.T) {
	l := mustNew(t, axle())
	got, faults := l.Travel(linkage.Options{
		Range: linkage.Range{Bump: mm(80), Droop: mm(80)},
		Poses: []linkage.Pose{{}, {RollDeg: 5}, {Heave: mm(-20), RollDeg: -3}},
	})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	near(t, "at ride", got.Poses[0].Length.Mm(), math.Hypot(100, 400), 1e-6)
	// Rotation matrix about x, done apart.
	near(t, "at 5°", got.Poses[1].Length.Mm(), 370.6726, 1e-3)
	if got.Poses[2].RollDeg != -3 || got.Poses[2].Heave != mm(-20) {
		t.Errorf("%+v", got.Poses[2])
	}
}
