//go:build browser

package widget_test

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"strings"
	"testing"
)

// walk answers the widget's questions for a stud over an eye, and shows each
// screen on the way, the answer last.
func (t *tab) walk(visit func(screen string)) {
	t.tb.Helper()
	t.until("seen('[data-style=stud]')")
	visit("upper")
	t.click("[data-style=stud]")
	t.until("seen('[data-step=lower]')")
	visit("lower")
	t.click("[data-style=eye]")
	t.until("seen('[data-step=measure] .guide-steps')")
	t.click(`[data-key=upper_measured_to][value=frame_face]`)
	t.until("seen('[data-step=measure] .guide-steps')")
	visit("measure")
	t.click("[data-go=next]")
	t.write(field("readings_left/0"), "16 5/8")
	t.write(field("readings_right/0"), "16 11/16")
	t.write(field("upper_bushing_thickness"), "3/8")
	t.write(field("upper_washer_thickness"), "1/16")
	t.write(field("readings_left/1"), "16 5/4")
	t.until(fmt.Sprintf("q(%q).getAttribute('aria-invalid')", field("readings_left/1")))
	visit("readings")
	t.write(field("readings_left/1"), "")
	t.click("[data-go=next]")
	t.write(field("lower_bolt"), "M12")
	t.write(field("lower_opening"), "1 1/2")
	visit("brackets")
	t.click("[data-go=next]")
	t.click("[data-key=suspension][value=solid_axle]")
	visit("movement")
	t.click("[data-go=next]")
	t.until("seen('.fit')")
	visit("answer")
	t.click(".fit summary")
	visit("answer_opened")
}

// askForMore goes from the answer of walk to one with so much travel that hardly
// a damper fits, and opens its near misses.
func (t *tab) askForMore() {
	t.tb.Helper()
	t.click("[data-change=movement]")
	t.click("[data-key=travel][value=stated]")
	t.write(field("travel_compression"), "3 1/2")
	t.write(field("travel_extension"), "3 1/2")
	t.click("[data-go=next]")
	t.until("seen('.misses > summary')")
	if !eval[bool](t, "q('.misses').open") {
		t.click(".misses > summary")
	}
}

var screens = []struct {
	name string
	screen
}{
	{"320", phone}, {"320_dark", screen{width: 320, height: 640, touch: true, dark: true}},
	{"390", screen{width: 390, height: 844, touch: true}}, {"390_dark", screen{width: 390, height: 844, touch: true, dark: true}},
	{"768", tablet}, {"768_dark", screen{width: 768, height: 1024, dark: true}},
	{"1440", desktop}, {"1440_dark", screen{width: 1440, height: 900, dark: true}},
}

// everyScreen is for looks at all screens, in Spanish too. They take minutes.
var everyScreen = os.Getenv("MIDSTROKE_TEST_LONG") != "" || os.Getenv("MIDSTROKE_SHOTS") != ""

// lookedAt are the languages in which all screens are looked at.
func lookedAt() []string {
	if everyScreen {
		return []string{"en", "es"}
	}
	return []string{"en"}
}

// onEach checks the page on every screen. axe-core takes a second each time,
// so it runs on the narrowest and the widest screen in English, and in the other language
// on a phone alone. Without everyScreen the narrowest is light and the widest dark.
func (t *tab) onEach(name, language string) {
	t.tb.Helper()
	name += "_" + language
	for at, s := range screens {
		checked := at == 0 || language == "en" && (s.width == desktop.width && s.dark || everyScreen && (s.width == phone.width || s.width == desktop.width))
		if !checked && !everyScreen {
			continue
		}
		t.look(s.screen)
		t.whole()
		t.figuresWhole()
		if checked {
			t.passes(true)
		}
		t.shot(name + "_" + s.name)
		if t.tb.Failed() {
			t.tb.Fatalf("on the screen %s, %s", name, s.name)
		}
	}
	t.look(phone)
}

// figuresWhole fails where a line ends within a length, as between 1 and 1/4 or before its unit.
func (t *tab) figuresWhole() {
	t.tb.Helper()
	for _, broken := range eval[[]string](t, `(() => {
		const broken = [], texts = document.createTreeWalker(root() === document ? document.body : root(), NodeFilter.SHOW_TEXT);
		while (texts.nextNode()) {
			const text = texts.currentNode;
			if (!text.parentElement?.checkVisibility() || text.parentElement.closest("svg, pre, style, script, .unseen")) continue;
			for (const figure of text.data.matchAll(/\d+\s\d+\/\d+|[\d/.,]+\s(?:in|mm|m\/s|in\/s|N·s\/m|lbf·s\/in|N\/mm|lbf\/in|kg|Hz)(?!\p{L})/gu)) {
				const place = document.createRange();
				place.setStart(text, figure.index);
				place.setEnd(text, figure.index + figure[0].length);
				if (new Set([...place.getClientRects()].map((line) => Math.round(line.bottom))).size > 1) broken.push(figure[0] + " of: " + text.data);
			}
		}
		return broken;
	})()`) {
		t.tb.Errorf("a line ends within %s", broken)
	}
}

