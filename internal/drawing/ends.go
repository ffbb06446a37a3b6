package drawing

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"midstroke/internal/guide"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// EndsOptions say how a pair of ends is drawn.
type EndsOptions struct {
	// Units are those of lengths in the words; millimetres where Unset.
	Units unit.System
	// Lang is the language of the words, English where there are none in it.
	Lang string
	// Width is how wide the drawing asks to be shown, in CSS pixels; its own
	// width where it isn't above 0. It scales to whatever room it gets.
	Width int
	// Numbered has the parts numbered and the numbers told below the drawing,
	// rather than the words beside it: for a narrow screen.
	Numbered bool
}

// Ends draws the pair of ends of a guide that came without faults, a damper
// between them, and what the tape is held to at each, from plane to plane. The
// damper's own reference is marked as well where the tape is held to another
// plane. Ends outside the method are drawn without a distance to tape. The
// words that are read out are the guide's own.
//
// Ends that turn on a bolt are drawn twice, as workshop drawings do: across the
// bolt with bracket, bushing and bolt cut through, and beside it along the bolt
// as one sees it from the wheel. All lines are of the reader's own colour on no
// ground. The same guide gives the same bytes. The error is w's.
func Ends(w io.Writer, g *guide.Guide, o EndsOptions) error {
	if o.Units == unit.Unset {
		o.Units = unit.Millimetres
	}
	d := endsDrawing{canvas: newCanvas(0, 0, o.Lang, o.Units), guide: g, numbered: o.Numbered}
	d.lay()
	d.sheet(o.Width)
	return d.writeTo(w)
}

// The sheet of a pair of ends, in the drawing's own units.
const (
	edge          = 14.0  // blank around all
	tapeX         = 54.0  // of the tape's middle
	sideX         = 124.0 // of the view along the bolt, where there is one
	besideX       = 180.0 // to the left edge of the view across the bolt then
	aloneX        = 90.0  // to that edge where there is none
	eyeRoom       = 24.0  // to the left of the tape, for the eye
	beyond        = 10.0  // that a plane's line runs past a fitting
	leaderAcross  = 36.0  // of a leader, from there to its label
	labelsWide    = 150.0
	numbersWide   = 26.0  // of labels that are numbers, two digits at most
	betweenRefs   = 300.0 // the damper's least length, from reference to reference
	betweenLabels = 24.0  // the upper end's and the lower end's
	captionApart  = 34.0
	keySize       = 20.0 // of numbers and of the words below the drawing for them
	keyIndent     = 36.0
	keyApart      = 4.0
)

// endsDrawing is one drawing on the way.
type endsDrawing struct {
	*canvas
	strokes  strokes
	guide    *guide.Guide
	numbered bool

	upper, lower placed
	axis         float64 // x of the damper's axis
	elbows       float64 // x at which leaders turn to their labels
	foot         float64 // y below which only the caption stands
}

// placed is an end's fitting at its place with its labels.
type placed struct {
	fitting
	view
	sideX  float64 // of the view along the bolt
	end    guide.End
	labels []label
}

// plane is the y of a plane of the end.
func (p *placed) plane(which mount.Plane) float64 { return p.at(0, p.planes[which]).y }

// lay puts everything on the sheet.
func (d *endsDrawing) lay() {
	d.chooseFittings()
	half := max(d.upper.half, d.lower.half)
	left := aloneX
	if d.upper.along != nil || d.lower.along != nil {
		left = besideX
	}
	if len(d.guide.Outside) > 0 {
		left -= eyeRoom
	}
	d.upper.sideX, d.lower.sideX = left-besideX+sideX, left-besideX+sideX
	d.axis = left + half
	d.elbows = d.axis + half + beyond

	d.name(&d.upper)
	d.name(&d.lower)
	aboveNeeds, belowNeeds := d.lines(d.upper.labels), d.lines(d.lower.labels)
	// Where the labels need more room than the parts do, the damper grows.
	between := max(betweenRefs, aboveNeeds+betweenLabels+belowNeeds-d.upper.reach-d.lower.reach)
	top := edge + d.upper.reach
	d.foot = top + between + max(d.lower.reach, d.caseFoot())
	d.upper.view = view{&d.strokes, d.axis, top, -1}
	d.lower.view = view{&d.strokes, d.axis, top + between, 1}

	d.damper()
	d.upper.put()
	d.lower.put()
	middle := min(max(top+between/2, edge+aboveNeeds+betweenLabels/2), d.foot-belowNeeds-betweenLabels/2)
	spread(d.upper.labels, edge, middle-betweenLabels/2)
	spread(d.lower.labels, middle+betweenLabels/2, d.foot)
	if d.numbered {
		d.number()
	}
	d.planes(&d.upper)
	d.planes(&d.lower)
	d.leaders(&d.upper)
	d.leaders(&d.lower)
	d.line(centre, d.axis, edge-6, d.axis, d.foot+6)
	d.tape()
}

