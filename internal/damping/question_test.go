package damping_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/damping"
	"midstroke/internal/note"
	"midstroke/internal/ride"
	"midstroke/internal/unit"
)

func answer(tb rapid.TB, q damping.Question) damping.Answer {
	tb.Helper()
	a, faults := q.Answer()
	if len(faults) > 0 {
		tb.Fatal(faults)
	}
	return a
}

// TestWantedByHand: 300 kg on 20 N/mm has 2√(20000·300) = 4898.98 N·s/m of critical
// damping; a ratio of 0.25 at a motion ratio of 0.6 is 3402.07 at the damper; with
// rebound twice compression, 1360.83 N of rebound at 0.3 m/s. By hand.
func TestWantedByHand(t *testing.T) {
	q := damping.Question{
		Corner:     ride.Corner{SprungKg: 300, UnsprungKg: 40, WheelRate: 20, TyreRate: 180, DamperRatio: 0.6, Damping: 1500},
		Targets:    damping.Targets{Ratio: 0.25, Split: 2, Class: 'B', SpeedKmh: 72},
		Velocities: []float64{0.3},
	}
	a := answer(t, q)
	u, w := a.Loads[0], a.Wanted
	near(t, "critical at the damper", u.CriticalAtDamper, 4898.98/0.36, 0.02)
	near(t, "at the wheel", w.AtWheel, 0.25*4898.98, 0.01)
	near(t, "at the damper", w.AtDamper.Wanted, 3402.07, 0.01)
	near(t, "ratio", u.Ratio, 0.25, 1e-9)
	near(t, "ratio now", u.RatioNow, 1500/4898.98, 1e-6)
	near(t, "hop ratio now", u.HopRatioNow, 1500/(2*math.Sqrt(200e3*40)), 1e-9)
	near(t, "hop ratio", u.HopRatio, 0.25*4898.98/(2*math.Sqrt(200e3*40)), 1e-6)
	f := w.Forces[len(w.Forces)-1]
	if f.Motion != damping.AsGiven || f.Velocity != 0.3 {
		t.Fatalf("%+v", f)
	}
	near(t, "rebound at 0.3 m/s", f.Rebound.Wanted, 1360.83, 0.01)
	near(t, "compression at 0.3 m/s", f.Compression.Wanted, 1360.83/2, 0.01)
	near(t, "lowest rebound at 0.3 m/s", f.Rebound.Low, 0.8*1360.83, 0.01)
	// c = k √((m_s + m_u)/k_t) shakes the body least: over 2√(k m_s).
	near(t, "ratio of comfort", u.ComfortRatio, 20e3*math.Sqrt(340.0/180e3)/4898.98, 1e-6)
	// σ_v = √(W k_t/(2c)), W = (2π·0.1)² 64e-6 · 20/2.
	sigma := math.Sqrt(math.Pow(2*math.Pi*0.1, 2) * 64e-6 * 20 / 2 * 180e3 / (2 * 0.25 * 4898.98))
	near(t, "velocity", w.Velocity, 0.6*sigma, 1e-7)
	body, hop, peak := w.Forces[0], w.Forces[1], w.Forces[2]
	// σ_d = σ_v √((m_s+m_u)/k_t), at the frequency of 18 N/mm under 300 kg.
	near(t, "velocity of body motion", body.Velocity, 0.6*sigma*math.Sqrt(340/180e3)*math.Sqrt(18e3/300), 1e-7)
	near(t, "velocity of both", math.Hypot(body.Velocity, hop.Velocity), w.Velocity, 1e-12)
	near(t, "peak velocity", peak.Velocity, 3*w.Velocity, 1e-12)
	for _, f := range w.Forces {
		near(t, "rebound over compression", f.Rebound.Wanted/f.Compression.Wanted, 2, 1e-9)
		near(t, "mean of both", (f.Rebound.Wanted+f.Compression.Wanted)/2, 3402.07*f.Velocity, 0.01)
	}
	q.Corner.DamperRollRatio = 0.45
	near(t, "damping in roll", answer(t, q).Loads[0].RollDamping, 3402.07*0.45*0.45, 0.01)
}

