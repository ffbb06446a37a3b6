package fit_test

import (
	"fmt"
	"strings"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// TestPickList is worked out by hand: two dampers at 80.00, which have a sleeve of
// 3.20 at either end, a spacer of 0.50 on both sides of the lower one, and at
// either end a bolt with a nut and two washers. The upper bolt must reach through
// two washers of 2.5 (ISO 7089), two plates of 10, 32 of opening, a nut of 10.8 (ISO
// 4032) and two threads of 1.75: 71.3, and 80 is the next of ISO 888. The lower one
// has plates of 5 and 33 of opening: 62.3, and 65. Bolts have no price, so the total
// of 160.00 + 4 × 3.20 + 4 × 0.50 is not complete.
func TestPickList(t *testing.T) {
	const mm = unit.Millimetre
	d := eyes("one", 380*mm, 600*mm)
	d.Upper = mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 32 * mm}
	d.Lower = mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 31 * mm}
	d.Price, d.Description = 8000, "the one"
	contents := catalog.Contents{
		Currency: "USD", Limits: mount.UsualLimits(), Dampers: []catalog.Damper{d},
		Sleeves: []mount.Sleeve{{Code: "a", Outer: 15900 * unit.Micrometre, Bore: 12200 * unit.Micrometre, Length: 32 * mm, InStock: true, Price: 320},
			{Code: "b", Outer: 15900 * unit.Micrometre, Bore: 12200 * unit.Micrometre, Length: 31 * mm, Price: 320}},
		Spacers: []mount.Spacer{{Code: "s", Bore: 13 * mm, Thickness: 400 * unit.Micrometre, InStock: true, Price: 50}},
	}
	s := catalog.NewSnapshot("bench", 1, contents)
	r := asked(t, "18 3/4")
	r.Upper.Opening, r.Upper.Plate = 32*mm, 10*mm
	r.Lower.Opening, r.Lower.Plate = 33*mm, 5*mm
	a := find(t, r, s)
	if len(a.Fits) != 1 || a.AskNext != nil {
		t.Fatalf("%d fits, %+v to ask for", len(a.Fits), a.AskNext)
	}
	var got []string
	for _, p := range a.Fits[0].PickList() {
		text := p.Description
		if !p.Listed() {
			text = p.Order.Text("en", unit.Inches)
		}
		got = append(got, fmt.Sprintf("%d %s %s %q %q %v %d %d", p.Quantity, p.Kind, p.Code, text, p.Standard, p.InStock, p.Each, p.Amount()))
	}
	want := []string{
		`2 damper one "the one" "" true 8000 16000`,
		`4 sleeve a "" "" true 320 1280`,
		`4 spacer s "" "" true 50 200`,
		`2 bolt  "hexagon bolt M12x1.75 × 80" "ISO 4014" false -1 -1`,
		`2 bolt  "hexagon bolt M12x1.75 × 65" "ISO 4014" false -1 -1`,
		`4 nut  "hexagon nut M12x1.75" "ISO 4032" false -1 -1`,
		`8 washer  "plain washer 12" "ISO 7089" false -1 -1`,
	}
	if g, w := strings.Join(got, "\n"), strings.Join(want, "\n"); g != w {
		t.Errorf("got\n%s\nwant\n%s", g, w)
	}
	if total := (fit.Total{Amount: 17480}); a.Fits[0].Total != total {
		t.Errorf("total %+v, want %+v", a.Fits[0].Total, total)
	}
}

// TestHardwareIsListedOnce: dampers that share their ends share their hardware,
// which is listed once for either end of the vehicle.
func TestHardwareIsListedOnce(t *testing.T) {
	a := find(t, asked(t, "18 3/4"), stocked(eyes("one", inch(t, "14"), inch(t, "23")), eyes("two", inch(t, "14 1/2"), inch(t, "23")), eyes("three", inch(t, "14"), inch(t, "24"))))
	if len(a.Fits) != 3 || len(a.Hardware) != 2 || a.Hardware[0].End != "upper" || a.Hardware[1].End != "lower" {
		t.Fatalf("%d fits, hardware %+v", len(a.Fits), a.Hardware)
	}
	for _, f := range a.Fits {
		if f.Upper.Place != 0 || f.Lower.Place != 1 || a.Hardware[0].Result != f.Upper.Result || a.Hardware[1].Result != f.Lower.Result {
			t.Errorf("%s is at %d and %d", f.Damper.Code, f.Upper.Place, f.Lower.Place)
		}
	}
}

