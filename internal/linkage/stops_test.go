package linkage_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/linkage"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// stops is where a damper's limits end the travel up and down from the ride
// height that the linkage was measured at.
func stops(tb rapid.TB, l *linkage.Linkage, least, most float64, r linkage.Range) (bump, droop linkage.Stop, ok bool) {
	tb.Helper()
	s, err := l.Sweep(0, r)
	if err != nil {
		tb.Fatal(err)
	}
	bump, up := s.SolidBy(least, most)
	droop, down := s.TightBy(least, most)
	if up != down {
		tb.Errorf("within the limits at ride: %v above, %v below", up, down)
	}
	return bump, droop, up
}

// TestStopsInclined: z = b - √(L² - a²), closed form.
func TestStopsInclined(t *testing.T) {
	l := mustNew(t, inclined(100, 300))
	bump, droop, ok := stops(t, l, 250, 400, linkage.Range{})
	if !ok || !bump.Found || !droop.Found {
		t.Fatal(bump, droop, ok)
	}
	near(t, "bump stop", bump.WheelTravel.Mm(), 300-math.Sqrt(250*250-100*100), 2e-6)
	near(t, "strap", droop.WheelTravel.Mm(), 300-math.Sqrt(400*400-100*100), 2e-6)

	// A damper that goes over centre at 100 mm never gets shorter than that:
	// what stops it then is its own length on the far side.
	bump, _, ok = stops(t, l, 90, 400, linkage.Range{})
	if !ok {
		t.Fatal("refused")
	}
	near(t, "bump stop beyond centre", bump.WheelTravel.Mm(), 300+math.Sqrt(400*400-100*100), 2e-6)

	if _, _, ok = stops(t, l, 320, 400, linkage.Range{}); ok {
		t.Error("a damper too long for ride is given stops")
	}
	if _, _, ok = stops(t, l, 200, 310, linkage.Range{}); ok {
		t.Error("a damper too short for ride is given stops")
	}
	bump, droop, ok = stops(t, l, 1, 1e6, linkage.Range{})
	if !ok || bump.Found || droop.Found {
		t.Errorf("nothing need stop it, but %+v %+v", bump, droop)
	}
}

// TestStopsJustMissed: the limit lies a thousandth of a millimetre inside a
// turn between two steps of the search, or outside it.
func TestStopsJustMissed(t *testing.T) {
	l := mustNew(t, inclined(260, 62.5)) // shortest 260 at +62.5
	bump, _, _ := stops(t, l, 260.001, 1000, linkage.Range{})
	near(t, "bump stop just before centre", bump.WheelTravel.Mm(), 62.5-math.Sqrt(260.001*260.001-260*260), 1e-5)
	if bump, _, _ = stops(t, l, 259.999, 1000, linkage.Range{}); bump.WheelTravel < mm(900) {
		t.Errorf("stopped at %v by a length that it never has", bump.WheelTravel)
	}
}

// TestStopsAreFirst: up to the stop every sample is within the limits, and the
// stop is at one of them, for every kind and random wishbones.
func TestStopsAreFirst(t *testing.T) {
	check := func(t rapid.TB, l *linkage.Linkage, least, most float64) {
		t.Helper()
		bump, droop, ok := stops(t, l, least, most, linkage.Range{})
		if !ok {
			t.Fatal("refused")
		}
		low, high := l.Reach()
		for _, c := range []struct {
			stop linkage.Stop
			end  float64
		}{{bump, high}, {droop, low}} {
			to := c.end
			if c.stop.Found {
				to = c.stop.WheelTravel.Mm()
				length, _ := at(t, l, to)
				near(t, fmt.Sprintf("distance from a limit at %g", to), min(math.Abs(length-least), math.Abs(length-most)), 0, 1e-5)
			}
			for i := range 300 {
				length, _ := at(t, l, to*float64(i)/300)
				if length < least-1e-6 || length > most+1e-6 {
					t.Fatalf("%g at %g, before the stop at %+v, is outside %g to %g", length, to*float64(i)/300, c.stop, least, most)
				}
			}
		}
	}
	for name, s := range everyKind() {
		if s.Kind != linkage.SolidAxle {
			t.Run(name, func(t *testing.T) {
				l := mustNew(t, s)
				ride, _ := at(t, l, 0)
				check(t, l, ride-40, ride+35)
				check(t, l, ride-400, ride+4)
			})
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		l := mustNew(t, randomWishbone(t))
		ride, _ := at(t, l, 0)
		check(t, l, ride-rapid.Float64Range(0, 120).Draw(t, "compression"), ride+rapid.Float64Range(0, 120).Draw(t, "extension"))
	})
}

