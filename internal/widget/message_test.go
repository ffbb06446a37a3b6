//go:build browser

package widget_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"
)

// TestAMessageForTheCaller has the answer, a link to how to measure, and the drawing of
// it as a picture; no command for a shell. With the ends alone it asks for the rest.
func TestAMessageForTheCaller(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/#lang=en&units=in&rear.upper=stud&rear.lower=eye")
	p.click(inAxle("rear", ".share summary"))
	p.until("q('[data-share=message]')?.innerText.includes('solid axle')")
	p.write(inAxle("rear", field("readings_left/0")), "16 5/8")
	p.choose(inAxle("rear", field("suspension")), "solid_axle")
	p.until("q('[data-share=message]').innerText.includes('fits') && seen('.guide-drawing svg')")
	message := p.text("[data-share=message]")
	for _, part := range []string{"demo-damper-", "How to measure", s.URL + "/sheet?guide=1", s.URL + "/#"} {
		if !strings.Contains(message, part) {
			t.Errorf("the message lacks %q:\n%s", part, message)
		}
	}
	if strings.Contains(p.text(".share"), "curl") {
		t.Error("the page offers a command for a shell")
	}
	// The picture that is saved has the drawing's shape, and black on white.
	eval[bool](p, `(() => { const make = URL.createObjectURL; URL.createObjectURL = (blob) => (window.blob = blob, make(blob)); return true; })()`)
	p.click("[data-go=save_drawing]")
	p.until("window.blob && q('.guide-drawing [role=status]').textContent.includes('png')")
	shape := eval[[]float64](p, `(async () => {
		const image = await createImageBitmap(blob), canvas = document.createElement("canvas");
		[canvas.width, canvas.height] = [image.width, image.height];
		const paper = canvas.getContext("2d");
		paper.drawImage(image, 0, 0);
		const { data } = paper.getImageData(0, 0, canvas.width, canvas.height);
		let dark = 0, light = 0;
		for (let at = 0; at < data.length; at += 4) if (data[at] < 100) dark++; else if (data[at] > 250) light++;
		const { width, height } = q(".guide-drawing svg").viewBox.baseVal;
		return [image.width / width, image.height / height, dark / (data.length / 4), light / (data.length / 4), blob.type === "image/png" ? 1 : 0];
	})()`)
	if shape[0] != 2 || shape[1] != 2 || shape[2] < 0.003 || shape[3] < 0.5 || shape[4] != 1 {
		t.Errorf("the picture is %v", shape)
	}
	p.accessible()
	p.shot("counter_message")
	phoned := newTab(t, phone)
	at := message[strings.Index(message, s.URL+"/sheet?guide=1"):]
	phoned.open(strings.Fields(at)[0])
	phoned.until("all('.guide-steps li').length > 2 && seen('.drawing svg')")
	phoned.onEach("measuring", "en")
	if n, _, _ := pages(t, phoned.printed("measuring")); n > 2 {
		t.Errorf("how to measure takes %d pages", n)
	}
	for _, query := range []string{"upper=fork&lower=eye", "upper=nothing&lower=eye", "", "upper=%3Cimg%20src%3Dx%3E&lower=eye"} {
		phoned.open(s.URL + "/sheet?guide=1&lang=en&" + query)
		phoned.until("document.querySelector('.guide') && !document.querySelector('.guide').innerText.includes('Loading')")
		phoned.untouched()
	}
	phoned.expected("422")
}

