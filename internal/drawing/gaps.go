package drawing

import (
	"strconv"

	"midstroke/internal/linkage"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// gapStyles are those of the curves of obstacles, in their order and again from
// the first. No two have both a colour and a dash in common.
var gapStyles = []struct{ colour, dash string }{
	{blue, ""}, {vermilion, "9 5"}, {"#009e73", "3 4"}, {"#cc79a7", "12 4 3 4"}, {ink, "6 3"},
}

// numberApart is how far apart the curves' numbers stand.
const numberApart = 20

// gaps draws the gap to each obstacle over wheel travel, with the gap that a
// moving damper needs, and below the panels what each curve stands for.
func (d *travelDrawing) gaps(across scale) {
	up := d.gapScale()
	d.grid(across, up, note.New("drawing_gaps", note.Word("unit", d.units.String())))
	least := up.at(linkage.ClearanceLeast.In(d.units))
	d.line(plotLeft, least, plotRight, least, ink, 1.4, "7 3 2 3")
	d.haloText(plotLeft+8, least-6, "start", d.words(note.New("drawing_gap_needed", note.Size("least", linkage.ClearanceLeast))))
	for i := range d.travel.Clearances {
		c, style := &d.travel.Clearances[i], gapStyles[i%len(gapStyles)]
		points := make([]point, len(c.Trace))
		for k, gap := range c.Trace {
			points[k] = point{across.at(d.travel.Trace[k].WheelTravel.In(d.units)), up.at(gap.In(d.units))}
		}
		d.curve(points, style.colour, style.dash)
		d.numberCurve(points, i)
	}
	y := d.foot + keyBelow
	for i, n := range d.gapNotes() {
		style := gapStyles[i%len(gapStyles)]
		d.curve([]point{{plotLeft, y - 4.5}, {plotLeft + 44, y - 4.5}}, style.colour, style.dash)
		for _, row := range d.keyRows(i, n) {
			d.text(plotLeft+rowWords, y, "font-size=\"13\"", row)
			y += lineSpacing
		}
	}
}

// keyRows are the lines of what the key says of obstacle i. Its name may be long.
func (d *travelDrawing) keyRows(i int, n note.Note) []string {
	rows := broken(d.words(n), rowSize, linesWide-rowWords, false)
	rows[0] = strconv.Itoa(i+1) + "  " + rows[0]
	return rows
}

// numberCurve writes the number of curve i on it, near its right end. Numbers
// stand one beside another, for curves may end close together.
func (d *travelDrawing) numberCurve(points []point, i int) {
	at := len(points) - 1
	for x := points[at].x - 6 - float64(i*numberApart); at > 0 && points[at].x > x; {
		at--
	}
	d.haloText(points[at].x, points[at].y-5, "middle", strconv.Itoa(i+1))
}

// gapNotes say the least gap to each obstacle and where it is.
func (d *travelDrawing) gapNotes() []note.Note {
	var notes []note.Note
	for i := range d.travel.Clearances {
		c := &d.travel.Clearances[i]
		values := []note.Value{note.Word("name", c.Name), note.AtMost("gap", c.Gap.Gap)}
		if c.Gap.OfAxle {
			notes = append(notes, note.New("drawing_gap_axle", append(values, note.Len("left", c.Gap.Left), note.Len("right", c.Gap.Right))...))
			continue
		}
		notes = append(notes, note.New("drawing_gap", append(values, note.Len("wheel_travel", c.Gap.WheelTravel))...))
	}
	return notes
}

// gapScale has room for every gap and for the one that is needed.
func (d *travelDrawing) gapScale() scale {
	low, high := linkage.ClearanceLeast, linkage.ClearanceLeast
	for i := range d.travel.Clearances {
		c := &d.travel.Clearances[i]
		low = min(low, c.Gap.Gap)
		for _, gap := range c.Trace {
			low, high = min(low, gap), max(high, gap)
		}
	}
	return widened(low.In(d.units), high.In(d.units), unit.Millimetre.In(d.units), gapFoot+d.lower, gapTop+d.lower, 5)
}