func TestEveryScreenOfTheWidget(t *testing.T) {
	for _, language := range lookedAt() {
		t.Run(language, func(t *testing.T) {
			t.Parallel()
			s := newService(t)
			p := newTab(t, phone)
			p.open(newShop(t, s, `units="in" lang="`+language+`"`))
			p.walk(func(screen string) { p.onEach("widget_"+screen, language) })
			p.askForMore()
			p.onEach("widget_misses", language)
		})
	}
}

func TestEveryScreenOfTheCounter(t *testing.T) {
	for _, language := range lookedAt() {
		t.Run(language, func(t *testing.T) {
			t.Parallel()
			s := newService(t)
			p := newTab(t, phone)
			p.open(s.URL + "/#lang=" + language)
			p.until("seen('[data-go=example]')")
			p.onEach("counter_empty", language)
			p.click("[data-go=example]")
			p.until("seen('.row[data-code]')")
			p.onEach("counter_answer", language)
			p.click(".row[data-code] summary")
			p.click(".row[data-code] input")
			p.click(".row[data-code] ~ .row input")
			p.click(".share summary")
			p.onEach("counter_opened", language)
			// The example's plate stands behind More, which is open for it.
			p.until("q('[aria-labelledby=rear] .more').open")
			p.onEach("counter_more", language)
			p.choose(inAxle("rear", field("travel")), "stated")
			p.write(inAxle("rear", field("travel_compression")), "3 1/2")
			p.write(inAxle("rear", field("travel_extension")), "3 1/2")
			p.until("seen('.misses')")
			if !eval[bool](p, "q('.misses').open") {
				p.click(".misses > summary")
			}
			p.onEach("counter_misses", language)
			p.expected("422") // while only one of both was there
			p.open(s.URL + "/#" + linkageState + "&lang=" + language)
			p.until("seen('.linkage-views .curve')")
			p.onEach("counter_linkage", language)
		})
	}
}

// linkageState is a page at the counter that is judged by a linkage's points.
const linkageState = "units=mm&front.upper=eye&front.lower=eye&front.readings_left=389&front.readings_right=388&front.suspension=solid_axle" +
	"&front.travel=linkage&front.travel_linkage_kind=inclined&front.travel_range_bump=75&front.travel_range_droop=65" +
	"&front.travel_linkage_damper_upper=0&front.travel_linkage_damper_upper=450&front.travel_linkage_damper_upper=640" +
	"&front.travel_linkage_damper_lower=80&front.travel_linkage_damper_lower=430&front.travel_linkage_damper_lower=260"

func TestEveryScreenOfTheSheet(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	for _, language := range lookedAt() {
		p.open(s.URL + "/sheet?" + encoded(fullRequest) + "&rank=1&lang=" + language)
		p.until("q('.stages')")
		p.onEach("sheet", language)
	}
	p.open(s.URL + "/sheet?units=in&upper=eye&lang=en")
	p.until("document.querySelector('main ul li')")
	p.expected("422")
	p.onEach("sheet_refused", "en")
}

func TestTheDocumentsAreAccessible(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, desktop)
	for _, path := range []string{"/docs/problems", "/docs/catalogue", "/docs"} {
		p.look(phone)
		p.open(s.URL + path)
		p.until("document.querySelector('h1, h2')")
		if wide := eval[int64](p, "document.documentElement.scrollWidth"); wide > phone.width {
			t.Errorf("%s is %d wide on a phone", path, wide)
		}
		for _, dark := range []bool{false, true} {
			if dark && !everyScreen {
				continue
			}
			p.look(screen{width: 1440, height: 900, dark: dark})
			p.open(s.URL + path)
			p.until("document.querySelector('h1, h2')")
			p.accessible()
			p.shot("docs" + fmt.Sprint(len(path), dark))
		}
	}
}

// TestTheGuidesDrawingFollowsTheWidth: where the page is made wide, its words come beside
// it, and the steps stay meanwhile.
func TestTheGuidesDrawingFollowsTheWidth(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	p.open(newShop(t, s, `units="in" upper="eye" lower="eye"`))
	p.until("seen('figure.drawing.numbered') && seen('.guide-steps')")
	p.look(desktop)
	p.until("seen('figure.drawing.beside') && seen('.guide-steps')")
	p.look(phone)
	p.until("seen('figure.drawing.numbered')")
}

func TestTheCheckerIsTheOneThatTheReadmeNames(t *testing.T) {
	script, err := checker()
	if err != nil {
		t.Fatal(err)
	}
	readme, err := os.ReadFile("testdata/axe/README.md")
	if err != nil {
		t.Fatal(err)
	}
	if sum := sha256.Sum256([]byte(script)); !strings.Contains(string(readme), hex.EncodeToString(sum[:])) {
		t.Errorf("testdata/axe/README.md doesn't name the sum %x", sum)
	}
}
