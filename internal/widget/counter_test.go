//go:build browser

package widget_test

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"regexp"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// inAxle selects within an axle's panel.
func inAxle(axle, selector string) string {
	return fmt.Sprintf("[aria-labelledby=%s] %s", axle, selector)
}

// choose picks an option of a list as a person does.
func (t *tab) choose(selector, option string) {
	t.tb.Helper()
	t.until(fmt.Sprintf("seen(%q)", selector))
	eval[bool](t, fmt.Sprintf(`(() => { const e = q(%q); e.focus(); e.value = %q; e.dispatchEvent(new Event("change", { bubbles: true })); return e.value === %q; })()`,
		selector, option, option))
}

// TestBothAxlesAtTheCounter fills in both axles by keyboard and sends the page
// on as a link.
func TestBothAxlesAtTheCounter(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/")
	for _, axle := range []string{"front", "rear"} {
		for _, end := range []string{"upper", "lower"} {
			p.choose(inAxle(axle, field(end)), "eye")
		}
		p.choose(inAxle(axle, field("suspension")), "solid_axle")
		reading := map[string]string{"front": "17 5/16", "rear": "16 1/2"}[axle]
		p.write(inAxle(axle, field("readings_left/0")), reading)
		// Every keystroke is answered. Wait for the last answer.
		p.until(fmt.Sprintf("q(%q)?.innerText.includes(%q) && seen(%q)", inAxle(axle, ".lengths"), strings.ReplaceAll(reading, " ", "\u00a0"), inAxle(axle, ".row[data-code]")))
	}
	// Go from the last field to the answer, and open a fit.
	p.press(kb.Enter, chromedp.KeyModifiers(chromedp.ModifierCtrl))
	p.until("document.activeElement.matches('summary.line')")
	p.press(kb.Enter)
	p.until("document.activeElement.parentElement.open")
	// Asking the same again must not close what somebody is reading.
	const asked = "performance.getEntriesByType('resource').filter((e) => e.name.includes('/v1/fits?') && e.responseEnd > 0).length"
	before := eval[int](p, asked)
	eval[bool](p, fmt.Sprintf("(q(%q).requestSubmit(), true)", inAxle("rear", "form")))
	p.until(fmt.Sprintf("%s > %d", asked, before))
	p.until("q('[aria-labelledby=rear] [data-outcome]').dataset.outcome === 'fits'")
	eval[bool](p, "new Promise((done) => requestAnimationFrame(() => setTimeout(() => done(true))))")
	if !eval[bool](p, "document.activeElement.matches('summary.line') && document.activeElement.parentElement.open") {
		t.Error("the same answer again closes the fit that was opened")
	}

	state := eval[string](p, "location.hash")
	for _, part := range []string{"front.readings_left=17+5%2F16", "rear.readings_left=16+1%2F2", "units=in"} {
		if !strings.Contains(state, part) {
			t.Errorf("the address says %s, want %s in it", state, part)
		}
	}
	rows := func(p *tab) string {
		return eval[string](p, "all('.row[data-code]').map((row) => row.dataset.code).join()")
	}
	want := rows(p)
	again := newTabAt(t, s.URL+"/"+state)
	again.until("all('.axle .row[data-code]').length === " + fmt.Sprint(strings.Count(want, ",")+1))
	if got := rows(again); got != want {
		t.Errorf("the link opens\n%s\nwant\n%s", got, want)
	}

	p.click(inAxle("front", ".row[data-code] input"))
	p.click(inAxle("front", ".row[data-code] ~ .row[data-code] input"))
	if n := eval[int](p, "all('.compare thead th').length"); n != 2 {
		t.Errorf("%d alternatives are compared, want 2", n)
	}
	// A line below the answer counts both and leads to them. They stay when the
	// answer changes.
	p.until("q('[aria-labelledby=front] .picked').textContent.startsWith('2 ')")
	p.write(inAxle("front", field("readings_left/0")), "17 1/4")
	p.until("q('[aria-labelledby=front] .lengths').innerText.includes('17\\u00a01/4')")
	if n := eval[int](p, "all('.row[data-code] input:checked').length"); n != 2 || eval[int](p, "all('.compare thead th').length") != n {
		t.Errorf("%d alternatives are compared after another answer, want 2", n)
	}
	p.click(inAxle("front", ".picked a"))
	p.until("document.activeElement.id === 'compared'")

	p.click(inAxle("front", "[data-key=copy_other]"))
	p.until("document.activeElement.dataset.key === 'copy_other'")
	p.until("q('" + `[aria-labelledby=front] [data-key="readings_left/0"]` + "').value === '16 1/2'")
}

