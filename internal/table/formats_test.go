package table_test

import (
	"bytes"
	"encoding/binary"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/table"
	"midstroke/internal/unit"
	"midstroke/testdata/demo"
)

var formats = []table.Format{table.CSV, table.XLSX, table.NDJSON}

func written(t testing.TB, f table.Format, c catalog.Contents, units unit.System) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := table.Write(&b, f, c, units); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// What is written in any format reads as the same contents, to the nanometre,
// and writes as the same bytes. The file's name says nothing.
func TestFormatsRoundTrip(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c := anyContents(rt)
		units := rapid.SampledFrom([]unit.System{unit.Inches, unit.Millimetres}).Draw(rt, "units")
		f := rapid.SampledFrom(formats).Draw(rt, "format")
		first := written(t, f, c, units)
		read, err := readAll([]table.File{file("", first)}, nil)
		if err != nil {
			rt.Fatalf("%v: %v", f, err)
		}
		if !equalContents(c, read) {
			rt.Fatalf("%v: wrote %+v\nread %+v", f, c, read)
		}
		if !bytes.Equal(first, written(t, f, read, units)) {
			rt.Fatalf("%v: written again it is something else", f)
		}
	})
}

func TestFormatsOfTheDemo(t *testing.T) {
	for _, f := range formats {
		read, err := readAll([]table.File{file("demo", written(t, f, demo.Contents(), unit.Inches))}, nil)
		if err != nil {
			t.Fatalf("%v: %v", f, err)
		}
		if !equalContents(read, demo.Contents()) {
			t.Errorf("%v: read as something else", f)
		}
	}
}

// A line of JSON has the contract's own names and kinds of value.
func TestObjectsAreThoseOfTheContract(t *testing.T) {
	eye := mount.End{Style: mount.Eye, Bore: unit.Inch * 3 / 4, Width: unit.Inch * 3 / 2}
	c := catalog.Contents{Currency: "EUR", Limits: mount.UsualLimits(), Dampers: []catalog.Damper{{
		Code: "a", Construction: catalog.TwinTube, Adjusters: catalog.Compression | catalog.Rebound,
		Compressed: unit.Inch * 109 / 8, Extended: unit.Inch * 170 / 8, LengthTolerance: unit.Inch / 16, BodyDiameter: 2 * unit.Inch,
		Upper: eye, Lower: eye, Price: mount.NoPrice,
	}}}
	lines := strings.Split(string(written(t, table.NDJSON, c, unit.Inches)), "\n")
	var damper struct {
		Kind, Code, Construction, Compressed, Price string
		Gas                                         *bool
		Adjusters                                   []string
		Upper                                       struct{ Style, Bore string }
	}
	if err := json.Unmarshal([]byte(lines[1]), &damper); err != nil {
		t.Fatal(err)
	}
	if damper.Kind != "damper" || damper.Compressed != "13 5/8 in" || damper.Gas == nil || *damper.Gas ||
		!slices.Equal(damper.Adjusters, []string{"compression", "rebound"}) || damper.Upper.Style != "eye" || damper.Upper.Bore != "3/4 in" {
		t.Errorf("%+v of %s", damper, lines[1])
	}
	if lines[0] != `{"kind":"catalog","currency":"EUR","sleeve_gap_least":"0 in","sleeve_gap_most":"0.3 mm","bolt_gap_least":"0.05 mm","bolt_gap_most":"0.6 mm","left_over_most":"0.5 mm"}` {
		t.Errorf("got %s", lines[0])
	}
}

