package damping_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/damping"
	"midstroke/internal/ride"
	"midstroke/internal/unit"
)

// spring judges a spring on a corner of 300 kg whose spring has the ratio 0.8 and
// the rate given.
func spring(tb rapid.TB, s damping.Spring, rate float64) *damping.SpringAnswer {
	tb.Helper()
	return answer(tb, damping.Question{
		Corner: ride.Corner{SprungKg: 300, UnsprungKg: 40, SpringRate: rate, SpringRatio: 0.8, TyreRate: 180, DamperRatio: 0.8},
		Spring: &s,
	}).Spring
}

// TestWorkedSprings: two springs of a textbook.
func TestWorkedSprings(t *testing.T) {
	// Shigley, 10th ed., problem 10-3 with its published answer: wire 2.5 mm, outer
	// diameter 31 mm, 14 turns, plain and ground ends, G 81 GPa: 1.314 N/mm, solid 35
	// mm, and 167.9 N at 871.2 MPa.
	s := damping.Spring{Wire: 2.5, Mean: 28.5, Turns: 14, Ends: damping.PlainGround, ShearModulus: 81, Free: 35 + 167.9/1.314}
	a := spring(t, s, 1.314)
	near(t, "rate, N/mm", a.Rate, 1.314, 5e-4)
	near(t, "solid length, mm", a.Solid, 35, 1e-9)
	near(t, "stress at solid, MPa", a.StressSolid, 871.2, 0.5)
	near(t, "active turns", a.Active, 13, 1e-12)
	// Shigley, 10th ed., example 10-1 (from memory): wire 0.037 in, outer diameter
	// 7/16 in (so 0.400 in to the middle of the wire, as rounded there), 12 1/2 turns,
	// squared ends, G 11.85 Mpsi: 4.13 lbf/in, solid 0.4995 in, 6.46 lbf at 146 kpsi,
	// and no buckling between flat plates below 2.107 in.
	const inch, lbf, psi = 25.4, 4.4482216, 0.00689476
	s = damping.Spring{
		Wire: 0.037 * inch, Mean: 0.400 * inch, Turns: 12.5, Ends: damping.Squared,
		ShearModulus: 11.85e6 * psi / 1000, Free: (0.4995 + 6.46/4.13) * inch,
	}
	a = spring(t, s, 4.13*lbf/inch)
	near(t, "rate, lbf/in", a.Rate*inch/lbf, 4.13, 0.005)
	near(t, "solid length, in", a.Solid/inch, 0.4995, 1e-9)
	near(t, "stress at solid, kpsi", a.StressSolid/psi/1000, 146, 0.5)
	if a.Buckles {
		t.Errorf("it buckles at %g mm", a.BucklesAt)
	}
}

// TestEnds: active turns and solid length by the ends (Shigley, 10th ed., table
// 10-1), for 10 turns of 10 mm wire.
func TestEnds(t *testing.T) {
	for _, c := range []struct {
		ends          damping.Ends
		active, solid float64
	}{{damping.Plain, 10, 110}, {damping.PlainGround, 9, 100}, {damping.Squared, 8, 110}, {damping.SquaredGround, 8, 100}} {
		a := spring(t, damping.Spring{Wire: 10, Mean: 100, Turns: 10, Ends: c.ends, Free: 400}, 10)
		near(t, c.ends.String()+", active turns", a.Active, c.active, 1e-12)
		near(t, c.ends.String()+", solid length", a.Solid, c.solid, 1e-12)
		if e, ok := damping.SpringEnds.Parse(c.ends.String()); !ok || e != c.ends {
			t.Errorf("%v is read as %v", c.ends, e)
		}
	}
}

// TestBuckling: EN 13906-1's formula (from memory), which is written otherwise:
// s_K = L0 · 0.5/(1-g) · [1 - √(1 - (1-g)/(0.5+g) · (πD/(νL0))²)] with g = G/E. And a
// steel spring stands below 2.63 D/ν (Shigley, from memory).
func TestBuckling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mean := rapid.Float64Range(60, 150).Draw(t, "mean")
		free := rapid.Float64Range(300, 900).Draw(t, "free")
		fixity := rapid.SampledFrom([]float64{0.5, 0.7, 1}).Draw(t, "fixity")
		s := damping.Spring{Wire: 12, Mean: mean, Turns: 6, Ends: damping.SquaredGround, Free: free, Fixity: fixity}
		a := spring(t, s, 30)
		const g = 79.3 / 206
		under := 1 - (1-g)/(0.5+g)*math.Pow(math.Pi*mean/(fixity*free), 2)
		want, solid := 0.0, 12*6.0
		if under > 0 {
			want = free * 0.5 / (1 - g) * (1 - math.Sqrt(under))
		}
		if want >= free-solid {
			want = 0
		}
		near(t, "deflection", a.BucklesAt, want, 1e-9*free)
		if a.Buckles != (want > 0) {
			t.Errorf("buckles is %v at %g", a.Buckles, want)
		}
		if slender := fixity * free / mean; a.Buckles && slender < 2.62 {
			t.Errorf("it buckles at a slenderness of %g", slender)
		}
	})
}

