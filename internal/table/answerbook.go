package table

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// BookKind is what a column of an AnswerBook holds.
type BookKind uint8

// The kinds.
const (
	BookKept   BookKind = iota // a cell of the sender's
	BookText                   // text
	BookLength                 // a length
	BookRatio                  // a number
	BookWhole                  // a whole number
	BookAmount                 // of money
	BookFlag                   // true or false
	BookStroke                 // a length with a bar in the cell
	BookGrade                  // a grade or an outcome, coloured
	BookFault                  // what is wrong with the row, which is marked by it
	bookKinds  = iota
)

// BookColumn is a column of an AnswerBook.
type BookColumn struct {
	Header string
	Kind   BookKind
	Width  float64
}

// BookCell is one cell: a text, or a number where the column holds numbers or Number
// says so.
type BookCell struct {
	Text   string
	Number bool
}

// AnswerBook writes a workbook of answers for people: the header stays in sight and
// filters, numbers have formats, rows with faults and grades are coloured.
type AnswerBook struct {
	to      io.Writer
	book    *workbookWriter
	out     *excelize.StreamWriter
	sheet   string
	columns []BookColumn
	styles  [bookKinds]int
	header  [2]int
	rows    int
	cells   []excelize.Cell
	values  []any
}

// The colours of an AnswerBook. Each is told by words beside it.
const (
	inkColour      = "1F2933"
	quietColour    = "52606D"
	entryColour    = "FBF3DC"
	keptColour     = "E4E7EB"
	answerColour   = "CFE3EA"
	barColour      = "5B8FA8"
	faultColour    = "F6C9C2"
	clearColour    = "CBE8D0"
	tightColour    = "F7E7B0"
	marginalColour = "F5CFA0"
)

// bookFont completes a font. Where a style names a font without its family, programs
// choose one of their own.
func bookFont(f excelize.Font) *excelize.Font {
	f.Family = "Calibri"
	if f.Size == 0 {
		f.Size = 11
	}
	if f.Color == "" {
		f.Color = inkColour
	}
	return &f
}

// landscape prints a sheet sideways, on so many pages across.
func landscape(f *excelize.File, sheet string, pages int) error {
	fit, sideways, down := true, "landscape", 0
	side, end := 0.4, 0.6 // inches
	return errors.Join(
		f.SetSheetProps(sheet, &excelize.SheetPropsOptions{FitToPage: &fit}),
		f.SetPageLayout(sheet, &excelize.PageLayoutOptions{Orientation: &sideways, FitToWidth: &pages, FitToHeight: &down}),
		f.SetPageMargins(sheet, &excelize.PageLayoutMarginsOptions{Left: &side, Right: &side, Top: &end, Bottom: &end}),
		f.SetHeaderFooter(sheet, &excelize.HeaderFooterOptions{OddFooter: "&L&A&R&P / &N"}),
	)
}

// printedSheet begins a sheet that is printed sideways, on so many pages across. A stream
// writes these settings before the rows, so they can't be made later.
func (w *workbookWriter) printedSheet(name string, pages int) (*excelize.StreamWriter, error) {
	if err := errors.Join(w.named(name), landscape(w.file, name, pages)); err != nil {
		return nil, err
	}
	return w.file.NewStreamWriter(name)
}

// widthAcross is the width of columns that is still read well on one page.
const widthAcross = 190

// pagesAcross is how many pages columns are printed on. Each page has the first one.
func pagesAcross(columns []BookColumn) int {
	if len(columns) == 0 {
		return 1
	}
	first, others := columns[0].Width, 0.0
	for _, c := range columns[1:] {
		others += c.Width
	}
	return max(1, int(math.Ceil(others/(widthAcross-first))))
}

