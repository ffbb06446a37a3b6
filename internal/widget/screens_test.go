package widget_test

import (
	"testing"
)

func TestScreens(t *testing.T) {
	s := newService(t)
	shop := newShop(t, s, "")
	p := newTab(t, phone)
	p.open(shop)
	p.until("seen('.tile')")
	p.shot("w1")
	p.click("[data-style=stud]")
	p.until("seen('[data-step=lower]')")
	p.shot("w2")
	p.click("[data-style=eye]")
	p.until("seen('[data-step=measure]')")
	p.until("!q('.guide').textContent.includes('Loading')")
	p.shot("w3")
	p.click("[data-go=next]")
	p.until("seen('[data-step=readings]')")
	p.write(field("readings_left/0"), "16 5/8")
	p.write(field("readings_right/0"), "16 11/16")
	p.shot("w4")
	p.click("[data-go=next]")
	p.write(field("lower_bolt"), "M12")
	p.write(field("lower_opening"), "1 1/2")
	p.shot("w5")
	p.click("[data-go=next]")
	p.click("[data-key=suspension]")
	p.shot("w6")
	p.click("[data-go=next]")
	p.until("seen('[data-step=answer]')")
	p.shot("w7")
	p.whole()
	p.accessible()
}
