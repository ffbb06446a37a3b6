//go:build browser

package widget_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// chosen is the detail of midstroke:choose.
type chosen struct {
	Reference, Code, Request, Mounted string
	Rank                              int
	Planned                           []struct{ Field, Text string }
	PickList                          []struct {
		Kind, Code string
		Quantity   int
	} `json:"pick_list"`
}

// answered is the detail of midstroke:answer.
type answered struct {
	Outcome, Reference, Request string
	Fits                        int
	NearMisses                  int `json:"near_misses"`
	Best                        *string
}

// through presses Next from how to measure to the answer, where all is preset.
func (t *tab) through() {
	t.tb.Helper()
	for _, step := range []string{"measure", "readings", "brackets", "movement"} {
		t.until("seen('[data-step=" + step + "]')")
		t.click("[data-go=next]")
	}
}

func TestFindAFitOnAPhone(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	p.open(newShop(t, s, `units="in" reference="bay 3"`))
	p.listen()
	p.walk(func(string) {})
	told1 := told[answered](p, "midstroke:answer")
	if told1.Outcome != "fits" || told1.Fits != 5 || told1.Reference != "bay 3" || told1.Best == nil {
		t.Errorf("midstroke:answer told %+v", told1)
	}
	// A press without having confirmed the cautions leads to them.
	p.click("[data-go=choose]")
	p.until("root().activeElement.dataset.go === 'confirm'")
	if eval[bool](p, "fired['midstroke:choose'] !== undefined") {
		t.Error("it was chosen before the cautions were confirmed")
	}
	p.confirm()
	p.click("[data-go=choose]")
	choice := told[chosen](p, "midstroke:choose")
	if choice.Code != *told1.Best || choice.Rank != 1 || choice.Reference != "bay 3" || len(choice.PickList) == 0 || choice.PickList[0].Kind != "damper" {
		t.Errorf("midstroke:choose told %+v", choice)
	}
	if cart := eval[string](p, "document.getElementById('cart').textContent"); !strings.Contains(cart, choice.Code) {
		t.Errorf("the cart holds %q", cart)
	}
	if said := p.text(".chosen"); !strings.Contains(said, choice.Code) {
		t.Errorf("the widget says %q", said)
	}
	want := "readings_left=16+5%2F8&readings_right=16+11%2F16"
	if !strings.Contains(choice.Request, want) {
		t.Errorf("the request is %q, want in it %q", choice.Request, want)
	}
}

// TestAMarginalFit is chosen with the second press, after a warning.
func TestAMarginalFit(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	p.open(newShop(t, s, `units="in" preset="upper=stud&amp;upper_measured_to=frame_face&amp;lower=eye&amp;readings_left=16 5/8&amp;suspension=solid_axle`+
		`&amp;travel=stated&amp;travel_compression=3 1/2&amp;travel_extension=3 1/2"`))
	p.listen()
	p.through()
	p.until("seen('.badge.marginal')")
	p.confirm()
	const choose = ".fit:has(.marginal) [data-go=choose]"
	p.click(choose)
	p.until("seen('.fit .warning')")
	if eval[bool](p, "fired['midstroke:choose'] !== undefined") {
		t.Error("it was chosen without a warning")
	}
	p.accessible()
	p.click(choose)
	if c := told[chosen](p, "midstroke:choose"); c.Code != eval[string](p, "q('.fit:has(.marginal)').dataset.code") {
		t.Errorf("chosen is %+v", c)
	}
}

