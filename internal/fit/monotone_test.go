package fit_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/linkage"
	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/ride"
	"midstroke/internal/unit"
	"midstroke/testdata/demo"
)

// few is a catalogue in which every damper's grade is looked at often.
var few = catalog.NewSnapshot("few", 1, demo.Generate(300, 120))

// gradesOf gives the grade of every damper that fits.
func gradesOf(t *rapid.T, r *fit.Request, s *catalog.Snapshot) map[string]fit.Grade {
	t.Helper()
	all := *r
	all.Codes = nil
	for _, d := range s.Dampers() {
		all.Codes = append(all.Codes, d.Code)
	}
	grades := map[string]fit.Grade{}
	// As many as may be listed at a time.
	for from := 0; from < len(all.Codes); from += fit.MostListed {
		some := all
		some.Top = fit.MostListed
		some.Codes = all.Codes[from:min(from+fit.MostListed, len(all.Codes))]
		a, faults := fit.Find(&some, s)
		if len(faults) > 0 {
			t.Skip(faults)
		}
		for i := range a.Fits {
			grades[a.Fits[i].Damper.Code] = a.Fits[i].Grade
		}
	}
	return grades
}

// noBetter wants no damper to fit after a change that didn't before, and none to
// have a better grade. It gives how many lost theirs.
func noBetter(t *rapid.T, before, after map[string]fit.Grade, change string) (lost int) {
	t.Helper()
	for code, grade := range after {
		if was, fits := before[code]; !fits || grade < was {
			t.Fatalf("%s is %s after %s; before it was %s (fits: %v)", code, grade, change, was, fits)
		}
	}
	for code, was := range before {
		if grade, fits := after[code]; !fits || grade > was {
			lost++
		}
	}
	return lost
}

// Less that is known, more that is asked of it: none of it makes a damper fit, or
// fit better.
func TestDoubtNeverMakesAFit(t *testing.T) {
	changes := []struct {
		name   string
		change func(*rapid.T, *fit.Request) bool // false where it doesn't apply
	}{
		{"a wider tolerance of the readings", func(t *rapid.T, r *fit.Request) bool {
			r.Readings.Tolerance += sixteenths(t, "wider", 1, 6)
			return true
		}},
		{"a wider tolerance of the gaps", func(t *rapid.T, r *fit.Request) bool {
			r.Readings.Condition.GapTolerance += sixteenths(t, "wider", 1, 6)
			return r.Readings.Condition.NotAtRide
		}},
		{"a wider tolerance of the motion ratio", func(t *rapid.T, r *fit.Request) bool {
			m := &r.Readings
			m.MotionRatioTolerance += 0.1 * m.MotionRatio
			return m.MotionRatio > 0 && m.MotionRatioTolerance < m.MotionRatio
		}},
		{"a lower lowest height", func(t *rapid.T, r *fit.Request) bool {
			r.Heights.Below += sixteenths(t, "lower", 1, 16)
			return r.Readings.MotionRatio > 0 || r.Travel.Basis == fit.ByLinkage
		}},
		{"a higher highest height", func(t *rapid.T, r *fit.Request) bool {
			r.Heights.Above += sixteenths(t, "higher", 1, 16)
			if d := r.DroopLimit; d != nil && r.Heights.Above > d.Travel {
				return false // which contradict each other
			}
			return r.Readings.MotionRatio > 0 || r.Travel.Basis == fit.ByLinkage
		}},
		{"a harder stop on the rod", func(t *rapid.T, r *fit.Request) bool {
			harder := fit.BumpStop{OnRod: true, BumpStop: linkage.BumpStop{Height: sixteenths(t, "stop", 8, 40), Squash: 0.5}}
			if r.BumpStop != nil {
				harder = *r.BumpStop
				harder.Squash /= 2
			}
			r.BumpStop = &harder
			return harder.OnRod
		}},
		{"a wider gap at the bump stop", func(t *rapid.T, r *fit.Request) bool {
			if r.BumpStop == nil || r.BumpStop.OnRod {
				return false
			}
			wider := *r.BumpStop
			wider.Gap += sixteenths(t, "wider", 1, 60)
			r.BumpStop = &wider
			return true
		}},
		{"sides farther apart", func(t *rapid.T, r *fit.Request) bool { return apart(t, r, measure.Left, -1) }},
		{"sides farther apart", func(t *rapid.T, r *fit.Request) bool { return apart(t, r, measure.Left, 1) }},
		{"sides farther apart", func(t *rapid.T, r *fit.Request) bool { return apart(t, r, measure.Right, -1) }},
		{"sides farther apart", func(t *rapid.T, r *fit.Request) bool { return apart(t, r, measure.Right, 1) }},
	}
	lost := map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		s := few
		var r *fit.Request
		if rapid.IntRange(0, 3).Draw(t, "on a linkage") == 0 {
			r = drawOnLinkage(t, 4)
		} else {
			r = drawRequest(t)
		}
		// Hardware and limits would leave few dampers to lose.
		r.Limits, r.Upper, r.Lower = fit.Limits{}, mount.Bracket{}, mount.Bracket{}
		before := gradesOf(t, r, s)
		for _, c := range changes {
			after := *r
			after.Readings.Readings = slices.Clone(r.Readings.Readings)
			if c.change(t, &after) {
				lost[c.name] += noBetter(t, before, gradesOf(t, &after, s), c.name)
			}
		}
	})
	for _, c := range changes {
		if lost[c.name] == 0 {
			t.Errorf("%s changed nothing in all cases", c.name)
		}
	}
}

