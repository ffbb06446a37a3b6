package table

import (
	"archive/zip"
	"bufio"
	"compress/flate"
	"fmt"
	"io"
	"strconv"
	"strings"

	"midstroke/internal/catalog"
	"midstroke/internal/unit"
)

// mostSheetRows is how many rows a sheet has (ISO/IEC 29500-1 sets no bound;
// every spreadsheet does at this one).
const mostSheetRows = 1 << 20

// A workbookWriter writes tables as the sheets of a workbook, one after the
// other. A table that is too long for one sheet goes on on the next, "dampers
// 2", which reading puts together again.
type workbookWriter struct {
	files  *zip.Writer
	sheets []string
	in     *bufio.Writer // the part that is being written
}

// writeWorkbook writes a workbook. The part that says what it is stands first,
// by which programs tell it from any archive; the lists of its sheets come
// last, when it is known how many there are.
func writeWorkbook(w io.Writer, c catalog.Contents, units unit.System) error {
	files := zip.NewWriter(w)
	files.RegisterCompressor(zip.Deflate, oneAfterTheOther())
	book := &workbookWriter{files: files}
	if err := book.whole("_rels/.rels", `<Relationships xmlns="`+packageNames+`/relationships"><Relationship Id="rId1" Type="`+relationTypes+
		`/officeDocument" Target="xl/workbook.xml"/></Relationships>`); err != nil {
		return err
	}
	faults := writeTables(func(name string) (tableWriter, error) { return &sheetWriter{book: book, name: name}, nil }, c, units)
	if err := book.end(); err != nil {
		return err
	}
	return faults
}

// oneAfterTheOther shrinks the parts of one archive, of which only one is open
// at a time, at the fastest level: markup says everything twice.
func oneAfterTheOther() zip.Compressor {
	var out *flate.Writer
	return func(w io.Writer) (_ io.WriteCloser, err error) {
		if out != nil {
			out.Reset(w)
			return out, nil
		}
		out, err = flate.NewWriter(w, flate.BestSpeed)
		return out, err
	}
}

const xmlHead = `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>` + "\n"

// The names of the transitional form, which every spreadsheet reads.
const (
	mainNames     = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
	relationTypes = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
	packageNames  = "http://schemas.openxmlformats.org/package/2006"
	partTypes     = "application/vnd.openxmlformats-officedocument.spreadsheetml."
)

// part begins a part; the one before it ends.
func (w *workbookWriter) part(name string) error {
	if err := w.flush(); err != nil {
		return err
	}
	out, err := createPart(w.files, name)
	w.in = bufio.NewWriterSize(out, bufferBytes)
	return err
}

// whole writes a part.
func (w *workbookWriter) whole(name, text string) error {
	if err := w.part(name); err != nil {
		return err
	}
	_, err := w.in.WriteString(xmlHead + text)
	return err
}

func (w *workbookWriter) flush() error {
	if w.in == nil {
		return nil
	}
	return w.in.Flush()
}

// sheet begins a sheet.
func (w *workbookWriter) sheet(name string) error {
	w.sheets = append(w.sheets, name)
	return w.part(sheetPart(len(w.sheets)))
}

func sheetPart(n int) string { return "xl/worksheets/sheet" + strconv.Itoa(n) + ".xml" }

// end writes the parts that tell of the others.
func (w *workbookWriter) end() error {
	var sheets, relations, types strings.Builder
	for i, name := range w.sheets {
		n := strconv.Itoa(i + 1)
		sheets.WriteString(`<sheet name="` + name + `" sheetId="` + n + `" r:id="rId` + n + `"/>`)
		relations.WriteString(`<Relationship Id="rId` + n + `" Type="` + relationTypes + `/worksheet" Target="` + strings.TrimPrefix(sheetPart(i+1), "xl/") + `"/>`)
		types.WriteString(`<Override PartName="/` + sheetPart(i+1) + `" ContentType="` + partTypes + `worksheet+xml"/>`)
	}
	for _, part := range []struct{ name, text string }{
		{"xl/styles.xml", stylesPart()},
		{"xl/workbook.xml", `<workbook xmlns="` + mainNames + `" xmlns:r="` + relationTypes + `"><sheets>` + sheets.String() + `</sheets></workbook>`},
		{"xl/_rels/workbook.xml.rels", `<Relationships xmlns="` + packageNames + `/relationships">` + relations.String() +
			`<Relationship Id="rIdStyles" Type="` + relationTypes + `/styles" Target="styles.xml"/></Relationships>`},
		{contentTypes, `<Types xmlns="` + packageNames + `/content-types">` +
			`<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>` +
			`<Default Extension="xml" ContentType="application/xml"/>` +
			`<Override PartName="/xl/workbook.xml" ContentType="` + partTypes + `sheet.main+xml"/>` + types.String() +
			`<Override PartName="/xl/styles.xml" ContentType="` + partTypes + `styles+xml"/></Types>`},
	} {
		if err := w.whole(part.name, part.text); err != nil {
			return err
		}
	}
	if err := w.flush(); err != nil {
		return err
	}
	return w.files.Close()
}

// The formats of the cells that are written, by their numbers in stylesPart.
const (
	textFormat   = 1
	lengthFormat = 2
	priceFormat  = 3
	headFormat   = 4
)

