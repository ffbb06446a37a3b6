package linkage_test

import (
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"midstroke/internal/linkage"
)

// someLinkage draws a suspension and the name of its kind.
func someLinkage(t *rapid.T) linkage.Spec {
	switch rapid.IntRange(0, 3).Draw(t, "kind") {
	case 0:
		return inclined(rapid.Float64Range(-300, 300).Draw(t, "a"), rapid.Float64Range(-100, 450).Draw(t, "b"))
	case 1:
		s := semiTrailing()
		s.Damper.Lower = pt(rapid.Float64Range(-450, -150).Draw(t, "x"), 600, rapid.Float64Range(200, 400).Draw(t, "z"))
		return s
	case 2:
		return randomAxle(t)
	}
	return randomWishbone(t)
}

// someSweep draws a linkage and a sweep of it that can be had.
func someSweep(t *rapid.T) (l *linkage.Linkage, s *linkage.Sweep, ride float64, r linkage.Range) {
	l, faults := linkage.New(someLinkage(t))
	if len(faults) > 0 {
		t.Skip(faults)
	}
	ride = rapid.Float64Range(-40, 40).Draw(t, "ride")
	r = linkage.Range{Bump: mm(rapid.Float64Range(0, 110).Draw(t, "bump")), Droop: mm(rapid.Float64Range(0, 110).Draw(t, "droop"))}
	s, err := l.Sweep(ride, r)
	if err != nil {
		t.Skip(err)
	}
	return l, s, ride, r
}

// TestSweepIsTheRange: a sweep says of a range what Extremes says of it, with
// its wheel travels from its own ride.
func TestSweepIsTheRange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, s, ride, r := someSweep(t)
		wantShort, wantLong, err := l.Extremes(ride-r.Droop.Mm(), ride+r.Bump.Mm())
		if err != nil {
			t.Fatal(err)
		}
		short, long := s.Extremes()
		near(t, "shortest", short.Length.Mm(), wantShort.Length.Mm(), 2e-5)
		near(t, "longest", long.Length.Mm(), wantLong.Length.Mm(), 2e-5)
		length, ratio := s.Ride()
		wantLength, wantRatio := at(t, l, ride)
		near(t, "ride length", length, wantLength, 1e-9)
		near(t, "motion ratio at ride", ratio, wantRatio, 1e-9)
	})
}

// TestSweepSaysWhereFromItsOwnRide: an inclined damper of offsets 260 and 60 is
// shortest at 60 mm of bump (Pythagoras), which is 85 mm from a ride 25 mm
// below.
func TestSweepSaysWhereFromItsOwnRide(t *testing.T) {
	l := mustNew(t, inclined(260, 60))
	s, err := l.Sweep(-25, linkage.Range{Bump: mm(100), Droop: mm(30)})
	if err != nil {
		t.Fatal(err)
	}
	short, long := s.Extremes()
	near(t, "shortest", short.Length.Mm(), 260, 1e-6)
	near(t, "where it is shortest", short.WheelTravel.Mm(), 85, 1e-5)
	near(t, "longest", long.Length.Mm(), math.Hypot(260, 60+55), 1e-6)
	near(t, "where it is longest", long.WheelTravel.Mm(), -30, 0)
	cautions := s.Cautions()
	if len(cautions) != 1 || cautions[0].Code != "over_centre" {
		t.Fatalf("cautions %v, want over_centre", cautions)
	}
	near(t, "wheel travel told", cautions[0].Values[0].Length.Mm(), 85, 1e-5)
}

// TestShiftedIsMoved: a sweep with a mount moved says what the linkage with it
// moved says, which is solved anew.
func TestShiftedIsMoved(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, s, ride, r := someSweep(t)
		shift := linkage.Shift{
			Mount: rapid.SampledFrom([]linkage.Mount{linkage.UpperMount, linkage.LowerMount}).Draw(t, "mount"),
			Apart: rapid.Float64Range(-55, 55).Draw(t, "apart"),
		}
		v := s.Vector(shift)
		near(t, "how far the point moves", r3.Norm(v), math.Abs(shift.Apart), 1e-9)
		moved, moveErr := l.Move(shift.Mount, v)
		if moveErr != nil {
			if _, err := s.Shifted(shift); err == nil {
				t.Fatalf("shifted where it can't be moved: %v", moveErr)
			}
			return
		}
		short, long, err := moved.Extremes(ride-r.Droop.Mm(), ride+r.Bump.Mm())
		if err != nil {
			t.Skip(err)
		}
		got, err := s.Shifted(shift)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "shortest", got.Shortest.Length.Mm(), short.Length.Mm(), 2e-5)
		near(t, "longest", got.Longest.Length.Mm(), long.Length.Mm(), 2e-5)
		_, ratio := at(t, moved, ride)
		near(t, "motion ratio at ride", got.MotionRatio, ratio, 1e-9)
		before, _ := at(t, l, 0)
		after, _ := at(t, moved, 0)
		near(t, "length where it was measured", after, math.Abs(before+shift.Apart), 1e-9)
	})
}