// TestTheComparison takes up to four fits, marks where they differ, keeps them
// through other units and another language, and prints on one page.
func TestTheComparison(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/#units=in&lang=en&rear.upper=eye&rear.lower=eye&rear.suspension=solid_axle&rear.readings_left=17 5/16")
	p.until("all('.row[data-code]').length > 5")
	for n := 2; n <= 5; n++ {
		p.click(fmt.Sprintf("[aria-labelledby=rear] .row[data-code]:nth-child(%d) > input", n))
	}
	p.until("all('.compare thead th').length === 4")
	if !eval[bool](p, "q('[aria-labelledby=rear] .row[data-code]:nth-child(6) > input').disabled") {
		t.Error("a fifth one can be compared")
	}
	codes := eval[string](p, "all('.compare thead th').map((e) => e.textContent).join()")
	if !eval[bool](p, "all('.compare .stroke').length === 4 && all('.compare .differs').length > 3 && all('.compare tr:not(.differs)').length > 3") {
		t.Error("bars or marks are missing")
	}
	p.accessible()
	p.until("location.hash.includes('rear.compare')")
	p.choose(".top [data-key=units]", "mm")
	p.until("q('.compare')?.innerText.includes('mm')")
	p.choose(".top [data-key=language]", "es")
	p.until("document.documentElement.lang === 'es' && all('.compare thead th').length === 4")
	if got := eval[string](p, "all('.compare thead th').map((e) => e.textContent).join()"); got != codes {
		t.Errorf("compared are %s, before %s", got, codes)
	}
	if !eval[bool](p, "(() => { const names = all('.compare tbody th').map((e) => e.textContent); return new Set(names).size === names.length; })()") {
		t.Errorf("two rows have one name: %s", p.text(".compare tbody"))
	}
	p.shot("counter_compared")
	eval[bool](p, "(document.body.dataset.print = 'compared', true)")
	if n, _, _ := pages(t, p.printed("compared")); n != 1 {
		t.Errorf("the comparison takes %d pages", n)
	}
}

// TestUnitsChangeAndLengthsDont changes the units: a bare number gets the unit
// that it was typed in, and the answer stays the same.
func TestUnitsChangeAndLengthsDont(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, desktop)
	p.exposes("Request", "keepMeaning")
	got := eval[string](p, `(() => {
		const r = Request.read(new URLSearchParams("units=in&upper_bolt=7/16&lower_bolt=M12&upper_opening=1 1/2&lower_opening=1.&readings=&readings=17¼&readings=430 mm&readings=16'"
			+ "&planned_change=-2&bump_stop_gap=0&motion_ratio=0.8&travel_linkage_wheel=10&travel_linkage_wheel=&travel_linkage_wheel=-1/4"));
		r.setAt("readings_left", 2, "16,5");
		keepMeaning(r, "mm", true);
		return ["upper_bolt", "lower_bolt", "upper_opening", "lower_opening", "readings", "readings_left", "planned_change", "bump_stop_gap", "motion_ratio", "travel_linkage_wheel"]
			.map((name) => r.all(name).join("|")).join("; ");
	})()`)
	if want := "7/16 in; M12; 1 1/2 in; 1.; 17¼ in|430 mm|16'; ||16,5 in; -2 in; 0; 0.8; 10 in||-1/4 in"; got != want {
		t.Errorf("inches become\n%s\nwant\n%s", got, want)
	}

	p.open(s.URL + "/")
	p.click("[data-go=example]")
	p.until("seen('.row[data-code]')")
	rows := "all('.row[data-code]').map((row) => row.dataset.code).join()"
	want := eval[string](p, rows)
	p.choose(".top [data-key=units]", "mm")
	p.until("q('[aria-labelledby=rear] .lengths')?.innerText.includes('mm')")
	if got := eval[string](p, rows); got != want {
		t.Errorf("in millimetres there are\n%s\nin inches\n%s", got, want)
	}
	if got := eval[string](p, "document.activeElement.dataset.key ?? ''"); got != "units" {
		t.Errorf("then the keyboard is at %q", got)
	}
	p.choose(".top [data-key=language]", "es")
	p.until("document.documentElement.lang === 'es' && document.activeElement.dataset.key === 'language'")
}

