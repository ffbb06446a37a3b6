package widget_test

import "testing"

func TestCounterShots(t *testing.T) {
	s := newService(t)
	p := newTab(t, desktop)
	p.open(s.URL + "/")
	p.until("seen('[data-go=example]')")
	p.shot("c0")
	p.click("[data-go=example]")
	p.until("seen('.row.miss, .row')")
	p.shot("c1")
	p.whole()
	p.accessible()
	p.look(screen{width: 1440, height: 900, dark: true})
	p.click(".axle:nth-of-type(2) .row summary")
	p.click(".axle:nth-of-type(2) .row:nth-child(2) input")
	p.click(".axle:nth-of-type(2) .row:nth-child(3) input")
	p.click(".share summary")
	p.shot("c2")
	p.accessible()
	p.look(phone)
	p.shot("c3")
	p.whole()
}
