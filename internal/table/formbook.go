package table

import (
	"errors"
	"io"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// FormBook is a workbook that people fill in and hand in: a sheet of rows, a sheet that
// explains, and a sheet of cells that ask the service themselves.
type FormBook struct {
	// FormSheet is the name of the sheet to fill in. Its header has Columns, and Examples
	// stand below.
	FormSheet string
	Columns   []FormColumn
	Examples  [][]string
	// GuideSheet is the name of the sheet that explains.
	GuideSheet string
	Lines      []GuideLine
	// AskSheet is the name of the sheet of cells that ask.
	AskSheet string
	Asks     []AskLine
}

// FormColumn is a column to fill in.
type FormColumn struct {
	Header, Note string
	// Words are the values to choose from, nil where there are others, too. WordsNote is
	// what a person is told who enters another one.
	Words     []string
	WordsNote string
	Needed    bool
}

// GuideLine is a line of the sheet that explains. One with a heading begins a part.
type GuideLine struct {
	Heading string
	// Of says what the text is about, and Columns name the columns that it fills in.
	Of, Text, Columns string
}

// AskLine is a line of the sheet of cells that ask: a label, and a value or a formula
// beside it.
type AskLine struct {
	Heading, Label, Value, Formula string
	Words                          []string
	// Hint stands behind the value. Number says that it shows the value as a number.
	Hint   string
	Number bool
}

// WriteFormBook writes the workbook.
func WriteFormBook(w io.Writer, b *FormBook) (err error) {
	book, err := newWorkbook()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, book.file.Close()) }()
	f := &formWriter{FormBook: b, book: book, File: book.file}
	if err := errors.Join(f.makeStyles(), f.rows(), f.guide(), f.cells()); err != nil {
		return err
	}
	return book.file.Write(w)
}

// formWriter writes the sheets of a FormBook.
type formWriter struct {
	*FormBook
	*excelize.File
	book *workbookWriter

	needed, free, example, wrapped, heading, entry, asked, hint int
}

func (w *formWriter) makeStyles() (err error) {
	text := "@"
	filled := func(colour string) excelize.Fill {
		return excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{colour}}
	}
	below := []excelize.Border{{Type: "bottom", Color: inkColour, Style: 1}}
	bold := bookFont(excelize.Font{Bold: true})
	top := &excelize.Alignment{Vertical: "top", WrapText: true}
	for _, one := range []struct {
		to    *int
		style excelize.Style
	}{
		{&w.needed, excelize.Style{CustomNumFmt: &text, Font: bold, Fill: filled(answerColour), Border: below}},
		{&w.free, excelize.Style{CustomNumFmt: &text, Font: bold, Fill: filled(keptColour), Border: below}},
		{&w.example, excelize.Style{CustomNumFmt: &text, Font: bookFont(excelize.Font{Italic: true, Color: quietColour})}},
		{&w.wrapped, excelize.Style{Alignment: top}},
		{&w.heading, excelize.Style{Font: bookFont(excelize.Font{Bold: true, Size: 13}), Border: below}},
		{&w.entry, excelize.Style{CustomNumFmt: &text, Fill: filled(entryColour), Border: below, Alignment: &excelize.Alignment{Horizontal: "left"}}},
		{&w.asked, excelize.Style{Font: bold, Fill: filled(answerColour), Alignment: &excelize.Alignment{Horizontal: "left"}}},
		{&w.hint, excelize.Style{Font: bookFont(excelize.Font{Color: quietColour}), Alignment: top}},
	} {
		id, styleErr := w.NewStyle(&one.style)
		*one.to, err = id, errors.Join(err, styleErr)
	}
	return err
}

// rows writes the sheet to fill in.
func (w *formWriter) rows() error {
	err := errors.Join(w.book.named(w.FormSheet), landscape(w.File, w.FormSheet, 2),
		w.SetPanes(w.FormSheet, &excelize.Panes{Freeze: true, XSplit: 1, YSplit: 1, TopLeftCell: "B2", ActivePane: "bottomRight"}),
		w.SetRowHeight(w.FormSheet, 1, 22))
	for i := range w.Columns {
		c := &w.Columns[i]
		letters := columnLetters(i + 1)
		style := w.free
		if c.Needed {
			style = w.needed
		}
		err = errors.Join(err,
			w.SetColWidth(w.FormSheet, letters, letters, float64(max(len(c.Header)+3, 12))),
			w.SetColStyle(w.FormSheet, letters, w.book.styles[textStyle]),
			w.put(w.FormSheet, letters+"1", style, c.Header),
			w.AddComment(w.FormSheet, excelize.Comment{Cell: letters + "1", Author: "midstroke", Text: c.Note, Width: 340, Height: 120}),
			w.choose(w.FormSheet, letters+"2:"+letters+strconv.Itoa(templateRows), c.Words, c.Header, c.WordsNote))
		for row := range w.Examples {
			err = errors.Join(err, w.put(w.FormSheet, letters+strconv.Itoa(row+2), w.example, w.Examples[row][i]))
		}
	}
	return err
}