// TestALinkShowsAllThatIsSent opens a link with gaps in a point and with two
// codes, and checks that the planes can be told apart in their list.
func TestALinkShowsAllThatIsSent(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/#"+encoded("units=mm&rear.upper=stud&rear.upper_measured_to=frame_face&rear.travel=linkage&rear.travel_linkage_kind=inclined"+
		"&rear.travel_linkage_damper_upper=&rear.travel_linkage_damper_upper=450&rear.travel_linkage_damper_upper=640&rear.codes=a&rear.codes=b"))
	const values = `["travel_linkage_damper_upper/0", "travel_linkage_damper_upper/1", "travel_linkage_damper_upper/2", "codes/0", "codes/1"].map((key) => q('[aria-labelledby=rear] [data-key="' + key + '"]')?.value).join()`
	p.until("q('[aria-labelledby=rear] .points')")
	if got := eval[string](p, values); got != ",450,640,a,b" {
		t.Errorf("the link shows %s", got)
	}
	if !eval[bool](p, `(() => {
		const select = q("[aria-labelledby=rear] [data-key=upper_measured_to]");
		const near = new Set([...select.options].map((option) => option.text.slice(0, 12)));
		return near.size === select.options.length && select.offsetWidth >= q("[aria-labelledby=rear] [data-key=upper]").offsetWidth;
	})()`) {
		t.Error("the planes aren't told apart in their list")
	}
}

// TestTheRequestAsABody sends the page's request as the body that a quote keeps. Its
// answer is that of the address that the page offers, byte for byte.
func TestTheRequestAsABody(t *testing.T) {
	t.Parallel()
	s := newService(t)
	for name, state := range map[string]string{
		"stud over eye": "units=in&rear." + strings.ReplaceAll(fullRequest[len("units=in&"):], "&", "&rear."),
		"linkage":       strings.ReplaceAll(linkageState, "front.", "rear."),
		"road": "units=mm&rear.upper=eye&rear.lower=eye&rear.readings=450&rear.suspension=independent&rear.motion_ratio=0.8&rear.travel=road&rear.travel_class=C" +
			"&rear.travel_speed_kmh=80&rear.travel_hours=1&rear.travel_corner_sprung_kg=300&rear.travel_corner_unsprung_kg=40" +
			"&rear.travel_corner_wheel_rate_n_mm=20&rear.travel_corner_tyre_rate_n_mm=180&rear.travel_corner_damping_ns_m=1500",
		"limits and more": "units=in&rear.upper=eye&rear.lower=eye&rear.readings=17 5/16&rear.readings=17 1/4&rear.suspension=solid_axle&rear.limits_in_stock=true" +
			"&rear.limits_adjusters=rebound&rear.limits_max_price=250.00&rear.explain=true&rear.top=3&rear.dampers=4&rear.prefer_ride_position=0.45&rear.old_damper_at_stop=false" +
			"&rear.lean_deg=20&rear.reference=it's ours",
	} {
		t.Run(name, func(t *testing.T) {
			p := newTabAt(t, s.URL+"/#"+encoded(state))
			p.until("document.querySelector('[aria-labelledby=rear] [data-outcome]')?.dataset.outcome")
			p.click("[aria-labelledby=rear] .share summary")
			p.until("q('[data-share=get]')")
			address := eval[string](p, "q('[data-share=get]').textContent")
			p.exposes("Request")
			body := eval[string](p, "JSON.stringify(Request.read(new URL("+jsonOf(t, address)+").searchParams).body())")
			posted, err := http.Post(s.URL+"/v1/fits", "application/json", strings.NewReader(body))
			if err != nil {
				t.Fatal(err)
			}
			defer posted.Body.Close()
			response, err := http.Get(address)
			if err != nil {
				t.Fatal(err)
			}
			defer response.Body.Close()
			var got, want map[string]any
			if err := json.NewDecoder(posted.Body).Decode(&got); err != nil {
				t.Fatal(err)
			}
			if err := json.NewDecoder(response.Body).Decode(&want); err != nil {
				t.Fatal(err)
			}
			if a, b := jsonOf(t, got), jsonOf(t, want); a != b || got["outcome"] == nil {
				t.Errorf("the body's answer is\n%.600s\nthe address's\n%.600s", a, b)
			}
		})
	}
}

