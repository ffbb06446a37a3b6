package drawing

import (
	"fmt"
	"io"
	"math"

	"midstroke/internal/guide"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// Figure draws how one figure of a request is measured: on its end and bracket, or
// on the vehicle. It looks as [Ends] does, and takes the same options but for
// Numbered. The same figure gives the same bytes. The error is w's.
func Figure(w io.Writer, f guide.Figure, o EndsOptions) error {
	if o.Units == unit.Unset {
		o.Units = unit.Millimetres
	}
	d := figureDrawing{canvas: newCanvas(0, 0, o.Lang, o.Units)}
	if sketch := sketches[f.Of]; sketch != nil {
		sketch(&d)
	} else {
		d.end(f)
	}
	d.sheet(f, o.Width)
	return d.writeTo(w)
}

// The sheet of a figure, in the drawing's own units.
const (
	figureWide = 320.0
	letterSize = 18.0
	wordSize   = 16.0
	arrowLong  = 13.0
	arrowHalf  = 4.0
	letterGap  = 13.0 // half of the gap for a letter
	narrow     = 54.0 // what is less has its arrows outside
	outsideRun = 30.0 // of the lines outside a narrow figure
)

type figureDrawing struct {
	*canvas
	strokes strokes
	letters []placedText
	foot    float64
}

// free is the whole sheet as a view.
func (d *figureDrawing) free() view { return view{&d.strokes, 0, 0, 1} }

// end draws the figure's end with its dimension.
func (d *figureDrawing) end(f guide.Figure) {
	fit := fittingOf(f.End.Style, bodyHalf)
	s := fit.spans[f.Of]
	const below = 84 // of the damper that is shown
	v := view{&d.strokes, figureWide/2 - 16, edge + fit.reach + 14, -1}
	if f.Lower {
		v.y, v.way = edge+below, 1
	}
	for _, p := range fit.pieces {
		if p.of == ofBracket || !s.bare {
			p.draw(v)
		}
	}
	if !s.bare {
		v.brokenStem(fit.joint)
	}
	v.line(centre, 0, -below+8, 0, fit.reach+8)
	d.dimension(v, s, "A")
	d.foot = edge + below + fit.reach + 14
}

// dimension draws a dimension with its letter.
func (d *figureDrawing) dimension(v view, s span, letter string) {
	// along is the way that is measured, off the way to the dimension line.
	at := func(along, off float64) (u, w float64) {
		if s.across {
			return along, off
		}
		return off, along
	}
	line := func(along1, off1, along2, off2 float64) {
		u1, v1 := at(along1, off1)
		u2, v2 := at(along2, off2)
		v.line(extension, u1, v1, u2, v2)
	}
	head := func(tip, long float64) {
		u, w := at(tip, s.at)
		a, b := at(tip+long, s.at-arrowHalf)
		e, g := at(tip+long, s.at+arrowHalf)
		v.shape(solid, u, w, a, b, e, g)
	}
	if s.start != s.at {
		over := math.Copysign(6, s.at-s.start)
		line(s.from, s.start, s.from, s.at+over)
		line(s.to, s.start, s.to, s.at+over)
	}
	middle, place := (s.from+s.to)/2+s.aside, 0.0
	if s.to-s.from >= narrow || s.start == s.at {
		gap := min(letterGap, (s.to-s.from)/2-arrowLong)
		line(s.from, s.at, middle-gap, s.at)
		line(middle+gap, s.at, s.to, s.at)
		head(s.from, arrowLong)
		head(s.to, -arrowLong)
		place = middle
	} else {
		line(s.from-outsideRun, s.at, s.from, s.at)
		line(s.to, s.at, s.to+outsideRun, s.at)
		head(s.from, -arrowLong)
		head(s.to, arrowLong)
		place = s.to + outsideRun + letterGap
	}
	u, w := at(place, s.at)
	p := v.at(u, w)
	d.letters = append(d.letters, placedText{p.x, p.y + letterSize*0.35, `font-weight="bold" text-anchor="middle"`, letter})
}

// sheet writes all of it, with what the letters mean below.
func (d *figureDrawing) sheet(f guide.Figure, width int) {
	mounted := note.Word("mount", "frame")
	if f.Lower {
		mounted = note.Word("mount", "axle_or_arm")
	}
	of := f.Of
	if f.End.Style == mount.Stud && of == "plate" {
		of = "frame_thickness" // a stud's plate is the frame
	}
	told := note.New(note.Code("drawing_figure_"+of), mounted)
	below := paragraphs{x: edge, y: d.foot + captionApart, size: wordSize}
	below.add(0, "", broken(d.words(told), wordSize, figureWide-2*edge, false))
	high := below.y - below.line() + edge
	shown := float64(width)
	if width <= 0 {
		shown = figureWide
	}
	fmt.Fprintf(&d.buf, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %s %s" width="%s" height="%s" role="img" aria-labelledby="figure-%s-title figure-%s-desc" lang="%s" font-family="Helvetica, Arial, sans-serif">`+"\n",
		num(figureWide), num(high), num(shown), num(math.Round(high*shown/figureWide)), f.Name, f.Name, escaped(d.lang))
	d.titled("figure-"+f.Name+"-", note.New("drawing_figure_title"), []note.Note{told})
	d.strokes.write(d.canvas)
	fmt.Fprintf(&d.buf, `<g fill="currentColor" font-size="%s">`+"\n", num(letterSize))
	for _, t := range d.letters {
		d.text(t.x, t.y, t.attributes, t.words)
	}
	fmt.Fprintf(&d.buf, "</g>\n"+`<g fill="currentColor" font-size="%s">`+"\n", num(wordSize))
	for _, t := range below.texts {
		d.text(t.x, t.y, t.attributes, t.words)
	}
	d.buf.WriteString("</g>\n</svg>\n")
}