// TestStopsAxle: with the stop found, the square's extreme is at the limit; a
// wheel a hundredth further and it is beyond.
func TestStopsAxle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, faults := linkage.New(randomAxle(t))
		if len(faults) > 0 {
			t.Skip(faults)
		}
		r := linkage.Range{Bump: mm(rapid.Float64Range(20, 120).Draw(t, "bump")), Droop: mm(rapid.Float64Range(20, 120).Draw(t, "droop"))}
		got, faults := l.Travel(linkage.Options{Range: r})
		if len(faults) > 0 {
			t.Skip(faults)
		}
		least, most := got.Shortest.Length.Mm()-3, got.Longest.Length.Mm()+3
		if least < 5 {
			t.Skip("hardly a damper")
		}
		bump, droop, ok := stops(t, l, least, most, r)
		if !ok {
			t.Fatal("refused, though it holds the whole range")
		}
		spare := func(low, high float64) float64 {
			shortest, longest, err := l.Extremes(low, high)
			if err != nil {
				t.Fatal(err)
			}
			return min(shortest.Length.Mm()-least, most-longest.Length.Mm())
		}
		low, high := -r.Droop.Mm(), r.Bump.Mm()
		if bump.Found {
			if bump.WheelTravel < r.Bump {
				t.Errorf("stop at %v, within a range that is held", bump.WheelTravel)
			}
			near(t, "spare at the bump stop", spare(low, bump.WheelTravel.Mm()), 0, 1e-3)
		}
		if droop.Found {
			if droop.WheelTravel > -r.Droop {
				t.Errorf("strap at %v, within a range that is held", droop.WheelTravel)
			}
			near(t, "spare at the strap", spare(droop.WheelTravel.Mm(), high), 0, 1e-3)
		}
	})
	if _, _, ok := stops(t, mustNew(t, axle()), 413, 500, linkage.Range{Bump: mm(50), Droop: mm(50)}); ok {
		t.Error("a damper that is too long at ride is given stops")
	}
}

// TestStopsAxleWithinRange: a range that is too much is shrunk, and the end that
// was not to blame keeps what it can.
func TestStopsAxleWithinRange(t *testing.T) {
	l := mustNew(t, axle())
	r := linkage.Range{Bump: mm(80), Droop: mm(60)}
	shortest, longest, err := l.Extremes(-60, 50)
	if err != nil {
		t.Fatal(err)
	}
	bump, droop, ok := stops(t, l, shortest.Length.Mm(), longest.Length.Mm()+100, r)
	if !ok || !bump.Found || !droop.Found {
		t.Fatal(bump, droop, ok)
	}
	if bump.WheelTravel > mm(60) || bump.WheelTravel < mm(45) {
		t.Errorf("bump stop at %v, and 50 mm holds with all of the droop", bump.WheelTravel)
	}
	if droop.WheelTravel > mm(-60) {
		t.Errorf("strap at %v", droop.WheelTravel)
	}
}

// TestStopsUpright: both wheels alike rule an axle whose damper stands upright
// over the roll point's line, so its stops are an inclined damper's.
func TestStopsUpright(t *testing.T) {
	s := axle()
	s.Damper = linkage.Damper{Upper: pt(60, 0, 700), Lower: pt(0, 0, 350)}
	bump, droop, ok := stops(t, mustNew(t, s), 290, 420, linkage.Range{Bump: mm(50), Droop: mm(50)})
	if !ok {
		t.Fatal("refused")
	}
	near(t, "bump stop", bump.WheelTravel.Mm(), 350-math.Sqrt(290*290-60*60), 1e-3)
	near(t, "strap", droop.WheelTravel.Mm(), 350-math.Sqrt(420*420-60*60), 1e-3)
}

// TestBumpStop: 20 of gap and 60 of height that gives way by half are solid
// after 50 of the stop's travel; pencil and paper.
func TestBumpStop(t *testing.T) {
	b := linkage.BumpStop{Gap: mm(20), Height: mm(60), Squash: 0.5, MotionRatio: 0.8}
	if faults := b.Check(); len(faults) > 0 {
		t.Fatal(faults)
	}
	f := b.For(mm(70))
	want := linkage.BumpStopFit{SolidAt: mm(62.5), InTime: true, Gap: mm(26), Height: mm(72)}
	if f.SolidAt != want.SolidAt || f.InTime != want.InTime || f.Gap != want.Gap || f.Height != want.Height {
		t.Errorf("got %+v, want %+v", f, want)
	}
	if f = b.For(mm(60)); f.InTime || f.Gap != mm(18) || f.Height != mm(56) {
		t.Errorf("got %+v", f)
	}
	for _, s := range f.Steps {
		wantWords(t, s.Note)
	}
}

