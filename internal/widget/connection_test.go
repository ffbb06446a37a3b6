//go:build browser

package widget_test

import (
	"fmt"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

func TestTheServiceGoesAwayAndComesBack(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	p.open(newShop(t, s, `units="in" upper="eye" lower="eye" suspension="solid_axle"`))
	p.click("[data-go=next]")
	p.write(field("readings_left/0"), "17 5/16")
	s.replace(gone)
	for range 3 {
		p.click("[data-go=next]")
	}
	p.until("seen('[data-go=retry]')")
	if said := p.text(".message"); !strings.Contains(said, "can't be reached") {
		t.Errorf("the widget says %q", said)
	}
	p.accessible()
	p.shot("widget_unreachable")
	// Loaded again, the page still has what was typed.
	p.open(eval[string](p, "location.href"))
	p.click("[data-go=next]")
	if got := eval[string](p, fmt.Sprintf("q(%q).value", field("readings_left/0"))); got != "17 5/16" {
		t.Errorf("after loading the page anew the reading is %q", got)
	}
	for range 3 {
		p.click("[data-go=next]")
	}
	p.until("seen('[data-go=retry]')")
	s.replace(nil)
	p.click("[data-go=retry]")
	p.until("seen('.fit')")
	p.expected("Failed to load resource")
	p.expected("blocked by CORS policy") // as a browser puts a broken connection
}

// TestItAsksAgainByItself waits until the widget asks again without a press.
func TestItAsksAgainByItself(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	var asked atomic.Int32
	s.replace(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/v1/fits" && asked.Add(1) == 1 {
			s.replace(nil)
			w.Header().Set("Access-Control-Allow-Origin", "*")
			w.WriteHeader(http.StatusServiceUnavailable)
			return
		}
		s.pass(w, r)
	})
	p.open(newShop(t, s, `units="in" preset="upper=eye&amp;lower=eye&amp;suspension=solid_axle&amp;readings_left=17 5/16"`))
	p.through()
	p.until("seen('[data-go=retry]')")
	p.until("seen('.fit')")
	p.expected("503")
}

// TestWhatWasAnsweredIsKept loads the page again: units and readings are kept. An
// attribute that changes then changes nothing else.
func TestWhatWasAnsweredIsKept(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	p.open(newShop(t, s, `units="in" upper="eye" lower="eye"`))
	p.click("[data-key=units-mm]")
	p.click("[data-go=next]")
	p.write(field("readings_left/0"), "422")
	p.open(eval[string](p, "location.href"))
	p.click("[data-go=next]")
	p.until("seen('[data-key=\"readings_left/0\"]')")
	eval[bool](p, "(document.querySelector('midstroke-fit').setAttribute('dampers', '4'), true)")
	if got := eval[string](p, "document.querySelector('midstroke-fit').request"); got != "units=mm&upper=eye&upper_measured_to=bolt_centre&lower=eye&lower_measured_to=bolt_centre&readings_left=422&top=5&dampers=4" {
		t.Errorf("the request is %s", got)
	}
}

// TestAnImpatientCustomer presses twice, goes back while an answer is on its
// way, and types on while the service is away.
func TestAnImpatientCustomer(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	p.open(newShop(t, s, `units="in" preset="suspension=solid_axle&amp;readings_left=17 5/16"`))
	at := eval[[]float64](p, "(() => { const box = q('[data-style=eye]').getBoundingClientRect(); return [box.x + 20, box.y + 20]; })()")
	p.do(chromedp.MouseClickXY(at[0], at[1]), chromedp.MouseClickXY(at[0], at[1], chromedp.ClickCount(2)))
	p.until("seen('[data-step=lower]')")
	p.click("[data-style=eye]")
	for _, step := range []string{"measure", "readings", "brackets"} {
		p.until("seen('[data-step=" + step + "]')")
		p.click("[data-go=next]")
	}
	p.listen()
	release := make(chan struct{})
	s.replace(func(w http.ResponseWriter, r *http.Request) {
		<-release
		s.pass(w, r)
	})
	p.click("[data-go=next]")
	p.click("[data-go=back]")
	close(release)
	p.until("seen('[data-step=brackets]')")
	eval[bool](p, "new Promise((done) => setTimeout(() => done(true), 300))")
	if eval[bool](p, "fired['midstroke:answer'] !== undefined || !seen('[data-step=brackets]')") {
		t.Error("an answer that nobody waits for any more took over")
	}
	s.replace(gone)
	p.click("[data-go=next]")
	p.click("[data-go=next]")
	p.until("seen('[data-go=retry]')")
	p.click(".step details summary")
	p.write(field("planned_change"), "ab")
	s.replace(nil)
	eval[bool](p, "(dispatchEvent(new Event('online')), true)")
	// The fault must be found in a part that is closed, too.
	p.click(".step details summary")
	p.click("[data-go=next]")
	p.until("root().activeElement.dataset.key === 'planned_change'")
	if eval[bool](p, "fired['midstroke:answer'] !== undefined") {
		t.Error("a half-typed text was sent")
	}
	// A planned change needs the motion ratio, so that is asked for as well.
	p.write(field("planned_change"), "1/2")
	p.click("[data-go=next]")
	p.until("root().activeElement.dataset.key === 'motion_ratio'")
	p.press("0.9")
	p.press(kb.Enter)
	p.until("seen('.fit')")
	p.expected("Failed to load resource")
	p.expected("blocked by CORS policy")
}

// TestTheAnswerComesBack after the page was loaded anew.
func TestTheAnswerComesBack(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	p.open(newShop(t, s, `units="in" preset="upper=eye&amp;lower=eye&amp;suspension=solid_axle&amp;readings_left=17 5/16"`))
	p.through()
	p.until("seen('.fit')")
	best := eval[string](p, "q('.fit').dataset.code")
	p.open(eval[string](p, "location.href"))
	p.until("seen('.fit')")
	if got := eval[string](p, "q('.fit').dataset.code"); got != best {
		t.Errorf("after loading the page anew %s is best, before %s", got, best)
	}
	// A question that was gone back to comes back as well.
	p.click("[data-change=readings]")
	p.open(eval[string](p, "location.href"))
	p.until("seen('[data-step=measure]')")
}
