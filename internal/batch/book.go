package batch

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"midstroke/internal/note"
	"midstroke/internal/table"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
)

// drawingColumn draws the stroke of a row's damper. Only workbooks have it.
const drawingColumn = AnswerPrefix + "stroke_drawing"

// bookWriter writes a workbook.
type bookWriter struct {
	b     *Batch
	book  *table.AnswerBook
	cells []table.BookCell
	// drawnAfter is the place of the value that the drawing stands behind.
	drawnAfter int
}

func newBookWriter(b *Batch, w io.Writer) (*bookWriter, error) {
	book, err := table.NewAnswerBook(w, b.rows.Sheet, b.bookColumns())
	return &bookWriter{b: b, book: book, drawnAfter: b.drawnAfter()}, err
}

// bookColumns are the columns of the sheet: those of the sender, what is wrong with a
// row, and the answer with the drawing beside its figures. The words of a fault run on over
// the cells behind, which are empty in its row.
func (b *Batch) bookColumns() []table.BookColumn {
	var all []table.BookColumn
	for i := range b.columns {
		if c := &b.columns[i]; !c.earlier {
			all = append(all, table.BookColumn{Header: c.header, Kind: table.BookKept, Width: headerWidth(c.header, 10, 40)})
		}
	}
	all = append(all, table.BookColumn{Header: faultColumn, Kind: table.BookFault, Width: headerWidth(faultColumn, 0, 40)})
	for i := range b.Picks {
		p := &b.Picks[i]
		header := AnswerPrefix + p.Name
		all = append(all, table.BookColumn{Header: header, Kind: bookKind(p), Width: max(bookWidth(p), headerWidth(header, 0, 26))})
		if i == b.drawnAfter() {
			all = append(all, table.BookColumn{Header: drawingColumn, Kind: table.BookText, Width: 26})
		}
	}
	return append(all, table.BookColumn{Header: codesColumn, Kind: table.BookText, Width: 22})
}

// headerWidth is the width of a column that shows its header, within bounds.
func headerWidth(header string, least, most float64) float64 {
	const filterButton = 4
	return min(most, max(least, float64(len(header)+filterButton)))
}

// drawnAfter is the place of the value that the drawing of the stroke stands behind.
func (b *Batch) drawnAfter() int {
	for i := range b.Picks {
		if b.Picks[i].Name == "ride_position" {
			return i
		}
	}
	return len(b.Picks) - 1
}

// bookKind says how a column of picked values is shown.
func bookKind(p *wire.Picked) table.BookKind {
	switch {
	case p.Name == "effective_stroke" || p.Name == "damper_stroke":
		return table.BookStroke
	case p.Name == "grade" || p.Name == "outcome":
		return table.BookGrade
	}
	switch p.Kind {
	case wire.PickLength:
		return table.BookLength
	case wire.PickNumber:
		return table.BookRatio
	case wire.PickWhole:
		return table.BookWhole
	case wire.PickFlag:
		return table.BookFlag
	case wire.PickAmount:
		return table.BookAmount
	case wire.PickText:
	}
	return table.BookText
}

func bookWidth(p *wire.Picked) float64 {
	switch {
	case p.Kind != wire.PickText:
		return 13
	case strings.HasSuffix(p.Name, "text") || strings.HasSuffix(p.Name, "description"):
		return 34
	case p.Name == "pick_list" || p.Name == "reasons" || p.Name == "cautions":
		return 48
	}
	return 15
}

func (w *bookWriter) row(a *answered) error {
	w.cells = w.cells[:0]
	for i := range w.b.columns {
		if w.b.columns[i].earlier {
			continue
		}
		var c table.BookCell
		if i < len(a.row.Cells) {
			c.Text, c.Number = a.row.Cells[i], i < len(a.row.Numbers) && a.row.Numbers[i]
		}
		w.cells = append(w.cells, c)
	}
	w.cells = append(w.cells, table.BookCell{Text: a.fault})
	for i := range w.b.Picks {
		var c table.BookCell
		if i < len(a.values) {
			c.Text = a.values[i]
		}
		if w.cells = append(w.cells, c); i == w.drawnAfter {
			w.cells = append(w.cells, table.BookCell{Text: a.drawing})
		}
	}
	w.cells = append(w.cells, table.BookCell{Text: a.codes})
	return w.book.Row(w.cells)
}

func (w *bookWriter) flush() error { return nil }

func (w *bookWriter) end(s *Summary, broken bool) error {
	if broken {
		return w.book.Drop()
	}
	name := note.Term(w.b.Language, "about_answers")
	if strings.EqualFold(name, w.b.rows.Sheet) {
		name += " 2"
	}
	return w.book.Close(name, w.b.about(s))
}

// about says what the rows were answered from, how it went, what was assumed, and what
// the answer leaves out of the file.
func (b *Batch) about(s *Summary) [][]string {
	term := func(word string) string { return note.Term(b.Language, word) }
	lines := [][]string{
		{term("about_catalog"), b.Edition.Name}, {term("about_revision"), strconv.Itoa(b.Edition.Revision)},
		{term("about_rows"), strconv.Itoa(s.Rows)}, {term("about_faults"), strconv.Itoa(s.Faults)},
	}
	for _, outcome := range []string{"fits", "no_fit", "measure_again", "outside_method"} {
		if n := s.Outcomes[outcome]; n > 0 {
			lines = append(lines, []string{term(outcome), strconv.Itoa(n)})
		}
	}
	lines = append(lines, nil, []string{term("about_cautions"), term("about_rows")})
	for i := range s.Cautions {
		c := &s.Cautions[i]
		lines = append(lines, []string{string(c.Note.Code), strconv.Itoa(c.Rows), c.Note.Text(b.Language, unit.Millimetres)})
	}
	var left []string
	if sheets := b.rows.Beside.Sheets; len(sheets) > 0 {
		left = append(left, fmt.Sprintf("%s: %s", term("about_sheets"), strings.Join(sheets, ", ")))
	}
	if b.rows.Beside.Macros {
		left = append(left, term("about_macros"))
	}
	if b.rows.Beside.Links {
		left = append(left, term("about_links"))
	}
	if len(left) > 0 {
		lines = append(lines, nil, []string{term("about_left_out")})
		for _, text := range left {
			lines = append(lines, []string{"", "", text})
		}
	}
	return lines
}
