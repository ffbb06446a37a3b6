// Package drawing makes line drawings as SVG: curves that were computed, and
// the ends of a damper with what the tape is held to.
//
// A drawing is legible in print without colour: what differs in colour differs
// in dash or shape as well. A curve's colours are those of Okabe and Ito (Color
// Universal Design, 2008, from memory), which readers with any common colour
// blindness tell apart. It needs no font but the reader's own and no script.
package drawing

import (
	"io"

	"midstroke/internal/linkage"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// The sheet, in the drawing's own units.
const (
	sheetWidth  = 760
	sheetHeight = 620

	plotLeft    = 80
	plotRight   = 736
	lengthTop   = 172
	lengthFoot  = 402
	ratioTop    = 434
	ratioFoot   = 554
	gapTop      = 586
	gapFoot     = 706
	titleBelow  = 46 // of the wheel travel, from the foot of the lowest panel
	keyBelow    = 74 // of the obstacles' key, from there
	firstLine   = 30
	lineSpacing = 21
	titleSize   = 17.0
	linesWide   = sheetWidth - plotLeft - 24 // of what stands above the panels
	rowsAbove   = 6                          // for which the panels' places leave room
)

const (
	ink       = "#1a1a1a"
	grid      = "#c8c8c8"
	blue      = "#0072b2"
	vermilion = "#d55e00"
)

// Travel draws the damper's length and its motion ratio over wheel travel, with
// ride height, the shortest and the longest length marked, and the gaps to
// obstacles where there are any. It is in the units of s and the words of lang
// (English where there are none). For an axle the curves are pure heave. Its
// extremes, which may be with one wheel up and the other down, are drawn as
// levels. The same travel gives the same bytes. The error is w's.
func Travel(w io.Writer, t *linkage.Travel, s unit.System, lang string) error {
	if s == unit.Unset {
		s = unit.Millimetres
	}
	d := travelDrawing{travel: t, units: s, canvas: newCanvas(sheetWidth, sheetHeight, lang, s)}
	d.place()
	d.sheet()
	return d.writeTo(w)
}

type travelDrawing struct {
	*canvas
	travel *linkage.Travel
	units  unit.System
	lines  []note.Note
	// above are the title and the lines in rows that the sheet has room for.
	titleRows, above []string
	lower            float64 // how much lower the panels stand, for more rows
	foot             float64 // of the lowest panel
}

// place finds how far down everything stands. Words are longer in one language
// than in another.
func (d *travelDrawing) place() {
	d.lines = d.said()
	d.titleRows = broken(d.words(note.New("drawing_travel_title")), titleSize, linesWide, true)
	for _, l := range d.lines {
		d.above = append(d.above, broken(d.words(l), rowSize, linesWide, false)...)
	}
	more := max(0, len(d.titleRows)+len(d.above)-rowsAbove) * lineSpacing
	d.lower = float64(more)
	d.foot = ratioFoot + d.lower
	d.height = sheetHeight + more
	if len(d.travel.Clearances) == 0 {
		return
	}
	d.foot = gapFoot + d.lower
	rows := 0
	for i, n := range d.gapNotes() {
		rows += len(d.keyRows(i, n))
	}
	d.height = gapFoot + keyBelow + more + rows*lineSpacing
}

// said is what stands above the panels.
func (d *travelDrawing) said() []note.Note {
	t := d.travel
	axle := t.Kind == linkage.SolidAxle
	lines := []note.Note{
		note.New("drawing_ride", note.Len("length", t.RideLength), note.Num("motion_ratio", round(t.MotionRatio.AtRide, 4), "")),
		extremeNote("drawing_shortest", "drawing_shortest_axle", t.Shortest, axle),
		extremeNote("drawing_longest", "drawing_longest_axle", t.Longest, axle),
		note.New("drawing_required", note.AtLeast("compression", t.Compression), note.AtLeast("extension", t.Extension)),
	}
	if axle {
		lines = append(lines, note.New("drawing_axle"))
	}
	return lines
}

func (d *travelDrawing) sheet() {
	t := d.travel
	axle := t.Kind == linkage.SolidAxle
	d.open(note.New("drawing_travel_title"), append(d.lines[:len(d.lines):len(d.lines)], d.gapNotes()...))
	y := float64(firstLine)
	for _, row := range d.titleRows {
		d.text(plotLeft, y, "font-size=\"17\" font-weight=\"bold\"", row)
		y += lineSpacing
	}
	for _, row := range d.above {
		d.text(plotLeft, y, "font-size=\"13\"", row)
		y += lineSpacing
	}

	across := d.acrossScale()
	length := d.lengthScale()
	ratio := d.ratioScale()
	d.grid(across, length, note.New("drawing_length", note.Word("unit", d.units.String())))
	d.grid(across, ratio, note.New("drawing_motion_ratio"))
	if len(t.Clearances) > 0 {
		d.gaps(across)
	}
	d.feet(across)
	d.rideMark(across)
	if ratio.low < 0 && ratio.high > 0 {
		d.line(plotLeft, ratio.at(0), plotRight, ratio.at(0), ink, 1.2, "")
	}
	d.curves(across, length, ratio)
	if axle {
		d.levels(length)
	} else {
		d.extremeMarks(across, length)
	}
	d.close()
}

func extremeNote(code, ofAxle note.Code, e linkage.Extreme, axle bool) note.Note {
	if axle {
		return note.New(ofAxle, note.Len("length", e.Length), note.Len("left", e.Left), note.Len("right", e.Right))
	}
	return note.New(code, note.Len("length", e.Length), note.Len("wheel_travel", e.WheelTravel))
}

func (d *travelDrawing) acrossScale() scale {
	r := d.travel.Range
	return exact((-r.Droop).In(d.units), r.Bump.In(d.units), plotLeft, plotRight, 12)
}

func (d *travelDrawing) lengthScale() scale {
	t := d.travel
	return widened(t.Shortest.Length.In(d.units), t.Longest.Length.In(d.units), unit.Millimetre.In(d.units),
		lengthFoot+d.lower, lengthTop+d.lower, 6)
}

func (d *travelDrawing) ratioScale() scale {
	r := d.travel.MotionRatio
	return widened(r.Least, r.Most, 0.01, ratioFoot+d.lower, ratioTop+d.lower, 5)
}

// grid draws a panel: its levels with their figures, and its upright lines.
func (d *travelDrawing) grid(across, up scale, title note.Note) {
	places := up.places()
	for _, v := range up.ticks() {
		y := up.at(v)
		d.line(plotLeft, y, plotRight, y, grid, 0.8, "")
		d.text(plotLeft-8, y+4.5, "font-size=\"13\" text-anchor=\"end\"", d.inLanguage(figure(v, places)))
	}
	for _, v := range across.ticks() {
		d.line(across.at(v), up.from, across.at(v), up.to, grid, 0.8, "")
	}
	d.box(plotLeft, up.to, plotRight, up.from)
	middle := (up.from + up.to) / 2
	d.turnedText(22, middle, d.words(title))
}

// feet writes the figures and the title of the wheel travel.
func (d *travelDrawing) feet(across scale) {
	places := across.places()
	for _, v := range across.ticks() {
		d.text(across.at(v), d.foot+19, "font-size=\"13\" text-anchor=\"middle\"", d.inLanguage(figure(v, places)))
	}
	d.text((plotLeft+plotRight)/2, d.foot+titleBelow, "font-size=\"14\" text-anchor=\"middle\"",
		d.words(note.New("drawing_wheel_travel", note.Word("unit", d.units.String()))))
}

func (d *travelDrawing) rideMark(across scale) {
	x := across.at(0)
	top := lengthTop + d.lower
	d.line(x, top, x, d.foot, ink, 1.4, "2 4")
	anchor := "middle"
	switch {
	case x < plotLeft+60:
		anchor = "start"
	case x > plotRight-60:
		anchor = "end"
	}
	d.text(x, top-7, "font-size=\"13\" text-anchor=\""+anchor+"\"", d.words(note.New("drawing_ride_mark")))
}

func (d *travelDrawing) curves(across, length, ratio scale) {
	n := len(d.travel.Trace)
	lengths, ratios := make([]point, n), make([]point, n)
	for i, p := range d.travel.Trace {
		x := across.at(p.WheelTravel.In(d.units))
		lengths[i] = point{x, length.at(p.Length.In(d.units))}
		ratios[i] = point{x, ratio.at(p.MotionRatio)}
	}
	d.curve(lengths, blue, "")
	d.curve(ratios, vermilion, "9 5")
	ride := point{across.at(0), length.at(d.travel.RideLength.In(d.units))}
	d.disc(ride, blue)
	d.disc(point{across.at(0), ratio.at(d.travel.MotionRatio.AtRide)}, vermilion)
}

// extremeMarks points at the two extremes on the curve: from above at the
// longest and from below at the shortest, where the curve leaves room.
func (d *travelDrawing) extremeMarks(across, length scale) {
	mark := func(e linkage.Extreme, above bool, code note.Code) {
		p := point{across.at(e.WheelTravel.In(d.units)), length.at(e.Length.In(d.units))}
		way := 1.0
		if above {
			way = -1
		}
		p.y += 3 * way // clear of the line
		d.arrowhead(p, 11*way, ink)
		x, anchor := p.x+11, "start"
		if p.x > (plotLeft+plotRight)/2 {
			x, anchor = p.x-11, "end"
		}
		d.haloText(x, p.y+8*way+4, anchor, d.words(note.New(code)))
	}
	mark(d.travel.Longest, true, "drawing_longest_mark")
	mark(d.travel.Shortest, false, "drawing_shortest_mark")
}

// levels draws an axle's extremes, which need not lie on the curve of heave.
func (d *travelDrawing) levels(length scale) {
	level := func(l unit.Length, below bool, code note.Code) {
		y := length.at(l.In(d.units))
		d.line(plotLeft, y, plotRight, y, ink, 1.4, "7 3 2 3")
		if below {
			d.haloText(plotLeft+8, y-6, "start", d.words(note.New(code)))
		} else {
			d.haloText(plotRight-8, y+15, "end", d.words(note.New(code)))
		}
	}
	level(d.travel.Shortest.Length, true, "drawing_shortest_mark")
	level(d.travel.Longest.Length, false, "drawing_longest_mark")
}
