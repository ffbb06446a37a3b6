package table_test

import (
	"bytes"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"midstroke/internal/catalog"
	"midstroke/internal/table"
	"midstroke/testdata/demo"
)

// TestTheTemplateIsAWorkbookToFillIn writes one with examples and looks at it as a
// spreadsheet does: every column has its header, its note and, where its words are
// known, a list to choose from; and reading gives the examples back.
func TestTheTemplateIsAWorkbookToFillIn(t *testing.T) {
	t.Parallel()
	examples := demo.Contents()
	examples.Dampers, examples.Sleeves, examples.Spacers, examples.Adapters = examples.Dampers[:2], examples.Sleeves[:2], examples.Spacers[:2], examples.Adapters[:2]
	var raw bytes.Buffer
	if err := table.Template(&raw, examples); err != nil {
		t.Fatal(err)
	}
	book, err := excelize.OpenReader(bytes.NewReader(raw.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	for _, sheet := range table.Sheets("en") {
		rows, err := book.GetRows(sheet.Name)
		if err != nil {
			t.Fatal(err)
		}
		notes, err := book.GetComments(sheet.Name)
		if err != nil {
			t.Fatal(err)
		}
		lists, err := book.GetDataValidations(sheet.Name)
		if err != nil {
			t.Fatal(err)
		}
		choices := 0
		for i, column := range sheet.Columns {
			if rows[0][i] != column.Header {
				t.Errorf("%s: column %d is %q, want %q", sheet.Name, i, rows[0][i], column.Header)
			}
			if text := notes[i].Text; !strings.Contains(text, column.Description) || column.Description == "" || strings.Contains(text, "must be filled in") != column.Needed {
				t.Errorf("%s, %s: the note is %q", sheet.Name, column.Header, text)
			}
			if column.Words == nil {
				continue
			}
			if choices >= len(lists) || !slices.Equal(strings.Split(strings.Trim(lists[choices].Formula1, `"`), ","), column.Words) {
				t.Errorf("%s, %s: no list of %v", sheet.Name, column.Header, column.Words)
			}
			choices++
		}
	}
	var got catalog.Contents
	settings, err := table.Read([]table.File{{Name: "template.xlsx", Data: bytes.NewReader(raw.Bytes()), Size: int64(raw.Len())}}, table.Sink{
		Dampers: func(rows []catalog.Damper) error { got.Dampers = append(got.Dampers, rows...); return nil },
	}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if settings != examples.Settings() || !slices.Equal(got.Dampers, examples.Dampers) {
		t.Errorf("read back: %v and %v", settings, got.Dampers)
	}
}

// TestColumnsAreToldInEachLanguage: every column has words of each language for what it
// is and for what its cells hold, and never a code in their place.
func TestColumnsAreToldInEachLanguage(t *testing.T) {
	t.Parallel()
	english, spanish := table.Sheets("en"), table.Sheets("es")
	code := regexp.MustCompile(`^(field|cell)_|[{}]|\[\[`)
	for i, sheet := range english {
		for j, c := range sheet.Columns {
			other := spanish[i].Columns[j]
			if c.Header != other.Header || c.Needed != other.Needed || !slices.Equal(c.Words, other.Words) {
				t.Errorf("%s, %s: the column itself differs between the languages", sheet.Name, c.Header)
			}
			for _, pair := range [][2]string{{c.Description, other.Description}, {c.Cells, other.Cells}} {
				if pair[0] == "" || pair[1] == "" || pair[0] == pair[1] || code.MatchString(pair[0]) || code.MatchString(pair[1]) {
					t.Errorf("%s, %s is told as %q and %q", sheet.Name, c.Header, pair[0], pair[1])
				}
			}
		}
	}
}
