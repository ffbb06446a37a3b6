//go:build browser

package widget_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// tally counts what a person does on a page from now on: keys that write or act, and
// presses of a mouse or a finger.
func (t *tab) tally() {
	t.tb.Helper()
	eval[bool](t, `(window.keys ??= (
		addEventListener("keydown", (e) => { if (!["Alt", "Control", "Shift"].includes(e.key)) keys++; }, true),
		addEventListener("pointerdown", () => taps++, true), 0), window.keys = 0, window.taps = 0, true)`)
}

// took tells how many keys and presses a task took, and holds it to a limit of both.
func (t *tab) took(task string, mostKeys, mostTaps int) {
	t.tb.Helper()
	keys, taps := eval[int](t, "keys"), eval[int](t, "taps")
	t.tb.Logf("%-48s %3d keys %3d taps", task, keys, taps)
	if keys > mostKeys || taps > mostTaps {
		t.tb.Errorf("%s takes %d keys and %d taps, want at most %d and %d", task, keys, taps, mostKeys, mostTaps)
	}
}

// call says a line to the counter page, and waits for an axle's answer.
func (t *tab) call(line, axle string) {
	t.tb.Helper()
	t.until("document.activeElement.id === 'call'")
	t.press(line)
	t.until(fmt.Sprintf("q('.strip [aria-labelledby=%s] .status').dataset.outcome !== '' && q(%q)", axle, inAxle(axle, ".lengths")))
}

