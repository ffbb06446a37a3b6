//go:build browser

package widget_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp/kb"
)

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
		"17.5 1/2": "not both", "-17": "greater than zero", "1700": "10\u00a0m", "17 1/4 inn": "unit", "17 1/4 mm": "inches",
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

// TestAssumedThicknessIsToldInTheUnits: what is assumed for a bushing and its washer, which
// is 1/2 in by common practice, no source, and 12.7 mm by the definition of the inch.
func TestAssumedThicknessIsToldInTheUnits(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	p.open(newShop(t, s, `units="mm" lang="en" preset="upper=stud&amp;upper_measured_to=frame_face&amp;lower=eye&amp;suspension=solid_axle"`))
	p.until("seen('[data-go=next]')")
	p.click("[data-go=next]")
	for units, want := range map[string]string{"mm": "12.7\u00a0mm is assumed", "in": "1/2\u00a0in is assumed"} {
		p.click("[data-key=units-" + units + "]")
		p.until("q('[data-step=readings]')?.innerText.includes('is assumed')")
		if said := eval[string](p, "q('[data-step=readings]').innerText"); !strings.Contains(said, want) {
			t.Errorf("in %s it doesn't say %q: %s", units, want, said)
		}
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
