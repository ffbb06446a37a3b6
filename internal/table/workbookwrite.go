package table

import (
	"archive/zip"
	"compress/flate"
	"errors"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"midstroke/internal/catalog"
	"midstroke/internal/unit"
)

// mostSheetRows is how many rows a sheet has in every spreadsheet.
const mostSheetRows = 1 << 20

// writeWorkbook writes a workbook of one sheet a table.
func writeWorkbook(w io.Writer, c *catalog.Contents, units unit.System) (err error) {
	book, err := newWorkbook()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, book.file.Close()) }()
	faults := writeTables(func(name string) (tableWriter, error) { return &sheetWriter{book: book, name: name}, nil }, c, units)
	if err := book.file.Write(w); err != nil {
		return err
	}
	return faults
}

// A workbookWriter writes tables as the sheets of a workbook.
type workbookWriter struct {
	file   *excelize.File
	styles map[style]int // the library's numbers
	sheets int
}

// A style is how the cells of a column are shown.
type style uint8

const (
	textStyle   style = iota // text, so that a spreadsheet makes no date of 3/8
	lengthStyle              // a number
	priceStyle               // a number with two decimals
	headerStyle              // bold text
)

func newWorkbook() (*workbookWriter, error) {
	w := &workbookWriter{file: excelize.NewFile(), styles: map[style]int{}}
	w.file.SetZipWriter(newSortedZip)
	err := errors.Join(
		w.file.SetAppProps(&excelize.AppProperties{Application: "midstroke"}),
		w.file.SetDocProps(&excelize.DocProperties{Creator: "midstroke"}),
	)
	// Number formats 49, 0 and 2 of ISO/IEC 29500-1, section 18.8.30.
	for s, look := range [...]excelize.Style{
		textStyle: {NumFmt: 49}, lengthStyle: {NumFmt: 0}, priceStyle: {NumFmt: 2},
		headerStyle: {NumFmt: 49, Font: &excelize.Font{Bold: true}},
	} {
		id, styleErr := w.file.NewStyle(&look)
		w.styles[style(s)], err = id, errors.Join(err, styleErr)
	}
	return w, err
}

// sheet begins a sheet.
func (w *workbookWriter) sheet(name string) (*excelize.StreamWriter, error) {
	if err := w.named(name); err != nil {
		return nil, err
	}
	return w.file.NewStreamWriter(name)
}

// named adds a sheet of that name.
func (w *workbookWriter) named(name string) (err error) {
	if w.sheets++; w.sheets == 1 {
		return w.file.SetSheetName(w.file.GetSheetName(0), name) // every new file has one
	}
	_, err = w.file.NewSheet(name)
	return err
}

// A sheetWriter writes one table. A table that is too long for one sheet goes on
// on the next, "dampers 2", which reading puts together again.
type sheetWriter struct {
	book    *workbookWriter
	name    string
	columns []column
	out     *excelize.StreamWriter
	sheets  int
	rows    int // of the present sheet
	cells   []excelize.Cell
	values  []any
}

func (w *sheetWriter) begin(_ string, columns []column) error {
	w.columns = columns
	w.cells, w.values = make([]excelize.Cell, len(columns)), make([]any, len(columns))
	return w.sheet()
}

// sheet begins a sheet with its header, which stays in sight.
func (w *sheetWriter) sheet() error {
	name := w.name
	if w.sheets++; w.sheets > 1 {
		name += " " + strconv.Itoa(w.sheets)
	}
	out, err := w.book.sheet(name)
	if err != nil {
		return err
	}
	w.out, w.rows = out, 0
	err = out.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"})
	for i := range w.columns {
		c := &w.columns[i]
		err = errors.Join(err, out.SetColWidth(i+1, i+1, c.width()), out.SetColStyle(i+1, i+1, w.book.styles[c.style()]))
		w.put(i, headerStyle, c.header)
	}
	return errors.Join(err, w.writeRow())
}

func (c *column) width() float64 {
	if c.name == "description" {
		return 48
	}
	return float64(max(len(c.header)+2, 12))
}

func (c *column) style() style {
	switch c.kind {
	case catalog.KindSigned:
		return lengthStyle
	case catalog.KindMoney:
		return priceStyle
	case catalog.KindText, catalog.KindLength, catalog.KindYesNo, catalog.KindOneOf, catalog.KindListOf, catalog.KindThread, catalog.KindNumber, catalog.KindForces:
	}
	return textStyle
}

// put puts a value into the present row.
func (w *sheetWriter) put(place int, s style, value any) {
	w.cells[place] = excelize.Cell{StyleID: w.book.styles[s], Value: value}
	w.values[place] = &w.cells[place]
}

func (w *sheetWriter) writeRow() error {
	w.rows++
	return w.out.SetRow("A"+strconv.Itoa(w.rows), w.values)
}

func (w *sheetWriter) row(cells []string) error {
	if w.rows == mostSheetRows {
		if err := errors.Join(w.end(), w.sheet()); err != nil {
			return err
		}
	}
	for i, cell := range cells {
		c := &w.columns[i]
		value, err := c.value(cell)
		if err != nil {
			return err
		}
		if w.values[i] = nil; value != nil {
			w.put(i, c.style(), value)
		}
	}
	return w.writeRow()
}

// value gives what a spreadsheet's cell holds for a cell of this column, nil for an
// empty one.
func (c *column) value(cell string) (any, error) {
	switch {
	case cell == "":
		return nil, nil
	case c.style() != textStyle:
		return strconv.ParseFloat(cell, 64) // at most 13 digits, so that it comes out as it went in
	case c.kind.IsFree():
		return guarded(cell), nil
	}
	return cell, nil
}

func (w *sheetWriter) end() error { return w.out.Flush() }

// A sortedZip writes the parts of an archive in the order of their names: the
// library writes sheets in any order, and the same contents are to give the same
// bytes. [Content_Types].xml comes first, by which programs tell a workbook from
// any other archive.
//
// The parts lie in a temporary file until then, since a large workbook has
// hundreds of megabytes.
type sortedZip struct {
	*zip.Writer // takes the parts as they come
	unsorted    *os.File
	err         error // why there is no such file
	out         io.Writer
}

func newSortedZip(out io.Writer) excelize.ZipWriter {
	s := &sortedZip{out: out}
	if s.unsorted, s.err = os.CreateTemp("", "midstroke-workbook-*"); s.err == nil {
		s.err = os.Remove(s.unsorted.Name()) // it goes with this process
	}
	s.Writer = zip.NewWriter(s)
	// The fastest level is enough, since markup repeats itself.
	s.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, flate.BestSpeed) })
	return s
}

// Write takes what the archive of unsorted parts is made of.
func (s *sortedZip) Write(p []byte) (int, error) {
	if s.err != nil {
		return 0, s.err
	}
	return s.unsorted.Write(p)
}

func (s *sortedZip) Close() (err error) {
	if s.unsorted != nil {
		defer func() { err = errors.Join(err, s.unsorted.Close()) }()
	}
	if err := s.Writer.Close(); err != nil {
		return err
	}
	size, err := s.unsorted.Seek(0, io.SeekCurrent)
	if err != nil {
		return err
	}
	parts, err := zip.NewReader(s.unsorted, size)
	if err != nil {
		return err
	}
	slices.SortFunc(parts.File, func(a, b *zip.File) int { return strings.Compare(a.Name, b.Name) })
	sorted := zip.NewWriter(s.out)
	for _, part := range parts.File {
		if err := sorted.Copy(part); err != nil {
			return err
		}
	}
	return sorted.Close()
}
