package fit_test

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
	"midstroke/testdata/demo"
)

// Every kind of remedy is carried out here and the request asked again, as an
// adviser would. (Moves of a linkage's points are in TestAMoveDoneMakesAFit.)

// again asks about one damper and gives its grade; false where it is no fit.
func again(t fataler, r *fit.Request, s *catalog.Snapshot, code string) (fit.Grade, bool) {
	t.Helper()
	one := *r
	one.Codes = []string{code}
	a := find(t, &one, s)
	if len(a.Fits) == 0 {
		return 0, false
	}
	return a.Fits[0].Grade, true
}

// changed is a request after a change of length or height of this much, or with so
// much less travel; nil where that isn't how the remedy is carried out.
func changed(r *fit.Request, m *fit.NearMiss, kind fit.RemedyKind, by unit.Length) *fit.Request {
	c := *r
	c.Readings.Readings = slices.Clone(r.Readings.Readings)
	switch kind {
	case fit.MoveMountsTogether, fit.LowerBody:
		by = -by
	case fit.MoveMountsApart, fit.RaiseBody:
	default:
		return nil
	}
	if kind == fit.RaiseBody || kind == fit.LowerBody {
		c.Readings.PlannedChange += by
		raisedFromStops(&c, by)
		return &c
	}
	for i := range c.Readings.Readings {
		c.Readings.Readings[i].Length += by
	}
	if c.Travel.Basis == fit.Measured { // to the same two mounts
		c.Travel.AtBump += by
		c.Travel.AtDroop += by
	}
	return &c
}

// raisedFromStops brings what is said of the stops to another ride height: the gap at
// a chassis stop, and the droop up to what ends it.
func raisedFromStops(c *fit.Request, by unit.Length) {
	if s := c.BumpStop; s != nil && !s.OnRod {
		after := *s
		after.Gap = max(0, s.Gap+times(by, s.MotionRatio))
		c.BumpStop = &after
	}
	if d := c.DroopLimit; d != nil {
		c.DroopLimit = &fit.DroopLimit{By: d.By, Travel: d.Travel - by}
	}
}

// lessAsked is a request with the travel of a remedy given up: with so much less
// at the wheel to fixed stops, else as stated.
func lessAsked(r *fit.Request, required *fit.Required, up fit.Both) *fit.Request {
	c := *r
	switch r.Travel.Basis {
	case fit.ByWheel:
		ratio := r.Readings.MotionRatio
		// Rounded so that no less is given up.
		c.Travel.Bump = max(0, c.Travel.Bump-up.Compression.Scale(1/ratio)-2)
		c.Travel.Droop = max(0, c.Travel.Droop-up.Extension.Scale(1/ratio)-2)
		if up.Compression == 0 {
			c.Travel.Bump = r.Travel.Bump
		}
		if up.Extension == 0 {
			c.Travel.Droop = r.Travel.Droop
		}
	case fit.Measured:
		c.Travel.AtBump += up.Compression
		c.Travel.AtDroop -= up.Extension
	default:
		c.Travel = fit.Travel{
			Basis:       fit.Stated,
			Compression: required.Compression.Least - up.Compression, Extension: required.Extension.Least - up.Extension,
		}
		c.Travel.GivenUp = up     // says so, and changes nothing
		c.Heights = fit.Heights{} // what they ask is in it
	}
	return &c
}

func givenUp(r *fit.Remedy) fit.Both {
	var up fit.Both
	for _, v := range r.Text.Values {
		switch v.Name {
		case "give_up_compression":
			up.Compression = v.Length
		case "give_up_extension":
			up.Extension = v.Length
		}
	}
	return up
}