// Bare numbers are in the object's units, wherever those stand in it; names
// may be flat; null is as good as nothing.
func TestObjectSpellings(t *testing.T) {
	want := mount.Adapter{
		Code: "x", From: mount.End{Style: mount.Eye, Bore: 20 * unit.Millimetre}, To: mount.End{Style: mount.BarPin},
		AddsLength: -12 * unit.Millimetre, InStock: true, Price: 350,
	}
	for name, line := range map[string]string{
		"nested":       `{"kind":"adapter","units":"mm","code":"x","from":{"style":"eye","bore":20},"to":{"style":"bar_pin"},"adds_length":-12,"in_stock":true,"price":3.5}`,
		"flat":         `{"code":"x","from_style":"eye","from_bore":"20 mm","to_style":"bar pin","adds_length":"-1.2 cm","in_stock":"yes","price":"3.50","kind":"adapters"}`,
		"units behind": ` { "adds_length" : -12.000, "price":"3.5","code":" x ","description":null,"from":{"style":"eye","bore":2e1,"width":null}, "to":{"style":"bar_pin"},"in_stock":true,"units":"mm","kind":"adapter"} `,
	} {
		t.Run(name, func(t *testing.T) {
			text := `{"kind":"catalog","currency":"EUR"}` + "\r\n\r\n" + strings.Replace(line, "2e1", "20.0", 1) + "\r\n" +
				`{"kind":"damper","code":"d","construction":"monotube","compressed":"300 mm","extended":"400 mm","length_tolerance":"0 mm","body_diameter":"50 mm","upper":{"style":"eye"},"lower":{"style":"eye"}}`
			c, err := readAll([]table.File{file("a", []byte(text))}, nil)
			if err != nil {
				t.Fatal(err)
			}
			if len(c.Adapters) != 1 || c.Adapters[0] != want {
				t.Errorf("got  %+v\nwant %+v", c.Adapters, want)
			}
		})
	}
}

// Encodings and delimiters that say what they are, in files of any name.
func TestReadTellsFilesByTheirContent(t *testing.T) {
	want, err := readAll([]table.File{file("x", []byte(damperHeader+goodDamper))}, nil)
	if err != nil {
		t.Fatal(err)
	}
	const sleeves = "code;outer (mm);bore (mm);length (mm)\ns;19;12;30\n"
	described := "description," + damperHeader + "länger 💡," + goodDamper
	for name, files := range map[string][]table.File{
		"UTF-16, little end first": {file("a.txt", utf16Text(binary.LittleEndian, damperHeader+goodDamper))},
		"UTF-16, big end first":    {file("a.txt", utf16Text(binary.BigEndian, strings.ReplaceAll(damperHeader+goodDamper, ",", "\t")))},
		"delimiter named":          {file("a.csv", []byte("sep=;\r\n"+strings.ReplaceAll(damperHeader+goodDamper, ",", ";")))},
		"another's name":           {file("sleeves.csv", []byte(damperHeader+goodDamper))},
		"folder in an archive":     {file("a.zip", zipped(t, part{"__MACOSX/x", "?"}, part{"my parts/1.csv", damperHeader + goodDamper}))},
		"workbook without a name":  {file("a", book{sheets: []sheet{{name: "Sheet1", rows: damperRows("", "")}, {name: "Sheet2"}}}.file(t))},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := readAll(files, nil)
			if err != nil {
				t.Fatal(err)
			}
			if !equalContents(got, want) {
				t.Errorf("got %+v", got)
			}
		})
	}
	c, err := readAll([]table.File{file("1", utf16Text(binary.LittleEndian, described)), file("2", []byte(sleeves))}, nil)
	if err != nil || len(c.Sleeves) != 1 || c.Sleeves[0].Bore != 12*unit.Millimetre || c.Dampers[0].Description != "länger 💡" {
		t.Errorf("got %+v, %v", c, err)
	}
}

// Several tables of a kind make one list, in their order.
func TestReadPutsTablesTogether(t *testing.T) {
	second := strings.Replace(goodDamper, "a,", "b,", 1)
	c, err := readAll([]table.File{
		file("2.csv", []byte(damperHeader+second)),
		file("1.xlsx", book{sheets: []sheet{{name: "x", rows: damperRows("", "")}}}.file(t)),
	}, nil)
	if err != nil || len(c.Dampers) != 2 || c.Dampers[0].Code != "b" || c.Dampers[1].Code != "a" {
		t.Errorf("got %+v, %v", c.Dampers, err)
	}
}

