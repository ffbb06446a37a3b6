//go:build browser

package widget_test

import (
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

// TestMistypedFractions types faulty texts and mends them.
func TestMistypedFractions(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	p.open(newShop(t, s, `units="in" upper="eye" lower="eye"`))
	p.click("[data-go=next]")
	first := field("readings_left/0")
	p.until("seen('" + strings.ReplaceAll(first, `"`, `\"`) + "')")
	for text, fault := range map[string]string{
		"17,25": "point", "17 5/4": "less than one", "17 - 1/4": "subtraction", "17 1/0": "0 below", "abc": "Begin with a number",
		"17.5 1/2": "not both", "-17": "greater than zero", "1700": "10 m", "17 1/4 inn": "unit", "17 1/4 mm": "inches",
	} {
		p.write(first, text)
		if got := p.fault("readings_left/0"); !strings.Contains(got, fault) {
			t.Errorf("beside %q stands %q, want %q in it", text, got, fault)
		}
		p.press(kb.Enter)
		if step := eval[string](p, "q('.step').dataset.step"); step != "readings" {
			t.Fatalf("%q was let through to %s", text, step)
		}
	}
	// A fault that more typing can mend is only shown once the field is left.
	for _, text := range []string{"17 1/", "17 5/1", "16 5", "1 ft 5", "."} {
		p.write(first, text)
		if got := p.fault("readings_left/0"); got != "" {
			t.Errorf("beside %q, which isn't finished, stands %q", text, got)
		}
	}
	p.press(kb.Tab)
	if got := p.fault("readings_left/0"); got == "" {
		t.Error("an unfinished text was left and nothing is told")
	}
	p.write(first, "17 1/4")
	if got := p.fault("readings_left/0"); got != "" {
		t.Errorf("beside a length stands %q", got)
	}
	p.press(kb.Enter)
	p.until("seen('[data-step=brackets]')")
	// Only the service can refuse this bolt.
	p.write(field("upper_bolt"), "M13x9")
	p.press(kb.Enter)
	p.click("[data-key=suspension][value=solid_axle]")
	p.click("[data-go=next]")
	p.until("seen('[data-step=brackets]')")
	if got := p.fault("upper_bolt"); got == "" || got == "?" {
		t.Errorf("what the service refused isn't told: %q", got)
	}
	p.expected("422")
	p.write(field("upper_bolt"), "M12")
	p.press(kb.Enter)
	p.click("[data-go=next]")
	p.until("seen('.answer')")
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
			p.until("seen('.stages')")
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

// TestADecimalComma types millimetres as Spanish writes them.
func TestADecimalComma(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	p.open(newShop(t, s, `units="mm" lang="es" upper="eye" lower="eye" suspension="solid_axle"`))
	p.listen()
	p.click("[data-go=next]")
	p.write(field("readings_left/0"), "1.439,74")
	if got := p.fault("readings_left/0"); !strings.Contains(got, "coma") {
		t.Errorf("beside a point and a comma stands %q", got)
	}
	p.write(field("readings_left/0"), "439,74")
	if got := p.fault("readings_left/0"); got != "" {
		t.Errorf("beside a decimal comma stands %q", got)
	}
	if echo := eval[string](p, "q('.echo').textContent"); !strings.Contains(echo, "17,31") {
		t.Errorf("in inches it is %q", echo)
	}
	for range 3 {
		p.click("[data-go=next]")
	}
	p.until("seen('.fit')")
	if a := told[answered](p, "midstroke:answer"); !strings.Contains(a.Request, "readings_left=439.74") {
		t.Errorf("sent was %q", a.Request)
	}
	if said := p.text(".lengths"); !strings.Contains(said, "439,7") {
		t.Errorf("the length is told as %q", said)
	}
}

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

// TestUnitsOfAnAnswer changes the units: the answer stays the same, and only the
// question in sight is read in the new units.
func TestUnitsOfAnAnswer(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	p.open(newShop(t, s, `units="in" preset="upper=eye&amp;lower=eye&amp;suspension=solid_axle&amp;readings_left=17 5/16"`))
	p.through()
	p.until("seen('.fit')")
	best := eval[string](p, "q('.fit').dataset.code")
	p.click("[data-key=units-mm]")
	p.until("q('.lengths').innerText.includes('439.7')")
	if got := eval[string](p, "q('.fit').dataset.code"); got != best {
		t.Errorf("in millimetres %s is best, in inches %s", got, best)
	}
	p.click("[data-change=readings]")
	p.until("q('[data-key=\"readings_left/0\"]').value === '17 5/16 in'")
	p.write(field("readings_left/0"), "19")
	p.click("[data-key=units-in]")
	p.until("q('[data-key=\"readings_left/0\"]').value === '19'")
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

// TestFractionsByKeypad taps a fraction on a phone: it takes the place of the one
// before, and the field keeps the keyboard.
func TestFractionsByKeypad(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	p.open(newShop(t, s, `units="in" upper="eye" lower="eye"`))
	p.click("[data-go=next]")
	p.write(field("readings_left/0"), "17")
	for _, fraction := range []string{"5/8", "5/16"} {
		p.click(fmt.Sprintf("[data-fraction=%q]", fraction))
		p.until(fmt.Sprintf("q('[data-key=\"readings_left/0\"]').value === '17 %s' && root().activeElement.dataset.key === 'readings_left/0'", fraction))
	}
	if got := eval[string](p, "q('[data-key=\"readings_left/0\"]').inputMode"); got != "decimal" {
		t.Errorf("a phone shows the keys of %q", got)
	}
	p.accessible()
	p.shot("widget_fractions")
}

// TestAnotherReading adds fields for readings; the new one has the focus.
func TestAnotherReading(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	p.open(newShop(t, s, `units="in" upper="eye" lower="eye"`))
	p.click("[data-go=next]")
	for _, at := range []string{"2", "3"} {
		p.until("seen('[data-go=another]')")
		p.click("[data-go=another]")
		p.until("root().activeElement.dataset.key === 'readings_left/" + at + "'")
	}
	if n := eval[int](p, "all('[data-go=another]').length"); n != 1 {
		t.Errorf("%d sides have room for more, want the right one alone", n)
	}
}

// TestSpanishOfARegionThatWritesAPoint takes a comma too.
func TestSpanishOfARegionThatWritesAPoint(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	p.open(newShop(t, s, `units="in" lang="es-MX" upper="eye" lower="eye"`))
	p.click("[data-go=next]")
	for _, text := range []string{"16,625", "16.625"} {
		p.write(field("readings_left/0"), text)
		if got := p.fault("readings_left/0"); got != "" {
			t.Errorf("beside %s stands %q", text, got)
		}
	}
}

// newTabAt opens a page on a desktop.
func newTabAt(tb testing.TB, url string) *tab {
	tb.Helper()
	p := newTab(tb, desktop)
	p.open(url)
	return p
}
