package fit_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"midstroke/internal/fit"
	"midstroke/internal/linkage"
	"midstroke/internal/unit"
)

// By hand: a damper of 230 to 430 mm keeps 6 mm from 236 to 424; inclined by 120
// across it has those lengths √(236² - 120²) and √(424² - 120²) high, and 350 at
// ride. With the reading 2 mm longer than the points, the points' lengths are
// 2 mm shorter.
func TestStopsByALinkage(t *testing.T) {
	for _, off := range []float64{0, 2} {
		a := find(t, onHand(t, off), stocked(eyes("one", 230*mm, 430*mm)))
		s := a.Fits[0].Stops
		if s == nil || s.Bump == nil || s.Droop == nil || s.BumpStop != nil || s.Strap != nil {
			t.Fatalf("stops %+v, want bump and droop alone", s)
		}
		c, e := 236-off, 424-off
		within(t, "bump", *s.Bump, 350-math.Sqrt(c*c-120*120), 1e-6)
		within(t, "droop", *s.Droop, 350-math.Sqrt(e*e-120*120), 1e-6)
	}
}

// stop and strap are of the ordinary kind.
func stop(reserve unit.Length) *fit.BumpStop {
	return &fit.BumpStop{BumpStop: linkage.BumpStop{Gap: 40 * mm, Height: 60 * mm, Squash: 0.5, MotionRatio: 0.5}, Reserve: reserve}
}

func strap(reserve unit.Length) *fit.Strap {
	return &fit.Strap{Strap: linkage.Strap{Distance: 300 * mm, MotionRatio: 0.8, Stretch: 0.05}, Reserve: reserve}
}

func TestStopsAskedAbout(t *testing.T) {
	r := onHand(t, 0)
	r.BumpStop, r.Strap = stop(11*mm), strap(21*mm)
	s := find(t, r, stocked(eyes("one", 230*mm, 430*mm))).Fits[0].Stops
	// 230 + 11 and 430 - 21 are the lengths at 141 up and 41 down, by hand.
	if *s.Bump != 141*mm || *s.Droop != -41*mm {
		t.Fatalf("stops at %v and %v, want 141 and -41 mm", *s.Bump, *s.Droop)
	}
	// The stop has gone 40 + 0.5·60 = 70 at its own ratio when it is solid, and
	// 141·0.5 = 70.5 when it must be.
	b := s.BumpStop
	if b.SolidAt != 140*mm || !b.InTime || b.Gap != 40*mm+mm/2 || b.Height != 61*mm || len(b.Steps) == 0 {
		t.Errorf("bump stop %+v, want solid at 140, in time; gap 40.5 or height 61 mm", *b)
	}
	// (300 + 0.8·41)/1.05, rounded down.
	if want := unit.Length(math.Floor(332.8e6 / 1.05)); s.Strap.Length != want || len(s.Strap.Steps) == 0 {
		t.Errorf("strap %+v, want %d nm", *s.Strap, want)
	}
}

func notesOf(f *fit.Fit) []string {
	var codes []string
	for _, n := range f.Notes {
		codes = append(codes, string(n.Code))
	}
	return codes
}

// A reserve that the damper hasn't got within the range, or at ride, is told.
func TestStopsWithinTheRange(t *testing.T) {
	r := onHand(t, 0)
	r.BumpStop, r.Strap = stop(12*mm), strap(22*mm)
	f := find(t, r, stocked(eyes("one", 230*mm, 430*mm))).Fits[0]
	if *f.Stops.Bump >= 141*mm || *f.Stops.Droop <= -41*mm {
		t.Errorf("stops at %v and %v, want both within the range", *f.Stops.Bump, *f.Stops.Droop)
	}
	for _, code := range []string{"bump_stop_within_range", "strap_within_range"} {
		if !slices.Contains(notesOf(&f), code) {
			t.Errorf("notes %v lack %s", notesOf(&f), code)
		}
	}
	r.BumpStop, r.Strap = stop(141*mm), strap(61*mm)
	f = find(t, r, stocked(eyes("one", 230*mm, 430*mm))).Fits[0]
	if f.Stops.Bump != nil || f.Stops.Droop != nil || f.Stops.BumpStop != nil || f.Stops.Strap != nil {
		t.Errorf("stops %+v where not even ride height keeps the reserve", *f.Stops)
	}
	for _, code := range []string{"no_room_for_bump_stop", "no_room_for_strap"} {
		if !slices.Contains(notesOf(&f), code) {
			t.Errorf("notes %v lack %s", notesOf(&f), code)
		}
	}
}

// TestAStopsReserveIsOfTheEndThatItGuards: how much longer a damper could get doesn't
// matter for where its bump stop must be solid: √(265² - 120²) of height is
// left at 240 + 25 mm, closed form.
func TestAStopsReserveIsOfTheEndThatItGuards(t *testing.T) {
	s := byHand()
	s.bump, s.droop = 60*mm, 15*mm
	r := onLinkage(asked(t, "16"), s, 0)
	r.Readings.Tolerance, r.BumpStop = mm, stop(25*mm)
	for _, extended := range []unit.Length{395 * mm, 394 * mm} {
		f := find(t, r, stocked(eyes("one", 240*mm, extended))).Fits[0]
		if f.Stops.Bump == nil || f.Stops.BumpStop == nil {
			t.Errorf("%v extended: %v", extended, notesOf(&f))
			continue
		}
		within(t, "bump stop", *f.Stops.Bump, 350-math.Sqrt(265*265-120*120), 1e-5)
	}
}