// line draws between two places of the sheet.
func (d *endsDrawing) line(p pen, x1, y1, x2, y2 float64) {
	view{&d.strokes, 0, 0, 1}.line(p, x1, y1, x2, y2)
}

// chooseFittings finds the fittings of the two ends. The damper stands rod up,
// but where the upper end alone carries a wheel's spindle: it holds the body.
func (d *endsDrawing) chooseFittings() {
	g := d.guide
	d.upper.end, d.lower.end = g.Upper, g.Lower
	above, below := rodHalf, bodyHalf
	if d.rodDown() {
		above, below = bodyHalf, rodHalf
	}
	d.upper.fitting, d.lower.fitting = fittingOf(g.Upper.Style, above), fittingOf(g.Lower.Style, below)
}

func (d *endsDrawing) rodDown() bool {
	return d.guide.Upper.Style == mount.SpindleStrut && d.guide.Lower.Style != mount.SpindleStrut
}

// damper draws the damper between its two ends.
func (d *endsDrawing) damper() {
	from, to := d.upper.at(0, d.upper.joint).y, d.lower.at(0, d.lower.joint).y
	clamped := d.upper.end.Style == mount.SpindleStrut || d.lower.end.Style == mount.SpindleStrut
	if d.rodDown() {
		view{&d.strokes, d.axis, to, -1}.damper(to-from, !clamped)
		return
	}
	view{&d.strokes, d.axis, from, 1}.damper(to-from, !clamped)
}

// put draws the end's fitting, and beside it how it looks along its bolt.
func (p *placed) put() {
	p.draw(p.view)
	if p.along != nil {
		side := p.view
		side.x = p.sideX
		p.along(side)
		side.line(centre, 0, p.reach+6, 0, p.joint-34)
	}
	for i := range p.labels {
		l := &p.labels[i]
		l.anchor = p.at(l.u, l.v)
		if !l.plane && !l.own {
			p.dot(l.anchor)
		}
	}
}

// name gives an end its labels: its parts, the plane to measure to and, where
// that is another, the damper's own reference.
func (d *endsDrawing) name(p *placed) {
	mounted := d.mountOf(p)
	for _, part := range p.parts {
		p.labels = append(p.labels, label{u: part.u, v: part.v, text: d.words(note.New(note.Code("drawing_part_"+part.name), mounted))})
	}
	if len(d.guide.Outside) > 0 {
		return
	}
	chosen := p.end.Plane
	out := d.elbows - d.axis
	p.labels = append(p.labels, label{u: out, v: p.planes[chosen], plane: true, text: d.words(note.New(note.Code("drawing_plane_"+chosen.String()), mounted))})
	if own := mount.StylesOwn.Or(p.end.Style); own != chosen {
		p.labels = append(p.labels, label{u: out, v: p.planes[own], own: true, text: d.words(note.New("drawing_own_reference"))})
	}
}

// mountOf is what an end is fastened to: the upper one to the frame, the lower one
// to the axle or an arm.
func (d *endsDrawing) mountOf(p *placed) note.Value {
	if p == &d.lower {
		return note.Word("mount", "axle_or_arm")
	}
	return note.Word("mount", "frame")
}

// lines gives labels their lines and tells the height that they need one under
// another. A number takes one line.
func (d *endsDrawing) lines(labels []label) float64 {
	if !d.numbered {
		return breakAll(labels)
	}
	for i := range labels {
		labels[i].lines = make([]string, 1)
	}
	return needed(labels)
}

// number counts the labels from the top down.
func (d *endsDrawing) number() {
	n := 0
	for _, labels := range [][]label{d.upper.labels, d.lower.labels} {
		for i := range labels {
			n++
			labels[i].lines[0] = strconv.Itoa(n)
		}
	}
}

// planes draws the line of the plane to measure to, out to the tape, and
// that of the damper's own reference.
func (d *endsDrawing) planes(p *placed) {
	for i := range p.labels {
		switch l := &p.labels[i]; {
		case l.plane:
			d.line(extension, tapeX-bladeHalf, l.anchor.y, l.anchor.x, l.anchor.y)
		case l.own:
			d.line(centre, d.axis-p.half-beyond, l.anchor.y, l.anchor.x, l.anchor.y)
		}
	}
}

// leaders draws from each thing named straight out of the drawing and from
// there to its label.
func (d *endsDrawing) leaders(p *placed) {
	for i := range p.labels {
		l := &p.labels[i]
		view{&d.strokes, 0, 0, 1}.line(thin, l.anchor.x, l.anchor.y, d.elbows, l.anchor.y, d.elbows+leaderAcross-5, l.y)
	}
}