// TestSpringOnCorner: by hand. 300 kg at 0.8 is 3677.49 N in the spring, 122.583 mm
// of 30 N/mm. Wheel travel of 90 mm up is 72 mm of spring, 110 down are 88 mm.
func TestSpringOnCorner(t *testing.T) {
	a := spring(t, damping.Spring{Rate: 30, Solid: 130, Free: 400, SeatsAtRide: 270, Bump: 90, Droop: 110}, 30)
	l := a.Loads[0]
	near(t, "force", l.Force, 3677.494, 0.001)
	near(t, "length", l.Length, 400-122.5831, 0.001)
	near(t, "to bind", l.ToBind, 400-122.5831-130, 0.001)
	near(t, "to bind at the wheel", l.ToBindAtWheel, (400-122.5831-130)/0.8, 0.001)
	near(t, "to bind in bump", a.AtBump.ToBind, 400-122.5831-130-72, 0.001)
	near(t, "force in bump", a.AtBump.Force, 3677.494+30*72, 0.001)
	near(t, "preload", a.AtDroop.Force, 3677.494-30*88, 0.001)
	near(t, "wanted free length", a.WantedFree, 270+122.5831, 0.001)
	near(t, "seats closer", a.SeatsCloser, 270+122.5831-400, 0.001)
	near(t, "lowest rate", a.RateLow, 28.5, 1e-9)
	near(t, "highest rate", a.RateHigh, 31.5, 1e-9)
	if len(a.Cautions) > 0 {
		t.Error(a.Cautions)
	}
}

func TestSpringCautions(t *testing.T) {
	good := damping.Spring{Wire: 13, Mean: 110, Turns: 8.5, Ends: damping.SquaredGround, Free: 400, Bump: 80, Droop: 100, ShearYield: 2000}
	rate := spring(t, good, 30).Rate
	for _, c := range []struct {
		name   string
		change func(*damping.Spring)
		want   string
	}{
		{"good", func(*damping.Spring) {}, ""},
		{"binds", func(s *damping.Spring) { s.Bump = 250 }, "spring_binds"},
		{"nearly binds", func(s *damping.Spring) { s.Bump = 190 }, "spring_near_bind"},
		{"loose", func(s *damping.Spring) { s.Droop = 250 }, "spring_loose"},
		{"sets", func(s *damping.Spring) { s.ShearYield = 700 }, "spring_sets"},
		{"other rate", func(s *damping.Spring) { s.Turns = 7 }, "spring_rates_differ"},
		{"slender", func(s *damping.Spring) { s.Fixity, s.Free = 2, 450 }, "spring_buckles"},
		{"wide", func(s *damping.Spring) {
			s.ShearYield, s.Wire, s.Mean, s.Turns = 0, 8, 100, 2+79.3e3*math.Pow(8, 4)/(8e6*rate)
		}, "spring_index"},
	} {
		s := good
		c.change(&s)
		a := spring(t, s, rate)
		if got := codesOf(a.Cautions); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
		for _, n := range a.Cautions {
			if text := n.Text("en", unit.Millimetres); text == string(n.Code) || strings.ContainsAny(text, "{}") {
				t.Errorf("%s reads %q", c.name, text)
			}
		}
	}
}

func TestSpringFaults(t *testing.T) {
	good := damping.Spring{Wire: 13, Mean: 110, Turns: 8.5, Ends: damping.SquaredGround, Free: 400}
	for _, c := range []struct {
		name   string
		change func(*damping.Spring)
		want   string
	}{
		{"good", func(*damping.Spring) {}, ""},
		{"nothing", func(s *damping.Spring) { *s = damping.Spring{} }, "/rate_n_mm missing"},
		{"rate alone", func(s *damping.Spring) { *s = damping.Spring{Rate: 30} }, ""},
		{"wire alone", func(s *damping.Spring) { *s = damping.Spring{Wire: 13} }, "/mean_diameter missing, /turns missing, /ends missing"},
		{"without wire", func(s *damping.Spring) { s.Wire = 0 }, "/wire missing"},
		{"thick wire", func(s *damping.Spring) { s.Wire = 101 }, "/wire out_of_range"},
		{"both", func(s *damping.Spring) { s.Rate = 30 }, "/rate_n_mm coil_and_rate"},
		{"tight", func(s *damping.Spring) { s.Mean = 20 }, "/mean_diameter coil_too_tight"},
		{"few turns", func(s *damping.Spring) { s.Turns = 2 }, "/turns turns_too_few"},
		{"shorter than solid", func(s *damping.Spring) { s.Free = 100 }, "/free_length free_below_solid"},
		{"signs", func(s *damping.Spring) { s.Bump, s.Droop, s.ShearModulus = -1, -1, -1 },
			"/shear_modulus_gpa out_of_range, /bump out_of_range, /droop out_of_range"},
		{"no number", func(s *damping.Spring) { s.SeatsAtRide = math.NaN() }, "/seats_at_ride out_of_range"},
	} {
		s := good
		c.change(&s)
		var got []string
		for _, f := range s.Faults() {
			got = append(got, f.Pointer+" "+f.Code.Public())
			if text := f.Text("en", unit.Millimetres); text == string(f.Code) || strings.ContainsAny(text, "{}") {
				t.Errorf("%s reads %q", f.Code, text)
			}
		}
		if g := strings.Join(got, ", "); g != c.want {
			t.Errorf("%s: got %s, want %s", c.name, g, c.want)
		}
	}
}

