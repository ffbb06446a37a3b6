package httpapi_test

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

const workbookType = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

// TestTheTemplateIsAWorkbookToFillIn reads it as a spreadsheet does, and sends it back as
// it is: its examples are answered.
func TestTheTemplateIsAWorkbookToFillIn(t *testing.T) {
	t.Parallel()
	s := newShops(t)
	for _, c := range []struct{ query, sheet, guide, note, reading string }{
		{"", "Vehicles", "How to measure", "Fractions may be typed", "16 5/8 | 16 9/16"},
		{"?lang=es&units=mm", "Vehículos", "Cómo medir", "Se pueden escribir fracciones", "422 | 421"},
	} {
		a := s.get(t, "/v1/templates/vehicles.xlsx"+c.query)
		if a.status != 200 || a.header.Get("Content-Type") != workbookType || !strings.Contains(a.header.Get("Content-Disposition"), "vehicles.xlsx") {
			t.Fatalf("%d %v: %.300s", a.status, a.header, a.body)
		}
		book, err := excelize.OpenReader(bytes.NewReader(a.body))
		if err != nil {
			t.Fatal(err)
		}
		defer book.Close()
		rows, err := book.GetRows(c.sheet)
		if err != nil || len(rows) != 3 {
			t.Fatalf("%d rows, %v", len(rows), err)
		}
		at := slices.Index(rows[0], "readings_left")
		if at < 0 || rows[1][at] != c.reading {
			t.Errorf("%q", rows)
		}
		notes, err := book.GetComments(c.sheet)
		if err != nil || len(notes) != len(rows[0]) || !strings.Contains(notes[at].Text, c.note) {
			t.Errorf("the notes are %+v, %v", notes, err)
		}
		lists, err := book.GetDataValidations(c.sheet)
		if err != nil || !slices.ContainsFunc(lists, func(v *excelize.DataValidation) bool {
			return strings.HasPrefix(v.Sqref, "C2:") && strings.Trim(v.Formula1, `"`) == "eye,stud,bar_pin,fork,spindle_strut"
		}) {
			t.Errorf("no list of styles: %v", err)
		}
		if guide, err := book.GetRows(c.guide); err != nil || len(guide) < 30 {
			t.Errorf("%d lines of guide, %v", len(guide), err)
		}
		answered := s.do(t, "POST", "/v1/batches?pick=outcome", string(a.body), append(s.bearer("north server"), "Content-Type", workbookType)...)
		back, err := excelize.OpenReader(bytes.NewReader(answered.body))
		if err != nil {
			t.Fatalf("%d: %.300s", answered.status, answered.body)
		}
		defer back.Close()
		rows, err = back.GetRows(c.sheet)
		if at := slices.Index(rows[0], "answer_outcome"); err != nil || at < 0 || rows[1][at] == "" || rows[2][at] == "" {
			t.Errorf("the examples have the answers %q", rows)
		}
	}
	if p := refused(t, s.get(t, "/v1/templates/vehicles.xlsx?units=cm"), 422); p.Errors[0].Parameter != "units" {
		t.Errorf("%+v", p)
	}
}
