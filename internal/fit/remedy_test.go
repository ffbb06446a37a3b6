package fit_test

import (
	"slices"
	"strings"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// kindsOf are the remedies of the only near miss; none where there is none.
func kindsOf(t *testing.T, a *fit.Answer) []fit.RemedyKind {
	t.Helper()
	if len(a.NearMisses) > 1 {
		t.Fatalf("%d near misses, want one at most", len(a.NearMisses))
	}
	var kinds []fit.RemedyKind
	for _, m := range a.NearMisses {
		for _, r := range m.Remedies {
			kinds = append(kinds, r.Kind)
		}
	}
	return kinds
}

// A sleeve of 42 mm in an opening of 40: another sleeve fits, and so does an
// opening 2 mm wider. The contract lists each that is enough by itself.
func TestEveryCureIsARemedy(t *testing.T) {
	d := eyes("one", 300*mm, 500*mm)
	d.Lower.Bore, d.Lower.Width = 16*mm, 30*mm
	s := catalog.NewSnapshot("bench", 1, catalog.Contents{
		Currency: "USD", Limits: mount.UsualLimits(), Dampers: []catalog.Damper{d},
		Sleeves: []mount.Sleeve{{Code: "long", Outer: 16 * mm, Bore: 12200 * unit.Micrometre, Length: 42 * mm, Price: mount.NoPrice}},
	})
	r := metric(t, 395, 70)
	r.Lower.Opening = 40 * mm
	want := []fit.RemedyKind{fit.AddSleeve, fit.OpenBracket}
	if got := kindsOf(t, find(t, r, s)); !slices.Equal(got, want) {
		t.Errorf("remedies %v, want %v", got, want)
	}
}

// Raising the body is no remedy where, with what is planned already, it would have
// to be measured again: past 75 mm without a linkage (our choice). 15 mm are
// lacking at a ratio of 1.
func TestNoHeightBeyondWhatOneRatioIsGoodFor(t *testing.T) {
	s := stocked(eyes("one", 340*mm, 520*mm))
	for _, c := range []struct {
		planned unit.Length
		offered bool
	}{{59 * mm, true}, {61 * mm, false}, {-70 * mm, true}} {
		r := metric(t, 395, 70)
		r.Readings.MotionRatio = 1
		r.Readings.Readings[0].Length -= c.planned // so that it is 395 once done
		r.Readings.PlannedChange = c.planned
		if got := slices.Contains(kindsOf(t, find(t, r, s)), fit.RaiseBody); got != c.offered {
			t.Errorf("with %v mm planned raise_body is offered: %v", c.planned.Mm(), got)
		}
	}
}

// Each remedy is held against two inches by its own size (our choice): 60 mm at
// the damper are 40 at the wheel where the ratio is 1.5.
func TestAHeightWithinReachAtTheWheel(t *testing.T) {
	s := stocked(eyes("one", 385*mm, 610*mm))
	r := metric(t, 395, 70)
	r.Readings.MotionRatio = 1.5
	want := []fit.RemedyKind{fit.RaiseBody}
	a := find(t, r, s)
	if got := kindsOf(t, a); !slices.Equal(got, want) {
		t.Fatalf("remedies %v, want %v", got, want)
	}
	if off := a.NearMisses[0].Remedies[0].Least - 40*mm; off < 0 || off > unit.Grain {
		t.Errorf("raised by %v nm more than 40 mm", off)
	}
}

// One remedy is one adapter, and it is named: two that add up to nothing are none.
func TestAnAdapterAsARemedyIsOneAndNamed(t *testing.T) {
	stud := mount.End{Style: mount.Stud}
	upper := eyes("upper", 300*mm, 500*mm)
	upper.Upper = stud
	both := eyes("both", 300*mm, 500*mm)
	both.Upper, both.Lower = stud, stud
	link := func(code string, adds unit.Length) mount.Adapter {
		return mount.Adapter{Code: code, From: stud, To: eyes("", 0, 0).Upper, AddsLength: adds, Price: mount.NoPrice}
	}
	s := catalog.NewSnapshot("bench", 1, catalog.Contents{
		Currency: "USD", Limits: mount.UsualLimits(), Dampers: []catalog.Damper{upper, both},
		Adapters: []mount.Adapter{link("longer", 40*mm), link("shorter", -20*mm)},
	})
	r := metric(t, 395, 70)
	r.Limits.NoAdapters = true
	a := find(t, r, s)
	if got := kindsOf(t, a); !slices.Equal(got, []fit.RemedyKind{fit.AddAdapter}) || a.NearMisses[0].Damper.Code != "upper" {
		t.Fatalf("remedies %v, want one adapter", got)
	}
	if text := a.NearMisses[0].Remedies[0].Text.Text("en", unit.Millimetres); !strings.Contains(text, "adapter shorter at the upper end") {
		t.Errorf("told %q, want the adapter by its name", text)
	}
}

// A shortfall is never told as 0: a nanometre rounds up.
func TestAShortfallIsNeverToldAsZero(t *testing.T) {
	r := asked(t, "16")
	r.Codes = []string{"one"}
	r.Limits.NoAdapters = true
	a := find(t, r, stocked(eyes("one", inch(t, "14")+unit.Nanometre, inch(t, "18"))))
	for _, n := range a.Judged[0].Reasons {
		if text := n.Text("en", unit.Inches); strings.Contains(text, " 0 in") {
			t.Errorf("told %q", text)
		}
	}
	for _, m := range a.NearMisses {
		for _, remedy := range m.Remedies {
			if text := remedy.Text.Text("en", unit.Inches); strings.Contains(text, "with 0 in less") {
				t.Errorf("told %q", text)
			}
		}
	}
}