// TestLeastShift: at the move found the lengths are within the limits, nowhere
// before it are they, and where none is found a fine scan finds none either.
func TestLeastShift(t *testing.T) {
	found := 0
	rapid.Check(t, func(t *rapid.T) {
		_, s, _, _ := someSweep(t)
		short, long := s.Extremes()
		m := rapid.SampledFrom([]linkage.Mount{linkage.UpperMount, linkage.LowerMount}).Draw(t, "mount")
		apart := rapid.Bool().Draw(t, "apart")
		least := short.Length.Mm() + rapid.Float64Range(-40, 40).Draw(t, "least")
		most := long.Length.Mm() + rapid.Float64Range(-40, 40).Draw(t, "most")
		way := -1.0
		if apart {
			way = 1
		}
		const enough = 50.8
		spare := func(by float64) float64 {
			x, err := s.Shifted(linkage.Shift{Mount: m, Apart: way * by})
			if err != nil {
				t.Skip(err)
			}
			return min(x.Shortest.Length.Mm()-least, most-x.Longest.Length.Mm())
		}
		by, ok := s.LeastShift(m, apart, least, most, enough)
		if bound, may := s.ShiftBound(m, apart, least, most, enough); ok && (!may || bound > by+1e-9) {
			t.Fatalf("moved by %g, which is bounded by %g, %v", by, bound, may)
		}
		end := by
		if !ok {
			end = enough
		} else {
			found++
			if by > 0 {
				near(t, "spare at the least move", spare(by), 0, 2e-6)
			}
		}
		for i := range 100 {
			if d := end * float64(i) / 100; d < by-1e-3 || !ok {
				if got := spare(d); got > 2e-6 {
					t.Fatalf("%g to spare at %g, before the least move: %g, %v", got, d, by, ok)
				}
			}
		}
	})
	if found == 0 {
		t.Error("no case had a move")
	}
}

// TestPlain: what Plain promises, by a scan.
func TestPlain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, s, _, _ := someSweep(t)
		const enough = 50.0
		if !s.Plain(enough) {
			t.Skip("a damper that turns far")
		}
		short, long := s.Extremes()
		for _, m := range []linkage.Mount{linkage.UpperMount, linkage.LowerMount} {
			for d := 2.5; d <= enough; d += 2.5 {
				apart, err := s.Shifted(linkage.Shift{Mount: m, Apart: d})
				if err != nil {
					t.Skip(err)
				}
				together, err := s.Shifted(linkage.Shift{Mount: m, Apart: -d})
				if err != nil {
					t.Skip(err)
				}
				if apart.Longest.Length < long.Length-1 {
					t.Errorf("apart by %g the longest falls", d)
				}
				if together.Shortest.Length > short.Length+1 {
					t.Errorf("together by %g the shortest rises", d)
				}
			}
		}
	})
	// From (30, 50) at ride to (30, -100) at bump, where it is longest.
	l := mustNew(t, inclined(30, 50))
	s, err := l.Sweep(0, linkage.Range{Bump: mm(150), Droop: mm(20)})
	if err != nil {
		t.Fatal(err)
	}
	if s.Plain(50) {
		t.Error("a damper that turns by more than a right angle is called plain")
	}
	l = mustNew(t, inclined(100, 300))
	if s, err = l.Sweep(0, linkage.Range{Bump: mm(80), Droop: mm(80)}); err != nil {
		t.Fatal(err)
	}
	if !s.Plain(50) {
		t.Error("an ordinary damper is not called plain")
	}
}

// TestShiftedInclined: by hand, a 100, b 300 and 80 up and down. The upper
// mount moved apart by d stands at (100, 300)(1 + d/L), L = √(100² + 300²).
func TestShiftedInclined(t *testing.T) {
	l := mustNew(t, inclined(100, 300))
	s, err := l.Sweep(0, linkage.Range{Bump: mm(80), Droop: mm(80)})
	if err != nil {
		t.Fatal(err)
	}
	x, err := s.Shifted(linkage.Shift{Mount: linkage.UpperMount, Apart: 20})
	if err != nil {
		t.Fatal(err)
	}
	k := 1 + 20/math.Hypot(100, 300)
	near(t, "shortest", x.Shortest.Length.Mm(), math.Hypot(100*k, 300*k-80), 1e-6)
	near(t, "longest", x.Longest.Length.Mm(), math.Hypot(100*k, 300*k+80), 1e-6)
	near(t, "motion ratio", x.MotionRatio, 300/math.Hypot(100, 300), 1e-12)

	// To be 250 at its shortest: (100k)² + (300k - 80)² = 250² is
	// 100000 k² - 48000 k - 56100 = 0.
	by, ok := s.LeastShift(linkage.UpperMount, true, 250, 500, 50)
	want := ((48000+math.Sqrt(48000*48000+4*100000*56100))/200000 - 1) * math.Hypot(100, 300)
	if !ok {
		t.Fatal("no move found")
	}
	near(t, "least move", by, want, 1e-9)
	if _, ok = s.LeastShift(linkage.UpperMount, true, 250, 380, 50); ok {
		t.Error("a move that makes it too long at droop is found")
	}
	if _, ok = s.LeastShift(linkage.UpperMount, true, 250, 500, by-1e-3); ok {
		t.Error("a move of more than enough is found")
	}
}

func TestSweepRefuses(t *testing.T) {
	l := mustNew(t, trailing())
	var e *linkage.TravelError
	if _, err := l.Sweep(0, linkage.Range{Bump: mm(600)}); !errors.As(err, &e) || e.Code.Public() != "unreachable" {
		t.Errorf("beyond reach: %v", err)
	}
	s, err := l.Sweep(0, linkage.Range{Bump: mm(50), Droop: mm(50)})
	if err != nil {
		t.Fatal(err)
	}
	if _, err = s.Shifted(linkage.Shift{Mount: linkage.UpperMount, Apart: -400}); err == nil {
		t.Error("ends that meet are answered")
	}
	// The lower end lies 30 mm behind the axis, on a line that passes it.
	arm := trailing()
	arm.Damper = linkage.Damper{Upper: pt(370, 600, 300), Lower: pt(-30, 600, 300)}
	if s, err = mustNew(t, arm).Sweep(0, linkage.Range{Bump: mm(50)}); err != nil {
		t.Fatal(err)
	}
	_, err = s.Shifted(linkage.Shift{Mount: linkage.LowerMount, Apart: -30})
	wantFault(t, err, "/damper/lower", "on_axis")
}
