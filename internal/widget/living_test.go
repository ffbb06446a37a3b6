//go:build browser

package widget_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/chromedp/chromedp/kb"
)

const (
	// studOverEye is a rear axle with a stud over an eye, for which dampers fit.
	studOverEye = "units=in&lang=en&rear.upper=stud&rear.upper_measured_to=frame_face&rear.lower=eye&rear.lower_bolt=M12&rear.readings_left=16 5/8&rear.suspension=solid_axle"
	// planarWishbone is a front axle judged by the points of a double wishbone.
	planarWishbone = "units=mm&lang=en&front.upper=eye&front.lower=eye&front.readings_left=468&front.suspension=independent&front.travel=linkage" +
		"&front.travel_linkage_kind=double_wishbone&front.travel_range_bump=60&front.travel_range_droop=60" +
		"&front.travel_linkage_wheel=770&front.travel_linkage_wheel=320&front.travel_linkage_lower_arm_inner=330&front.travel_linkage_lower_arm_inner=215" +
		"&front.travel_linkage_lower_arm_outer=720&front.travel_linkage_lower_arm_outer=190&front.travel_linkage_upper_arm_inner=410&front.travel_linkage_upper_arm_inner=480" +
		"&front.travel_linkage_upper_arm_outer=680&front.travel_linkage_upper_arm_outer=510&front.travel_linkage_damper_upper=430&front.travel_linkage_damper_upper=640" +
		"&front.travel_linkage_damper_lower=600&front.travel_linkage_damper_lower=205"
)

// slide moves the travel's slider in an axle, from -100 for full droop to 100 for full
// bump.
func (t *tab) slide(axle string, to int) {
	t.tb.Helper()
	eval[bool](t, fmt.Sprintf(`(() => { const e = q(%q); e.value = "%d"; e.dispatchEvent(new Event("input", { bubbles: true })); return true; })()`,
		inAxle(axle, "[data-slider=travel]"), to))
}

// lowerMount is how far down the picture the lower mount is.
func (t *tab) lowerMount(axle string) float64 {
	t.tb.Helper()
	return eval[float64](t, fmt.Sprintf(`Number(/translate\(0 ([-\d.]+)\)/.exec(q(%q).parentElement.getAttribute("transform"))[1])`, inAxle(axle, "[data-part=lower_end]")))
}

// TestAPartIsTapped opens the fields of each part by pointer and by keyboard. No
// other fields are in sight then, and the part says whether it is known.
func TestAPartIsTapped(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/#"+encoded(studOverEye))
	p.until("seen('.row[data-code]')")
	fields := func() string {
		return eval[string](p, `[...new Set(all("#rear-form [data-key]").map((e) => e.dataset.key.split("/")[0]))].join()`)
	}
	for _, c := range []struct {
		part, name, want string
	}{
		{"upper_end", "Upper end", "upper,upper_measured_to,upper_bushing_thickness,upper_washer_thickness"},
		{"upper_bracket", "Upper bracket: not known yet", "upper_frame_hole,upper_frame_thickness"},
		{"lower_end", "Lower end", "lower,lower_measured_to"},
		{"lower_bracket", "Lower bracket: not known yet", "lower_bolt,lower_opening,lower_plate,lower_washer,lower_shear,lower_grade"},
		{"tape", "Tape and readings, 16\u00a05/8\u00a0in", "readings_left,readings_right,reading_tolerance,tape"},
		{"stops", "Travel and stops: not known yet", "travel,bump_stop_on,bump_stop_gap,bump_stop_height,bump_stop_squash,bump_stop_motion_ratio,bump_stop_reserve," +
			"strap_distance,strap_motion_ratio,strap_stretch,strap_reserve,droop_limit_by,droop_limit_travel"},
		{"wheel", "Wheel and height", "suspension,condition,motion_ratio,planned_change,planned_mount_move,ride_height_range_below,ride_height_range_above,old_damper_at_stop,old_damper_carries_load,lean_deg"},
	} {
		part := inAxle("rear", "[data-part="+c.part+"]")
		if got := eval[string](p, fmt.Sprintf("q(%q).getAttribute('aria-label')", part)); got != c.name {
			t.Errorf("%s is named %q, want %q", c.part, got, c.name)
		}
		p.click(part + " .handle")
		p.until(fmt.Sprintf("seen('[data-part-panel=%s]')", c.part))
		got, want := strings.Split(fields(), ","), strings.Split(c.want, ",")
		if !sameNames(got, want) {
			t.Errorf("%s opens %v, want %v", c.part, got, want)
		}
		if p.tb.Failed() {
			p.shot("living_part_" + c.part)
		}
		// By keyboard: Escape closes it and leaves the focus on the part, Enter opens it.
		p.press(kb.Escape)
		p.until("document.activeElement.dataset.part === '" + c.part + "' && !q('.part-panel')")
		p.press(kb.Enter)
		p.until(fmt.Sprintf("seen('[data-part-panel=%s]') && document.activeElement.matches('legend')", c.part))
		p.press(kb.Escape)
		p.until("!q('.part-panel')")
	}
	// What is filled in there makes the part known, and the question after next leads
	// out of it.
	p.click(inAxle("rear", "[data-part=lower_bracket] .handle"))
	p.write(inAxle("rear", field("lower_opening")), "1 1/2")
	p.until("!q('[aria-labelledby=rear] [data-part=lower_bracket]').classList.contains('unknown')")
	p.accessible()
	p.whole()
	p.click("[data-go=next_question]")
	p.until("document.activeElement.matches('#rear-upper_frame_hole') && !q('.part-panel')")
}

