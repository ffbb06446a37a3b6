package batch_test

import (
	"bytes"
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"midstroke/internal/batch"
	"midstroke/internal/table"
)

// bookOf makes a workbook of rows on a sheet, with another sheet before it.
func bookOf(tb testing.TB, rows [][]any, change func(*excelize.File)) table.File {
	tb.Helper()
	f := excelize.NewFile()
	defer func() { _ = f.Close() }()
	must := func(err error) {
		tb.Helper()
		if err != nil {
			tb.Fatal(err)
		}
	}
	must(f.SetCellValue("Sheet1", "A1", "how to measure"))
	_, err := f.NewSheet("vehicles")
	must(err)
	for i, row := range rows {
		at, _ := excelize.CoordinatesToCellName(1, i+1)
		must(f.SetSheetRow("vehicles", at, &row))
	}
	if change != nil {
		change(f)
	}
	var b bytes.Buffer
	must(f.Write(&b))
	return table.File{Name: "v.xlsx", Data: bytes.NewReader(b.Bytes()), Size: int64(b.Len())}
}

var bookRows = [][]any{
	{"vehicle", "units", "upper", "lower", "readings", "suspension", "limits_in_stock", "count"},
	{"a", "in", "Eye", "eye", 16.625, "solid_axle", false, 12},
	{"b", "in", "eye", "eye", "16,6", "solid_axle", nil, -3.5},
	{"=c", "mm", "eye", "eye", "410|412", "solid_axle", nil, "007"},
}

func TestWorkbooksComeBackForPeople(t *testing.T) {
	out, s := answerOf(t, bookOf(t, bookRows, nil), config(t))
	if s.Rows != 3 || s.Faults != 1 {
		t.Fatalf("%+v", s)
	}
	f, err := excelize.OpenReader(strings.NewReader(out))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	rows, err := f.GetRows("vehicles")
	if err != nil {
		t.Fatal(err)
	}
	at := func(row int, name string) string {
		for i, header := range rows[0] {
			if header == name && i < len(rows[row]) {
				return rows[row][i]
			}
		}
		return ""
	}
	if at(1, "answer_outcome") != "fits" || at(2, "answer_fault_codes") != "comma" || at(3, "answer_outcome") != "fits" {
		t.Errorf("%q", rows)
	}
	if at(1, "count") != "12" || at(2, "count") != "-3.5" || at(3, "count") != "007" || at(3, "vehicle") != "'=c" {
		t.Errorf("what was there changed: %q", rows)
	}
	if drawing := at(1, "answer_stroke_drawing"); !strings.Contains(drawing, "●") || len([]rune(drawing)) != 23 {
		t.Errorf("drawing %q", drawing)
	}
	panes, err := f.GetPanes("vehicles")
	if err != nil || !panes.Freeze || panes.YSplit != 1 {
		t.Errorf("the header isn't frozen: %+v, %v", panes, err)
	}
	if formats, err := f.GetConditionalFormats("vehicles"); err != nil || len(formats) < 3 {
		t.Errorf("%d conditional formats, %v", len(formats), err)
	}
	about, err := f.GetRows("About these answers")
	if err != nil {
		t.Fatal(err)
	}
	text := ""
	for _, row := range about {
		text += strings.Join(row, " ") + "\n"
	}
	for _, part := range []string{"Catalogue demo", "Revision 1", "Rows 3", "Rows with faults 1", "support_vehicle 2", "Other sheets: Sheet1"} {
		if !strings.Contains(text, part) {
			t.Errorf("the sheet about the answers lacks %q:\n%s", part, text)
		}
	}
}

// TestWorkbooksArePrintedSideways: a sheet of 33 columns on as many pages across as can be
// read, each with the header and the first column. On A4 at the usual size a page has some
// 130 characters across, so 5 pages are 2/3 of it.
func TestWorkbooksArePrintedSideways(t *testing.T) {
	out, _ := answerOf(t, bookOf(t, bookRows, nil), config(t))
	f, err := excelize.OpenReader(strings.NewReader(out))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	for sheet, across := range map[string][2]int{"vehicles": {3, 5}, "About these answers": {1, 1}} {
		props, err := f.GetSheetProps(sheet)
		if err != nil || props.FitToPage == nil || !*props.FitToPage {
			t.Errorf("%s isn't fitted to pages: %+v, %v", sheet, props.FitToPage, err)
		}
		page, err := f.GetPageLayout(sheet)
		if err != nil || *page.Orientation != "landscape" || *page.FitToWidth < across[0] || *page.FitToWidth > across[1] || *page.FitToHeight != 0 {
			t.Errorf("%s: %s, %d pages across, %d down, %v", sheet, *page.Orientation, *page.FitToWidth, *page.FitToHeight, err)
		}
	}
	const titles = "'vehicles'!$A:$A,'vehicles'!$1:$1"
	if names := f.GetDefinedName(); !slices.ContainsFunc(names, func(n excelize.DefinedName) bool { return n.Name == "_xlnm.Print_Titles" && n.RefersTo == titles }) {
		t.Errorf("the header isn't on each page: %+v", names)
	}
	if height, err := f.GetRowHeight("About these answers", 9); err != nil || height < 30 {
		t.Errorf("a caution of two lines has a row of %v points, %v", height, err)
	}
}

func TestOddCellsOfWorkbooks(t *testing.T) {
	date := func(f *excelize.File) {
		style, _ := f.NewStyle(&excelize.Style{NumFmt: 14})
		_ = f.SetCellValue("vehicles", "E2", 46089)
		_ = f.SetCellStyle("vehicles", "E2", "E2", style)
	}
	formula := func(f *excelize.File) {
		_ = f.SetCellValue("vehicles", "E2", nil)
		_ = f.SetCellFormula("vehicles", "E2", "8*2")
	}
	for name, c := range map[string]struct {
		change func(*excelize.File)
		code   string
	}{"a date": {date, "date"}, "a formula without its value": {formula, "formula_without_value"}} {
		t.Run(name, func(t *testing.T) {
			out, _ := answerOf(t, bookOf(t, bookRows, c.change), config(t, "outcome"))
			f, err := excelize.OpenReader(strings.NewReader(out))
			if err != nil {
				t.Fatal(err)
			}
			defer func() { _ = f.Close() }()
			if codes, _ := f.GetCellValue("vehicles", "L2"); codes != c.code {
				t.Errorf("code %q, want %q", codes, c.code)
			}
			if kept, _ := f.GetCellFormula("vehicles", "E2"); kept != "" {
				t.Errorf("a formula came back: %s", kept)
			}
		})
	}
	merged := bookOf(t, bookRows, func(f *excelize.File) { _ = f.MergeCell("vehicles", "A2", "A3") })
	_, err := batch.Count(merged, 100)
	var faults *table.Faults
	if !errors.As(err, &faults) || faults.List[0].Code.Public() != "merged_cells" || faults.List[0].Sheet != "vehicles" {
		t.Errorf("merged cells: %v", err)
	}
}