// TestRollDampingByAChangingRatio: a ratio in roll that equals that in heave changes
// nothing, at either load. With the load the damper's ratio has changed.
func TestRollDampingByAChangingRatio(t *testing.T) {
	q := loadedWithFriction()
	q.Corner.DamperRatioChange = 2
	want := answer(t, q)
	q.Corner.DamperRollRatio = q.Corner.DamperRatio
	for i, l := range answer(t, q).Loads {
		near(t, "damping in roll", l.RollDamping, want.Loads[i].RollDamping, 1e-9)
	}
	q.Corner.DamperRollRatio /= 2
	for i, l := range answer(t, q).Loads {
		near(t, "damping with half of the ratio", l.RollDamping, want.Loads[i].RollDamping/4, 1e-9)
	}
}

// TestFrictionIsTakenOff: with the wanted damper beside the friction the corner
// has the wanted ratio.
func TestFrictionIsTakenOff(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := van()
		q.Corner.LadenKg = 0
		q.Corner.Friction = rapid.Float64Range(1, 150).Draw(t, "friction")
		q.Targets.Ratio = rapid.Float64Range(0.2, 0.6).Draw(t, "ratio")
		a := answer(t, q)
		near(t, "ratio", a.Loads[0].Ratio, q.Targets.Ratio, 1e-6)
		near(t, "ratio of a damper as wanted", rate(t, q, straight(a.Wanted.AtDamper.Wanted)).Start().Loads[0].Ratio, q.Targets.Ratio, 1e-6)
		if a.Wanted.FrictionAtWheel <= 0 || a.Wanted.FrictionAtWheel >= a.Wanted.AtWheel {
			t.Errorf("friction has %g of %g", a.Wanted.FrictionAtWheel, a.Wanted.AtWheel)
		}
	})
}

// TestWantedSpring: the wheel rate that is wanted gives the wanted frequency, and
// the spring's rate that wheel rate, for springs whose ratio changes too.
func TestWantedSpring(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := van()
		q.Corner.LadenKg = 0
		q.Corner.SpringRatioChange = rapid.Float64Range(-0.5, 0.5).Draw(t, "change")
		q.Targets.RideHz = rapid.Float64Range(0.9, 2).Draw(t, "frequency")
		want := answer(t, q).Loads[0]
		q.Corner.SpringRate = want.WantedSpringRate.Wanted / 1000
		got := answer(t, q).Loads[0]
		near(t, "wheel rate", got.WheelRate, want.WantedWheelRate.Wanted, 1e-6*got.WheelRate)
		near(t, "frequency", got.RideHz, q.Targets.RideHz, 1e-9)
	})
}

// TestWantedSpringOnASoftTyre: by hand. 800 kg at 1.7 Hz need 800·(2π·1.7)² = 91 275 N/m,
// which a spring of 91 275·100 000/(100 000 - 91 275) = 1 046 000 N/m gives on a tyre of
// 100 000 N/m. At 1.53 Hz that is 283 600 N/m, and at 1.87 Hz the tyre is too soft. On 40
// N/mm the body has √(28 571/800)/2π = 0.951 Hz.
func TestWantedSpringOnASoftTyre(t *testing.T) {
	q := damping.Question{Corner: ride.Corner{SprungKg: 800, UnsprungKg: 60, WheelRate: 40, TyreRate: 100, DamperRatio: 0.8}, Targets: damping.Targets{RideHz: 1.7}}
	a := answer(t, q)
	got := a.Loads[0].WantedWheelRate
	near(t, "low, N/mm", got.Low/1000, 283.6, 0.1)
	near(t, "wanted, N/mm", got.Wanted/1000, 1046, 0.5)
	near(t, "high, N/mm", got.High, 0, 0)
	if codes := codesOf(a.Cautions); codes != "frequency_outside" {
		t.Errorf("cautions %s", codes)
	} else if text := a.Cautions[0].Text("en", unit.Millimetres); !strings.Contains(text, "0.9511 Hz") || !strings.Contains(text, "1046 N/mm") {
		t.Error(text)
	}
	q.Targets.RideHz = 1.8 // 800·(2π·1.8)² = 102 327 N/m
	a = answer(t, q)
	if got := a.Loads[0].WantedWheelRate; got.Low == 0 || got.Wanted != 0 || codesOf(a.Cautions) != "tyre_too_soft" {
		t.Errorf("at 1.8 Hz %+v, cautions %s", got, codesOf(a.Cautions))
	}
}

func codesOf(notes []note.Note) string {
	var codes []string
	for _, n := range notes {
		codes = append(codes, string(n.Code))
	}
	return strings.Join(codes, ", ")
}