// asMeasured turns a request by the wheel into one by lengths taped at bump and
// droop, of the same travel.
func asMeasured(t *rapid.T, r *fit.Request) {
	n := needOf(t, r)
	if n.c.Least == 0 || n.e.Least == 0 || n.value-n.c.Least < 4*unit.Inch {
		t.Skip("no length is left at bump or at droop")
	}
	r.Travel = fit.Travel{Basis: fit.Measured, AtBump: n.value - n.c.Least, AtDroop: n.value + n.e.Least, Reserve: r.Travel.Reserve}
}

func TestRemediesCarriedOut(t *testing.T) {
	done := map[fit.RemedyKind]int{}
	grades := map[fit.Grade]int{}
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(catalogues).Draw(t, "catalogue")
		r := drawRequest(t)
		r.Limits.NoAdapters = true // or a smaller change and an adapter might be enough
		listed := fit.MostListed
		r.NearMisses = &listed
		if r.Travel.Basis == fit.ByWheel && r.Readings.MotionRatioTolerance == 0 && rapid.Bool().Draw(t, "measured") {
			asMeasured(t, r)
		}
		a := find(t, r, s)
		if a.Required == nil {
			return
		}
		for _, m := range draws(t, a.NearMisses, 6, "near miss") {
			for i := range m.Remedies {
				remedy := &m.Remedies[i]
				if remedy.Least > remedy.By || remedy.Margin.Compression < 0 || remedy.Margin.Extension < 0 {
					t.Fatalf("%s: %+v", m.Damper.Code, *remedy)
				}
				applyLength(t, r, s, &m, remedy, done)
				if remedy.Kind == fit.LessTravel {
					done[remedy.Kind]++
					mustBe(t, lessAsked(r, a.Required, givenUp(remedy)), s, &m, remedy)
				}
				if remedy.Kind == fit.AddAdapter {
					done[remedy.Kind]++
					with := *r
					with.Limits.NoAdapters = false
					if got, fits := again(t, &with, s, m.Damper.Code); !fits || got > remedy.Grade {
						t.Fatalf("%s is %s (%v) with the adapter, told %s", m.Damper.Code, got, fits, remedy.Grade)
					}
				}
				grades[remedy.Grade]++
			}
		}
	})
	t.Log(done, grades)
	for _, kind := range []fit.RemedyKind{fit.MoveMountsApart, fit.MoveMountsTogether, fit.RaiseBody, fit.LowerBody, fit.AddAdapter, fit.LessTravel} {
		if done[kind] == 0 {
			t.Errorf("no %s was carried out", kind)
		}
	}
	for g := fit.Clear; g <= fit.Marginal; g++ {
		if grades[g] == 0 {
			t.Errorf("no remedy made a fit %s", g)
		}
	}
}

// mustBe asks again and wants the grade that was told.
func mustBe(t *rapid.T, after *fit.Request, s *catalog.Snapshot, m *fit.NearMiss, remedy *fit.Remedy) {
	t.Helper()
	got, fits := again(t, after, s, m.Damper.Code)
	if !fits || got != remedy.Grade {
		t.Fatalf("%s is %s (%v) after %s by %d nm, told %s", m.Damper.Code, got, fits, remedy.Kind, remedy.By, remedy.Grade)
	}
}