// TestBumpStopTurnsBack: the gap and the height that are answered are in time,
// a hair more is not.
func TestBumpStopTurnsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		b := linkage.BumpStop{
			Gap: mm(draw("gap", 0, 80)), Height: mm(draw("height", 10, 120)),
			Squash: draw("squash", 0.3, 0.8), MotionRatio: draw("ratio", 0.3, 2),
		}
		by := mm(draw("by", 10, 200))
		given, f := b, b.For(by)
		b.Gap = f.Gap
		if again := b.For(by); !again.InTime || (again.SolidAt-by).Abs() > 10 {
			t.Errorf("with the gap %v it is solid at %v", f.Gap, again.SolidAt)
		}
		b.Gap += unit.Micrometre
		if again := b.For(by); again.InTime {
			t.Errorf("with more than the gap %v it is still in time", f.Gap)
		}
		if f.Height <= unit.Micrometre {
			return
		}
		b = given
		b.Height = f.Height - unit.Micrometre
		if again := b.For(by); !again.InTime {
			t.Errorf("with less than the height %v it is late", f.Height)
		}
		b.Height = f.Height + unit.Micrometre
		if again := b.For(by); again.InTime {
			t.Errorf("with more than the height %v it is still in time", f.Height)
		}
	})
}

func TestStrap(t *testing.T) {
	s := linkage.Strap{Distance: mm(300), MotionRatio: 0.8, Stretch: 0.05}
	if faults := s.Check(); len(faults) > 0 {
		t.Fatal(faults)
	}
	f := s.For(mm(-75)) // (300 + 60)/1.05, pencil and paper
	near(t, "free length", f.Length.Mm(), 342.857142, 1e-6)
	for _, s := range f.Steps {
		wantWords(t, s.Note)
	}
}

// TestStopsAreToldOnTheSafeSide: by hand. The strap's 342.857142 mm of above are told as
// 342.85. A stop that is solid at 71.003 of wheel travel has gone 56.8024: a gap of 26.8024
// is in time, told as 26.8, or a height of 73.6048, told as 73.6. It is solid at 62.5.
func TestStopsAreToldOnTheSafeSide(t *testing.T) {
	strap := linkage.Strap{Distance: mm(300), MotionRatio: 0.8, Stretch: 0.05}.For(mm(-75))
	bump := linkage.BumpStop{Gap: mm(20), Height: mm(60), Squash: 0.5, MotionRatio: 0.8}.For(mm(71.003))
	for _, c := range []struct {
		step note.Step
		want string
	}{
		{strap.Steps[0], "360 mm"}, {strap.Steps[1], "342.85 mm"},
		{bump.Steps[0], "62.5 mm"}, {bump.Steps[1], "26.8 mm"}, {bump.Steps[2], "73.6 mm"},
	} {
		if got := c.step.Result.Words(unit.Millimetres); got != c.want {
			t.Errorf("%s is told as %s, want %s", c.step.Code, got, c.want)
		}
	}
}

// TestConstantStops: margins of 100 and 80 less 6 over a motion ratio of 0.8;
// pencil and paper.
func TestConstantStops(t *testing.T) {
	bump, droop := linkage.ConstantStops(mm(100), mm(80), linkage.DefaultReserve, 0.8)
	if bump.WheelTravel != mm(117.5) || droop.WheelTravel != mm(-92.5) {
		t.Errorf("got %v and %v", bump, droop)
	}
}

func TestStopFaults(t *testing.T) {
	var got []string
	for _, f := range (linkage.BumpStop{Gap: -1, Squash: 1, MotionRatio: math.NaN()}).Check() {
		got = append(got, f.Pointer+" "+f.Code.Public())
	}
	for _, f := range (linkage.Strap{MotionRatio: -1, Stretch: math.NaN()}).Check() {
		got = append(got, f.Pointer+" "+f.Code.Public())
	}
	want := "[/gap out_of_range /height out_of_range /squash out_of_range /motion_ratio out_of_range" +
		" /distance out_of_range /motion_ratio out_of_range /stretch out_of_range]"
	if fmt.Sprint(got) != want {
		t.Errorf("got  %v\nwant %s", got, want)
	}
}

