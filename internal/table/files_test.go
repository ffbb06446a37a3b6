package table_test

import (
	"archive/zip"
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"unicode/utf16"

	"midstroke/internal/catalog"
	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/table"
	"midstroke/internal/unit"
)

// file makes a file of a text.
func file(name string, content []byte) table.File {
	return table.File{Name: name, Data: bytes.NewReader(content), Size: int64(len(content))}
}

// names of all files of a catalogue, in the order in which they are written.
func names() []string {
	return []string{table.SettingsFile, table.DampersFile, table.SleevesFile, table.SpacersFile, table.AdaptersFile}
}

// readAll reads a catalogue and keeps all of it.
func readAll(files []table.File, progress table.Progress) (c catalog.Contents, err error) {
	settings, err := table.Read(files, table.Sink{
		Dampers: keep(&c.Dampers), Sleeves: keep(&c.Sleeves), Spacers: keep(&c.Spacers), Adapters: keep(&c.Adapters),
	}, progress)
	c.Currency, c.Limits = settings.Currency, settings.Limits
	return c, err
}

func keep[T any](list *[]T) func([]T) error {
	return func(rows []T) error {
		*list = append(*list, rows...)
		return nil
	}
}

// readTexts reads a catalogue from CSV files by their names.
func readTexts(texts map[string]string) (catalog.Contents, error) {
	var files []table.File
	for _, name := range names() {
		if text, ok := texts[name]; ok {
			files = append(files, file(name, []byte(text)))
		}
	}
	return readAll(files, nil)
}

// writeTexts writes a catalogue as CSV files by their names.
func writeTexts(c catalog.Contents, units unit.System) (map[string]string, error) {
	var b bytes.Buffer
	failed := table.Write(&b, table.CSV, c, units)
	archive, err := zip.NewReader(bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		return nil, err
	}
	texts := map[string]string{}
	for _, f := range archive.File {
		r, err := f.Open()
		if err != nil {
			return nil, err
		}
		text, err := io.ReadAll(r)
		if err != nil {
			return nil, err
		}
		texts[f.Name] = string(text)
	}
	return texts, failed
}

// A stream is a file that is read once, from its beginning to its end.
type stream struct {
	in *bufio.Reader
	at int64
}

func streamed(name string, in io.Reader) table.File {
	return table.File{Name: name, Data: &stream{in: bufio.NewReader(in)}, Size: 1 << 40}
}

func (s *stream) ReadAt(p []byte, at int64) (int, error) {
	if at == 0 && s.at == 0 && len(p) == 4 { // what kind of file it is
		head, err := s.in.Peek(4)
		return copy(p, head), err
	}
	if at != s.at {
		return 0, fmt.Errorf("at %d in place of %d", at, s.at)
	}
	n, err := s.in.Read(p)
	s.at += int64(n)
	return n, err
}

// A told is a fault without its words.
type told struct {
	File, Sheet         string
	Line                int
	Cell, Column, Value string
	Code                string
}

// faultsIn gives the faults that an error of Read is, none where it is nil. Any
// other error fails the test.
func faultsIn(t testing.TB, err error) fault.List {
	t.Helper()
	var faults *table.Faults
	if err != nil && !errors.As(err, &faults) {
		t.Fatal(err)
	}
	if faults == nil {
		return nil
	}
	return faults.List
}

// toldOf gives faults without their words, and checks that each has some in
// every language.
func toldOf(t testing.TB, faults fault.List) []told {
	t.Helper()
	var all []told
	for i := range faults {
		f := &faults[i]
		for _, lang := range note.Languages() {
			text, cure := f.Text(lang, unit.Unset), f.Cure(lang, unit.Unset)
			if text == "" || text == string(f.Code) || cure == "" || strings.HasSuffix(text, ".") || strings.HasSuffix(cure, ".") {
				t.Errorf("%s in %s: %q, cure %q", f.Code, lang, text, cure)
			}
			if f.Code != "json_object" && strings.ContainsAny(text+cure, "{}") {
				t.Errorf("%s in %s lacks a value: %q, cure %q", f.Code, lang, text, cure)
			}
		}
		all = append(all, told{f.File, f.Sheet, f.Line, f.Cell, f.Column, f.Value, f.Code.Public()})
	}
	return all
}

// A part is one file of an archive.
type part struct{ name, content string }