func sameNames(a, b []string) bool {
	if len(a) != len(b) {
		return false
	}
	for _, name := range a {
		if !strings.Contains(","+strings.Join(b, ",")+",", ","+name+",") {
			return false
		}
	}
	return true
}

// TestTheSliderMovesTheDamper to both ends of what is needed. There the picture tells
// what the list tells as the best damper's spare travel, and the lower mount has
// moved to scale.
func TestTheSliderMovesTheDamper(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/#"+encoded(studOverEye))
	p.until("seen('.row[data-code]') && seen('[data-slider=travel]')")
	p.slide("rear", 0)
	ride := p.lowerMount("rear")
	left := func(way int) string {
		return eval[string](p, fmt.Sprintf("all('[aria-labelledby=rear] .left-over dd')[%d].textContent", way))
	}
	spare := func(way int) string {
		return eval[string](p, fmt.Sprintf("all('[aria-labelledby=rear] .row[data-code] .figure b')[%d].textContent", way)) + "\u00a0in"
	}
	p.slide("rear", 100)
	bump := p.lowerMount("rear")
	if got := left(0); got != spare(0) {
		t.Errorf("at full bump %q is left, and the list says %q", got, spare(0))
	}
	p.slide("rear", -100)
	droop := p.lowerMount("rear")
	if got := left(1); got != spare(1) {
		t.Errorf("at full droop %q is left, and the list says %q", got, spare(1))
	}
	// By hand: the rule asks a solid axle for 2 in each way, so both ways are as long in
	// the picture, and the axle rises in bump.
	if up, down := ride-bump, droop-ride; !(up > 5) || math.Abs(up-down) > 0.05 {
		t.Errorf("the lower mount goes up %g and down %g", up, down)
	}
	if got := eval[string](p, "q('[aria-labelledby=rear] .living').dataset.limit"); got != "" {
		t.Errorf("a damper that fits is drawn as one that %s", got)
	}
	// By the keyboard.
	eval[bool](p, "(q('[aria-labelledby=rear] [data-slider=travel]').focus(), true)")
	p.press(kb.End)
	p.until(fmt.Sprintf("/translate\\(0 ([-\\d.]+)\\)/.exec(q('[aria-labelledby=rear] [data-part=lower_end]').parentElement.getAttribute('transform'))[1] == %g", bump))
	if got := eval[string](p, "document.activeElement.getAttribute('aria-valuetext')"); !strings.Contains(got, "long") {
		t.Errorf("the slider says %q", got)
	}
}

