package table

import (
	"archive/zip"
	"cmp"
	"errors"
	"io"
	"slices"
	"strings"

	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// Kind is the kind of a file of rows.
type Kind uint8

// The kinds.
const (
	RowsOfCSV Kind = iota + 1
	RowsOfSheet
	RowsOfObjects
)

// Rows are the rows of one table, of any columns, read one at a time. The file is
// CSV, a workbook, or has a JSON object a line.
type Rows struct {
	Kind Kind
	// Header has the names of the columns as they stand; JSON objects have none.
	Header []string
	// Comma separates the cells of CSV.
	Comma byte
	// Sheet is the sheet of a workbook that is read. Beside lists what else the
	// workbook has, which isn't read.
	Sheet  string
	Beside Beside

	name   string
	src    source
	sheet  *sheetRows
	object *objectRows
	close  []io.Closer
	merged Faults
}

// Beside is what a workbook has beside the sheet that is read.
type Beside struct {
	Sheets        []string
	Macros, Links bool
}

// Row is one row of a file of rows.
type Row struct {
	// Line counts from 1; in a workbook it is the row.
	Line int
	// Cells are the cells without blanks around them. A row that can't be read has one
	// cell with its whole text.
	Cells []string
	// Numbers says of a workbook's cells which are numbers.
	Numbers []bool
	// Odd has, by column, why a cell holds no plain value, such as a date.
	Odd map[int]*fault.Fault
	// Members are those of a JSON object.
	Members []Member
	// Fault is why the row can't be read, nil for a row that can.
	Fault *fault.Fault
}

// OpenRows opens a file and reads its header. Of a workbook's visible sheets it takes
// the first whose header is wanted, else the first that isn't empty. What is wrong
// with the file as a whole is a *Faults.
func OpenRows(f File, wanted func(header []string) bool) (_ *Rows, err error) {
	r := &Rows{name: f.Name}
	defer func() {
		if err != nil {
			err = errors.Join(r.asFaults(err), r.Close())
		}
	}()
	in := &counted{in: f.Data, size: f.Size}
	head := make([]byte, 4)
	if n, err := in.ReadAt(head, 0); err != nil && !errors.Is(err, io.EOF) {
		return r, err
	} else if isArchive(head[:n]) {
		return r, r.openBook(in, wanted)
	}
	return r, r.openText(io.NewSectionReader(in, 0, f.Size))
}

// asFaults makes a *Faults of an error that is the file's fault.
func (r *Rows) asFaults(err error) error {
	var bad *fileError
	if !errors.As(err, &bad) {
		return err
	}
	var list Faults
	list.add(origin{file: r.name, sheet: r.Sheet}.put(bad.Fault, bad.position, "", ""))
	return &list
}

func (r *Rows) openText(in io.Reader) error {
	text, err := opened(in)
	if err != nil {
		return err
	}
	if head, _ := text.Peek(bufferBytes); isObjects(head) { // an error comes with the first row
		r.Kind, r.object = RowsOfObjects, newObjectRows(text)
		return nil
	}
	src := newCSVRows(text)
	r.Kind, r.src, r.Comma = RowsOfCSV, src, src.comma
	return r.readHeader()
}

// readHeader takes the first row that isn't blank as the header.
func (r *Rows) readHeader() error {
	header, err := firstRow(r.src)
	if errors.Is(err, io.EOF) {
		return unreadable(fileEmpty)
	}
	r.Header = slices.Clone(header)
	return err
}

// openBook opens the sheet of a workbook that is to be read.
func (r *Rows) openBook(in *counted, wanted func([]string) bool) error {
	zipped, err := openZip(in)
	if err != nil {
		return err
	}
	switch {
	case zipped.find("xl/workbook.bin") != nil:
		return unreadable(workbookBinary)
	case zipped.find("mimetype") != nil && zipped.find("content.xml") != nil:
		return unreadable(workbookOpen)
	case zipped.find(contentTypes) == nil:
		return unreadable(archiveForRows)
	}
	book := &workbook{zipFile: zipped}
	if err := book.open(); err != nil {
		return book.failed(err)
	}
	r.Kind = RowsOfSheet
	r.Beside.Macros = zipped.find("xl/vbaProject.bin") != nil
	r.Beside.Links = slices.ContainsFunc(zipped.files, func(f *zip.File) bool { return strings.HasPrefix(f.Name, "xl/externalLinks/") })
	chosen := -1
	for i := range book.sheets {
		header, err := book.header(i)
		switch {
		case err != nil:
			r.Sheet = book.sheets[i].name
			return err
		case header == nil || book.sheets[i].hidden:
		case chosen < 0, wanted(header) && !wanted(r.Header):
			chosen, r.Header = i, header
		}
	}
	if chosen < 0 {
		return unreadable(fileEmpty)
	}
	for i := range book.sheets {
		if i != chosen {
			r.Beside.Sheets = append(r.Beside.Sheets, book.sheets[i].name)
		}
	}
	return r.openSheet(book, chosen)
}

// header gives the header of a sheet, nil for an empty one.
func (w *workbook) header(i int) ([]string, error) {
	in, err := w.zipFile.open(w.sheets[i].part)
	if err != nil {
		return nil, err
	}
	defer func() { _ = in.Close() }() // it was only read
	src, err := newSheetRows(w, in)
	if err != nil {
		return nil, w.failed(err)
	}
	header, err := firstRow(src)
	if errors.Is(err, io.EOF) {
		return nil, nil
	}
	return slices.Clone(header), err
}

func (r *Rows) openSheet(book *workbook, i int) error {
	r.Sheet = book.sheets[i].name
	in, err := book.zipFile.open(book.sheets[i].part)
	if err != nil {
		return err
	}
	r.close = append(r.close, in)
	if r.sheet, err = newSheetRows(book, in); err != nil {
		return book.failed(err)
	}
	r.src, r.sheet.literal = r.sheet, true
	if err := r.readHeader(); err != nil {
		return err
	}
	r.sheet.width = len(r.Header)
	return nil
}

// Close ends the reading.
func (r *Rows) Close() (err error) {
	for _, c := range r.close {
		err = errors.Join(err, c.Close())
	}
	r.close = nil
	return err
}

// Next gives the next row, and io.EOF after the last. The slices of the row may be
// used until the next call, its texts for any time. An error that is the file's fault
// is a *Faults.
func (r *Rows) Next() (Row, error) {
	if r.object != nil {
		return r.nextObject()
	}
	for {
		cells, err := r.src.next()
		var bad *fileError
		switch {
		case err == nil:
			return r.row(cells), nil
		case errors.Is(err, io.EOF):
			return Row{}, cmp.Or(r.merged.Err(), io.EOF)
		case !errors.As(err, &bad) || bad.last:
			return Row{}, r.asFaults(err)
		case r.sheet != nil: // merged cells, of which the sheet tells at its end
			r.merged.add(origin{file: r.name, sheet: r.Sheet}.put(bad.Fault, bad.position, "", ""))
		default:
			text := strings.TrimRight(string(r.src.(*csvRows).record), "\n")
			return Row{Line: bad.line, Cells: []string{strings.ToValidUTF8(text, "\ufffd")}, Fault: &bad.Fault}, nil
		}
	}
}

func (r *Rows) row(cells []string) Row {
	row := Row{Line: r.src.at(wholeRow).line, Cells: cells}
	for _, odd := range r.src.odd() {
		if row.Odd == nil {
			row.Odd = map[int]*fault.Fault{}
		}
		row.Odd[odd.place] = odd.fault
	}
	if r.sheet != nil {
		row.Numbers = make([]bool, len(cells))
		for _, place := range r.sheet.numbers {
			row.Numbers[place] = true
		}
	}
	return row
}

func (r *Rows) nextObject() (Row, error) {
	members, err := r.object.next()
	row := Row{Line: r.object.lines, Members: members}
	var bad *fileError
	switch {
	case errors.As(err, &bad) && !bad.last:
		text := strings.TrimSpace(string(r.object.line))
		row.Members, row.Cells, row.Fault = nil, []string{strings.ToValidUTF8(text, "\ufffd")}, &bad.Fault
		return row, nil
	case err != nil:
		return row, r.asFaults(err)
	}
	return row, nil
}

// ColumnName gives the normal form of a column's name, in small letters and with
// underscores for blanks and hyphens, and the units that stand in brackets behind it:
// "Arch gap (mm)" is arch_gap in millimetres.
func ColumnName(header string) (name string, units unit.System) {
	name, units, _, bad := headerName(header)
	if bad {
		return normalisedWord(header), unit.Unset
	}
	return name, units
}

// NormalisedWord gives the normal form of a word that people write more freely: "Bar pin"
// is bar_pin.
func NormalisedWord(text string) string { return normalisedWord(text) }

// Diagnose says of a cell that can't be read whether its text shows what happened to
// it on its way: a formula, a date that was a fraction, the sign of a failed formula. It
// is nil where the text shows nothing of the kind.
func Diagnose(text string) *fault.Fault {
	if text == "" {
		return nil
	}
	if bad := betterReason(text, nil); bad != nil {
		return bad
	}
	return cell{text: text}.dated(nil)
}

// Neutral gives a text as it is written into a cell: with an apostrophe before one that
// a spreadsheet would take for a formula. A plain number is none.
func Neutral(text string) string {
	if text == "" || isPlainNumber(text) {
		return text
	}
	if text[0] == '\t' || text[0] == '\r' {
		return "'" + text
	}
	return guarded(text)
}

// isPlainNumber says whether a text is digits with at most a sign and a point.
func isPlainNumber(text string) bool {
	whole, decimals, point := strings.Cut(strings.TrimLeft(text[:1], "+-")+text[1:], ".")
	return isDigits(whole) && (!point || isDigits(decimals))
}

// CellsFault says that a row has another number of cells than the header.
func CellsFault(cells, header int) *fault.Fault {
	return problem(cellCount, note.Num("cells", float64(cells), ""), note.Num("header", float64(header), ""))
}