// NewAnswerBook begins a workbook whose first sheet has that name. The caller ends it
// by Close.
func NewAnswerBook(w io.Writer, sheet string, columns []BookColumn) (*AnswerBook, error) {
	book, err := newWorkbook()
	if err != nil {
		return nil, err
	}
	b := &AnswerBook{to: w, book: book, sheet: sheet, columns: columns, cells: make([]excelize.Cell, len(columns)), values: make([]any, len(columns))}
	if err := b.makeStyles(); err != nil {
		return nil, errors.Join(err, book.file.Close())
	}
	if b.out, err = book.printedSheet(sheet, pagesAcross(columns)); err != nil {
		return nil, errors.Join(err, book.file.Close())
	}
	if err := b.begin(); err != nil {
		return nil, errors.Join(err, book.file.Close())
	}
	return b, nil
}

func (b *AnswerBook) makeStyles() (err error) {
	formats := [bookKinds]string{BookKept: "@", BookText: "@", BookLength: "0.0##", BookRatio: "0.000", BookWhole: "0", BookAmount: "#,##0.00", BookFlag: `"TRUE";"TRUE";"FALSE"`, BookStroke: "0.0##", BookGrade: "@", BookFault: "@"}
	for kind, format := range formats {
		style := &excelize.Style{CustomNumFmt: &format, Alignment: &excelize.Alignment{Vertical: "top"}}
		id, styleErr := b.book.file.NewStyle(style)
		b.styles[kind], err = id, errors.Join(err, styleErr)
	}
	for i, colour := range [...]string{keptColour, answerColour} {
		id, styleErr := b.book.file.NewStyle(&excelize.Style{
			Font: bookFont(excelize.Font{Bold: true}), Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{colour}},
			Alignment: &excelize.Alignment{WrapText: true, Vertical: "center"},
			Border:    []excelize.Border{{Type: "bottom", Color: inkColour, Style: 1}},
		})
		b.header[i], err = id, errors.Join(err, styleErr)
	}
	return err
}

// begin writes the header.
func (b *AnswerBook) begin() error {
	err := b.out.SetPanes(&excelize.Panes{Freeze: true, XSplit: 1, YSplit: 1, TopLeftCell: "B2", ActivePane: "bottomRight"})
	for i := range b.columns {
		c := &b.columns[i]
		style := b.header[1]
		if c.Kind == BookKept {
			style = b.header[0]
		}
		b.cells[i] = excelize.Cell{StyleID: style, Value: c.Header}
		b.values[i] = b.cells[i]
		err = errors.Join(err, b.out.SetColWidth(i+1, i+1, c.Width))
	}
	b.rows = 1
	return errors.Join(err, b.out.SetRow("A1", b.values, excelize.RowOpts{Height: 32}))
}

// Row writes a row of at most as many cells as there are columns.
func (b *AnswerBook) Row(cells []BookCell) error {
	if b.rows == mostSheetRows {
		return errors.New("a sheet has no room for more rows")
	}
	b.rows++
	for i := range b.values {
		b.values[i] = nil
		if i < len(cells) && cells[i].Text != "" {
			b.cells[i] = excelize.Cell{StyleID: b.styles[b.columns[i].Kind], Value: b.value(b.columns[i].Kind, cells[i])}
			b.values[i] = b.cells[i]
		}
	}
	return b.out.SetRow("A"+strconv.Itoa(b.rows), b.values)
}

func (b *AnswerBook) value(kind BookKind, c BookCell) any {
	switch kind {
	case BookLength, BookRatio, BookWhole, BookAmount, BookStroke:
		c.Number = true
	case BookFlag:
		return c.Text == "true"
	case BookKept, BookText, BookGrade, BookFault:
	}
	if c.Number {
		if n, err := strconv.ParseFloat(c.Text, 64); err == nil {
			return n
		}
	}
	// A text never becomes a formula in a cell of its own; it does in a CSV file made
	// of it.
	return Neutral(c.Text)
}

// Close ends the workbook with a second sheet of that name: a line for each of its
// rows, the first cell of which is bold.
func (b *AnswerBook) Close(about string, lines [][]string) (err error) {
	defer func() { err = errors.Join(err, b.book.file.Close()) }()
	if err := errors.Join(b.finish(), b.out.Flush(), b.writeAbout(about, lines)); err != nil {
		return err
	}
	return b.book.file.Write(b.to)
}

