//go:build browser

package widget_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// onACorner is a question for fits on an invented corner.
const onACorner = "units=in&upper=stud&lower=eye&readings=16.5&suspension=solid_axle&motion_ratio=0.8" +
	"&corner_sprung_kg=280&corner_unsprung_kg=60&corner_wheel_rate_n_mm=30&corner_tyre_rate_n_mm=250"

// TestPicturesOfDamping: beside an opened fit the counter shows three pictures,
// and so does the sheet, on a page of their own.
func TestPicturesOfDamping(t *testing.T) {
	t.Parallel()
	s := newService(t)
	hash := ""
	for _, pair := range strings.Split(onACorner, "&") {
		if pair != "units=in" {
			pair = "rear." + pair
		}
		hash += "&" + pair
	}
	p := newTabAt(t, s.URL+"/#"+encoded(hash[1:]))
	p.until("q('[aria-labelledby=rear] .row[data-code]')")
	if !eval[bool](p, "seen('[aria-labelledby=rear] .corner [data-key^=corner_sprung_kg]') || q('[aria-labelledby=rear] .corner [data-key^=corner_sprung_kg]').value === '280'") {
		t.Error("the corner isn't in the form")
	}
	p.click("[aria-labelledby=rear] .row[data-code] summary")
	p.until("all('[aria-labelledby=rear] .damping svg').length === 3")
	const words = "[...all('.damping svg')].map((svg) => svg.getAttribute('aria-label')).join(' ')"
	if got := eval[string](p, words); !strings.Contains(got, "Force over velocity") || !strings.Contains(got, "wanted: damping ratio 0.32") {
		t.Errorf("the pictures say %q", got)
	}
	p.accessible()
	p.shot("damping_counter")

	// They follow the width of their place, without another answer. The contract's sizes
	// of drawing_width: wide is wider than a phone.
	const width = "q('.damping svg').viewBox.baseVal.width"
	wide := eval[float64](p, width)
	p.look(screen{width: 390, height: 844, touch: true})
	p.until(fmt.Sprintf("%s < %g", width, wide))
	p.look(desktop)
	p.until(fmt.Sprintf("%s === %g", width, wide))

	p.open(s.URL + "/sheet?" + encoded(onACorner) + "&rank=1&lang=es&paper=a4")
	p.until("all('.damping svg').length === 3")
	if n, _, _ := pages(t, p.printed("sheet_damping")); n != 2 {
		t.Errorf("%d pages, want the sheet and the pictures", n)
	}
	p.shot("damping_sheet")
}