// TestBindByAChangingRatio: by hand. 300 kg at a ratio of 0.6 are 4903.325 N in the
// spring, 122.583 mm of 40 N/mm. Of 330 mm that leaves 57.417 mm above a solid length
// of 150 mm. The spring moves by 0.6 z + c z²/2, so that with c = 2 the coils touch at
// z = (-0.6 + √(0.36 + 4·0.057417))/2 = 83.949 mm, and with c = -1.5 at
// z = (0.6 - √(0.36 - 3·0.057417))/1.5 = 111.133 mm, wherever the bump ends. With c = -4
// the spring goes by 0.36/8 = 45 mm at most, and under 200 kg it has 98.278 mm left: it
// never touches. With c = 0 and 240 mm of droop it goes back by 144 mm and is loose by
// 21.417 mm: from there the wheel must come up by (57.417 + 144)/0.6 = 335.69 mm.
func TestBindByAChangingRatio(t *testing.T) {
	for _, c := range []struct {
		mass          float64
		change, bump  float64
		atRide        float64 // 0 for never
		atBump        float64
		said, advised string
	}{
		{300, 2, 110, 83.949, 83.949 - 110, "spring_binds", "End the bump at 83.9 mm"},
		{300, -1.5, 150, 111.133, 111.133 - 150, "spring_binds", "End the bump at 111.1 mm"},
		{300, -1.5, 200, 111.133, 111.133 - 200, "spring_binds", "End the bump at 111.1 mm"},
		{200, -4, 140, 0, 0, "", ""},
		{300, 0, 90, 95.695, 5.695, "spring_near_bind", ""},
	} {
		a := answer(t, damping.Question{
			Corner:  ride.Corner{SprungKg: c.mass, UnsprungKg: 40, SpringRate: 40, SpringRatio: 0.6, SpringRatioChange: c.change, TyreRate: 200, DamperRatio: 0.7},
			Spring:  &damping.Spring{Rate: 40, Solid: 150, Free: 330, Bump: c.bump},
			Targets: damping.Targets{RideHz: 1},
		})
		near(t, "to bind at ride", a.Spring.Loads[0].ToBindAtWheel, c.atRide, 0.001)
		near(t, "to bind at bump", a.Spring.AtBump.ToBindAtWheel, c.atBump, 0.001)
		text := ""
		for _, n := range a.Spring.Cautions {
			text += n.Text("en", unit.Millimetres)
		}
		if codesOf(a.Spring.Cautions) != c.said || !strings.Contains(text, c.advised) {
			t.Errorf("change %g, bump %g: %s: %s", c.change, c.bump, codesOf(a.Spring.Cautions), text)
		}
	}
	loose := answer(t, damping.Question{
		Corner: ride.Corner{SprungKg: 300, UnsprungKg: 40, SpringRate: 40, SpringRatio: 0.6, TyreRate: 200, DamperRatio: 0.7},
		Spring: &damping.Spring{Rate: 40, Solid: 150, Free: 330, Droop: 240},
	}).Spring.AtDroop
	near(t, "to bind from a loose droop, at the spring", loose.ToBind, 180, 1e-9)
	near(t, "to bind from a loose droop, at the wheel", loose.ToBindAtWheel, 335.695, 0.001)
}

// TestBindBeforeTheRatioTurns: with a change of -4 the ratio of 0.7 is 0 at 175 mm, and
// past that the spring gets longer again. By hand, at 175 mm it has moved by
// 0.49/8 = 61.25 mm, and 300 kg have pressed it by 4202.85/40 = 105.071 mm: a solid
// length of 170 mm is passed by 6.32 mm there, though 260 mm of bump leave
// 0.7·260 - 2·0.26²·1000 = 46.8 mm and so 8.13 mm.
func TestBindBeforeTheRatioTurns(t *testing.T) {
	a := answer(t, damping.Question{
		Corner: ride.Corner{SprungKg: 300, UnsprungKg: 40, SpringRate: 60, SpringRatio: 0.7, SpringRatioChange: -4, TyreRate: 200, DamperRatio: 0.7},
		Spring: &damping.Spring{Rate: 40, Solid: 170, Free: 330, Bump: 260},
	})
	for _, n := range a.Spring.Cautions {
		if n.Code == "spring_binds" {
			return
		}
	}
	t.Errorf("%v", a.Spring.Cautions)
}