// applyLength carries out a move of the mounts or of the body: by By, by Least, and
// by slightly less, which must not be enough.
func applyLength(t *rapid.T, r *fit.Request, s *catalog.Snapshot, m *fit.NearMiss, remedy *fit.Remedy, done map[fit.RemedyKind]int) {
	after := changed(r, m, remedy.Kind, remedy.By)
	if after == nil {
		return
	}
	done[remedy.Kind]++
	mustBe(t, after, s, m, remedy)
	if remedy.Kind == fit.MoveMountsApart || remedy.Kind == fit.MoveMountsTogether {
		// As a plan, with the readings as they were taken, it is the same.
		planned := *r
		planned.Readings.PlannedMountMove = remedy.By
		if remedy.Kind == fit.MoveMountsTogether {
			planned.Readings.PlannedMountMove = -remedy.By
		}
		mustBe(t, &planned, s, m, remedy)
	}
	if _, fits := again(t, changed(r, m, remedy.Kind, remedy.Least), s, m.Damper.Code); !fits {
		t.Fatalf("%s is no fit after the least %s, %d nm", m.Damper.Code, remedy.Kind, remedy.Least)
	}
	if remedy.Least > unit.Grain {
		// A grain is what it is rounded up by to be written exactly.
		if _, fits := again(t, changed(r, m, remedy.Kind, remedy.Least-unit.Grain), s, m.Damper.Code); fits {
			t.Fatalf("%s fits with less than %s by %d nm", m.Damper.Code, remedy.Kind, remedy.Least)
		}
	}
	for _, l := range []unit.Length{remedy.By, remedy.Least} {
		if l%unit.Grain == 0 && unit.Inch.Scale(l.In(unit.Inches)) != l {
			t.Fatalf("%d nm is written %v in", l, l.In(unit.Inches))
		}
	}
	clearer(t, r, m, remedy)
	asWorded(t, r, s, m, remedy)
}

// clearer says that no amount would make the fit better than is told: with the
// lengths and needs of this file, the change must make up what the one way lacks in
// the worst case and leave the other what it needs. A change of the body's height
// may stretch the bounds too, so it is only held against that without a tolerance of
// the ratio.
func clearer(t *rapid.T, r *fit.Request, m *fit.NearMiss, remedy *fit.Remedy) {
	ratio := 1.0
	n, d := needOf(t, r), m.Damper
	if remedy.Kind == fit.RaiseBody || remedy.Kind == fit.LowerBody {
		if ratio = r.Readings.MotionRatio; r.Readings.MotionRatioTolerance > 0 || r.DroopLimit != nil {
			return
		}
		if n.late(d.Compressed + n.rod) {
			return // the stop's gap changes with the height
		}
	}
	if r.Travel.Basis == fit.Measured {
		n.c = exactly(n.value-r.Travel.AtBump, n.value-r.Travel.AtBump+r.Travel.Reserve)
		n.e = exactly(r.Travel.AtDroop-n.value, r.Travel.AtDroop-n.value+r.Travel.Reserve)
	}
	const mostWeOffer = 4 * unit.Inch // our choice
	for g, c := range [][2]unit.Length{{n.c.WantedWorst, n.e.WantedWorst}, {n.c.LeastWorst, n.e.LeastWorst}} {
		lackC := c[0] - (n.low - d.Compressed - n.rod - d.LengthTolerance)
		lackE := c[1] - (d.Extended - d.LengthTolerance - n.high)
		if remedy.Kind == fit.MoveMountsTogether || remedy.Kind == fit.LowerBody {
			lackC, lackE = lackE, lackC
		}
		by := lackC.Scale(1 / ratio)
		planned := r.Readings.PlannedChange
		if remedy.Kind == fit.LowerBody {
			planned = -planned
		}
		longer := by
		if remedy.Kind == fit.MoveMountsTogether || remedy.Kind == fit.LowerBody {
			longer = -by
		}
		if ratio == 1 && n.late(d.Compressed+n.rod-longer) {
			continue // it takes more than the lengths alone
		}
		// A constant ratio is good for 75 mm (common practice, no source).
		beyond := ratio != 1 && (planned+by+2).Abs() > 75*mm
		if s := r.BumpStop; s != nil && !s.OnRod && remedy.Kind == fit.LowerBody && by > times(s.Gap, 1/s.MotionRatio) {
			continue // lowered so far, it would rest on its bump stop
		}
		if int(remedy.Grade) > g && lackC+lackE < -2*unit.Grain && by < mostWeOffer-unit.Grain && !beyond {
			t.Fatalf("%s is told as %s after %s, and %d nm make it better", d.Code, remedy.Grade, remedy.Kind, by)
		}
	}
}