// TestAMessageIsOfSentences: where nothing fits, what a caller is told is said once, and each
// sentence begins as one. The near misses are the page's.
func TestAMessageIsOfSentences(t *testing.T) {
	t.Parallel()
	s := newService(t)
	for _, language := range []string{"en", "es"} {
		for name, request := range map[string]string{
			"no fit":        "&rear.upper=stud&rear.upper_measured_to=frame_face&rear.lower=eye&rear.lower_bolt=M12&rear.readings_left=16 5/8&rear.suspension=solid_axle&rear.codes=demo-damper-0143",
			"measure again": "&rear.upper=eye&rear.lower=eye&rear.readings_left=16&rear.readings_right=19&rear.suspension=solid_axle",
			"outside":       "&rear.upper=fork&rear.lower=eye&rear.readings_left=16&rear.suspension=solid_axle",
		} {
			p := newTabAt(t, s.URL+"/#"+encoded("units=in&lang="+language+request))
			p.until("q('.strip .current .status').dataset.outcome && q('.strip .current .status').dataset.outcome !== 'fits'")
			p.click(inAxle("rear", ".share summary"))
			p.until("seen('[data-share=message]')")
			message := p.text("[data-share=message]")
			first, _, _ := strings.Cut(message, "\n")
			if regexp.MustCompile(`[.!?] \p{Ll}`).MatchString(first) || !regexp.MustCompile(`^\p{Lu}.*[.!?]$`).MatchString(first) {
				t.Errorf("%s in %s: no sentences: %s", name, language, first)
			}
			for _, not := range []string{"no damper here", "near misses", "ningún amortiguador sirve tal", "casi sirven"} {
				if strings.Contains(first, not) {
					t.Errorf("%s in %s: a caller is told %q: %s", name, language, not, first)
				}
			}
			p.expected("422")
		}
	}
}

// TestACopyThatIsRefused selects the text of the axle whose button was pressed.
func TestACopyThatIsRefused(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/#"+encoded(bothAxles))
	p.until("all('.axle').every((axle) => axle.querySelector('.row[data-code]'))")
	eval[bool](p, "(navigator.clipboard.writeText = () => Promise.reject(new Error('refused')), true)")
	for _, axle := range []string{"front", "rear"} {
		p.click(inAxle(axle, ".share summary"))
		p.until(fmt.Sprintf("seen(%q)", inAxle(axle, ".share-part")))
	}
	for _, axle := range []string{"front", "rear"} {
		p.click(inAxle(axle, ".share-part button"))
		p.until("getSelection().toString() !== ''")
		if !eval[bool](p, fmt.Sprintf("q(%q).contains(getSelection().anchorNode)", inAxle(axle, ""))) {
			t.Errorf("the copy of the %s axle selects that of the other one", axle)
		}
		eval[bool](p, "(getSelection().removeAllRanges(), true)")
	}
}

// TestMissesOfHardwareAreNoFits asks for a bolt that no sleeve bridges: those dampers
// have the length, stand in a group that says what is missing, and have no bar.
func TestMissesOfHardwareAreNoFits(t *testing.T) {
	t.Parallel()
	s := newService(t)
	for name, open := range map[string]func() *tab{
		"counter": func() *tab {
			return newTabAt(t, s.URL+"/#"+encoded("lang=en&units=in&rear.upper=eye&rear.lower=eye&rear.lower_bolt=M12&rear.lower_opening=1 3/16&rear.suspension=solid_axle&rear.readings_left=16 5/8"))
		},
		"widget": func() *tab {
			p := newTab(t, phone)
			p.open(newShop(t, s, `units="in" preset="upper=eye&amp;lower=eye&amp;lower_bolt=M12&amp;lower_opening=1 3/16&amp;suspension=solid_axle&amp;readings_left=16 5/8"`))
			p.through()
			return p
		},
	} {
		t.Run(name, func(t *testing.T) {
			p := open()
			p.until("seen('.miss')")
			if !eval[bool](p, "all('.miss').filter((e) => e.querySelector('.badge.hardware')).length > 0 && all('.miss').every((e) => Boolean(e.querySelector('.badge.hardware')) !== Boolean(e.querySelector('.stroke')))") {
				t.Errorf("a miss of hardware looks like a fit: %s", p.text(".misses"))
			}
			p.accessible()
			p.whole()
			p.shot("misses_of_hardware_" + name)
		})
	}
}
