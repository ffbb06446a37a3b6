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
	heatFoot   = 80.0
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

func (c *canvas) heat(m *coverage.Map, columns, rows int) {
	left, _, low, _ := heatRange(m)
	foot := heatTop + heatCell*float64(rows)
	for i := range m.Cells {
		cell := &m.Cells[i]
		x := heatLeft + heatCell*float64((cell.CompressedMost-left)/m.Step)
		y := foot - heatCell*float64((cell.ExtendedLeast-low)/m.Step+1)
		part := float64(cell.Unserved) / float64(cell.Weight)
		fmt.Fprintf(&c.buf, `<rect x="%s" y="%s" width="%s" height="%s" fill="%s" fill-opacity="%s" stroke="%s" stroke-width="0.5"/>`+"\n",
			num(x), num(y), num(heatCell), num(heatCell), vermilion, num(0.85*part), ink)
		c.text(x+heatCell/2, y+heatCell/2+4, `font-size="10" text-anchor="middle"`, strconv.FormatInt(cell.Unserved, 10))
	}
	scaleWords := func(l unit.Length) string { return strconv.FormatFloat(l.In(c.units), 'f', -1, 64) }
	for i := 0; i <= columns; i += 2 {
		c.text(heatLeft+heatCell*float64(i), foot+18, `font-size="11" text-anchor="middle"`, scaleWords(left+unit.Length(i)*m.Step))
	}
	for i := 0; i <= rows; i += 2 {
		c.text(heatLeft-8, foot-heatCell*float64(i)+4, `font-size="11" text-anchor="end"`, scaleWords(low+unit.Length(i)*m.Step))
	}
	unitWord := note.Word("unit", c.units.String())
	c.text(heatLeft, foot+42, `font-size="12"`, c.words(note.New("drawing_heat_compressed", unitWord)))
	c.text(heatLeft, heatTop-14, `font-size="12"`, c.words(note.New("drawing_heat_extended", unitWord)))
}