// apart moves one side away from the other. A side that holds both the least and the
// greatest reading stays: moved, it would draw one of the bounds in.
func apart(t *rapid.T, r *fit.Request, side measure.Side, sign unit.Length) bool {
	n := lengthsOf(&measure.Readings{Readings: r.Readings.Readings})
	by := sign * sixteenths(t, "apart", 1, 2)
	told := false
	var mean, count, here, there unit.Length // the reading of each side that is farthest inwards
	for i, one := range r.Readings.Readings {
		inwards := &there
		if one.Side == side {
			inwards = &here
		}
		if l := -sign * one.Length; i == 0 || *inwards == 0 || l > *inwards {
			*inwards = l
		}
	}
	if here > there {
		return false
	}
	for i := range r.Readings.Readings {
		one := &r.Readings.Readings[i]
		if one.Side == side {
			told = true
			mean, count = mean+one.Length, count+1
			one.Length += by
		}
	}
	if !told {
		return false
	}
	mean /= count
	return sign < 0 && mean == n.shorter || sign > 0 && mean == n.longer
}

// A rougher road, a faster or a longer drive and a softer damping.
func TestAHarsherRoadNeverMakesAFit(t *testing.T) {
	changes := map[string]func(*ride.Road){
		"a rougher class": func(r *ride.Road) { r.Class++ },
		"more speed":      func(r *ride.Road) { r.SpeedKmh *= 1.3 },
		"more hours":      func(r *ride.Road) { r.Hours *= 10 },
		"less damping":    func(r *ride.Road) { r.Corner.Damping *= 0.8 },
	}
	lost := 0
	rapid.Check(t, func(t *rapid.T) {
		s := few
		r := drawRequest(t)
		if r.Readings.MotionRatio == 0 {
			r.Readings.MotionRatio = 0.8
		}
		r.Suspension = rapid.SampledFrom([]fit.Suspension{fit.SolidAxle, fit.Independent}).Draw(t, "suspension")
		road := highway(ride.Class('A' + rapid.IntRange(0, 4).Draw(t, "class")))
		road.Hours = rapid.Float64Range(0.01, 1000).Draw(t, "hours")
		road.SpeedKmh = rapid.Float64Range(10, 140).Draw(t, "speed")
		r.Travel = fit.Travel{Basis: fit.ByRoad, Road: road}
		before := gradesOf(t, r, s)
		for name, change := range changes {
			harsher := *road
			change(&harsher)
			after := *r
			after.Travel.Road = &harsher
			lost += noBetter(t, before, gradesOf(t, &after, s), name)
		}
	})
	if lost == 0 {
		t.Error("no road made any difference")
	}
}

// A damper whose own lengths are known less well.
func TestALooserListNeverMakesAFit(t *testing.T) {
	contents := demo.Generate(300, 120)
	for i := range contents.Dampers {
		contents.Dampers[i].LengthTolerance += unit.Inch / 16
	}
	looser := catalog.NewSnapshot("looser", 1, contents)
	lost := 0
	rapid.Check(t, func(t *rapid.T) {
		r := drawRequest(t)
		lost += noBetter(t, gradesOf(t, r, few), gradesOf(t, r, looser), "a wider tolerance of the dampers")
	})
	if lost == 0 {
		t.Error("no tolerance made any difference")
	}
}