// sheet writes all of it.
func (d *endsDrawing) sheet(width int) {
	g := d.guide
	ends := []note.Value{note.Word("upper", g.Upper.Style.String()), note.Word("lower", g.Lower.Style.String())}
	title, caption, told := note.New("drawing_ends_title", ends...), note.New("drawing_ends_caption"), g.Holds()
	if len(g.Outside) > 0 {
		title, caption, told = note.New("drawing_ends_outside_title", ends...), d.outsideCaption(), g.Outside
	}
	wide := d.elbows + leaderAcross + labelsWide + edge
	size := labelSize
	if d.numbered {
		wide += numbersWide - labelsWide
		size = keySize
	}
	below := paragraphs{x: edge, y: d.foot + captionApart, size: size}
	below.add(0, `font-style="italic"`, broken(d.words(caption), size, wide-2*edge, false))
	if d.numbered {
		d.key(&below, wide-2*edge)
	}

	d.openEnds(wide, below.y-below.line()+edge, width)
	d.titled(d.id()+"-", title, told)
	d.strokes.write(d.canvas)
	fmt.Fprintf(&d.buf, `<g fill="currentColor" font-size="%s">`+"\n", num(size))
	for _, labels := range [][]label{d.upper.labels, d.lower.labels} {
		for i := range labels {
			d.label(&labels[i], size)
		}
	}
	if len(g.Outside) == 0 {
		middle := (d.upper.plane(g.Upper.Plane) + d.lower.plane(g.Lower.Plane)) / 2
		d.text(tapeX, middle+6.5, `font-size="18" font-weight="bold" text-anchor="middle"`, "L")
	}
	for _, t := range below.texts {
		d.text(t.x, t.y, t.attributes, t.words)
	}
	d.buf.WriteString("</g>\n</svg>\n")
}

// outsideCaption says why no length is drawn. From pin to pin a fork's damper can
// be measured; a strut with a spindle can't.
func (d *endsDrawing) outsideCaption() note.Note {
	if d.guide.Upper.Style == mount.SpindleStrut || d.guide.Lower.Style == mount.SpindleStrut {
		return note.New("drawing_ends_strut_caption")
	}
	return note.New("drawing_ends_fork_caption")
}

// key tells what the numbers stand for.
func (d *endsDrawing) key(below *paragraphs, wide float64) {
	for _, labels := range [][]label{d.upper.labels, d.lower.labels} {
		for i := range labels {
			l := &labels[i]
			below.y += keyApart
			below.texts = append(below.texts, placedText{below.x, below.y, l.attributes(), l.lines[0]})
			below.add(keyIndent, l.attributes(), broken(l.text, keySize, wide-keyIndent, l.plane))
		}
	}
}

// paragraphs are lines of text below a drawing.
type paragraphs struct {
	x, y  float64 // of the next line
	size  float64 // of the letters
	texts []placedText
}

type placedText struct {
	x, y              float64
	attributes, words string
}

func (p *paragraphs) line() float64 { return p.size * labelLine / labelSize }

func (p *paragraphs) add(indent float64, attributes string, lines []string) {
	for _, words := range lines {
		p.texts = append(p.texts, placedText{p.x + indent, p.y, attributes, words})
		p.y += p.line()
	}
}

// openEnds begins the drawing. Its height follows from its width.
func (d *endsDrawing) openEnds(wide, high float64, width int) {
	shown := float64(width)
	if width <= 0 {
		shown = wide
	}
	id := d.id()
	fmt.Fprintf(&d.buf, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %s %s" width="%s" height="%s" role="img" aria-labelledby="%s-title %s-desc" lang="%s" font-family="Helvetica, Arial, sans-serif">`+"\n",
		num(wide), num(high), num(shown), num(math.Round(high*shown/wide)), id, id, escaped(d.lang))
}

// id is unlike that of any other pair, so that several drawings can stand in
// one page.
func (d *endsDrawing) id() string {
	parts := []string{"ends"}
	for _, e := range []guide.End{d.guide.Upper, d.guide.Lower} {
		parts = append(parts, e.Style.String())
		if e.Plane != mount.StylesOwn {
			parts = append(parts, e.Plane.String())
		}
	}
	return strings.ReplaceAll(strings.Join(parts, "-"), "_", "-")
}

func (d *endsDrawing) label(l *label, size float64) {
	y := l.y - l.height()/2 + labelLine/2 + size*0.35
	for i, line := range l.lines {
		d.text(d.elbows+leaderAcross, y+labelLine*float64(i), l.attributes(), line)
	}
}