// What cells of a workbook are kept as, and what they are read as.
func TestReadCellsOfWorkbooks(t *testing.T) {
	for _, c := range []struct {
		name, formats, cells, texts, column, cell string
		want                                      string // the damper's code or compressed length
	}{
		{name: "shared text", texts: `<si><t>zero</t></si><si><t xml:space="preserve"> b </t></si>`, column: "code", cell: ` t="s"><v>1</v></c>`, want: "b"},
		{name: "text of runs", texts: `<si><r><rPr><b/></rPr><t>13 </t></r><r><t>5/8 in</t></r><rPh sb="0" eb="1"><t>no</t></rPh></si>`, column: "compressed", cell: ` t="s"><v>0</v></c>`, want: "13 5/8 in"},
		{name: "escape", column: "code", cell: ` t="inlineStr"><is><t>a_x0041__x005F_x0041_</t></is></c>`, want: "aA_x0041_"},
		{name: "entities", column: "code", cell: ` t="str"><v>a&amp;&lt;&#65;&#x42;<![CDATA[<&]]>c<!-- d -->e</v></c>`, want: "a&<AB<&ce"},
		{name: "guarded", column: "code", cell: ` t="str"><v>'=a</v></c>`, want: "=a"},
		{name: "number for a code", column: "code", cell: `><v>4012345678901</v></c>`, want: "4012345678901"},
		{name: "number with an exponent", column: "code", cell: `><v>4.012345678901E12</v></c>`, want: "4012345678901"},
		{name: "number filled up", formats: `<numFmt numFmtId="164" formatCode="00000"/>`, cells: `<xf numFmtId="164"/>`, column: "code", cell: ` s="1"><v>123</v></c>`, want: "00123"},
		// The nearest float64 to 346.075 is kept with 17 digits.
		{name: "unit in the format", formats: `<numFmt numFmtId="165" formatCode="0.00&quot; mm&quot;;-0.00"/>`, cells: `<xf numFmtId="165"/>`, column: "compressed", cell: ` s="1"><v>346.07499999999999</v></c>`, want: "13 5/8 in"},
		{name: "inch sign in the format", formats: `<numFmt numFmtId="165" formatCode="# ?/?\&quot;"/>`, cells: `<xf numFmtId="165"/>`, column: "compressed", cell: ` s="1"><v>13.625</v></c>`, want: "13 5/8 in"},
		{name: "colour and currency are no date", formats: `<numFmt numFmtId="165" formatCode="[Red][$€-407]#,##0.00_m&quot; in&quot;"/>`, cells: `<xf numFmtId="165"/>`, column: "compressed", cell: ` s="1"><v>13.625</v></c>`, want: "13 5/8 in"},
		{name: "formula with its value", column: "compressed", cell: ` t="str"><f>TEXT(B2,"# ?/?")&amp;" in"</f><v>13 5/8 in</v></c>`, want: "13 5/8 in"},
		{name: "prefix", column: "code", cell: ` t="inlineStr"><x:is><x:t>b</x:t></x:is></c>`, want: "b"},
		{name: "single quotes", column: "code", cell: ` t='str' x='>"'><v>b</v></c>`, want: "b"},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := dampersBook(c.column, c.cell)
			b.formats, b.cells, b.texts = c.formats, c.cells, c.texts
			read, err := readAll([]table.File{file("a.xlsx", b.file(t))}, nil)
			if err != nil {
				t.Fatal(err)
			}
			got := read.Dampers[0].Code
			if c.column == "compressed" {
				got = read.Dampers[0].Compressed.Text(unit.Inches)
			}
			if got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}

// A sheet may leave out the names of its rows and cells, hold blank rows, have
// columns to the left of the table, and merge cells away from it.
func TestReadSheetsAsTheyAre(t *testing.T) {
	header, damper := damperCells(damperHeader), damperCells(goodDamper)
	bare := func(row string) string {
		row = row[strings.Index(row, ">")+1:]
		for _, c := range "ABCDEFGHIJ" {
			for _, n := range "12" {
				row = strings.Replace(row, fmt.Sprintf(` r="%c%c"`, c, n), "", 1)
			}
		}
		return "<row>" + row
	}
	shifted := func(number int, cells []string) string { return textRow(number, append([]string{"", ""}, cells...)...) }
	for name, s := range map[string]sheet{
		"no names":     {rows: bare(textRow(1, header...)) + bare(textRow(2, damper...))},
		"blank rows":   {rows: `<row r="1"/><row r="2"><c r="A2" s="1"/></row>` + textRow(3, header...) + `<row r="4"><c r="XFD4"><v></v></c></row>` + textRow(1<<20, damper...)},
		"to the right": {rows: shifted(1, header) + shifted(2, damper)},
		"merged away":  {rows: textRow(1, header...) + textRow(2, damper...), after: `<mergeCells><mergeCell ref="M1:N2"/><mergeCell ref="A9:C9"/></mergeCells><pageSetup/>`},
	} {
		t.Run(name, func(t *testing.T) {
			s.name = "dampers"
			c, err := readAll([]table.File{file("a.xlsx", book{sheets: []sheet{s}}.file(t))}, nil)
			if err != nil || len(c.Dampers) != 1 || c.Dampers[0].Code != "a" {
				t.Errorf("got %+v, %v", c.Dampers, err)
			}
		})
	}
}

// An independent library (excelize) reads the cells that are written: texts as
// they stand in CSV, prices as numbers, nothing as a formula or a date.
func TestWorkbooksReadElsewhere(t *testing.T) {
	c := demo.Contents()
	c.Dampers[3].Code, c.Dampers[3].Description = "=1+1", "two\nlines, \"<&>\" _x0041_"
	f, err := excelize.OpenReader(bytes.NewReader(written(t, table.XLSX, c, unit.Inches)))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	if got, want := f.GetSheetList(), []string{"catalog", "dampers", "sleeves", "spacers", "adapters"}; !slices.Equal(got, want) {
		t.Fatalf("sheets %q", got)
	}
	files, err := writeTexts(c, unit.Inches)
	if err != nil {
		t.Fatal(err)
	}
	for _, sheet := range f.GetSheetList() {
		rows, err := f.GetRows(sheet)
		if err != nil {
			t.Fatal(err)
		}
		want := csvRows(t, files[sheet+".csv"])
		if len(rows) != len(want) {
			t.Fatalf("%s has %d rows, not %d", sheet, len(rows), len(want))
		}
		for i, row := range want {
			for j, text := range row {
				got := ""
				if j < len(rows[i]) {
					got = rows[i][j]
				}
				if got != text {
					t.Errorf("%s, row %d, column %d: %q, not %q", sheet, i+1, j+1, got, text)
				}
			}
		}
	}
	if formula, err := f.GetCellFormula("dampers", "A5"); err != nil || formula != "" {
		t.Errorf("formula %q, %v", formula, err)
	}
}

func csvRows(t testing.TB, text string) [][]string {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// What an independent library (excelize) writes is read, its dates are found,
// and its formulas have no values before a spreadsheet has saved the file.
func TestWorkbooksWrittenElsewhere(t *testing.T) {
	f := excelize.NewFile()
	defer func() { _ = f.Close() }()
	save := func() table.File {
		t.Helper()
		var b bytes.Buffer
		if err := f.Write(&b); err != nil {
			t.Fatal(err)
		}
		return file("a.xlsx", b.Bytes())
	}
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	header, damper := damperCells(damperHeader), damperCells(goodDamper)
	must(f.SetSheetRow("Sheet1", "A1", &header))
	must(f.SetSheetRow("Sheet1", "A2", &damper))
	must(f.SetCellValue("Sheet1", "A2", 12345))
	want, err := readAll([]table.File{file("x", []byte(damperHeader+strings.Replace(goodDamper, "a,", "12345,", 1)))}, nil)
	must(err)
	if got, err := readAll([]table.File{save()}, nil); err != nil || !equalContents(got, want) {
		t.Fatalf("got %+v, %v", got, err)
	}
	style, err := f.NewStyle(&excelize.Style{NumFmt: 16})
	must(err)
	must(f.SetCellValue("Sheet1", "H2", 46089))
	must(f.SetCellStyle("Sheet1", "H2", "H2", style))
	must(f.SetCellValue("Sheet1", "F2", nil))
	must(f.SetCellFormula("Sheet1", "F2", "D2-C2"))
	must(f.MergeCell("Sheet1", "B2", "B3"))
	got := readFaults(t, save())
	at := func(cell, column, value, code string) told {
		return told{File: "a.xlsx", Sheet: "Sheet1", Line: 2, Cell: cell, Column: column, Value: value, Code: code}
	}
	checkFaults(t, got, at("F2", "body_diameter", "=D2-C2", "formula_without_value"), at("H2", "upper_bore", "2026-03-08", "date"), at("B2", "", "", "merged_cells"))
}

// progress keeps what it was told.
type progress struct{ rows, bytes, total []int64 }

func (p *progress) Reading(rows, bytes, total int64) {
	p.rows, p.bytes, p.total = append(p.rows, rows), append(p.bytes, bytes), append(p.total, total)
}

func TestReadTellsItsProgress(t *testing.T) {
	c := demo.Generate(5, 10)
	for i := range 4_200 { // sleeves, since they have few columns
		c.Sleeves = append(c.Sleeves, mount.Sleeve{Code: fmt.Sprintf("s%04d", i), Outer: 16 * unit.Millimetre, Bore: 12 * unit.Millimetre, Length: 40 * unit.Millimetre, Price: mount.NoPrice})
	}
	for _, f := range formats {
		content := written(t, f, c, unit.Millimetres)
		var told progress
		if _, err := readAll([]table.File{file("a", content)}, &told); err != nil {
			t.Fatal(err)
		}
		n := len(told.rows)
		if n < 2 || !slices.IsSorted(told.rows) || !slices.IsSorted(told.bytes) || told.bytes[n-1] != int64(len(content)) ||
			told.total[0] != int64(len(content)) || told.rows[n-1] < 4_200 {
			t.Errorf("%v: told %+v of %d bytes", f, told, len(content))
		}
	}
}

// Rows come in their order, and none once a fault was found.
func TestReadHandsRowsOn(t *testing.T) {
	c := demo.Generate(5, 1_500)
	content := written(t, table.NDJSON, c, unit.Millimetres)
	var got []catalog.Damper
	sink := table.Sink{Dampers: func(rows []catalog.Damper) error {
		got = append(got, rows...)
		return nil
	}}
	settings, err := table.Read([]table.File{file("a", content)}, sink, nil)
	if err != nil || settings.Currency != c.Currency || settings.Limits != c.Limits || !slices.Equal(got, c.Dampers) {
		t.Errorf("%d dampers, %+v, %v", len(got), settings, err)
	}
	got = nil
	faulty := append([]byte("{}\n"), content...)
	if _, err := table.Read([]table.File{file("a", faulty)}, sink, nil); err == nil || len(got) != 0 {
		t.Errorf("%d dampers, %v", len(got), err)
	}
	full := errors.New("the disk is full")
	sink.Dampers = func([]catalog.Damper) error { return full }
	var faults *table.Faults
	if _, err := table.Read([]table.File{file("a", content)}, sink, nil); !errors.Is(err, full) || errors.As(err, &faults) {
		t.Errorf("got %v", err)
	}
}