// TestCautions: each is told with its figure, in words without gaps.
func TestCautions(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*damping.Question)
		want   string
		figure string // in the text
	}{
		{"none", func(q *damping.Question) {}, "", ""},
		{"unsprung over sprung", func(q *damping.Question) { q.Corner.UnsprungKg = 320 }, "unsprung_over_sprung", "320 kg"},
		{"over 10 Hz", func(q *damping.Question) { q.Corner.SpringRate, q.Corner.TyreRate = 9000, 18000 }, "frequency_high", "17.29"},
		{"too stiff", func(q *damping.Question) { q.Corner.SpringRate = 100 }, "frequency_outside", "1.803 Hz"},
		{"tyre too soft", func(q *damping.Question) { q.Targets.RideHz = 9.5 }, "tyre_too_soft", "9.5 Hz"},
		{"friction", func(q *damping.Question) { q.Corner.Friction = 2000 }, "friction_enough", "2000 N"},
		{"loads apart", func(q *damping.Question) { q.Corner.LadenKg = 900 }, "loads_apart", "0.25"},
	} {
		q := van()
		c.change(&q)
		a := answer(t, q)
		if got := codesOf(a.Cautions); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
			continue
		}
		for _, n := range a.Cautions {
			if text := n.Text("en", unit.Millimetres); !strings.Contains(text, c.figure) || strings.ContainsAny(text, "{}") {
				t.Errorf("%s reads %q", c.name, text)
			}
		}
		for _, s := range a.Steps {
			for _, lang := range note.Languages() {
				if text := s.Text(lang, unit.Millimetres); text == string(s.Code) || strings.ContainsAny(text, "{}") || s.SourceText(lang) == "" && s.Source != "" {
					t.Errorf("%s reads %q", s.Code, text)
				}
			}
		}
	}
}

// TestUsualTargets: every use has targets in order, and what is given replaces
// what is usual.
func TestUsualTargets(t *testing.T) {
	for _, name := range damping.Uses.All() {
		use, ok := damping.Uses.Parse(name)
		if !ok || use.String() != name {
			t.Errorf("%q is read as %v", name, use)
		}
		r := (&damping.Targets{Use: use}).Resolve()
		for _, x := range []damping.Range{r.RideHz.Range, r.Ratio.Range} {
			if !(0 < x.Low && x.Low < x.Wanted && x.Wanted < x.High) {
				t.Errorf("%s wants %+v", name, x)
			}
		}
		if r.Split < 1 || r.Class.String() == "" || r.SpeedKmh <= 0 || r.Ratio.Source == "" || r.RoadSource != "our choice" {
			t.Errorf("%s: %+v", name, r)
		}
	}
	// Usual are 0.25, 0.32 and 0.4. What isn't given is usual where that lies inside what
	// is, else 20 % beyond it or, of the wanted one, the mean: (0.35 + 1.2·0.35)/2 = 0.385.
	const given, usual, ours = "as given", "common practice, no source", "our choice"
	for _, c := range []struct {
		given  damping.Targets
		want   damping.Range
		source string
	}{
		{damping.Targets{Ratio: 0.5}, damping.Range{Low: 0.4, Wanted: 0.5, High: 0.6}, given},
		{damping.Targets{Ratio: 0.5, RatioHigh: 0.7}, damping.Range{Low: 0.4, Wanted: 0.5, High: 0.7}, given},
		{damping.Targets{RatioLow: 0.1}, damping.Range{Low: 0.1, Wanted: 0.32, High: 0.4}, usual},
		{damping.Targets{RatioLow: 0.3}, damping.Range{Low: 0.3, Wanted: 0.32, High: 0.4}, usual},
		{damping.Targets{RatioHigh: 0.5}, damping.Range{Low: 0.25, Wanted: 0.32, High: 0.5}, usual},
		{damping.Targets{RatioLow: 0.3, RatioHigh: 0.5}, damping.Range{Low: 0.3, Wanted: 0.32, High: 0.5}, usual},
		{damping.Targets{RatioLow: 0.35}, damping.Range{Low: 0.35, Wanted: 0.385, High: 0.42}, ours},
		{damping.Targets{RatioHigh: 0.2}, damping.Range{Low: 0.16, Wanted: 0.18, High: 0.2}, ours},
		{damping.Targets{Use: damping.OffRoad, RatioHigh: 0.4}, damping.Range{Low: 0.3, Wanted: 0.38, High: 0.4}, ours}, // as usual for the use
		{damping.Targets{RatioLow: 0.5, Ratio: 0.5, RatioHigh: 0.5}, damping.Range{Low: 0.5, Wanted: 0.5, High: 0.5}, given},
		{damping.Targets{RatioLow: 0.5, RatioHigh: 0.5}, damping.Range{Low: 0.5, Wanted: 0.5, High: 0.5}, ours},
	} {
		if faults := c.given.Faults(); len(faults) > 0 {
			t.Errorf("%+v: %v", c.given, faults)
		}
		got := c.given.Resolve().Ratio
		near(t, "low", got.Range.Low, c.want.Low, 1e-12)
		near(t, "wanted", got.Range.Wanted, c.want.Wanted, 1e-12)
		near(t, "high", got.Range.High, c.want.High, 1e-12)
		if got.Source != c.source {
			t.Errorf("%+v is from %q, want %q", c.given, got.Source, c.source)
		}
	}
}