// TestTheSevenTasks does what advisers and customers come for, and prints the keys and
// the taps of each. The limits are those that were reached, with a little room; the 35
// keys of the ordinary case are what was asked for.
func TestTheSevenTasks(t *testing.T) {
	t.Parallel()
	s := newService(t)
	start := func(t *testing.T) *tab {
		p := newTabAt(t, s.URL+"/")
		p.until("seen('#rear-upper')")
		p.tally()
		return p
	}
	t.Run("a rear axle with a stud over an eye", func(t *testing.T) {
		t.Parallel()
		p := start(t)
		p.call("r so st e 16 5/8 16 11/16 m12 1 1/2", "rear")
		p.until("q('[aria-labelledby=rear] .say').innerText.includes('sleeve')")
		p.took("stud over eye, rear", 35, 0)
		if !p.inSight(".strip [aria-labelledby=rear] .say") || eval[float64](p, "scrollY") != 0 {
			t.Error("the answer isn't in sight")
		}
		p.expected("422") // M1, on the way to M12
	})
	t.Run("independent, with an arch gap", func(t *testing.T) {
		t.Parallel()
		p := start(t)
		p.choose(".top [data-key=units]", "mm")
		p.until("q('.top [data-key=units]').value === 'mm'")
		p.click("#call")
		p.tally()
		p.call("f ind e e 498 gap 452 ride gap 421 ratio .91", "front")
		// The contract's example testdata/examples/front-on-blocks.json: 498 less 0.91 of (452 - 421).
		p.until("q('[aria-labelledby=front] .lengths').innerText.includes('469.8')")
		p.took("independent, with an arch gap", 50, 0)
		p.shot("task_arch_gap")
		p.expected("422")
	})
	t.Run("bar pins", func(t *testing.T) {
		t.Parallel()
		p := start(t)
		p.call("r so bp spacing 2 15/16 bp spacing 2 15/16 16 1/2 16 5/8", "rear")
		p.until("q('#rear-upper_hole_spacing')?.value === '2 15/16' && q('#rear-lower_hole_spacing')?.value === '2 15/16'")
		p.until("q('.strip [aria-labelledby=rear] .status').dataset.outcome")
		p.took("bar pins at both ends", 60, 0)
		p.shot("task_bar_pins")
		p.expected("422")
	})
	t.Run("nothing fits, and a remedy is taken", func(t *testing.T) {
		t.Parallel()
		p := start(t)
		p.call("r so st e 16 5/8 16 11/16 m12 1 1/2", "rear")
		p.until("q('.strip [aria-labelledby=rear] .status').dataset.outcome === 'fits'")
		// Too much travel is wanted.
		p.click(inAxle("rear", ".more summary"))
		p.choose(inAxle("rear", field("travel")), "stated")
		p.write(inAxle("rear", field("travel_compression")), "3 7/8")
		p.write(inAxle("rear", field("travel_extension")), "3 7/8")
		p.until("q('.strip [aria-labelledby=rear] .status').dataset.outcome === 'no_fit' && seen('.remedy-group')")
		p.accessible()
		p.shot("task_misses")
		// Each group names its remedy, and its dampers are in the order of how much of it they need.
		if !eval[bool](p, "all('.remedy-group').every((g) => g.querySelector('summary').textContent.length > 8 && [...g.querySelectorAll('.row')].every((row) => row.dataset.code))") {
			t.Error("a group has no name, or a row no damper")
		}
		p.click(".remedies [data-go=take]")
		p.until("q('.strip [aria-labelledby=rear] .status').dataset.outcome === 'fits' && seen('.plans')")
		p.took("nothing fits, a remedy is taken", 50, 6)
		p.expected("422")
	})
	t.Run("compare two and print", func(t *testing.T) {
		t.Parallel()
		p := start(t)
		p.call("r so e e 17 5/16", "rear")
		p.until("all('.row[data-code]').length > 3")
		p.click("[aria-labelledby=rear] .row[data-code]:nth-child(2) > input")
		p.click("[aria-labelledby=rear] .row[data-code]:nth-child(3) > input")
		p.until("all('.compare thead th').length === 2")
		eval[bool](p, "(window.printed = '', window.print = () => printed = document.body.dataset.print, true)")
		p.click("[data-go=print_compared]")
		p.until("printed === 'compared'")
		p.took("compare two and print", 20, 3)
	})
	t.Run("keyboard alone", func(t *testing.T) {
		t.Parallel()
		shop := newShopService(t)
		p := newTabAt(t, shop.URL+"/")
		p.enterKey(shop.key)
		p.until("seen('.keep')")
		p.tally()
		p.press("0", chromedp.KeyModifiers(chromedp.ModifierAlt))
		p.call("r so st e 16 5/8 m12 1 1/2", "rear")
		p.until("q('[aria-labelledby=rear] .lengths')?.innerText.includes('16\u00a05/8') && q('[aria-labelledby=rear] .say')?.innerText.includes('M12')")
		// The best one is chosen in the strip, which is the last thing before the page begins again.
		focused := func() string {
			return eval[string](p, "document.activeElement.dataset.go ?? document.activeElement.id")
		}
		to := func(want string, key string, options ...chromedp.KeyOption) {
			for range 60 {
				if focused() == want {
					return
				}
				p.press(key, options...)
			}
			t.Fatalf("the keyboard never comes to %s; it is at %s", want, focused())
		}
		p.press("4", chromedp.KeyModifiers(chromedp.ModifierAlt))
		p.until("document.activeElement.dataset.go === 'choose'")
		p.press(" ")
		p.until("q('.to-keep .code')")
		p.press("3", chromedp.KeyModifiers(chromedp.ModifierAlt))
		to("quote-reference", kb.Tab)
		p.press("4411")
		p.press(kb.Enter)
		p.until("seen('.opened[data-state=kept]')")
		p.took("a quote by the keyboard alone", 70, 0)
		if n := shop.count(t); n != 1 {
			t.Errorf("%d quotes are kept", n)
		}
		p.expected("422")
	})
	t.Run("a customer with one thumb", func(t *testing.T) {
		t.Parallel()
		p := newTab(t, screen{width: 390, height: 844, touch: true})
		p.open(newShop(t, s, `units="in"`))
		p.listen()
		p.until("seen('[data-style=stud]')")
		p.tally()
		// Every target is as large as WCAG 2.2's 2.5.8 asks for, 24 pixels, and Next is always in sight.
		tap := func(selector string) {
			t.Helper()
			p.until(fmt.Sprintf("seen(%q)", selector))
			if box := eval[[]float64](p, fmt.Sprintf("(() => { const b = (q(%q).closest('label') ?? q(%q)).getBoundingClientRect(); return [b.width, b.height]; })()", selector, selector)); box[0] < 24 || box[1] < 24 {
				t.Errorf("%s is %v pixels", selector, box)
			}
			if strings.Contains(selector, "next") && !eval[bool](p, "(() => { const b = q('[data-go=next]').getBoundingClientRect(); return b.top >= 0 && b.bottom <= innerHeight; })()") {
				t.Errorf("in the step %s Next isn't in sight", eval[string](p, "q('.step').dataset.step"))
			}
			p.click(selector)
		}
		tap("[data-style=stud]")
		p.until("seen('[data-step=lower]')")
		tap("[data-style=eye]")
		p.until("seen('[data-step=measure] .guide-steps')")
		tap("[data-go=next]")
		p.until("seen('[data-step=readings]')")
		tap(field("readings_left/0"))
		p.press("16")
		tap("[data-fraction='5/8']")
		if got := eval[string](p, fmt.Sprintf("q(%q).value", field("readings_left/0"))); got != "16 5/8" {
			t.Errorf("with the fraction the reading is %q", got)
		}
		tap("[data-go=next]")
		p.until("seen('[data-step=brackets]')")
		tap("[data-go=next]")
		p.until("seen('[data-step=movement]')")
		tap("[data-key=suspension][value=solid_axle]")
		tap("[data-go=next]")
		p.until("seen('.fit')")
		tap("[data-go=confirm]")
		tap(".fit [data-go=choose]")
		if c := told[chosen](p, "midstroke:choose"); c.Rank != 1 {
			t.Errorf("chosen is %+v", c)
		}
		p.took("a customer with one thumb", 2, 12)
		p.whole()
	})
}

// TestTheCallLineShowsWhatItFills: on a phone the axle that a line is for comes into
// sight below the line, which stays where it can be typed on.
func TestTheCallLineShowsWhatItFills(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, screen{width: 390, height: 844, touch: true})
	p.open(s.URL + "/")
	p.until("seen('#rear-upper')")
	p.click("#call")
	for _, c := range []struct{ line, axle string }{{"rear stud", "rear"}, {"front stud", "front"}} {
		p.write("#call", c.line)
		p.until(fmt.Sprintf("q('#%s-upper').value === 'stud'", c.axle))
		p.until(fmt.Sprintf("q('[aria-labelledby=%s] h2').getBoundingClientRect().top >= q('.call').getBoundingClientRect().bottom - 1", c.axle))
		for _, selector := range []string{"#call", "#" + c.axle + "-upper"} {
			if !p.inSight(selector) {
				t.Errorf("after %q, %s isn't in sight", c.line, selector)
			}
		}
	}
	p.accessible()
	p.shot("call_phone")
}
