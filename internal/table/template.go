package table

import (
	"errors"
	"io"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"midstroke/internal/catalog"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// templateRows is how many rows below the header have lists to choose from.
const templateRows = 10_000

// Template writes a workbook to fill in: a sheet for each table with its header,
// a note on each column, lists to choose from, and the given parts as examples.
func Template(w io.Writer, examples catalog.Contents) (err error) {
	book, err := newWorkbook()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, book.file.Close()) }()
	sheets := map[string]Sheet{}
	for _, s := range Sheets(english) {
		sheets[s.Name] = s
	}
	err = writeTables(func(name string) (tableWriter, error) {
		return &templateWriter{book: book, about: sheets[name]}, nil
	}, &examples, unit.Millimetres)
	if err != nil {
		return err
	}
	return book.file.Write(w)
}

// A templateWriter writes one sheet of a template.
type templateWriter struct {
	book    *workbookWriter
	about   Sheet
	columns []column
	rows    int
}

func (w *templateWriter) begin(_ string, columns []column) error {
	w.columns = columns
	if err := w.book.named(w.about.Name); err != nil {
		return err
	}
	f, sheet := w.book.file, w.about.Name
	err := f.SetPanes(sheet, &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"})
	for i := range columns {
		letters, nameErr := excelize.ColumnNumberToName(i + 1)
		err = errors.Join(err, nameErr,
			f.SetColWidth(sheet, letters, letters, columns[i].width()),
			f.SetColStyle(sheet, letters, w.book.styles[columns[i].style()]),
			f.SetCellStr(sheet, letters+"1", columns[i].header),
			f.SetCellStyle(sheet, letters+"1", letters+"1", w.book.styles[headerStyle]),
			w.note(letters, &w.about.Columns[i]), w.choice(letters, &w.about.Columns[i]))
	}
	w.rows = 1
	return err
}

// note explains a column where its header is.
func (w *templateWriter) note(letters string, c *SheetColumn) error {
	text := c.Description + "\n" + c.Cells
	if c.Needed {
		needed := note.New("cell_needed")
		text += "\n" + needed.Text(english, unit.Unset)
	}
	return w.book.file.AddComment(w.about.Name, excelize.Comment{Cell: letters + "1", Author: "midstroke", Text: text, Width: 320, Height: 110})
}

// choice lets people choose from a column's words.
func (w *templateWriter) choice(letters string, c *SheetColumn) error {
	if c.Words == nil {
		return nil
	}
	list := excelize.NewDataValidation(true)
	list.SetSqref(letters + "2:" + letters + strconv.Itoa(templateRows))
	list.SetError(excelize.DataValidationErrorStyleStop, c.Header, "one of: "+strings.Join(c.Words, ", "))
	return errors.Join(list.SetDropList(c.Words), w.book.file.AddDataValidation(w.about.Name, list))
}

func (w *templateWriter) row(cells []string) error {
	w.rows++
	var err error
	for i, text := range cells {
		at, nameErr := excelize.CoordinatesToCellName(i+1, w.rows)
		err = errors.Join(err, nameErr)
		value, valueErr := w.columns[i].value(text)
		if err = errors.Join(err, valueErr); value == nil {
			continue
		}
		err = errors.Join(err, w.book.file.SetCellValue(w.about.Name, at, value))
	}
	return err
}

func (w *templateWriter) end() error { return nil }
