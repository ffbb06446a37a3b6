//go:build browser

package widget_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// counting counts the keys that are pressed on a page.
func (t *tab) counting() {
	t.tb.Helper()
	eval[bool](t, `(window.keys = 0, addEventListener("keydown", (e) => { if (!["Alt", "Control", "Shift"].includes(e.key)) keys++; }, true), true)`)
}

// inSight says that an element is on the screen whole and not below the strip.
func (t *tab) inSight(selector string) bool {
	t.tb.Helper()
	return eval[bool](t, fmt.Sprintf(`(() => {
		const box = q(%q)?.getBoundingClientRect(), strip = q(".strip").getBoundingClientRect();
		return Boolean(box) && box.height > 0 && box.top >= 0 && box.bottom <= (q(%q).closest(".strip") ? innerHeight : strip.top);
	})()`, selector, selector))
}

// TestAnOrdinaryCase fills in a solid rear axle with a stud over an eye, two
// readings, a bolt and the bracket's width: by the fields and by the call line. The
// whole takes at most 35 keys, nothing is scrolled, and the answer is in sight.
func TestAnOrdinaryCase(t *testing.T) {
	t.Parallel()
	s := newService(t)
	for name, fill := range map[string]func(p *tab){
		"fields": func(p *tab) {
			p.press("2", chromedp.KeyModifiers(chromedp.ModifierAlt))
			p.until("document.activeElement.id === 'rear-upper'")
			p.press("s")
			for _, text := range []string{"", "", "", "e", "M12", "1 1/2", "s", "16 5/8", "16 11/16"} {
				p.press(kb.Tab)
				if text != "" {
					p.press(text)
				}
			}
		},
		"call line": func(p *tab) {
			p.until("document.activeElement.id === 'call'")
			p.press("r so st e 16 5/8 16 11/16 m12 1 1/2")
		},
	} {
		t.Run(name, func(t *testing.T) {
			p := newTabAt(t, s.URL+"/")
			p.until("seen('.first .group')")
			p.counting()
			fill(p)
			p.until("q('[aria-labelledby=rear] .lengths')?.innerText.includes('16\u00a021/32') && q('[aria-labelledby=rear] .status').dataset.outcome === 'fits'")
			p.until("q('[data-key=lower_opening]')?.value === '1 1/2' && q('[aria-labelledby=rear] .say').innerText.includes('sleeve')")
			n := eval[int](p, "keys")
			t.Logf("%s: %d keys", name, n)
			if n > 35 {
				t.Errorf("it takes %d keys, want at most 35", n)
			}
			if y := eval[float64](p, "scrollY"); y != 0 {
				t.Errorf("the page is scrolled by %g", y)
			}
			for _, selector := range []string{".strip [aria-labelledby=rear] .say", ".strip [aria-labelledby=rear] .badge", "[data-go=next_question]", "[aria-labelledby=rear] .row[data-code]"} {
				if !p.inSight(selector) {
					t.Errorf("%s isn't in sight", selector)
				}
			}
			p.shot("counter_ordinary_" + strings.ReplaceAll(name, " ", "_"))
			// The one next question leads to its field, which may be behind More.
			p.click("[data-go=next_question]")
			p.until("document.activeElement.matches('#rear-upper_frame_hole')")
			p.press("7/8")
			p.until("q('[data-go=next_question]')?.innerText.includes('thick')")
			p.expected("422") // M1, on the way to M12
		})
	}
}

// TestAHalfTypedFieldKeepsTheAnswer empties a reading and types it anew: the last
// answer stays, marked as old, nothing is called wrong before the field is left, and
// what is read out waits for a pause.
func TestAHalfTypedFieldKeepsTheAnswer(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/#units=in&rear.upper=eye&rear.lower=eye&rear.suspension=solid_axle&rear.readings_left=17 5/16")
	p.until("seen('.row[data-code]')")
	// Typed at a quick pace in the page itself, which a busy machine can't stretch.
	seen := eval[bool](p, `(async () => {
		const input = q('[aria-labelledby=rear] [data-key="readings_left/0"]'), status = q(".strip [aria-labelledby=rear] [role=status]");
		window.before = status.textContent;
		input.focus();
		let kept = true;
		for (const text of ["", "16", "16 ", "16 5", "16 5/", "16 5/8"]) {
			input.value = text;
			input.dispatchEvent(new Event("input", { bubbles: true }));
			await new Promise((done) => setTimeout(done, 30));
			kept &&= seen(".row[data-code]") && seen(".strip .say") && !q("[aria-labelledby=rear] .status").textContent.includes("another look") && status.textContent === before;
		}
		return kept;
	})()`)
	if !seen {
		t.Error("while somebody types the answer goes, or something is called wrong or read out")
	}
	p.until("q('[aria-labelledby=rear] .lengths')?.innerText.includes('16\u00a05/8')")
	p.until("q('.strip [aria-labelledby=rear] [role=status]').textContent.includes('fit')")
	// Half a reading that is left is told.
	p.write(inAxle("rear", field("readings_left/0")), "16 5/")
	p.press(kb.Tab)
	p.until("q('#rear-readings_left-0-fault').textContent !== ''")
}

// TestTheCallLineAtTheCounter fills the fields, marks what it doesn't understand,
// and empties what is no longer said, but for what was changed in its field.
func TestTheCallLineAtTheCounter(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/")
	p.until("document.activeElement.id === 'call'")
	p.press("rear solid zebra stud eye 16 5/8 M12")
	p.until("q('#rear-lower_bolt')?.value === 'M12' && q('.call .fault').textContent.includes('zebra')")
	if got := eval[string](p, "all('.mirror u').map((e) => e.textContent).join()"); got != "zebra" {
		t.Errorf("marked is %q", got)
	}
	p.accessible()
	p.shot("counter_call")
	// The last word is marked when it is done: after a pause, by Enter, or when the line is left.
	const marks = "all('.mirror u').map((e) => e.textContent).join()"
	p.press(" yak")
	p.until(marks + " === 'zebra,yak'")
	p.press("s")
	p.until(marks + " === 'zebra'")
	p.press(kb.Enter)
	p.until(marks + " === 'zebra,yaks'")
	for range len(" yaks") {
		p.press("\b")
	}
	p.until(marks + " === 'zebra'")
	p.write("#rear-lower_bolt", "M10")
	p.click("#call")
	p.press(kb.End)
	for range len(" eye 16 5/8 M12") {
		p.press("\b")
	}
	p.until("q('#rear-lower').value === '' && q('#rear-upper').value === 'stud'")
	p.press(" eye")
	p.until("q('#rear-lower_bolt')?.value === 'M10'")
	// Another axle takes it all.
	p.press(kb.Home)
	for range len("rear") {
		p.press(kb.Delete)
	}
	p.press("front")
	p.until("q('#front-upper').value === 'stud' && q('#rear-upper').value === ''")
	p.click(".call-help summary")
	p.until("q('.grammar')?.innerText.includes('espiga')")
	p.whole()
	p.shot("counter_call_help")
	for _, text := range []string{"<img src=x onerror=alert(1)>", strings.Repeat("9", 200), "__proto__ constructor", "\u202e\u0000"} {
		p.write("#call", text)
		p.until("q('.strip')")
	}
	p.expected("422")
}
