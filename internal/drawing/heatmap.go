package drawing

import (
	"fmt"
	"io"
	"strconv"

	"midstroke/internal/coverage"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// The measures of a heat map.
const (
	heatCell   = 34.0
	heatLeft   = 110.0
	heatTop    = 70.0
	heatRight  = 40.0
	heatFoot   = 150.0
	heatNarrow = 420.0
)

// HeatMap draws where demands lie over the two lengths that they ask for: each square has
// the weight that no damper serves, and is the redder the larger its part of the square
// is.
func HeatMap(w io.Writer, m *coverage.Map, units unit.System, lang string) error {
	columns, rows := heatSize(m)
	width := max(heatNarrow, heatLeft+heatCell*float64(columns)+heatRight)
	c := newCanvas(int(width), int(heatTop+heatCell*float64(rows)+heatFoot), lang, units)
	title := note.New("drawing_heat_title")
	c.open(title, []note.Note{note.New("drawing_heat_about")})
	c.text(heatLeft, 30, `font-size="16" font-weight="bold"`, c.words(title))
	if len(m.Cells) > 0 {
		c.heat(m, columns, rows)
	}
	c.close()
	return c.writeTo(w)
}

// heatSize gives how many squares a map has along each length.
func heatSize(m *coverage.Map) (columns, rows int) {
	if len(m.Cells) == 0 {
		return 0, 0
	}
	left, right, low, high := heatRange(m)
	return int((right-left)/m.Step) + 1, int((high-low)/m.Step) + 1
}

func heatRange(m *coverage.Map) (left, right, low, high unit.Length) {
	first := &m.Cells[0]
	left, right, low, high = first.CompressedMost, first.CompressedMost, first.ExtendedLeast, first.ExtendedLeast
	for i := range m.Cells {
		cell := &m.Cells[i]
		left, right = min(left, cell.CompressedMost), max(right, cell.CompressedMost)
		low, high = min(low, cell.ExtendedLeast), max(high, cell.ExtendedLeast)
	}
	return left, right, low, high
}

// heatSquare draws a square, the redder the larger the part of its demand is that no damper
// serves, and grey where all of it is served.
func (c *canvas) heatSquare(x, y, part float64) {
	fill, opacity := vermilion, 0.2+0.65*part
	if part == 0 {
		fill, opacity = ink, 0.1
	}
	fmt.Fprintf(&c.buf, `<rect x="%s" y="%s" width="%s" height="%s" fill="%s" fill-opacity="%s" stroke="%s" stroke-width="0.5"/>`+"\n",
		num(x), num(y), num(heatCell), num(heatCell), fill, num(opacity), ink)
}

// heatGrid draws lines under the squares, so that the eye finds their lengths.
func (c *canvas) heatGrid(columns, rows int, foot float64) {
	right, top := heatLeft+heatCell*float64(columns), foot-heatCell*float64(rows)
	line := func(x1, y1, x2, y2 float64) {
		fmt.Fprintf(&c.buf, `<line x1="%s" y1="%s" x2="%s" y2="%s" stroke="%s" stroke-opacity="0.12"/>`+"\n", num(x1), num(y1), num(x2), num(y2), ink)
	}
	for i := 0; i <= columns; i += 2 {
		x := heatLeft + heatCell*float64(i)
		line(x, top, x, foot)
	}
	for i := 0; i <= rows; i += 2 {
		y := foot - heatCell*float64(i)
		line(heatLeft, y, right, y)
	}
}

// heatKey says what the squares mean.
func (c *canvas) heatKey(at float64) {
	for i, one := range []struct {
		code note.Code
		part float64
	}{{"drawing_heat_gap", 1}, {"drawing_heat_served", 0}} {
		y := at + heatCell*1.2*float64(i)
		c.heatSquare(heatLeft, y, one.part)
		c.text(heatLeft+heatCell+10, y+heatCell/2+4, `font-size="12"`, c.words(note.New(one.code)))
	}
}

func (c *canvas) heat(m *coverage.Map, columns, rows int) {
	left, _, low, _ := heatRange(m)
	foot := heatTop + heatCell*float64(rows)
	c.heatGrid(columns, rows, foot)
	for i := range m.Cells {
		cell := &m.Cells[i]
		x := heatLeft + heatCell*float64((cell.CompressedMost-left)/m.Step)
		y := foot - heatCell*float64((cell.ExtendedLeast-low)/m.Step+1)
		c.heatSquare(x, y, float64(cell.Unserved)/float64(cell.Weight))
		told, weight := cell.Unserved, "bold"
		if told == 0 {
			told, weight = cell.Weight, "normal"
		}
		c.text(x+heatCell/2, y+heatCell/2+4, `font-size="10" text-anchor="middle" font-weight="`+weight+`"`, strconv.FormatInt(told, 10))
	}
	scaleWords := func(l unit.Length) string { return c.inLanguage(strconv.FormatFloat(l.In(c.units), 'f', -1, 64)) }
	for i := 0; i <= columns; i += 2 {
		c.text(heatLeft+heatCell*float64(i), foot+18, `font-size="11" text-anchor="middle"`, scaleWords(left+unit.Length(i)*m.Step))
	}
	for i := 0; i <= rows; i += 2 {
		c.text(heatLeft-8, foot-heatCell*float64(i)+4, `font-size="11" text-anchor="end"`, scaleWords(low+unit.Length(i)*m.Step))
	}
	unitWord := note.Word("unit", c.units.String())
	c.text(heatLeft, foot+42, `font-size="12"`, c.words(note.New("drawing_heat_compressed", unitWord)))
	c.heatKey(foot + 58)
	c.text(heatLeft, heatTop-14, `font-size="12"`, c.words(note.New("drawing_heat_extended", unitWord)))
}