// stylesPart has the formats: cells are texts (number format 49), so that a
// spreadsheet which someone types 3/8 into makes no date of it; lengths
// without a unit and prices are numbers, the latter with two decimals (number
// format 2); headers are bold.
func stylesPart() string {
	return `<styleSheet xmlns="` + mainNames + `">` +
		`<fonts count="2"><font><sz val="11"/><name val="Calibri"/></font><font><b/><sz val="11"/><name val="Calibri"/></font></fonts>` +
		`<fills count="2"><fill><patternFill patternType="none"/></fill><fill><patternFill patternType="gray125"/></fill></fills>` +
		`<borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders>` +
		`<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs>` +
		`<cellXfs count="5"><xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>` +
		`<xf numFmtId="49" fontId="0" fillId="0" borderId="0" xfId="0" applyNumberFormat="1"/>` +
		`<xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>` +
		`<xf numFmtId="2" fontId="0" fillId="0" borderId="0" xfId="0" applyNumberFormat="1"/>` +
		`<xf numFmtId="49" fontId="1" fillId="0" borderId="0" xfId="0" applyNumberFormat="1" applyFont="1"/></cellXfs></styleSheet>`
}

// A sheetWriter writes one table.
type sheetWriter struct {
	book    *workbookWriter
	name    string
	shape   tableShape
	letters []string // of the columns
	sheets  int
	rows    int // of the present sheet
	line    []byte
}

func (w *sheetWriter) begin(t tableShape) error {
	w.shape = t
	for i := range t.columns {
		w.letters = append(w.letters, columnLetters(i+1))
	}
	return w.sheet()
}

// sheet begins a sheet with its header, which stays in sight.
func (w *sheetWriter) sheet() error {
	name := w.name
	if w.sheets++; w.sheets > 1 {
		name += " " + strconv.Itoa(w.sheets)
	}
	if err := w.book.sheet(name); err != nil {
		return err
	}
	w.rows = 0
	w.line = append(w.line[:0], xmlHead...)
	w.line = fmt.Appendf(w.line, `<worksheet xmlns="%s"><sheetViews><sheetView workbookViewId="0">`+
		`<pane ySplit="1" topLeftCell="A2" activePane="bottomLeft" state="frozen"/></sheetView></sheetViews><cols>`, mainNames)
	for i, c := range w.shape.columns {
		w.line = fmt.Appendf(w.line, `<col min="%d" max="%d" width="%d" style="%d" customWidth="1"/>`, i+1, i+1, columnWidth(&c), cellFormat(&c))
	}
	w.line = append(w.line, `</cols><sheetData>`...)
	w.open()
	for i, c := range w.shape.columns {
		w.text(i, headFormat, c.header)
	}
	return w.close()
}

func columnWidth(c *columnShape) int {
	if c.name == "description" {
		return 48
	}
	return max(len(c.header)+2, 12)
}

func cellFormat(c *columnShape) int {
	switch {
	case c.bare:
		return lengthFormat
	case c.form == amount:
		return priceFormat
	}
	return textFormat
}

// open begins a row.
func (w *sheetWriter) open() {
	w.rows++
	w.line = append(w.line, `<row r="`...)
	w.line = strconv.AppendInt(w.line, int64(w.rows), 10)
	w.line = append(w.line, `">`...)
}

func (w *sheetWriter) close() error {
	w.line = append(w.line, `</row>`...)
	_, err := w.book.in.Write(w.line)
	w.line = w.line[:0]
	return err
}

func (w *sheetWriter) row(cells []string) error {
	if w.rows == mostSheetRows {
		if err := w.end(); err != nil {
			return err
		}
		if err := w.sheet(); err != nil {
			return err
		}
	}
	w.open()
	for i, cell := range cells {
		switch c := &w.shape.columns[i]; {
		case cell == "":
		case c.form == amount:
			w.number(i, cell)
		case c.form == free:
			w.text(i, textFormat, guarded(cell))
		default:
			w.text(i, textFormat, cell)
		}
	}
	return w.close()
}

// cell begins a cell.
func (w *sheetWriter) cell(place, format int) {
	w.line = append(w.line, `<c r="`...)
	w.line = append(w.line, w.letters[place]...)
	w.line = strconv.AppendInt(w.line, int64(w.rows), 10)
	w.line = append(w.line, `" s="`...)
	w.line = strconv.AppendInt(w.line, int64(format), 10)
	w.line = append(w.line, '"')
}

func (w *sheetWriter) number(place int, digits string) {
	w.cell(place, cellFormat(&w.shape.columns[place]))
	w.line = append(w.line, `><v>`...)
	w.line = append(w.line, digits...)
	w.line = append(w.line, `</v></c>`...)
}

func (w *sheetWriter) text(place, format int, text string) {
	w.cell(place, format)
	w.line = append(w.line, ` t="inlineStr"><is><t>`...)
	w.line = appendEscaped(w.line, text)
	w.line = append(w.line, `</t></is></c>`...)
}

// appendEscaped writes a text into markup. What would be read as an escape of
// a workbook, and what XML can't hold, is escaped as a workbook does
// (ISO/IEC 29500-1, section 22.9.2.19).
func appendEscaped(b []byte, text string) []byte {
	for i, c := range text {
		switch c {
		case '&':
			b = append(b, "&amp;"...)
		case '<':
			b = append(b, "&lt;"...)
		case '>':
			b = append(b, "&gt;"...)
		case '_':
			if _, ok := escape([]byte(text[i:min(i+len("_x0000_"), len(text))])); ok {
				b = append(b, "_x005F"...)
			}
			b = append(b, '_')
		case '\ufffe', '\uffff':
			b = fmt.Appendf(b, "_x%04X_", c)
		default:
			b = append(b, string(c)...)
		}
	}
	return b
}

func (w *sheetWriter) end() error {
	_, err := w.book.in.WriteString(`</sheetData></worksheet>`)
	return err
}
