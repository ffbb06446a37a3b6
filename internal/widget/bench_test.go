//go:build browser

package widget_test

import (
	"slices"
	"testing"
)

// stopwatch holds functions that measure in the page. An interaction is compared
// with the least that any page needs: to fetch the same answer and to show one
// empty frame. The browser's own clock is used, and a time ends when the frame
// that shows the answer is painted.
const stopwatch = `
window.frame = () => new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
window.timed = async (act) => { const start = performance.now(); await act(); return performance.now() - start; };
window.least = async () => {
	const answers = performance.getEntriesByType("resource").filter((e) => e.name.includes("/v1/fits?"));
	return timed(async () => { await (await fetch(answers.at(-1).name, { cache: "no-store" })).text(); await frame(); });
};
`

// measure times an interaction and the least that an answer takes, by turns. It
// reports medians in milliseconds and their ratio.
func (t *tab) measure(b *testing.B, interaction string, between func()) {
	b.Helper()
	eval[bool](t, "(() => {"+stopwatch+"return true; })()")
	var answers, least []float64
	for b.Loop() {
		answers = append(answers, eval[float64](t, interaction))
		least = append(least, eval[float64](t, "least()"))
		forget(t)
		between()
	}
	slices.Sort(answers)
	slices.Sort(least)
	middle, high := len(answers)/2, len(answers)*95/100
	b.ReportMetric(0, "ns/op") // which would count the driving of the browser
	b.ReportMetric(answers[middle], "ms-painted")
	b.ReportMetric(answers[high], "ms-painted-p95")
	b.ReportMetric(answers[middle]/least[middle], "×fetch+frame")
}

// forget empties the browser's list of fetched resources, which takes 250.
func forget(t *tab) {
	eval[bool](t, "(performance.getEntriesByType('resource').length > 150 && performance.clearResourceTimings(), true)")
}

// BenchmarkKeystroke is the time from a keystroke in a reading at the counter
// to its painted answer.
func BenchmarkKeystroke(b *testing.B) {
	s := newService(b)
	p := newTabAt(b, s.URL+"/#units=in&rear.upper=eye&rear.lower=eye&rear.suspension=solid_axle&rear.readings_left=17 5/16")
	p.until("seen('[aria-labelledby=rear] .row[data-code]')")
	eval[bool](p, `(window.turn = 0, true)`)
	p.measure(b, `timed(() => new Promise((painted) => {
		const input = q('[aria-labelledby=rear] [data-key="readings_left/0"]');
		input.value = ["17 1/4", "17 3/16", "17 1/8", "17 5/16"][turn++ % 4];
		new MutationObserver((_, observer) => { observer.disconnect(); frame().then(painted); })
			.observe(q('[aria-labelledby=rear] .result'), { childList: true, characterData: true, subtree: true });
		input.dispatchEvent(new Event("input", { bubbles: true }));
	}))`, func() {})
}

// BenchmarkPress is the time from the press that asks, on a phone's screen, to
// the painted answer.
func BenchmarkPress(b *testing.B) {
	s := newService(b)
	p := newTab(b, phone)
	p.open(newShop(b, s, `units="in" preset="upper=eye&amp;lower=eye&amp;suspension=solid_axle&amp;readings_left=17 5/16"`))
	p.through()
	again := func() {
		p.until("seen('.fit')")
		p.click("[data-change=movement]")
		p.until("seen('[data-step=movement]')")
	}
	again()
	p.measure(b, `timed(() => new Promise((painted) => {
		document.addEventListener("midstroke:answer", () => frame().then(painted), { once: true });
		q("[data-go=next]").click();
	}))`, again)
}
