package drawing

import (
	"fmt"
	"math"
	"strings"
)

// pen is a way of drawing a line. A drawing collects the strokes of each pen
// and writes them as one path.
type pen uint8

// The pens. No line is painted over another and every colour is the reader's own
// (currentColor), so that a drawing needs no background: it is as legible light
// on dark as dark on light, and in print.
const (
	tint      pen = iota // rubber, and the damper's body: a light wash
	hatch                // what is cut through: frame, brackets, castings
	thin                 // detail
	outline              // every part's edge
	centre               // centre lines: chain, by ISO 128
	hidden               // behind or beyond: dashed, by ISO 128
	extension            // dimension and extension lines
	solid                // arrow heads and leaders' dots
)

// penStyles are the attributes of each pen, in the order in which a drawing
// writes them. Nothing that matters is finer than 1.5, which still prints where
// the drawing is scaled to half.
var penStyles = [...]struct {
	pen        pen
	attributes string
}{
	{tint, `fill="currentColor" fill-opacity="0.16"`},
	{hatch, `fill="none" stroke="currentColor" stroke-width="1.5" stroke-opacity="0.55"`},
	{thin, `fill="none" stroke="currentColor" stroke-width="1.5" stroke-linecap="round"`},
	{outline, `fill="none" stroke="currentColor" stroke-width="2.4" stroke-linejoin="round" stroke-linecap="round"`},
	{centre, `fill="none" stroke="currentColor" stroke-width="1.5" stroke-dasharray="14 3 3 3"`},
	{hidden, `fill="none" stroke="currentColor" stroke-width="1.5" stroke-dasharray="5 4"`},
	{extension, `fill="none" stroke="currentColor" stroke-width="2"`},
	{solid, `fill="currentColor"`},
}

// strokes are the path data of each pen.
type strokes [len(penStyles)]strings.Builder

// write lays down every pen that was used.
func (s *strokes) write(c *canvas) {
	for _, style := range penStyles {
		if path := &s[style.pen]; path.Len() > 0 {
			fmt.Fprintf(&c.buf, `<path %s d="%s"/>`+"\n", style.attributes, path.String())
		}
	}
}

// view is a place on the sheet where a part is drawn. A part is drawn about
// its reference point, u to the right of the damper's axis and v away from the
// damper, so that one drawing serves for the upper end and, turned over, for
// the lower.
type view struct {
	*strokes
	x, y float64 // of the reference point
	way  float64 // -1 where v goes up the sheet, 1 where it goes down
}

func (w view) at(u, v float64) point { return point{w.x + u, w.y + w.way*v} }

// moved is the view with its origin at another place of it.
func (w view) moved(u, v float64) view {
	p := w.at(u, v)
	w.x, w.y = p.x, p.y
	return w
}

func (w view) put(p pen, command byte, points ...point) {
	b := &w.strokes[p]
	b.WriteByte(command)
	for i, q := range points {
		if i > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(num(q.x))
		b.WriteByte(' ')
		b.WriteString(num(q.y))
	}
}

// line joins points given as u, v, u, v, ….
func (w view) line(p pen, uv ...float64) {
	command := byte('M')
	for i := 0; i+1 < len(uv); i += 2 {
		w.put(p, command, w.at(uv[i], uv[i+1]))
		command = 'L'
	}
}

// shape is a closed line.
func (w view) shape(p pen, uv ...float64) {
	w.line(p, uv...)
	w.strokes[p].WriteByte('Z')
}

// box is a rectangle between two opposite corners.
func (w view) box(p pen, u1, v1, u2, v2 float64) { w.shape(p, u1, v1, u2, v1, u2, v2, u1, v2) }

// pair writes a point into path data.
func (w view) pair(u, v float64) string {
	p := w.at(u, v)
	return num(p.x) + " " + num(p.y)
}

// bow goes from a point by one control point to another.
func (w view) bow(p pen, u1, v1, cu, cv, u2, v2 float64) {
	w.put(p, 'M', w.at(u1, v1))
	w.put(p, 'Q', w.at(cu, cv), w.at(u2, v2))
}

// circle is a whole circle.
func (w view) circle(p pen, u, v, r float64) {
	c := w.at(u, v)
	w.put(p, 'M', point{c.x - r, c.y})
	fmt.Fprintf(&w.strokes[p], "a%s %s 0 1 0 %s 0a%s %s 0 1 0 %s 0Z", num(r), num(r), num(2*r), num(r), num(r), num(-2*r))
}

// hole takes a circle about the reference point out of an area: it runs the
// other way round.
func (w view) hole(p pen, r float64) {
	w.put(p, 'M', point{w.x - r, w.y})
	fmt.Fprintf(&w.strokes[p], "a%s %s 0 1 1 %s 0a%s %s 0 1 1 %s 0Z", num(r), num(r), num(2*r), num(r), num(r), num(-2*r))
}

// segment is the part of a circle about the reference point that lies beyond
// v away from the damper, or on the damper's side of v; |v| is less than r.
func (w view) segment(p pen, r, v float64, away bool) {
	large, sweep := 0, 0
	if away == (v < 0) {
		large = 1
	}
	if away == (w.way < 0) {
		sweep = 1
	}
	u := math.Sqrt(r*r - v*v)
	w.put(p, 'M', w.at(-u, v))
	fmt.Fprintf(&w.strokes[p], "A%s %s 0 %d %d %s", num(r), num(r), large, sweep, w.pair(u, v))
}

// hatched is a rectangle that is cut through: its edge and its hatching.
func (w view) hatched(u1, v1, u2, v2 float64) {
	w.box(outline, u1, v1, u2, v2)
	w.hatching(u1, v1, u2, v2)
}

// hatching fills a rectangle with lines at 45°. They lie on one grid over the
// whole sheet, so that rectangles side by side look like one piece.
func (w view) hatching(u1, v1, u2, v2 float64) {
	const pitch = 7
	a, b := w.at(u1, v1), w.at(u2, v2)
	left, right := math.Min(a.x, b.x), math.Max(a.x, b.x)
	top, foot := math.Min(a.y, b.y), math.Max(a.y, b.y)
	// Lines of constant x+y.
	for k := math.Ceil((left + top) / pitch); k*pitch < right+foot; k++ {
		sum := k * pitch
		from := point{math.Max(left, sum-foot), 0}
		from.y = sum - from.x
		to := point{math.Min(right, sum-top), 0}
		to.y = sum - to.x
		if to.x-from.x > 0.5 {
			w.put(hatch, 'M', from)
			w.put(hatch, 'L', to)
		}
	}
}

// dot ends a leader in a part.
func (w view) dot(at point) {
	w.put(solid, 'M', point{at.x - 2.6, at.y})
	w.strokes[solid].WriteString("a2.6 2.6 0 1 0 5.2 0a2.6 2.6 0 1 0 -5.2 0Z")
}