// TestTheNewestRequestIsAnsweredLast types on while the answers are slow.
func TestTheNewestRequestIsAnsweredLast(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/#units=in&rear.upper=eye&rear.lower=eye&rear.suspension=solid_axle")
	var under, most atomic.Int32
	release := make(chan struct{}, 100)
	s.replace(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/v1/fits" {
			most.Store(max(most.Load(), under.Add(1)))
			<-release
			defer under.Add(-1)
		}
		s.pass(w, r)
	})
	p.write(inAxle("rear", field("readings_left/0")), "17 5/16")
	for range cap(release) {
		release <- struct{}{}
	}
	p.until("q('[aria-labelledby=rear] .lengths')?.innerText.includes('17\\u00a05/16')")
	if n := most.Load(); n != 1 {
		t.Errorf("%d questions were under way at once, want 1", n)
	}
}

// TestFaultsAtTheCounter leaves out a field that only the service knows to be
// needed, and gives points that can't be a linkage.
func TestFaultsAtTheCounter(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/#units=in&rear.upper=eye&rear.lower=eye&rear.suspension=solid_axle&rear.readings_left=17 5/16&rear.travel=wheel&rear.travel_bump=3")
	p.until("q('[aria-labelledby=rear] .status').textContent.includes('Wheel travel down')")
	// What only the service knows is told beside the field after a pause, and takes no focus.
	besideBolt := "q('[aria-labelledby=rear] [data-key=lower_bolt]').closest('.field').querySelector('.fault').textContent"
	p.write(inAxle("rear", field("lower_bolt")), "M13x9")
	p.until(besideBolt + " !== ''")
	if got := eval[string](p, "document.activeElement.dataset.key"); got != "lower_bolt" {
		t.Errorf("the focus is on %q", got)
	}
	if got := eval[string](p, "q('[aria-labelledby=rear] [data-key=travel_droop]').closest('.field').querySelector('.fault').textContent"); got != "" {
		t.Errorf("beside a field that nothing was written in stands %q", got)
	}
	p.write(inAxle("rear", field("lower_bolt")), "M12")
	p.until(besideBolt + " === ''")
	p.click(inAxle("rear", "[data-go=ask]"))
	p.until("document.activeElement.dataset.key === 'travel_droop' || document.activeElement.dataset.key === 'motion_ratio'")
	if got := eval[string](p, "q('[aria-labelledby=rear] [data-key=travel_droop]').closest('.field').querySelector('.fault').textContent"); got == "" {
		t.Error("nothing stands beside the field that is missing")
	}
	p.write(inAxle("rear", field("travel_droop")), "3")
	p.write(inAxle("rear", field("motion_ratio")), "0.9")
	p.until("seen('[aria-labelledby=rear] .row[data-code]')")
	p.expected("422")

	// Of half a linkage, the labels of what is missing are told.
	p.choose(inAxle("rear", field("travel")), "linkage")
	p.choose(inAxle("rear", field("travel_linkage_kind")), "double_wishbone")
	p.until("q('[aria-labelledby=rear] .status').textContent.includes('Lower arm, front')")
	if got := p.text(inAxle("rear", ".status")); !strings.Contains(got, "still missing") || strings.Contains(got, "_") || strings.Contains(got, "Lower arm, inner") {
		t.Errorf("half a linkage is told by %q", got)
	}

	other := newTabAt(t, s.URL+"/#"+strings.Replace(linkageState, "damper_lower=260", "damper_lower=640", 1))
	other.until("q('.linkage-views .still')?.textContent.length > 0 || seen('.linkage-views .curve')")
	other.expected("422")
	// The console may tell of an answer later than the page.
	p.expected("422")
}