func TestQuestionFaults(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*damping.Question)
		want   string
	}{
		{"good", func(*damping.Question) {}, ""},
		{"no damper ratio", func(q *damping.Question) { q.Corner.DamperRatio = 0 }, "/corner/damper_ratio missing"},
		{"corner", func(q *damping.Question) { q.Corner.SpringRate = 0 }, "/corner/wheel_rate_n_mm missing"},
		{"ratio in percent", func(q *damping.Question) { q.Targets.Ratio = 30 }, "/targets/damping_ratio out_of_range"},
		{"frequency over 10 Hz", func(q *damping.Question) { q.Targets.RideHz = 12 }, "/targets/ride_hz out_of_range"},
		{"crossed", func(q *damping.Question) { q.Targets.Ratio, q.Targets.RatioLow = 0.3, 0.4 }, "/targets/damping_ratio_low damping_ratios_crossed"},
		{"crossed by the wanted one", func(q *damping.Question) { q.Targets.Ratio, q.Targets.RatioHigh = 0.3, 0.2 }, "/targets/damping_ratio_low damping_ratios_crossed"},
		{"low over high", func(q *damping.Question) { q.Targets.RatioLow, q.Targets.RatioHigh = 0.4, 0.3 }, "/targets/damping_ratio_low damping_ratios_crossed"},
		{"split", func(q *damping.Question) { q.Targets.Split = 50 }, "/targets/rebound_over_compression out_of_range"},
		{"road", func(q *damping.Question) { q.Targets.Class, q.Targets.SpeedKmh = 'Z', math.NaN() },
			"/targets/road/class unknown_value, /targets/road/speed_kmh out_of_range"},
		{"velocities", func(q *damping.Question) { q.Velocities = []float64{0.1, 0, 300} },
			"/velocities/1 out_of_range, /velocities/2 out_of_range"},
		{"too many velocities", func(q *damping.Question) { q.Velocities = slices.Repeat([]float64{0.1}, 21) }, "/velocities too_many_velocities"},
		{"spring", func(q *damping.Question) { q.Spring = &damping.Spring{} }, "/spring/rate_n_mm missing"},
		{"spring without its own ratio", func(q *damping.Question) {
			q.Corner.SpringRatio = 0
			q.Spring = &damping.Spring{Rate: 45}
		}, "/corner/spring_ratio missing"},
		{"spring without ratio", func(q *damping.Question) {
			q.Corner.SpringRate, q.Corner.WheelRate, q.Corner.SpringRatio = 0, 22, 0
			q.Spring = &damping.Spring{Rate: 45}
		}, "/corner/spring_ratio missing"},
	} {
		t.Run(c.name, func(t *testing.T) {
			q := van()
			c.change(&q)
			_, faults := q.Answer()
			var got []string
			for _, f := range faults {
				got = append(got, f.Pointer+" "+f.Code.Public())
				if text := f.Text("en", unit.Millimetres); text == string(f.Code) || strings.ContainsAny(text, "{}") {
					t.Errorf("%s reads %q", f.Code, text)
				}
			}
			if g := strings.Join(got, ", "); g != c.want {
				t.Errorf("got  %s\nwant %s", g, c.want)
			}
			if _, rated := damping.NewRater(&q); len(rated) != len(faults) {
				t.Errorf("a rater has %d faults", len(rated))
			}
		})
	}
}