// zipped makes an archive.
func zipped(t testing.TB, parts ...part) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, p := range parts {
		f, err := w.Create(p.name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := f.Write([]byte(p.content)); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// A book is a workbook as it lies in its archive. What is "" is left out.
type book struct {
	properties string // attributes of workbookPr
	formats    string // numFmt elements
	cells      string // xf elements of cellXfs
	texts      string // si elements
	sheets     []sheet
	extra      []part
}

// A sheet is one sheet: the rows of sheetData, and what stands behind it.
type sheet struct{ name, state, rows, after string }

const xmlHead = `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>`

// parts gives what lies in the archive.
func (b book) parts() []part {
	var list, relations strings.Builder
	parts := []part{
		{"[Content_Types].xml", xmlHead + "<Types/>"},
		{"_rels/.rels", xmlHead + `<Relationships><Relationship Id="r1" Type="http://x/officeDocument" Target="xl/workbook.xml"/></Relationships>`},
	}
	for i, s := range b.sheets {
		state := ""
		if s.state != "" {
			state = ` state="` + s.state + `"`
		}
		fmt.Fprintf(&list, `<sheet name="%s" sheetId="%d"%s r:id="s%d"/>`, s.name, i+1, state, i+1)
		fmt.Fprintf(&relations, `<Relationship Id="s%d" Type="http://x/worksheet" Target="worksheets/sheet%d.xml"/>`, i+1, i+1)
		parts = append(parts, part{
			fmt.Sprintf("xl/worksheets/sheet%d.xml", i+1),
			xmlHead + `<worksheet xmlns="m"><sheetData>` + s.rows + `</sheetData>` + s.after + `</worksheet>`,
		})
	}
	relations.WriteString(`<Relationship Id="st" Type="http://x/styles" Target="/xl/styles.xml"/><Relationship Id="sh" Type="http://x/sharedStrings" Target="sharedStrings.xml"/>`)
	return append(append(parts,
		part{"xl/workbook.xml", xmlHead + `<workbook><workbookPr ` + b.properties + `/><sheets>` + list.String() + `</sheets></workbook>`},
		part{"xl/_rels/workbook.xml.rels", xmlHead + `<Relationships>` + relations.String() + `</Relationships>`},
		part{"xl/styles.xml", xmlHead + `<styleSheet><numFmts>` + b.formats + `</numFmts><cellStyleXfs><xf numFmtId="14"/></cellStyleXfs><cellXfs><xf numFmtId="0"/>` + b.cells + `</cellXfs></styleSheet>`},
		part{"xl/sharedStrings.xml", xmlHead + `<sst>` + b.texts + `</sst>`},
	), b.extra...)
}

func (b book) file(t testing.TB) []byte {
	t.Helper()
	return zipped(t, b.parts()...)
}

// textRow gives a row of inline texts.
func textRow(number int, cells ...string) string {
	var b strings.Builder
	fmt.Fprintf(&b, `<row r="%d">`, number)
	for i, c := range cells {
		if c == "" {
			continue
		}
		fmt.Fprintf(&b, `<c r="%c%d" t="inlineStr"><is><t>%s</t></is></c>`, 'A'+i, number, strings.NewReplacer("&", "&amp;", "<", "&lt;").Replace(c))
	}
	return b.String() + `</row>`
}

// damperCells are the cells of damperHeader's file.
func damperCells(line string) []string { return strings.Split(strings.TrimSpace(line), ",") }

// damperRows are a header and a damper, with one cell given as it stands in
// the XML.
func damperRows(column string, cell string) string {
	header := damperCells(damperHeader)
	row := textRow(2, damperCells(goodDamper)...)
	for i, name := range header {
		if name != column {
			continue
		}
		start := strings.Index(row, fmt.Sprintf(`<c r="%c2"`, 'A'+i))
		end := start + strings.Index(row[start:], "</c>") + len("</c>")
		row = row[:start] + fmt.Sprintf(`<c r="%c2"`, 'A'+i) + cell + row[end:]
	}
	return textRow(1, header...) + row
}

// dampersBook is a workbook of one damper with one cell changed.
func dampersBook(column, cell string) book {
	return book{sheets: []sheet{{name: "dampers", rows: damperRows(column, cell)}}}
}

func utf16Text(order binary.AppendByteOrder, text string) []byte {
	var b []byte
	for _, unit := range append([]uint16{0xFEFF}, utf16.Encode([]rune(text))...) {
		b = order.AppendUint16(b, unit)
	}
	return b
}