// TestAnAxlesStopsHoldTogether: with one wheel at the bump stop and the other at
// the strap the damper is still within its limits, and where one stop was drawn
// in for that, at one of them. A leaned damper needs it, an upright one hardly.
func TestAnAxlesStopsHoldTogether(t *testing.T) {
	drawn, alone := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		l := mustNew(t, randomAxle(t))
		r := linkage.Range{Bump: unit.FromMm(rapid.Float64Range(20, 90).Draw(t, "bump")), Droop: unit.FromMm(rapid.Float64Range(20, 90).Draw(t, "droop"))}
		s, err := l.Sweep(0, r)
		if err != nil {
			t.Skip(err)
		}
		shortest, longest := s.Extremes()
		spare := rapid.Float64Range(-10, 20)
		least, most := shortest.Length.Mm()-spare.Draw(t, "spare in compression"), longest.Length.Mm()+spare.Draw(t, "spare in extension")
		bump, ok := s.SolidBy(least, most)
		droop, _ := s.TightBy(least, most)
		if !ok {
			t.Skip("no room at ride")
		}
		solid, tight := s.Together(bump, droop, least, most)
		if bump.Found && droop.Found {
			short, long, err := l.Extremes(droop.WheelTravel.Mm(), bump.WheelTravel.Mm())
			if err == nil && min(short.Length.Mm()-least, most-long.Length.Mm()) > -2e-6 {
				alone++
				if solid != bump || tight != droop {
					t.Fatalf("drawn in for nothing: %v to %v, %v to %v", bump, solid, droop, tight)
				}
			}
		}
		if !solid.Found || !tight.Found {
			return
		}
		if solid.WheelTravel > bump.WheelTravel && bump.Found || tight.WheelTravel < droop.WheelTravel && droop.Found {
			t.Fatalf("drawn out: %v to %v, %v to %v", bump, solid, droop, tight)
		}
		short, long, err := l.Extremes(tight.WheelTravel.Mm(), solid.WheelTravel.Mm())
		if err != nil {
			t.Fatal(err)
		}
		left := min(short.Length.Mm()-least, most-long.Length.Mm())
		if left < -1e-5 {
			t.Fatalf("%v over with a wheel at each stop", -left)
		}
		if solid != bump || tight != droop {
			drawn++
			if left > 1e-3 {
				t.Fatalf("drawn in by %v too much", left)
			}
		}
	})
	if drawn == 0 || alone == 0 {
		t.Errorf("%d stops had to be drawn in, %d hold as they are", drawn, alone)
	}
}

// TestALeanedAxlesStops: 57° of lean, found by a reader who tried it: each stop
// for itself let the damper get 14 mm longer than its limit, by the lengths at
// one wheel 85.24 down and the other 211.90 up.
func TestALeanedAxlesStops(t *testing.T) {
	l := mustNew(t, linkage.Spec{
		Kind: linkage.SolidAxle, RollPoint: pt(0, 0, 667), Wheels: linkage.Wheels{Left: pt(0, 750, 350), Right: pt(0, -750, 350)},
		Damper: linkage.Damper{Upper: pt(86, 658, 432), Lower: pt(0, 567, 351)},
	})
	s, err := l.Sweep(0, linkage.Range{Bump: mm(75), Droop: mm(65)})
	if err != nil {
		t.Fatal(err)
	}
	shortest, longest := s.Extremes()
	least, most := shortest.Length.Mm()-15, longest.Length.Mm()+15
	bump, _ := s.SolidBy(least, most)
	droop, _ := s.TightBy(least, most)
	solid, tight := s.Together(bump, droop, least, most)
	if solid.WheelTravel >= bump.WheelTravel || tight.WheelTravel <= droop.WheelTravel || solid.WheelTravel < mm(75) || tight.WheelTravel > mm(-65) {
		t.Errorf("drawn in from %v and %v to %v and %v", droop, bump, tight, solid)
	}
}

// The words say that the anchors part, so the amount beside them has no sign.
func TestAStrapsStepHasNoSign(t *testing.T) {
	f := linkage.Strap{Distance: mm(400), MotionRatio: 0.8, Stretch: 0.1}.For(mm(-68))
	for _, lang := range note.Languages() {
		if text := f.Steps[0].Text(lang, unit.Millimetres); strings.Contains(text, "-68") || !strings.Contains(text, "68 mm") {
			t.Errorf("%s: %s", lang, text)
		}
	}
}