// TestBothSidesInTheDrawing: where the readings of both sides differ, the drawing tells what
// the table tells as travel, and what the tape read on either side.
func TestBothSidesInTheDrawing(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/#lang=en")
	p.click("[data-go=example]")
	p.until("seen('.row[data-code]') && seen('[data-slider=travel]')")
	p.click(".row[data-code] summary")
	p.until("seen('.row-travel')")
	p.slide("rear", 0)
	for way, want := range eval[[]string](p, "all('.row-travel td').map((e) => e.textContent + '\\u00a0in')") {
		if got := eval[string](p, fmt.Sprintf("all('.left-over dd')[%d].textContent", way)); got != want {
			t.Errorf("at ride height the drawing leaves %q, and the table says %q", got, want)
		}
	}
	const read = "16\u00a05/8 to 16\u00a011/16\u00a0in"
	if got := eval[string](p, "q('[aria-labelledby=rear] .reading').textContent"); got != read {
		t.Errorf("the tape reads %q, want %q", got, read)
	}
	if got := eval[string](p, "q('[aria-labelledby=rear] [data-part=tape]').getAttribute('aria-label')"); !strings.HasSuffix(got, read) {
		t.Errorf("the tape is named %q", got)
	}
	p.shot("living_both_sides")
}

// TestRedWhereItBottomsOut draws a near miss, which has too little travel one way.
func TestRedWhereItBottomsOut(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/#"+encoded(studOverEye+"&rear.codes=demo-damper-0143"))
	p.until("seen('.row.miss') && seen('[data-slider=travel]')")
	short := eval[bool](p, "/\\u2212/.test(all('[aria-labelledby=rear] .row.miss .figure')[0].textContent)")
	want, at := "tops", -100
	if short {
		want, at = "bottoms", 100
	}
	colour := func() string {
		return eval[string](p, "getComputedStyle(q('[aria-labelledby=rear] .living .rod path')).stroke")
	}
	p.slide("rear", 0)
	sound := colour()
	if got := eval[string](p, "q('[aria-labelledby=rear] .living').dataset.limit"); got != "" {
		t.Errorf("at ride height it %s", got)
	}
	p.slide("rear", at)
	if got := eval[string](p, "q('[aria-labelledby=rear] .living').dataset.limit"); got != want {
		t.Errorf("at %d it %q, want %q", at, got, want)
	}
	red := eval[string](p, "(() => { const e = document.createElement('i'); e.style.color = 'var(--bad)'; document.body.append(e); const c = getComputedStyle(e).color; e.remove(); return c; })()")
	if got := colour(); got != red || got == sound {
		t.Errorf("the rod is %s, want %s; at ride height it is %s", got, red, sound)
	}
	if got := eval[int](p, "all('[aria-labelledby=rear] .left-over dd[data-short=true]').length"); got != 1 {
		t.Errorf("%d figures are told as too short, want 1", got)
	}
	p.accessible()
	p.shot("living_red")
}

// TestItMovesByItselfOnce after the first answer and not after the next one, and
// never where reduced motion is asked for.
func TestItMovesByItselfOnce(t *testing.T) {
	t.Parallel()
	s := newService(t)
	for name, quiet := range map[string]bool{"moving": false, "reduced motion": true} {
		t.Run(name, func(t *testing.T) {
			p := newTab(t, screen{width: 1440, height: 900, moving: !quiet})
			p.open(s.URL + "/#" + encoded(studOverEye))
			p.until("seen('[data-slider=travel]')")
			moves := func() bool {
				return eval[bool](p, `(async () => {
					const at = () => q("[aria-labelledby=rear] [data-part=lower_end] .handle").getBoundingClientRect().top;
					const first = at();
					for (let n = 0; n < 20; n++) {
						await new Promise((done) => setTimeout(done, 25));
						if (at() !== first) return true;
					}
					return false;
				})()`)
			}
			if got := moves(); got == quiet {
				t.Errorf("it moves by itself: %t", got)
			}
			p.until("q('[aria-labelledby=rear] [data-slider=travel]').value === '0' && q('[aria-labelledby=rear] .living').dataset.away === 'false'")
			p.write(inAxle("rear", field("readings_left/0")), "16 3/4")
			p.until("q('[aria-labelledby=rear] .lengths').innerText.includes('16\u00a01/4')")
			if !quiet {
				p.until("q('[aria-labelledby=rear] [data-slider=travel]').value === '0' && q('[aria-labelledby=rear] .living').dataset.away === 'false'")
			}
			if moves() {
				t.Error("it moves again by itself after another answer")
			}
			p.click(inAxle("rear", "[data-go=move]"))
			if !moves() {
				t.Error("the button doesn't move it")
			}
		})
	}
}