// TestNothingFitsAndARemedyIsTaken takes each kind of remedy that is a plan. What
// was measured stays as it was; the plan stands in the request, on the page, in
// the event and on the sheet, and can be undone.
func TestNothingFitsAndARemedyIsTaken(t *testing.T) {
	t.Parallel()
	s := newService(t)
	const place = "upper=stud&amp;upper_measured_to=frame_face&amp;lower=eye&amp;lower_bolt=M12&amp;suspension=solid_axle&amp;codes=demo-damper-0143"
	for name, c := range map[string]struct{ attributes, kind, planned, measured, told string }{
		"move the mounts": {`units="in" preset="` + place + `&amp;readings_left=16 5/8"`, "move", "planned_mount_move=", "readings_left=16+5%2F8", "the mounts"},
		"raise the body":  {`units="mm" preset="` + place + `&amp;readings_left=422&amp;motion_ratio=0.9"`, "body", "planned_change=", "readings_left=422", "the body"},
		"less travel": {`units="in" preset="` + place + `&amp;readings_left=16 3/4&amp;motion_ratio=0.9&amp;ride_height_range_below=1/8"`, "less_travel",
			"travel_given_up_", "readings_left=16+3%2F4", "given up"},
	} {
		t.Run(name, func(t *testing.T) {
			p := newTab(t, phone)
			p.open(newShop(t, s, c.attributes))
			p.listen()
			p.through()
			p.until("seen('[data-outcome=no_fit]')")
			before := told[answered](p, "midstroke:answer")
			if before.Fits != 0 || before.NearMisses != 1 || before.Best != nil {
				t.Errorf("midstroke:answer told %+v", before)
			}
			p.openGroup(c.kind)
			p.click(fmt.Sprintf(".remedies[data-kind*=%s] [data-go=take]", c.kind))
			p.until("seen('[data-outcome=fits] .fit') && seen('.plans')")
			if got := p.text(".plans li"); !strings.Contains(got, c.told) {
				t.Errorf("the plan is told as %q", got)
			}
			p.accessible()
			p.whole()
			p.shot("widget_planned_" + c.kind)
			sheet := eval[string](p, "q('.fit .actions a').href")
			p.confirm()
			p.click("[data-go=choose]")
			choice := told[chosen](p, "midstroke:choose")
			if choice.Code != "demo-damper-0143" || len(choice.Planned) != 1 || !strings.Contains(choice.Planned[0].Text, c.told) {
				t.Errorf("chosen is %+v", choice)
			}
			for _, part := range []string{c.planned, c.measured} {
				if !strings.Contains(choice.Request, part) {
					t.Errorf("the request is %q, want in it %q", choice.Request, part)
				}
			}
			p.click("[data-go=undo]")
			p.until("seen('[data-outcome=no_fit]') && !seen('.plans')")
			if after := told[answered](p, "midstroke:answer"); after.Request != before.Request {
				t.Errorf("undone, the request is %q, and it was %q", after.Request, before.Request)
			}
			p.open(sheet)
			p.until("q('.stages')")
			if got := p.text(".said"); !strings.Contains(got, c.told) || !strings.Contains(got, "Assumed") {
				t.Errorf("the sheet says %q", got)
			}
		})
	}
}

// openGroup opens the near misses that a kind of remedy helps.
func (t *tab) openGroup(kind string) {
	t.tb.Helper()
	group := fmt.Sprintf("summary[data-group*=%s]", kind)
	t.until(fmt.Sprintf("seen(%q)", group))
	if !eval[bool](t, fmt.Sprintf("q(%q).parentElement.open", group)) {
		t.click(group)
	}
}

// TestKeyboardAlone answers every question without a pointer.
func TestKeyboardAlone(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, desktop)
	p.open(newShop(t, s, `units="in"`))
	p.listen()
	focused := func() string {
		return eval[string](p, `(() => { const e = root().activeElement; return e ? [e.tagName, e.dataset.key ?? e.dataset.go ?? e.dataset.style ?? ""].join(" ") : ""; })()`)
	}
	tabTo := func(want string) {
		t.Helper()
		for range 60 {
			if focused() == want {
				return
			}
			p.press(kb.Tab)
		}
		t.Fatalf("Tab never comes to %s; it stands on %s", want, focused())
	}
	tabTo("BUTTON eye")
	p.press(kb.Enter)
	p.until("seen('[data-step=lower]')")
	if got := focused(); got != "H2 " {
		t.Errorf("a new question has the focus on %q, want its heading", got)
	}
	tabTo("BUTTON eye")
	p.press(" ")
	p.until("seen('[data-step=measure] .guide-steps')")
	tabTo("INPUT lower_measured_to")
	p.press(kb.ArrowDown)
	p.until("q('[data-key=lower_measured_to][value=near_edge]').checked")
	p.press(kb.ArrowUp)
	p.until("q('[data-key=lower_measured_to][value=bolt_centre]').checked")
	tabTo("BUTTON next")
	p.press(kb.Enter)
	p.until("seen('[data-step=readings]')")
	tabTo("INPUT readings_left/0")
	p.press("17 5/16")
	p.press(kb.Enter)
	p.until("seen('[data-step=brackets]')")
	tabTo("BUTTON next")
	p.press(kb.Enter)
	p.until("seen('[data-step=movement]')")
	p.press(kb.Tab)
	tabTo("INPUT suspension")
	p.press(" ")
	tabTo("BUTTON next")
	p.press(kb.Enter)
	p.until("seen('.fit')")
	tabTo("BUTTON choose")
	p.press(kb.Enter)
	p.until("root().activeElement.dataset.go === 'confirm'")
	p.press(" ")
	for focused() != "BUTTON choose" {
		p.press(kb.Tab, chromedp.KeyModifiers(chromedp.ModifierShift))
	}
	p.press(kb.Enter)
	if c := told[chosen](p, "midstroke:choose"); c.Rank != 1 {
		t.Errorf("chosen is %+v", c)
	}
}

// TestAForkIsRefusedAtOnce says why where it is chosen, and another choice goes on.
func TestAForkIsRefusedAtOnce(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	p.open(newShop(t, s, `units="in"`))
	p.click("[data-style=fork]")
	p.until("seen('[data-step=upper] .refused') && !seen('[data-go=next]')")
	p.accessible()
	p.whole()
	p.shot("widget_refused")
	p.click("[data-style=eye]")
	p.until("seen('[data-step=lower]')")
}

// newTabAt opens a page on a desktop.
func newTabAt(tb testing.TB, url string) *tab {
	tb.Helper()
	p := newTab(tb, desktop)
	p.open(url)
	return p
}
