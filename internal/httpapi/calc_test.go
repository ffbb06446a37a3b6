//go:build calc

package httpapi_test

import (
	"encoding/json"
	"errors"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// calcSheet is a sheet as LibreOffice shows it.
type calcSheet struct {
	Name   string
	Rows   [][]string
	Errors map[string]int // by cell
}

// opened opens a workbook in LibreOffice, without a screen, and computes it.
func opened(t *testing.T, book []byte) []calcSheet {
	t.Helper()
	folder := t.TempDir()
	settings, err := os.ReadFile("testdata/calc/registrymodifications.xcu")
	if err != nil {
		t.Fatal(err)
	}
	profile, file := filepath.Join(folder, "profile"), filepath.Join(folder, "book.xlsx")
	err = errors.Join(
		os.MkdirAll(filepath.Join(profile, "user"), 0o755),
		os.WriteFile(filepath.Join(profile, "user", "registrymodifications.xcu"), []byte(strings.Replace(string(settings), "FOLDER</it>", folder+"</it>", 1)), 0o644),
		os.WriteFile(file, book, 0o644),
	)
	if err != nil {
		t.Fatal(err)
	}
	// The system's own Python has LibreOffice's module.
	cmd := exec.CommandContext(t.Context(), "/usr/bin/python3", "testdata/calc/cells.py", profile, file)
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("LibreOffice: %v", err)
	}
	var sheets []calcSheet
	if err := json.Unmarshal(out, &sheets); err != nil {
		t.Fatalf("%v: %.500s", err, out)
	}
	return sheets
}

// TestCellsShowWhatTheServiceAnswers opens the template, whose cells ask the service.
func TestCellsShowWhatTheServiceAnswers(t *testing.T) {
	s := newService(t)
	server := httptest.NewServer(s)
	defer server.Close()
	for _, c := range []struct{ query, units, reading, sheet string }{
		{"", "in", "17 5/16", "Cells that ask"}, {"?lang=es&units=mm", "mm", "440", "Celdas que preguntan"},
	} {
		sheets := opened(t, s.get(t, server.URL+"/v1/templates/vehicles.xlsx"+c.query).body)
		if len(sheets) != 3 || sheets[2].Name != c.sheet || len(sheets[2].Errors) > 0 {
			t.Fatalf("%d sheets, errors %v", len(sheets), sheets[len(sheets)-1].Errors)
		}
		checked := 0
		for _, row := range sheets[2].Rows {
			if !slices.Contains([]string{"outcome", "damper.code", "grade", "margin.compression", "margin.extension", "ride_position", "total.amount"}, row[0]) {
				continue
			}
			checked++
			query := url.Values{"units": {c.units}, "upper": {"eye"}, "lower": {"eye"}, "readings": {c.reading}, "suspension": {"solid_axle"}, "format": {"text"}, "pick": {row[0]}}
			if want := string(s.get(t, "/v1/fits?"+query.Encode()).body); row[1] != want || want == "" {
				t.Errorf("%s shows %q, the service says %q", row[0], row[1], want)
			}
		}
		if checked != 7 {
			t.Errorf("%d cells that ask, want 7", checked)
		}
	}
}

// TestWorkbooksShowTheirAnswers opens a workbook that came back.
func TestWorkbooksShowTheirAnswers(t *testing.T) {
	s := newShops(t)
	template := s.get(t, "/v1/templates/vehicles.xlsx")
	a := s.do(t, "POST", "/v1/batches", string(template.body), append(s.bearer("north server"), "Content-Type", workbookType)...)
	sheets := opened(t, a.body)
	if len(sheets) != 2 || len(sheets[0].Errors)+len(sheets[1].Errors) > 0 || len(sheets[0].Rows) != 3 {
		t.Fatalf("%+v", sheets)
	}
	at := func(row int, name string) string {
		i := slices.Index(sheets[0].Rows[0], name)
		if i < 0 {
			t.Fatalf("no column %s", name)
		}
		return sheets[0].Rows[row][i]
	}
	const second = "/v1/fits?units=in&upper=eye&lower=eye&readings_left=17+5/16&readings_right=17+1/4&suspension=independent&limits_max_body_diameter=3&format=text&pick="
	for name, path := range map[string]string{"answer_outcome": "outcome", "answer_damper_code": "damper.code", "answer_grade": "grade", "answer_total_amount": "total.amount"} {
		want := string(s.get(t, second+path, s.bearer("north server")...).body)
		if got := at(2, name); got != want {
			t.Errorf("%s shows %q, the service says %q", name, got, want)
		}
	}
	if !strings.Contains(at(2, "answer_stroke_drawing"), "●") {
		t.Errorf("no drawing: %q", sheets[0].Rows[2])
	}
}