// A damper that goes over centre 130 mm above ride, and is never shorter than
// 120 there, is not bottomed at 100 mm; what stops it then is its length on the
// far side.
func TestNothingToStop(t *testing.T) {
	s := byHand()
	s.spec.Damper.Upper = pt(120, 0, 130)
	s.bump = 100 * mm
	r := onLinkage(asked(t, "16"), s, 0)
	got := find(t, r, stocked(gas(eyes("one", 100*mm, 260*mm)))).Fits[0].Stops
	within(t, "bump, over centre", *got.Bump, 130+math.Sqrt(254*254-120*120), 1e-6)
	// One that is long enough for anything is stopped by nothing.
	got = find(t, r, stocked(gas(eyes("one", 100*mm, 19*unit.Metre)))).Fits[0].Stops
	if got.Bump != nil || got.Droop != nil {
		t.Errorf("stops %+v, want none", *got)
	}
}

// By a constant motion ratio: a damper with 70 mm of compression and 50 of
// extension over 6 mm of reserve, at 0.8 for each mm of the wheel.
func TestStopsByTheMotionRatio(t *testing.T) {
	s := stocked(eyes("one", 324*mm, 451*mm))
	r := metric(t, 400, 40)
	r.Readings.MotionRatio = 0.8
	if got := find(t, r, s).Fits[0].Stops; got != nil {
		t.Errorf("stops %+v that nobody asked about", *got)
	}
	r.BumpStop = stop(6 * mm)
	got := find(t, r, s).Fits[0].Stops
	if *got.Bump != unit.FromMm(70/0.8) || *got.Droop != unit.FromMm(-45/0.8) {
		t.Errorf("stops at %v and %v, want 87.5 and -56.25 mm", *got.Bump, *got.Droop)
	}
	if got.BumpStop == nil || got.Strap != nil {
		t.Errorf("stops %+v, want the bump stop judged and no strap", *got)
	}
	r.BumpStop.Reserve = 77 * mm
	f := find(t, r, s).Fits[0]
	if f.Stops.Bump != nil || !slices.Contains(notesOf(&f), "no_room_for_bump_stop") {
		t.Errorf("a bump stop at %v below ride", f.Stops.Bump)
	}
}

// Past 75 mm of wheel travel one motion ratio is no good for a stop either (common
// practice, no source). By hand: at 395 with 6 mm of reserve and a ratio of 0.8, 300 mm
// compressed is 89/0.8 = 111.25 mm up, and 340 mm 61.25; extended likewise.
func TestStopsPastWhatAConstantRatioIsGoodFor(t *testing.T) {
	for _, c := range []struct {
		compressed, extended unit.Length
		up, down             float64 // told, mm; 0 without the caution
	}{
		{340 * mm, 450 * mm, 0, 0},
		{300 * mm, 450 * mm, 111.25, 61.25},
		{340 * mm, 490 * mm, 61.25, 111.25},
	} {
		r := metric(t, 395, 40)
		r.Readings.MotionRatio = 0.8
		r.BumpStop, r.Strap = stop(6*mm), strap(6*mm)
		a := find(t, r, stocked(eyes("one", c.compressed, c.extended)))
		if c.up == 0 {
			if slices.Contains(codesOf(a.Cautions), "ratio_held_constant") {
				t.Errorf("%v to %v mm: cautions %v", c.compressed.Mm(), c.extended.Mm(), codesOf(a.Cautions))
			}
			continue
		}
		n := told(t, a.Cautions, "ratio_held_constant")
		within(t, n.Values[0].Name, n.Values[0].Length, c.up, 1e-6)
		within(t, n.Values[1].Name, n.Values[1].Length, c.down, 1e-6)
	}
}

func TestFaultsOfStops(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*fit.Request)
		want   []string
	}{
		{"neither a linkage nor a motion ratio", func(*fit.Request) {}, []string{"/bump_stop", "/strap"}},
		{"figures that can't be", func(r *fit.Request) {
			r.Readings.MotionRatio = 1
			r.BumpStop.Gap, r.BumpStop.Squash, r.Strap.MotionRatio, r.Strap.Stretch = -mm, 1, 0, 0.6
		}, []string{"/bump_stop/gap", "/bump_stop/squash", "/strap/motion_ratio", "/strap/stretch"}},
		{"a linkage with a fault of its own", func(r *fit.Request) {
			*r = *onLinkage(r, byHand(), 0)
			r.Linkage.Damper.Upper = nil
		}, []string{"/travel/linkage/damper/upper"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := metric(t, 400, 40)
			r.BumpStop, r.Strap = stop(6*mm), strap(6*mm)
			c.change(r)
			_, faults := fit.Find(r, stocked())
			var got []string
			for _, f := range faults {
				got = append(got, f.Pointer)
				if text := f.Text("en", unit.Millimetres); strings.HasSuffix(text, ".") || text == string(f.Code) || strings.ContainsAny(text, "{}") {
					t.Errorf("%s reads %q", f.Code, text)
				}
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("faults at %v, want %v", got, c.want)
			}
		})
	}
}

