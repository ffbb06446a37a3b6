package drawing

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"

	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// canvas writes the elements of one SVG.
type canvas struct {
	buf           bytes.Buffer
	width, height int
	lang          string
	units         unit.System
}

func newCanvas(width, height int, lang string, s unit.System) *canvas {
	if _, ok := note.Template(lang, "drawing_travel_title"); !ok {
		lang = "en"
	}
	return &canvas{width: width, height: height, lang: lang, units: s}
}

type point struct{ x, y float64 }

func (c *canvas) words(n note.Note) string { return withMinus(n.Text(c.lang, c.units)) }

// negative is a figure below zero among words. Names have hyphens within.
var negative = regexp.MustCompile(`(^|[\s(])-(\d)`)

// withMinus writes figures with the sign, which is as wide as the plus; a hyphen is
// easily missed.
func withMinus(text string) string {
	if !strings.Contains(text, "-") {
		return text
	}
	return negative.ReplaceAllString(text, "${1}\u2212${2}")
}

// open begins the drawing; its title and lines are read out to whoever cannot
// see it.
func (c *canvas) open(title note.Note, lines []note.Note) {
	fmt.Fprintf(&c.buf, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" width="%d" height="%d" role="img" aria-labelledby="title desc" lang="%s" font-family="Helvetica, Arial, sans-serif" fill="%s">`+"\n",
		c.width, c.height, c.width, c.height, escaped(c.lang), ink)
	c.titled("", title, lines)
	fmt.Fprintf(&c.buf, `<rect width="%d" height="%d" fill="#ffffff"/>`+"\n", c.width, c.height)
}

// titled writes what is read out to whoever cannot see the drawing, under ids
// that begin with prefix.
func (c *canvas) titled(prefix string, title note.Note, lines []note.Note) {
	fmt.Fprintf(&c.buf, `<title id="%stitle">%s</title>`+"\n", prefix, escaped(c.words(title)))
	fmt.Fprintf(&c.buf, `<desc id="%sdesc">`, prefix)
	for i, l := range lines {
		words := c.words(l)
		if i < len(lines)-1 {
			words = strings.TrimSuffix(words, ".") + ". "
		}
		c.buf.WriteString(escaped(words))
	}
	c.buf.WriteString("</desc>\n")
}

func (c *canvas) close() { c.buf.WriteString("</svg>\n") }

func (c *canvas) writeTo(w io.Writer) error {
	_, err := w.Write(c.buf.Bytes())
	return err
}

func (c *canvas) line(x1, y1, x2, y2 float64, colour string, width float64, dash string) {
	fmt.Fprintf(&c.buf, `<path d="M%s %sL%s %s" stroke="%s" stroke-width="%s"%s/>`+"\n",
		num(x1), num(y1), num(x2), num(y2), colour, num(width), dashes(dash))
}

func (c *canvas) box(x1, y1, x2, y2 float64) {
	fmt.Fprintf(&c.buf, `<rect x="%s" y="%s" width="%s" height="%s" fill="none" stroke="%s"/>`+"\n",
		num(x1), num(y1), num(x2-x1), num(y2-y1), ink)
}

func (c *canvas) curve(points []point, colour, dash string) {
	c.buf.WriteString(`<path d="`)
	for i, p := range points {
		command := byte('L')
		if i == 0 {
			command = 'M'
		}
		c.buf.WriteByte(command)
		c.buf.WriteString(num(p.x))
		c.buf.WriteByte(' ')
		c.buf.WriteString(num(p.y))
	}
	fmt.Fprintf(&c.buf, `" fill="none" stroke="%s" stroke-width="2.6" stroke-linejoin="round"%s/>`+"\n", colour, dashes(dash))
}

func (c *canvas) disc(p point, colour string) {
	fmt.Fprintf(&c.buf, `<circle cx="%s" cy="%s" r="4.5" fill="#ffffff" stroke="%s" stroke-width="2.2"/>`+"\n", num(p.x), num(p.y), colour)
}

// arrowhead has its tip at p and is as tall as height, downwards where that is
// positive.
func (c *canvas) arrowhead(p point, height float64, colour string) {
	fmt.Fprintf(&c.buf, `<path d="M%s %sL%s %sL%s %sZ" fill="%s"/>`+"\n",
		num(p.x), num(p.y), num(p.x-6), num(p.y+height), num(p.x+6), num(p.y+height), colour)
}

// text writes t with attributes that this package made itself.
func (c *canvas) text(x, y float64, attributes, t string) {
	if attributes != "" {
		attributes = " " + attributes
	}
	fmt.Fprintf(&c.buf, `<text x="%s" y="%s"%s>%s</text>`+"\n", num(x), num(y), attributes, escaped(t))
}

// haloText is legible across lines.
func (c *canvas) haloText(x, y float64, anchor, t string) {
	c.text(x, y, fmt.Sprintf(`font-size="13" text-anchor="%s" stroke="#ffffff" stroke-width="4" stroke-linejoin="round" paint-order="stroke"`, anchor), t)
}

// turnedText reads upwards, centred at a place.
func (c *canvas) turnedText(x, y float64, t string) {
	c.text(x, y, fmt.Sprintf(`font-size="14" text-anchor="middle" transform="rotate(-90 %s %s)"`, num(x), num(y)), t)
}

func dashes(d string) string {
	if d == "" {
		return ""
	}
	return ` stroke-dasharray="` + d + `"`
}

// num writes a coordinate to a hundredth of the drawing's unit.
func num(v float64) string { return strconv.FormatFloat(round(v, 2), 'f', -1, 64) }

func escaped(s string) string {
	var b bytes.Buffer
	// The error is the buffer's, which has none.
	_ = xml.EscapeText(&b, []byte(s))
	return b.String()
}

// inLanguage writes a figure as the drawing's language does.
func (c *canvas) inLanguage(text string) string { return withMinus(note.Decimal(c.lang, text)) }