// TestAnOldAnswerIsReadable: while a field has a fault, the last answer is marked as an old
// one and has the contrast of a new one.
func TestAnOldAnswerIsReadable(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/#units=in&lang=en&rear.upper=eye&rear.lower=eye&rear.suspension=solid_axle&rear.readings_left=17 5/16")
	p.until("seen('.row[data-code]')")
	p.click(".row[data-code] summary")
	p.write(inAxle("rear", field("readings_left/0")), "17 x")
	p.press(kb.Tab)
	p.until("all('[data-old=true]').length === 4")
	if got := eval[string](p, "all('[data-old=true]').map((e) => getComputedStyle(e.matches('figure') ? e.querySelector('svg') : e).outlineStyle).join()"); got != "dashed,dashed,dashed,dashed" {
		t.Errorf("the old answer is framed %s", got)
	}
	for _, dark := range []bool{false, true} {
		p.look(screen{width: 1440, height: 900, dark: dark})
		p.passes(true)
		p.shot(fmt.Sprintf("counter_old_%t", dark))
	}
}

// TestFindOnAnEmptyAxle leads from field to field that is needed, and says so there.
func TestFindOnAnEmptyAxle(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/#units=in&lang=en")
	for _, c := range []struct{ field, value string }{{"upper", "eye"}, {"lower", "eye"}, {"suspension", "solid_axle"}, {"readings_left/0", "17 5/16"}} {
		p.click(inAxle("front", "[data-go=ask]"))
		p.until(fmt.Sprintf("document.activeElement === q(%q) && document.activeElement.getAttribute('aria-invalid') === 'true'", inAxle("front", field(c.field))))
		if got := eval[string](p, "document.activeElement.closest('.field').querySelector('.fault').textContent"); got == "" {
			t.Errorf("nothing stands beside %s", c.field)
		}
		if n := eval[int](p, "all('[aria-invalid=true]').length"); n != 1 {
			t.Errorf("%d fields have a fault", n)
		}
		if strings.Contains(c.field, "readings") {
			p.write(inAxle("front", field(c.field)), c.value)
		} else {
			p.choose(inAxle("front", field(c.field)), c.value)
		}
	}
	p.until("seen('[aria-labelledby=front] .row[data-code]')")
	// From a part's own fields, too.
	p.click(inAxle("rear", "[data-part=wheel] .handle"))
	p.until("seen('.part-panel')")
	p.click(inAxle("rear", "[data-go=ask]"))
	p.until("document.activeElement.id === 'rear-upper' && !q('.part-panel')")
}

// TestWordsAreWholeOnANarrowScreen: no heading of an axle and of a pick list is broken within
// a word, however wide an amount is.
func TestWordsAreWholeOnANarrowScreen(t *testing.T) {
	t.Parallel()
	s := newService(t)
	for _, language := range []string{"en", "es"} {
		p := newTab(t, screen{width: 320, height: 640})
		p.open(s.URL + "/#" + encoded("units=in&rear.upper=stud&rear.upper_measured_to=frame_face&rear.lower=eye&rear.lower_bolt=M12&rear.readings_left=16 5/8&rear.suspension=solid_axle&lang="+language))
		p.until("seen('.row[data-code]')")
		p.click(".row[data-code] summary")
		p.until("seen('.pick')")
		eval[bool](p, "(all('.pick td:last-child').forEach((e) => e.textContent = 'US$ 1.234.567,00'), true)")
		for _, word := range eval[[]string](p, `all(".axle-head :is(h2, button), .pick thead th").flatMap((e) => [...e.textContent.matchAll(/\p{L}+/gu)].filter((word) => {
			const place = document.createRange();
			place.setStart(e.firstChild, word.index);
			place.setEnd(e.firstChild, word.index + word[0].length);
			return new Set([...place.getClientRects()].map((line) => Math.round(line.bottom))).size > 1;
		}).map(([word]) => word))`) {
			t.Errorf("a line ends within %s", word)
		}
		p.whole()
		p.shot("counter_narrow_" + language)
	}
}

func TestTheServiceGoesAwayAtTheCounter(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/#units=in&rear.upper=eye&rear.lower=eye&rear.suspension=solid_axle&rear.readings_left=17 5/16")
	p.until("seen('.row[data-code]')")
	s.replace(gone)
	p.write(inAxle("rear", field("readings_left/0")), "17 3/8")
	p.until("q('[aria-labelledby=rear] .status').textContent.includes('reached')")
	if !eval[bool](p, "seen('.row[data-code]')") {
		t.Error("the last answer is gone from sight")
	}
	s.replace(nil)
	p.until("q('[aria-labelledby=rear] .lengths').innerText.includes('17\\u00a03/8')")
	p.expected("Failed to load resource")
}

