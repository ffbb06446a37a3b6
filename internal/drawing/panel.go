package drawing

import (
	"fmt"
	"math"
	"strconv"

	"midstroke/internal/note"
)

// panel is a plot on a sheet without ground: its lines and figures are of the
// reader's own colour (currentColor), so that it is as legible light on dark as
// dark on light. The two colours of its curves stand out from either.
type panel struct {
	*canvas
	across, up scale
	beside     float64 // where the middle of the title beside it is
}

// reader is the reader's own colour.
const reader = "currentColor"

// curvePens tell candidates apart by colour and by dash. Okabe and Ito's blue
// and vermilion have at least three times the contrast to white and to black; the
// third is the reader's colour.
var curvePens = [...]struct{ colour, dash string }{{blue, ""}, {vermilion, "9 4"}, {reader, "2 4"}}

// wantedDash is that of what is wanted, in the reader's colour.
const wantedDash = "12 4 3 4"

// tick is a place on an axis with its figure.
type tick struct {
	at   float64
	text string
}

// whole are the ticks of a scale at its whole steps.
func (s scale) whole() []tick {
	var list []tick
	for _, v := range s.ticks() {
		list = append(list, tick{v, figure(v, s.places())})
	}
	return list
}

// logarithmic is a scale of the logarithms to ten, from low to high.
func logarithmic(low, high, from, to float64) scale {
	return scale{low: math.Log10(low), high: math.Log10(high), step: 1, from: from, to: to}
}

// octaves are ticks at 1, 2 and 5 times the powers of ten on a logarithmic scale.
func (s scale) octaves() []tick {
	var list []tick
	for power := math.Floor(s.low); power <= s.high; power++ {
		for _, m := range []float64{1, 2, 5} {
			v := m * math.Pow(10, power)
			if at := math.Log10(v); at >= s.low-1e-9 && at <= s.high+1e-9 {
				list = append(list, tick{at, strconv.FormatFloat(v, 'g', 4, 64)})
			}
		}
	}
	return list
}

// frame draws the panel's grid, figures and titles.
func (p *panel) frame(across, up []tick, below, beside note.Note) {
	const faint = ` stroke-opacity="0.25"`
	for _, t := range up {
		y := p.up.at(t.at)
		p.stroke(p.across.from, y, p.across.to, y, 1, faint)
		p.text(p.across.from-8, y+4.5, `font-size="13" text-anchor="end"`, p.inLanguage(t.text))
	}
	for _, t := range across {
		x := p.across.at(t.at)
		p.stroke(x, p.up.from, x, p.up.to, 1, faint)
		p.text(x, p.up.from+19, `font-size="13" text-anchor="middle"`, p.inLanguage(t.text))
	}
	fmt.Fprintf(&p.buf, `<rect x="%s" y="%s" width="%s" height="%s" fill="none" stroke="%s"/>`+"\n",
		num(p.across.from), num(p.up.to), num(p.across.to-p.across.from), num(p.up.from-p.up.to), reader)
	p.text((p.across.from+p.across.to)/2, p.up.from+40, `font-size="14" text-anchor="middle"`, p.words(below))
	p.turnedText(p.beside, (p.up.from+p.up.to)/2, p.words(beside))
}

// stroke is a straight line in the reader's colour.
func (p *panel) stroke(x1, y1, x2, y2, width float64, attributes string) {
	fmt.Fprintf(&p.buf, `<path d="M%s %sL%s %s" stroke="%s" stroke-width="%s"%s/>`+"\n", num(x1), num(y1), num(x2), num(y2), reader, num(width), attributes)
}

// plot draws a curve through values, which are cut off at the panel's edges.
func (p *panel) plot(points []point, colour, dash string) {
	list := make([]point, 0, len(points))
	for _, q := range points {
		list = append(list, point{p.across.at(q.x), p.up.at(q.y)})
	}
	p.curve(list, colour, dash)
}

// mark draws an upright line with words at its top, and says in how many rows.
func (p *panel) mark(x float64, words note.Note) (rows int) {
	at := p.across.at(x)
	p.stroke(at, p.up.from, at, p.up.to, 1.5, dashes("2 4"))
	anchor, beside, room := "start", 6.0, p.across.to-at
	if at > (p.across.from+p.across.to)/2 {
		anchor, beside, room = "end", -6, at-p.across.from
	}
	list := broken(p.words(words), widerFont*13, room-6, false)
	for i, row := range list {
		p.text(at+beside, p.up.to+16*float64(i+1), `font-size="13" text-anchor="`+anchor+`"`, row)
	}
	return len(list)
}

// openPlain begins a drawing without ground, in the reader's colour. name tells its
// ids from those of other drawings on the same page.
func (c *canvas) openPlain(name string, title note.Note, lines []note.Note) {
	fmt.Fprintf(&c.buf, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" width="%d" height="%d" role="img" aria-labelledby="%s-title %s-desc" lang="%s" font-family="Helvetica, Arial, sans-serif" fill="%s">`+"\n",
		c.width, c.height, c.width, c.height, name, name, escaped(c.lang), reader)
	c.titled(name+"-", title, lines)
}
