package fit_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/mount"
	"midstroke/internal/note"
)

// In stock holds for the damper and for every sleeve, spacer and adapter that it
// is given. Before, 614 of 1,568 such answers named parts that weren't.
func TestInStockHoldsForAllHardware(t *testing.T) {
	parts := 0
	rapid.Check(t, func(t *rapid.T) {
		s := catalogues[rapid.IntRange(0, len(catalogues)-1).Draw(t, "catalogue")]
		r := drawRequest(t)
		r.Limits.InStock = true
		a := find(t, r, s)
		for i := range a.Fits {
			for _, p := range a.Fits[i].PickList() {
				if !hasInStock(s, p) {
					t.Fatalf("%s is given the %s %s, which is out of stock", a.Fits[i].Damper.Code, p.Kind, p.Code)
				}
				if p.Kind != "damper" {
					parts++
				}
			}
		}
		for i := range a.NearMisses {
			for _, remedy := range a.NearMisses[i].Remedies {
				if remedy.Kind == fit.AddAdapter && !hasInStock(s, fit.Pick{Kind: "adapter", Code: wordOf(remedy.Text.Values, "adapter")}) {
					t.Fatalf("the remedy for %s is an adapter out of stock", a.NearMisses[i].Damper.Code)
				}
			}
		}
	})
	if parts == 0 {
		t.Error("no fit took any hardware, so nothing is proved")
	}
}

func hasInStock(s *catalog.Snapshot, p fit.Pick) bool {
	switch p.Kind {
	case fit.PickDamper:
		d, ok := s.Damper(p.Code)
		return ok && d.InStock
	case fit.PickAdapter:
		return slices.ContainsFunc(s.Adapters(), func(a mount.Adapter) bool { return a.Code == p.Code && a.InStock })
	case fit.PickSleeve:
		return slices.ContainsFunc(s.Sleeves(), func(v mount.Sleeve) bool { return v.Code == p.Code && v.InStock })
	case fit.PickSpacer:
		return slices.ContainsFunc(s.Spacers(), func(v mount.Spacer) bool { return v.Code == p.Code && v.InStock })
	case fit.PickBolt, fit.PickNut, fit.PickWasher: // not in the catalogue
	}
	return true
}

// A sleeve out of stock is no sleeve: the damper fits without the limit, and with
// it lacks hardware that a sleeve would cure.
func TestASleeveOutOfStock(t *testing.T) {
	d := eyes("one", 300*mm, 500*mm)
	d.Lower.Bore = 16 * mm
	s := catalog.NewSnapshot("bench", 1, catalog.Contents{
		Currency: "USD", Limits: mount.UsualLimits(), Dampers: []catalog.Damper{d},
		Sleeves: []mount.Sleeve{{Code: "gone", Outer: 16 * mm, Bore: 12200 * 1000, Length: 32 * mm, Price: mount.NoPrice}},
	})
	r := metric(t, 395, 70)
	if a := find(t, r, s); len(a.Fits) != 1 || len(a.Fits[0].PickList()) != 2 {
		t.Errorf("without the limit: %d fits", len(a.Fits))
	}
	r.Limits.InStock = true
	if got := kindsOf(t, find(t, r, s)); !slices.Equal(got, []fit.RemedyKind{fit.AddSleeve}) {
		t.Errorf("in stock: remedies %v, want a sleeve", got)
	}
}

// A damper that adjusts the ride height carries load. It is left out unless it is
// asked for, by the limit or by the adjuster, and then a caution says so.
func TestDampersThatCarryLoad(t *testing.T) {
	d := eyes("one", 300*mm, 500*mm)
	d.Adjusters = catalog.RideHeight | catalog.Rebound
	s := stocked(d)
	for what, c := range map[string]struct {
		limits fit.Limits
		fits   bool
	}{
		"not asked for":          {fit.Limits{}, false},
		"rebound asked for":      {fit.Limits{Adjusters: catalog.Rebound}, false},
		"allowed":                {fit.Limits{LoadCarrying: true}, true},
		"by the adjuster":        {fit.Limits{Adjusters: catalog.RideHeight}, true},
		"by both, with adapters": {fit.Limits{Adjusters: catalog.RideHeight, LoadCarrying: true, NoAdapters: true}, true},
	} {
		r := metric(t, 395, 70)
		r.Limits = c.limits
		r.Codes = []string{"one"}
		a := find(t, r, s)
		if (len(a.Fits) == 1) != c.fits {
			t.Errorf("%s: %d fits", what, len(a.Fits))
		}
		if c.fits {
			told(t, a.Cautions, "carries_load")
			continue
		}
		if j := a.Judged[0]; j.Verdict != fit.VerdictRuledOut || j.Reasons[0].Code != "load_carrying" {
			t.Errorf("%s: judged %+v", what, j)
		}
	}
	if a := find(t, metric(t, 395, 70), stocked(eyes("plain", 300*mm, 500*mm))); slices.ContainsFunc(codesOf(a.Cautions), func(c string) bool { return c == "carries_load" }) {
		t.Error("a damper without such an adjuster is said to carry load")
	}
}

// codesOf lists the codes of notes.
func codesOf(list []note.Note) []string {
	codes := make([]string, len(list))
	for i := range list {
		codes[i] = string(list[i].Code)
	}
	return codes
}

// wordOf gives a word of a note's values, "" where there is none.
func wordOf(values []note.Value, name string) string {
	for _, v := range values {
		if v.Name == name {
			return v.Text
		}
	}
	return ""
}

// A pair takes two of a damper. One on the shelf is enough for a request for one.
func TestInStockMeansAsManyAsAreNeeded(t *testing.T) {
	d := eyes("one", 300*mm, 520*mm)
	base := stocked(d)
	for _, c := range []struct {
		levels      []catalog.StockLine
		dampers     int
		at          string
		fits, ample bool // with the limit, and by the pick list without it
	}{
		{[]catalog.StockLine{{Code: "one", Level: catalog.Level{Location: "main", Quantity: 1}}}, 2, "", false, false},
		{[]catalog.StockLine{{Code: "one", Level: catalog.Level{Location: "main", Quantity: 1}}}, 1, "", true, true},
		{[]catalog.StockLine{{Code: "one", Level: catalog.Level{Location: "main", Quantity: 1}}, {Code: "one", Level: catalog.Level{Location: "yard", Quantity: 1}}}, 2, "", true, true},
		{[]catalog.StockLine{{Code: "one", Level: catalog.Level{Location: "main", Quantity: 1}}, {Code: "one", Level: catalog.Level{Location: "yard", Quantity: 3}}}, 2, "main", false, true},
	} {
		s := base.WithStock(catalog.NewStock(1, c.levels), true)
		r := metric(t, 400, 50)
		r.Dampers = c.dampers
		if line := find(t, r, s).Fits[0].DamperPick; line.InStock != c.ample {
			t.Errorf("%+v: the pick list says %v", c, line.InStock)
		}
		r.Limits.InStock, r.Limits.InStockAt = true, c.at
		if got := find(t, r, s).Outcome == fit.Fits; got != c.fits {
			t.Errorf("%+v: with the limit it fits %v", c, got)
		}
	}
}