// TestTheCounterHasRoomForItsWords on screens between a phone and a wide desktop, in
// Spanish, whose words are longer: what is said of the damping ends before the bar of the
// stroke, the drawings keep their width beside what else there is, and both axles are laid
// out alike.
func TestTheCounterHasRoomForItsWords(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, screen{width: 1265, height: 900}) // 1280 less a scroll bar
	p.open(s.URL + "/#lang=es&units=mm&front.upper=eye&front.lower=eye&front.readings=440&front.suspension=solid_axle")
	p.until("seen('[aria-labelledby=front] .row[data-code]')")
	for _, width := range []int64{1265, 768, 600, 480} {
		p.look(screen{width: width, height: 900})
		// A drawing of less than 180 pixels has figures below 9 pixels.
		if least := eval[float64](p, "Math.min(...all('svg.living').map((one) => one.getBoundingClientRect().width))"); least < 180 {
			t.Errorf("%d wide, a drawing is %g pixels wide", width, least)
		}
		if out := eval[[]string](p, "all('.living-tools *').filter((part) => part.getClientRects().length && !part.matches('.unseen') && part.scrollWidth > part.clientWidth + 1 && part.clientWidth > 0 && !part.matches('input, select')).map((part) => part.className)"); len(out) > 0 {
			t.Errorf("%d wide, words beside the drawing stick out: %q", width, out)
		}
	}
	// The longest of usual lengths is seen whole, and the length in the other unit doesn't cover it.
	p.open(s.URL + "/#lang=es&units=in&rear.upper=stud&rear.upper_measured_to=frame_face&rear.upper_bushing_thickness=3/8&rear.lower=eye&rear.lower_opening=1+11/16" +
		"&rear.readings_left=16+11/16&rear.readings_right=16+11/16&rear.suspension=solid_axle")
	p.until("seen('[aria-labelledby=rear] .row[data-code]') && all('.first .echo').some((echo) => echo.textContent)")
	for _, width := range []int64{1440, 1265, 768, 480} {
		p.look(screen{width: width, height: 900})
		if hidden := eval[[]string](p, `all('.first input[type=text]').filter((input) => {
			const pen = document.createElement('canvas').getContext('2d'), style = getComputedStyle(input), box = input.getBoundingClientRect();
			pen.font = style.font;
			const ends = box.left + input.clientLeft + parseFloat(style.paddingLeft) + pen.measureText(input.value).width;
			const echo = input.parentElement.querySelector('.echo')?.getBoundingClientRect();
			return input.value && (ends > box.right - input.clientLeft - parseFloat(style.paddingRight) + 0.5 || echo?.width && echo.left < ends && echo.top < box.bottom - 2);
		}).map((input) => input.dataset.key + ' ' + input.value)`); len(hidden) > 0 {
			t.Errorf("%d wide, these aren't seen whole: %q", width, hidden)
		}
	}
	p.look(screen{width: 1265, height: 900})
	if !eval[bool](p, "new Set(all('.ask').map((form) => getComputedStyle(form).gridTemplateColumns.split(' ').length)).size === 1") {
		t.Error("both axles are laid out in different ways")
	}
	p.open(s.URL + "/#lang=es&units=mm&rear.upper=eye&rear.lower=eye&rear.readings=440&rear.suspension=solid_axle&rear.motion_ratio=0.9&rear.corner_sprung_kg=350" +
		"&rear.corner_unsprung_kg=45&rear.corner_spring_rate_n_mm=35&rear.corner_spring_ratio=0.9&rear.corner_damper_ratio=0.9&rear.corner_tyre_rate_n_mm=200")
	p.until("seen('.row .damped.in_range')")
	for _, width := range []int64{1265, 768} {
		p.look(screen{width: width, height: 900})
		if over := eval[float64](p, `Math.max(...all('.row .damped').map((one) => {
			const words = document.createRange();
			words.selectNodeContents(one);
			return words.getBoundingClientRect().right - one.closest('.line').querySelector('.stroke').getBoundingClientRect().left;
		}))`); over > 0 {
			t.Errorf("%d wide, what is said of the damping covers %g pixels of the bar", width, over)
		}
	}
}

// TestLettersTwiceAsLarge: the counter and the guide follow a reader's own size of letters,
// and nothing sticks out of a phone then. Twice the size is what WCAG 2.2, 1.4.4, asks for.
func TestLettersTwiceAsLarge(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, screen{width: 360, height: 800, touch: true})
	p.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, page.SetFontSizes, page.SetFontSizesParams{FontSizes: &page.FontSizes{Standard: 32, Fixed: 26}})
		return err
	}))
	p.open(s.URL + "/#lang=es&units=in&rear.upper=stud&rear.lower=eye&rear.readings=16.5&rear.suspension=solid_axle")
	p.until("seen('[aria-labelledby=rear] .row[data-code]')")
	p.whole()
	// 15/16 of the reader's 32 pixels.
	if size := eval[string](p, "getComputedStyle(document.body).fontSize"); size != "30px" {
		t.Errorf("letters of the counter are %s high", size)
	}
	p.open(newShop(t, s, `units="in" lang="es" upper="stud" lower="eye"`))
	p.until("seen('[data-step=measure] .guide-steps')")
	p.whole()
}