// TestTheMovementIsWhereTheFiguresSay: while it moves, the mount, the rod and the rubber are
// where the slider, set to the same place by hand, has them.
func TestTheMovementIsWhereTheFiguresSay(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/#"+encoded(studOverEye))
	p.until("seen('[data-slider=travel]')")
	// Each place of the slider comes with where the parts are in that frame.
	moved := eval[[][]float64](p, `(async () => {
		const part = (selector) => q("[aria-labelledby=rear] .living " + selector).getBoundingClientRect();
		const slider = q("[aria-labelledby=rear] [data-slider=travel]");
		window.places = () => [slider.valueAsNumber, part("[data-part=lower_end] .handle").top, part(".rod").bottom, part("[data-part=stops] .outline").bottom];
		const seen = [];
		q("[aria-labelledby=rear] [data-go=move]").click();
		for (const end = performance.now() + 3500; performance.now() < end;) {
			await new Promise(requestAnimationFrame);
			seen.push(places());
		}
		return seen;
	})()`)
	least, most := 0.0, 0.0
	for at := 0; at < len(moved); at += max(1, len(moved)/20) {
		place := moved[at]
		least, most = min(least, place[0]), max(most, place[0])
		p.slide("rear", int(place[0]))
		// The slider shows whole hundredths of the way, which is about 100 pixels long.
		for part, got := range eval[[]float64](p, "places()")[1:] {
			if math.Abs(got-place[part+1]) > 1.5 {
				t.Errorf("at %g part %d moves through %.1f, and stands at %.1f", place[0], part, place[part+1], got)
			}
		}
	}
	if least > -80 || most < 80 {
		t.Errorf("%d frames between %g and %g were looked at", len(moved), least, most)
	}
}

// TestALinkageMoves in front view by its own points; the damper's length on the curve
// moves with it, and so does the damper in the axle's drawing.
func TestALinkageMoves(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/#"+encoded(planarWishbone))
	p.until("seen('.linkage-views .curve') && seen('[data-slider=travel]')")
	lines := func(pen string) string {
		return eval[string](p, fmt.Sprintf("q('.linkage-views [data-lines=%s]').getAttribute('d')", pen))
	}
	mark := func() string { return eval[string](p, "q('.curve .mark').getAttribute('transform')") }
	p.slide("front", 0)
	rideLink, rideMark, rideMount := lines("link"), mark(), p.lowerMount("front")
	for _, at := range []int{100, -100} {
		p.slide("front", at)
		if lines("link") == rideLink || mark() == rideMark || p.lowerMount("front") == rideMount || lines("damper") == "" {
			t.Errorf("at %d the linkage, its damper or the mark stands still", at)
		}
	}
	if n := eval[int](p, "all('.curve .limit').length"); n < 2 || eval[int](p, "all('.curve .limit.chosen').length") != 2 {
		t.Errorf("%d limits are on the curve", n)
	}
	for _, s := range []screen{phone, {width: 320, height: 640, touch: true, dark: true}, desktop} {
		p.look(s)
		p.whole()
		p.accessible()
		p.shot(fmt.Sprintf("living_linkage_%d_%t", s.width, s.dark))
	}

	// Two arms that can't reach each other are told, and stand still as they were typed.
	p.look(desktop)
	p.write(inAxle("front", `[data-key="travel_linkage_upper_arm_outer/0"]`), "2")
	p.write(inAxle("front", field("travel_range_bump")), "900")
	p.until("q('.linkage-views .still')?.textContent.length > 20 && q('.linkage-views').dataset.still === 'true'")
	if told := p.text(".linkage-views .still"); strings.Contains(told, "/linkage") {
		t.Errorf("it is told as %q", told)
	}
	if lines("link") == "" {
		t.Error("nothing is drawn of it")
	}
	p.shot("living_impossible")
	p.expected("422")
}