// asWorded carries out what the text says, in inches: figures that are told to be
// followed do what is told of them.
func asWorded(t *rapid.T, r *fit.Request, s *catalog.Snapshot, m *fit.NearMiss, remedy *fit.Remedy) {
	for _, v := range remedy.Text.Values {
		if v.Name != "by" && v.Name != "least" || v.Length%unit.Grain != 0 {
			continue
		}
		told, err := unit.Parse(v.Words(unit.Inches), unit.Inches)
		if err != nil {
			t.Fatal(err)
		}
		got, fits := again(t, changed(r, m, remedy.Kind, told), s, m.Damper.Code)
		if !fits || v.Name == "by" && got > remedy.Grade {
			t.Fatalf("%s is %s (%v) after %s by %s, told %s", m.Damper.Code, got, fits, remedy.Kind, v.Words(unit.Inches), remedy.Grade)
		}
	}
}

// figure is a length that a text tells.
func figure(values map[string]unit.Length, name string, otherwise unit.Length) unit.Length {
	if l, ok := values[name]; ok {
		return l
	}
	return otherwise
}

// Sleeves and brackets as near misses tell them: with a sleeve of any of the sizes
// at the ends of what is told, or the bracket opened by what is told, the damper has
// the grade that is told.
func TestHardwareRemediesCarriedOut(t *testing.T) {
	s := catalog.NewSnapshot("grown", 1, demo.Generate(100, 400))
	sleeves, brackets := 0, 0
	for _, opening := range []string{"1 3/8", "1 1/2", "1 3/4"} {
		r := everyday()
		r.Lower.Opening = inch(t, opening)
		r.Limits.NoAdapters = true // or one might make it better still
		listed := fit.MostListed
		r.NearMisses = &listed
		for _, m := range find(t, r, s).NearMisses {
			for i := range m.Remedies {
				remedy := &m.Remedies[i]
				switch remedy.Kind {
				case fit.AddSleeve:
					sleeves += sleeveCures(t, r, &m, remedy)
				case fit.OpenBracket:
					brackets++
					opened := *r
					opened.Lower.Opening += remedy.By
					if got, fits := again(t, &opened, s, m.Damper.Code); !fits || got != remedy.Grade {
						t.Errorf("%s is %s (%v) with the bracket opened by %d nm, told %s", m.Damper.Code, got, fits, remedy.By, remedy.Grade)
					}
				default:
				}
			}
		}
	}
	if sleeves == 0 || brackets == 0 {
		t.Errorf("%d sleeves and %d brackets were tried", sleeves, brackets)
	}
}

// sleeveCures tries a sleeve at every corner of what is told.
func sleeveCures(t *testing.T, r *fit.Request, m *fit.NearMiss, remedy *fit.Remedy) (tried int) {
	t.Helper()
	told := map[string]unit.Length{}
	for _, v := range remedy.Text.Values {
		told[v.Name] = v.Length
	}
	width := m.Damper.Lower.Width
	if m.Inverted {
		width = m.Damper.Upper.Width
	}
	least := figure(told, "length_least", width)
	for _, outer := range []string{"outer_least", "outer_most"} {
		for _, bore := range []string{"bore_least", "bore_most"} {
			for _, length := range []unit.Length{least, figure(told, "length_most", least)} {
				tried++
				with := demo.Generate(100, 400)
				with.Sleeves = append(with.Sleeves, mount.Sleeve{
					Code: "made for it", Outer: told[outer], Bore: told[bore], Length: length, Price: mount.NoPrice,
				})
				got, fits := again(t, r, catalog.NewSnapshot("grown", 2, with), m.Damper.Code)
				if !fits || got != remedy.Grade {
					t.Errorf("%s is %s (%v) with a sleeve %v, told %s", m.Damper.Code, got, fits,
						fmt.Sprint(told[outer], told[bore], length), remedy.Grade)
				}
			}
		}
	}
	return tried
}