// Drop gives up a workbook that isn't wanted any more.
func (b *AnswerBook) Drop() error { return b.book.file.Close() }

// finish adds the filter and the colours, for which the last row must be known.
func (b *AnswerBook) finish() error {
	f := b.book.file
	last := columnLetters(len(b.columns)) + strconv.Itoa(b.rows)
	sheet := "'" + strings.ReplaceAll(b.sheet, "'", "''") + "'"
	err := errors.Join(f.AutoFilter(b.sheet, "A1:"+last, nil),
		f.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", RefersTo: sheet + "!$A:$A," + sheet + "!$1:$1", Scope: b.sheet}))
	if b.rows == 1 {
		return err
	}
	fill := func(colour string) *int {
		id, styleErr := f.NewConditionalStyle(&excelize.Style{Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{colour}}})
		err = errors.Join(err, styleErr)
		return &id
	}
	format := func(cells string, options ...excelize.ConditionalFormatOptions) {
		err = errors.Join(err, f.SetConditionalFormat(b.sheet, cells, options))
	}
	for i := range b.columns {
		letters := columnLetters(i + 1)
		cells := fmt.Sprintf("%s2:%s%d", letters, letters, b.rows)
		is := func(word, colour string) excelize.ConditionalFormatOptions {
			return excelize.ConditionalFormatOptions{Type: "cell", Criteria: "==", Value: `"` + word + `"`, Format: fill(colour)}
		}
		switch b.columns[i].Kind {
		case BookStroke:
			format(cells, excelize.ConditionalFormatOptions{Type: "data_bar", Criteria: "=", MinType: "num", MinValue: "0", MaxType: "max", BarColor: "#" + barColour, BarSolid: true})
		case BookGrade:
			format(cells, is("clear", clearColour), is("fits", clearColour), is("tight", tightColour), is("marginal", marginalColour),
				is("no_fit", tightColour), is("measure_again", marginalColour), is("outside_method", marginalColour))
		case BookFault:
			format("A2:"+last, excelize.ConditionalFormatOptions{Type: "formula", Criteria: fmt.Sprintf(`$%s2<>""`, letters), Format: fill(faultColour)})
		case BookKept, BookText, BookLength, BookRatio, BookWhole, BookAmount, BookFlag:
		}
	}
	return err
}

// aboutWidth is the width of the column of texts on the sheet about the answers.
const aboutWidth = 90

// writeAbout writes the sheet about the answers. Rows have the height of their text, since
// not every program finds that by itself.
func (b *AnswerBook) writeAbout(name string, lines [][]string) error {
	out, err := b.book.printedSheet(name, 1)
	if err != nil {
		return err
	}
	bold, err := b.book.file.NewStyle(&excelize.Style{Font: bookFont(excelize.Font{Bold: true}), Alignment: &excelize.Alignment{Vertical: "top", WrapText: true}})
	wrapped, wrapErr := b.book.file.NewStyle(&excelize.Style{Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}})
	err = errors.Join(err, wrapErr, out.SetColWidth(1, 1, 28), out.SetColWidth(2, 2, 14), out.SetColWidth(3, 3, aboutWidth))
	for i, line := range lines {
		row, height := make([]any, len(line)), lineHeight("", aboutWidth)
		for j, text := range line {
			style := wrapped
			if j == 0 {
				style = bold
			}
			if j == 2 {
				height = lineHeight(text, aboutWidth)
			}
			row[j] = excelize.Cell{StyleID: style, Value: text}
			if n, numberErr := strconv.Atoi(text); numberErr == nil {
				row[j] = excelize.Cell{StyleID: style, Value: n}
			}
		}
		err = errors.Join(err, out.SetRow("A"+strconv.Itoa(i+1), row, excelize.RowOpts{Height: height}))
	}
	return errors.Join(err, out.Flush())
}