// TestStopsAreWhereTheReserveIsLeft: for every fit on every suspension the
// damper has just the reserve left at a stop, by the linkage solved there: at the
// end that the stop guards, and at the other as far as the travel asked for
// leaves it one.
func TestStopsAreWhereTheReserveIsLeft(t *testing.T) {
	const change = 12 * mm
	const off = 1.5
	fits := 0
	for _, one := range append(suspensions(), hardSuspensions()...) {
		l, faults := linkage.New(one.spec)
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		for _, s := range catalogues {
			r := onLinkage(asked(t, "16"), one, off)
			r.Readings.PlannedChange = change
			for _, f := range find(t, r, s).Fits {
				// Travel counts from the planned ride height, lengths from the
				// reading.
				extent := func(low, high unit.Length) (shortest, longest float64) {
					a, b, ok := lengthsOver(l, &one.spec, (low - change).Mm(), (high - change).Mm())
					if !ok {
						t.Fatalf("%s can't go from %v to %v mm", one.name, low.Mm(), high.Mm())
					}
					return a + off, b + off
				}
				spare := func(low, high unit.Length, atCompressed, atExtended float64) float64 {
					shortest, longest := extent(low, high)
					return min(shortest-f.Compressed.Mm()-atCompressed, f.Extended.Mm()-atExtended-longest)
				}
				shortest, longest := extent(-one.droop, one.bump)
				left := func(asked float64) float64 { return max(0, min(6, asked)) }
				atCompressed, atExtended := left(shortest-f.Compressed.Mm()), left(f.Extended.Mm()-longest)
				// An axle's other wheel may be anywhere in the range. Where that alone
				// is too much, package linkage's own tests tell what is right.
				var low, high unit.Length
				if one.spec.Kind == linkage.SolidAxle {
					if low, high = -one.droop, one.bump; spare(low, high, 6, 6) < 0 {
						continue
					}
					// Both stops together: a wheel at each. Where that leaves nothing
					// they may have been drawn in, and leave more one by one.
					if b, d := f.Stops.Bump, f.Stops.Droop; b != nil && d != nil {
						got := spare(*d, *b, 6, 6)
						if got < -2e-4 {
							t.Errorf("%s, %s: %v mm over the reserve with a wheel at each stop", one.name, f.Damper.Code, got)
						}
						if got < 2e-4 {
							fits++
							continue
						}
					}
				}
				fits++
				if b := f.Stops.Bump; b != nil {
					if got := spare(low, *b, 6, atExtended); math.Abs(got) > 2e-4 {
						t.Errorf("%s, %s: %v mm over the reserve at the bump stop", one.name, f.Damper.Code, got)
					}
				}
				if d := f.Stops.Droop; d != nil {
					if got := spare(*d, high, atCompressed, 6); math.Abs(got) > 2e-4 {
						t.Errorf("%s, %s: %v mm over the reserve at the strap", one.name, f.Damper.Code, got)
					}
				}
			}
		}
	}
	if fits < 50 {
		t.Errorf("only %d fits to judge by", fits)
	}
}

// With no bump asked for, ride height is the shortest of the travel, rounded to the
// nanometre. The damper leans, so its length there is no whole number of them. By hand:
// the mounts are 50 across and 410 up, √(50² + 410²) = 413.04 apart.
func TestARangeThatEndsAtRide(t *testing.T) {
	for i := range 40 {
		r := asked(t, "413 mm")
		across := 50*mm + unit.Length(i)*mm/7
		r.Linkage = &linkage.Spec{Kind: linkage.Inclined, Damper: linkage.Damper{
			Upper: linkage.Point{0, 400 * mm, 650 * mm}, Lower: linkage.Point{0, 400*mm + across, 240 * mm}}}
		r.Travel = fit.Travel{Basis: fit.ByLinkage, Droop: 60 * mm}
		// 3 mm of compression leave no room for a bump stop's reserve of 6.
		f := find(t, r, stocked(eyes("one", 410*mm, 600*mm))).Fits[0]
		if got := notesOf(&f); f.Stops.Droop == nil || slices.Contains(got, "no_room_for_strap") {
			t.Fatalf("%v across: %v, no strap", across.Mm(), got)
		}
		r.Travel = fit.Travel{Basis: fit.ByLinkage, Bump: 60 * mm}
		f = find(t, r, stocked(eyes("one", 250*mm, 416*mm))).Fits[0]
		if got := notesOf(&f); f.Stops.Bump == nil || slices.Contains(got, "no_room_for_bump_stop") {
			t.Fatalf("%v across: %v, no bump stop", across.Mm(), got)
		}
	}
}