// TestARemedyIsTakenAtTheCounter and undone, with the readings as they were.
func TestARemedyIsTakenAtTheCounter(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/#"+encoded("units=in&rear.upper=stud&rear.upper_measured_to=frame_face&rear.lower=eye&rear.lower_bolt=M12&rear.readings_left=16 5/8"+
		"&rear.suspension=solid_axle&rear.codes=demo-damper-0143"))
	p.until("seen('.row.miss')")
	p.click(".remedies[data-kind*=move] [data-go=take]")
	p.until("seen('.row[data-code]:not(.miss)') && seen('.plans')")
	p.until("location.hash.includes('rear.planned_mount_move')")
	if got := eval[string](p, "location.hash"); !strings.Contains(got, "rear.readings_left=16+5%2F8") {
		t.Errorf("the address is %s", got)
	}
	// The slider changes how much, and the answer follows; the readings stay.
	margin := eval[string](p, "q('.row[data-code]:not(.miss) .figure b').textContent")
	eval[bool](p, `(() => { const e = q(".plans input"); e.value = "2"; e.dispatchEvent(new Event("input", { bubbles: true })); return true; })()`)
	p.until(fmt.Sprintf("q('.plans li').textContent.includes('2\u00a0in') && (q('.row[data-code]:not(.miss) .figure b')?.textContent ?? %q) !== %q", margin, margin))
	p.until("location.hash.includes('rear.planned_mount_move=2+in')")
	if got := eval[string](p, "q('[data-key=\"readings_left/0\"][id^=rear]').value"); got != "16 5/8" {
		t.Errorf("the reading is %q", got)
	}
	p.accessible()
	p.shot("counter_planned")
	// Undone by keyboard, it leads to what brings it back.
	eval[bool](p, "(q('.plans [data-go=undo]').focus(), true)")
	p.press(kb.Enter)
	p.until("!seen('.plans') && document.activeElement.dataset.go === 'take'")
	p.press(kb.Enter)
	p.until("seen('.plans') && document.activeElement.matches('summary.line')")
	// The plan names the amount that its remedy named, where that was rounded up for its text.
	ragged := newTabAt(t, s.URL+"/#"+encoded("units=in&rear.upper=stud&rear.upper_measured_to=frame_face&rear.lower=eye&rear.lower_bolt=M12&rear.readings_left=422.2 mm"+
		"&rear.suspension=solid_axle&rear.motion_ratio=0.9&rear.codes=demo-damper-0143"))
	for _, kind := range []string{"move", "raise"} {
		ragged.until("seen('.row.miss')")
		ragged.openGroup(kind)
		remedy := fmt.Sprintf(".remedies[data-kind*=%s]", kind)
		by := eval[float64](ragged, fmt.Sprintf("fetch('/v1/fits?units=in&upper=stud&upper_measured_to=frame_face&lower=eye&lower_bolt=M12&readings_left=422.2 mm&suspension=solid_axle&motion_ratio=0.9&codes=demo-damper-0143')"+
			".then((r) => r.json()).then((a) => a.near_misses[0].remedies.find((r) => r.kind.startsWith(%q)).by)", kind))
		if by*64 == math.Trunc(by*64) {
			t.Fatalf("the remedy %s is %v in, which needs no rounding", kind, by)
		}
		named := regexp.MustCompile(`[\d/ ]*\d in`).FindString(ragged.text(remedy))
		ragged.click(remedy + " [data-go=take]")
		ragged.until("seen('.plans') && seen('.row[data-code]:not(.miss)')")
		if got := strings.ReplaceAll(ragged.text(".plans li"), "\u00a0", " "); !strings.Contains(got, named) {
			t.Errorf("the remedy names %q, its plan says %q", named, got)
		}
		ragged.click("[data-go=undo]")
	}
	// A page opened by its link knows no step before the plan.
	again := newTabAt(t, s.URL+"/"+eval[string](p, "location.hash"))
	for _, one := range []*tab{p, again} {
		one.until("seen('.plans')")
		one.click("[data-go=undo]")
		one.until("seen('.row.miss') && !seen('.plans')")
	}
}