// TestHardwareThatIsAlike: two bores that the bolt goes through in the same way are
// told as one, unless the arithmetic is told, which differs.
func TestHardwareThatIsAlike(t *testing.T) {
	other := eyes("two", inch(t, "14 1/2"), inch(t, "23"))
	other.Upper.Bore += 10 * unit.Micrometre
	s := stocked(eyes("one", inch(t, "14"), inch(t, "23")), other)
	for arithmetic, want := range map[bool]int{false: 2, true: 3} {
		r := asked(t, "18 3/4")
		r.Working = arithmetic
		if a := find(t, r, s); len(a.Fits) != 2 || len(a.Hardware) != want {
			t.Errorf("arithmetic %v: %d fits with %d different ends, want %d", arithmetic, len(a.Fits), len(a.Hardware), want)
		}
	}
}

// TestAskNext: the figure that most of the listed fits lack. Both lower ends lack
// three figures, the upper ends one.
func TestAskNext(t *testing.T) {
	s := stocked(eyes("one", inch(t, "14"), inch(t, "23")), eyes("two", inch(t, "14 1/2"), inch(t, "23")))
	r := asked(t, "18 3/4")
	r.Upper.Opening = 32 * unit.Millimetre
	r.Lower.Bolt = mount.Bolt{}
	for _, want := range []string{"/upper/plate", "/lower/bolt", "/lower/opening", "/lower/plate", ""} {
		a := find(t, r, s)
		got := ""
		if a.AskNext != nil {
			got = a.AskNext.Field
		}
		if got != want {
			t.Fatalf("asks for %q, want %q", got, want)
		}
		switch want {
		case "/upper/plate":
			r.Upper.Plate = 5 * unit.Millimetre
			const words = "measure the plate's thickness at the upper end; fits incomplete without it: 2 of 2"
			if text := a.AskNext.Note.Text("en", unit.Inches); text != words {
				t.Errorf("says %q", text)
			}
		case "/lower/bolt":
			r.Lower.Bolt = r.Upper.Bolt
		case "/lower/opening":
			r.Lower.Opening = 32 * unit.Millimetre
		case "/lower/plate":
			r.Lower.Plate = 5 * unit.Millimetre
		}
	}
}

// TestHowManyNearMisses: as many as asked for, else as many as the fits fall short
// of top. Three of five dampers fit, two are an eighth too long.
func TestHowManyNearMisses(t *testing.T) {
	s := stocked(
		eyes("one", inch(t, "14"), inch(t, "23")), eyes("two", inch(t, "14 1/2"), inch(t, "23")), eyes("three", inch(t, "14"), inch(t, "24")),
		eyes("four", inch(t, "16 7/8"), inch(t, "24")), eyes("five", inch(t, "17"), inch(t, "24")))
	n := func(n int) *int { return &n }
	for _, c := range []struct {
		top   int
		asked *int
		fits  int
		more  bool
		near  int
	}{
		{10, nil, 3, false, 2}, {4, nil, 3, false, 1}, {3, nil, 3, false, 0}, {2, nil, 2, true, 0},
		{10, n(0), 3, false, 0}, {10, n(1), 3, false, 1}, {1, n(5), 1, true, 2},
	} {
		r := asked(t, "18 3/4")
		r.Top, r.NearMisses = c.top, c.asked
		a := find(t, r, s)
		if len(a.Fits) != c.fits || a.More != c.more || len(a.NearMisses) != c.near {
			t.Errorf("%+v: %d fits, more %v, %d near misses", c, len(a.Fits), a.More, len(a.NearMisses))
		}
	}
	// That there are near misses is said even where none was asked for.
	r := asked(t, "18 3/4")
	r.NearMisses = n(0)
	a := find(t, r, stocked(eyes("four", inch(t, "16 7/8"), inch(t, "24"))))
	if len(a.NearMisses) != 0 || a.Reasons[0].Code != "no_fit_but_near" {
		t.Errorf("%d near misses, %v", len(a.NearMisses), a.Reasons)
	}
}