// TestTheCurvesFiguresAreLegible beside one view of the linkage and beside two.
func TestTheCurvesFiguresAreLegible(t *testing.T) {
	t.Parallel()
	s := newService(t)
	for _, state := range []string{planarWishbone, linkageState} {
		p := newTabAt(t, s.URL+"/#"+encoded(state))
		p.until("seen('.linkage-views .curve')")
		for _, on := range []screen{phone, tablet, desktop} {
			p.look(on)
			size := eval[float64](p, `(() => { const e = q(".curve text"); return parseFloat(getComputedStyle(e).fontSize) * e.getScreenCTM().a; })()`)
			if size < 11 {
				t.Errorf("on a screen of %d the figures are %.1f pixels high", on.width, size)
			}
			p.whole()
			p.shot(fmt.Sprintf("living_curve_%d_%t", on.width, state == linkageState))
		}
	}
}

// TestTheDrawingBearsHostileFigures: texts that are no lengths leave it as it is.
func TestTheDrawingBearsHostileFigures(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/#"+encoded(planarWishbone))
	p.until("seen('.linkage-views .curve')")
	for _, text := range []string{"<img src=x onerror=alert(1)>", "1e999", "-", "9999999999", "NaN", "\u202e"} {
		p.write(inAxle("front", `[data-key="travel_linkage_wheel/0"]`), text)
		p.until("seen('.linkage-views svg')")
		if eval[bool](p, "/NaN|Infinity|undefined/.test(all('.living, .linkage-views svg').map((e) => e.outerHTML).join())") {
			t.Errorf("%q reaches the drawing", text)
		}
	}
	p.expected("422")
}

// TestAFigureIsDrawnBesideItsField: the field in hand shows how it is measured, and a
// motion ratio is worked out of two distances.
func TestAFigureIsDrawnBesideItsField(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/#"+encoded(studOverEye))
	p.until("seen('.row[data-code]')")
	p.click(inAxle("rear", "[data-part=lower_bracket] .handle"))
	p.click("#rear-lower_opening")
	p.until("q('.figure-drawing svg')?.getAttribute('aria-label').includes('inside width')")
	p.accessible()
	p.shot("living_figure")
	p.click("#rear-lower_shear")
	p.until("!q('.figure-drawing')")
	p.press(kb.Escape)
	p.click(inAxle("rear", "[data-part=wheel] .handle"))
	p.click("#rear-motion_ratio")
	p.until("q('.figure-drawing svg')?.getAttribute('aria-label').includes('B divided by A')")
	// By hand: 56 mm of 80 mm is 0.7.
	p.write("#rear-ratio-wheel", "80 mm")
	p.write("#rear-ratio-damper", "56 mm")
	p.until("q('#rear-motion_ratio').value === '0.7'")
	p.write("#rear-ratio-damper", "a")
	if got := eval[string](p, "q('#rear-motion_ratio').value"); got != "0.7" {
		t.Errorf("a text that is no length makes the ratio %q", got)
	}
	if got := eval[string](p, "q('#rear-ratio-damper-fault').textContent"); !strings.HasPrefix(got, "Begin with a number") {
		t.Errorf("beside a text that is no length stands %q", got)
	}
	for _, s := range []screen{phone, {width: 390, height: 844, touch: true, dark: true}} {
		p.look(s)
		p.whole()
		p.accessible()
		p.shot(fmt.Sprintf("living_wheel_%d", s.width))
	}
	p.expected("422") // a ratio beyond all reason, while a distance was half typed
}
