//go:build browser

package widget_test

import (
	"fmt"
	"strings"
	"testing"
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