// choose lets people choose from words.
func (w *formWriter) choose(sheet, cells string, words []string, title, text string) error {
	if words == nil {
		return nil
	}
	list := excelize.NewDataValidation(true)
	list.SetSqref(cells)
	list.SetError(excelize.DataValidationErrorStyleStop, title, text)
	return errors.Join(list.SetDropList(words), w.AddDataValidation(sheet, list))
}

// put writes a text into a cell, nothing for none.
func (w *formWriter) put(sheet, cell string, style int, text string) error {
	if text == "" {
		return nil
	}
	return errors.Join(w.SetCellStr(sheet, cell, text), w.SetCellStyle(sheet, cell, cell, style))
}

// guide writes the sheet that explains.
func (w *formWriter) guide() error {
	err := errors.Join(w.book.named(w.GuideSheet), w.readable(w.GuideSheet, 16, 90, 40))
	for i := range w.Lines {
		l := &w.Lines[i]
		row := strconv.Itoa(i + 1)
		err = errors.Join(err, w.put(w.GuideSheet, "A"+row, w.heading, l.Heading), w.put(w.GuideSheet, "A"+row, w.wrapped, l.Of),
			w.put(w.GuideSheet, "B"+row, w.wrapped, l.Text), w.put(w.GuideSheet, "C"+row, w.hint, l.Columns))
		if l.Text != "" {
			err = errors.Join(err, w.SetRowHeight(w.GuideSheet, i+1, max(lineHeight(l.Text, 90), lineHeight(l.Columns, 38))))
		}
	}
	return err
}

// lineHeight is how high a row must be, in points, for a text in a column of so many
// characters. Not every program finds that by itself.
func lineHeight(text string, width int) float64 {
	const line = 15
	return line * float64(1+len(text)/width)
}

// readable sets the widths of a sheet's columns, and how it is printed.
func (w *formWriter) readable(sheet string, widths ...float64) (err error) {
	for i, width := range widths {
		letters := columnLetters(i + 1)
		err = errors.Join(err, w.SetColWidth(sheet, letters, letters, width))
	}
	return errors.Join(err, landscape(w.File, sheet, 1))
}

// cells writes the sheet of cells that ask the service.
func (w *formWriter) cells() error {
	err := errors.Join(w.book.named(w.AskSheet), w.readable(w.AskSheet, 30, 44, 70))
	for i := range w.Asks {
		a := &w.Asks[i]
		row := strconv.Itoa(i + 1)
		at := "B" + row
		err = errors.Join(err, w.put(w.AskSheet, "A"+row, w.heading, a.Heading), w.put(w.AskSheet, "A"+row, w.wrapped, a.Label), w.choose(w.AskSheet, at, a.Words, a.Label, strings.Join(a.Words, ", ")))
		if a.Formula != "" {
			err = errors.Join(err, w.SetCellFormula(w.AskSheet, at, a.Formula), w.SetCellStyle(w.AskSheet, at, at, w.asked))
		} else if a.Label != "" {
			err = errors.Join(err, w.SetCellStr(w.AskSheet, at, a.Value), w.SetCellStyle(w.AskSheet, at, at, w.entry))
		}
		if a.Number {
			err = errors.Join(err, w.SetCellFormula(w.AskSheet, "C"+row, `IFERROR(_xlfn.NUMBERVALUE(`+at+`,"."),"")`), w.SetCellStyle(w.AskSheet, "C"+row, "C"+row, w.asked))
			continue
		}
		if err = errors.Join(err, w.put(w.AskSheet, "C"+row, w.hint, a.Hint)); len(a.Hint) > 70 {
			err = errors.Join(err, w.SetRowHeight(w.AskSheet, i+1, lineHeight(a.Hint, 70)))
		}
	}
	return err
}
