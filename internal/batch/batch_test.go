package batch_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"net/url"
	"slices"
	"strings"
	"testing"

	"midstroke/internal/batch"
	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/table"
	"midstroke/internal/wire"
	"midstroke/testdata/demo"
)

var snapshot = catalog.NewSnapshot("demo", 1, demo.Contents())

func config(tb testing.TB, picks ...string) batch.Config {
	tb.Helper()
	read, faults := wire.ReadPicks(picks)
	if len(faults) > 0 {
		tb.Fatal(faults)
	}
	return batch.Config{
		Snapshot: snapshot, Edition: wire.Edition{Name: "demo", Revision: 1, Currency: snapshot.Currency()},
		Language: "en", Picks: read,
	}
}

func file(name, text string) table.File {
	return table.File{Name: name, Data: strings.NewReader(text), Size: int64(len(text))}
}

// answerOf answers a file and gives the answer as it was written.
func answerOf(tb testing.TB, f table.File, c batch.Config) (string, batch.Summary) {
	tb.Helper()
	b, err := batch.Open(f, c)
	if err != nil {
		tb.Fatal(err)
	}
	defer func() { _ = b.Close() }()
	var out bytes.Buffer
	s, err := b.Answer(context.Background(), &out)
	if err != nil {
		tb.Fatal(err)
	}
	return out.String(), s
}

// cellsOf reads CSV by the standard library, which shares no code with the writer.
func cellsOf(tb testing.TB, text string) [][]string {
	tb.Helper()
	r := csv.NewReader(strings.NewReader(text))
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	if err != nil {
		tb.Fatal(err)
	}
	return rows
}

func column(tb testing.TB, rows [][]string, name string) []string {
	tb.Helper()
	for i, header := range rows[0] {
		if header != name {
			continue
		}
		var cells []string
		for _, row := range rows[1:] {
			cells = append(cells, row[i])
		}
		return cells
	}
	tb.Fatalf("no column %s in %q", name, rows[0])
	return nil
}

const header = "vehicle,units,upper,lower,readings,suspension\r\n"

func TestRowsHaveTheAnswersOfSingleRequests(t *testing.T) {
	var text strings.Builder
	text.WriteString(header)
	lengths := []string{"16 5/8|16 11/16", "17 1/4", "14", "20.5", "12 3/8|12 7/16|12 3/8"}
	const rows = 300
	for i := range rows {
		fmt.Fprintf(&text, "v%d,in,eye,eye,%s,solid_axle\r\n", i, lengths[i%len(lengths)])
	}
	out, s := answerOf(t, file("v.csv", text.String()), config(t, "outcome", "damper.code", "margin.compression"))
	cells := cellsOf(t, out)
	if s.Rows != rows || s.Faults != 0 || len(cells) != rows+1 {
		t.Fatalf("%d rows, %d faults, %d lines", s.Rows, s.Faults, len(cells))
	}
	codes, vehicles := column(t, cells, "answer_damper_code"), column(t, cells, "vehicle")
	for i := range rows {
		if want := fmt.Sprintf("v%d", i); vehicles[i] != want {
			t.Fatalf("row %d is of %s, want %s", i, vehicles[i], want)
		}
		r, err := wire.ReadFitsQuery(url.Values{
			"units": {"in"}, "upper": {"eye"}, "lower": {"eye"}, "suspension": {"solid_axle"},
			"readings": strings.Split(lengths[i%len(lengths)], "|"),
		})
		if err != nil {
			t.Fatal(err)
		}
		want := ""
		if a, _ := fit.Find(&r.Fit, snapshot); len(a.Fits) > 0 {
			want = a.Fits[0].Damper.Code
		}
		if codes[i] != want {
			t.Errorf("row %d: %q, the single request has %q", i, codes[i], want)
		}
	}
}

func TestFaultsStandInTheirRows(t *testing.T) {
	for name, c := range map[string]struct{ row, code, says string }{
		"a decimal comma":  {`a,mm,eye,eye,"412,5",solid_axle`, "comma", "comma"},
		"a date":           {"a,in,eye,eye,2026-03-08,solid_axle", "date", "3/8"},
		"a formula":        {`a,in,eye,eye,=B2+1,solid_axle`, "formula", ""},
		"a failed formula": {`a,in,eye,eye,#REF!,solid_axle`, "spreadsheet_error", ""},
		"no units":         {"a,,eye,eye,16,solid_axle", "missing", "units"},
		"unknown style":    {"a,in,eie,eye,16,solid_axle", "not_allowed", "upper"},
		"a cell too few":   {"a,in,eye,eye,16", "cells", ""},
		"a cell too many":  {"a,in,eye,eye,16,solid_axle,surplus", "cells", ""},
		"a bare quote":     {`a,in,eye,eye,16"x,solid_axle`, "quote_bare", ""},
	} {
		t.Run(name, func(t *testing.T) {
			good := "b,in,eye,eye,16 5/8,solid_axle\r\n"
			out, s := answerOf(t, file("v.csv", header+good+c.row+"\r\n"+good), config(t))
			cells := cellsOf(t, out)
			codes, texts := column(t, cells, "answer_fault_codes"), column(t, cells, "answer_fault")
			if s.Rows != 3 || s.Faults != 1 || codes[0] != "" || codes[2] != "" {
				t.Fatalf("%+v: %q", s, codes)
			}
			if !strings.Contains(codes[1], c.code) || !strings.Contains(texts[1], c.says) {
				t.Errorf("codes %q, text %q", codes[1], texts[1])
			}
			if outcomes := column(t, cells, "answer_outcome"); outcomes[0] != "fits" || outcomes[1] != "" || outcomes[2] != "fits" {
				t.Errorf("outcomes %q", outcomes)
			}
			if strings.Contains(out, "surplus") != strings.Contains(c.row, "surplus") {
				t.Error("a cell of the row is lost")
			}
		})
	}
}

// TestARowsFaultSaysWhetherItBeginsWithAColumn: the name of a column stays as it is where
// a page would begin a sentence with a capital. Which word comes first depends on the
// language.
func TestARowsFaultSaysWhetherItBeginsWithAColumn(t *testing.T) {
	rows := header + "a,in,,eye,16,solid_axle\n" + `a,mm,eye,eye,"412,5",solid_axle` + "\n" + "a,in,eye,eye,16\n"
	for language, want := range map[string][]struct {
		begins string
		named  bool
	}{
		// The beginnings are those of the message files; upper and readings are columns.
		"en": {{"upper is missing", true}, {"readings: ", true}, {"cells in the row", false}},
		"es": {{"falta upper", false}, {"readings: ", true}, {"celdas en la fila", false}},
	} {
		c := config(t)
		c.Language = language
		_, s := answerOf(t, file("v.csv", rows), c)
		if len(s.RowFaults) != len(want) {
			t.Fatalf("%s: %+v", language, s.RowFaults)
		}
		for i, f := range s.RowFaults {
			if !strings.HasPrefix(f.Text, want[i].begins) || f.Named != want[i].named {
				t.Errorf("%s: %+v, want %+v", language, f, want[i])
			}
		}
	}
}

func TestFilesThatCannotBeAnswered(t *testing.T) {
	wide := strings.Repeat("a,", 10_000) + "units\r\n"
	for name, c := range map[string]struct{ text, code, says string }{
		"empty":              {"", "file_empty", ""},
		"no header":          {"16,17,18\r\n1,2,3\r\n", "header_missing", "units"},
		"a column twice":     {"units,upper,lower,readings,Readings\r\nin,eye,eye,16,17\r\n", "column_twice", "readings"},
		"a near name":        {"units,upper,lower,readings,uper_bolt\r\nin,eye,eye,16,M12\r\n", "column_unknown", "upper_bolt"},
		"an axle":            {"units,upper,lower,readings,rear_upper\r\nin,eye,eye,16,stud\r\n", "column_unknown", "row of its own"},
		"an axle behind":     {"units,upper,lower,readings,Readings rear\r\nin,eye,eye,16,17\r\n", "column_unknown", "row of its own"},
		"an axle in full":    {"units,upper,lower,readings,front axle bump_stop_gap\r\nin,eye,eye,16,1\r\n", "column_unknown", "bump_stop_gap of one axle"},
		"the whole path":     {"units,upper_style,lower,readings\r\nin,eye,eye,16\r\n", "column_unknown", "upper"},
		"a stray unit":       {"units,upper (mm),lower,readings\r\nin,eye,eye,16\r\n", "units_stray", "upper"},
		"another stray unit": {"units,upper,lower,readings,lean_deg (in)\r\nin,eye,eye,16,5\r\n", "units_stray", "lean_deg"},
		"a column missing":   {"units,upper,readings\r\nin,eye,16\r\n", "column_missing", "lower"},
		"10,001 columns":     {wide, "columns_too_many", "10"},
		"an old workbook":    {"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1 and more", "workbook_old", ""},
		"an archive cut off": {"PK\x03\x04 and no more", "archive_broken", ""},
		"a document":         {"%PDF-1.7", "not_a_table", ""},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := batch.Open(file("v.csv", c.text), config(t))
			var faults *table.Faults
			if !errors.As(err, &faults) {
				t.Fatalf("error %v", err)
			}
			one := faults.List[0]
			if len(faults.List) > 1 && c.code == "units_stray" {
				t.Errorf("%d faults of one column", len(faults.List))
			}
			if text := one.Text("en", 0) + one.Cure("en", 0); one.Code.Public() != c.code || !strings.Contains(text, c.says) {
				t.Errorf("%s: %s", one.Code, text)
			}
		})
	}
}

func TestColumnsOfTheSenderComeBack(t *testing.T) {
	const text = "Name;Units;Upper;Lower;Readings (mm);balance;uper_bolt\r\n" +
		"'=A1;mm;Eye;eye;420|421;-12.50;@home\r\n" +
		"\"a;b\";mm;eye;eye;17 in;+3;-x\r\n"
	c := config(t, "outcome")
	c.Keep, c.Defaults = []string{"uper_bolt"}, url.Values{"suspension": {"solid_axle"}}
	out, s := answerOf(t, file("v.csv", text), c)
	// By hand: the delimiter stays, a plain number is no formula, and everything else
	// that begins as one has an apostrophe.
	want := "Name;Units;Upper;Lower;Readings (mm);balance;uper_bolt;answer_outcome;answer_fault;answer_fault_codes\r\n" +
		"'=A1;mm;Eye;eye;420|421;-12.50;'@home;fits;;\r\n" +
		"\"a;b\";mm;eye;eye;17 in;+3;'-x;fits;;\r\n"
	if out != want || s.Faults != 0 {
		t.Errorf("got\n%s\nwant\n%s", out, want)
	}
	// The same file twice: the answers are replaced, and nothing is added.
	again, _ := answerOf(t, file("v.csv", out), c)
	if again != out {
		t.Errorf("the second time\n%s", again)
	}
}

// TestBothAxlesOfAVehicle: each axle is a row of its own. What tells vehicle and axle comes
// back beside its answer, in the order of the file. A name of the form that has an axle's
// word in it stays one, and a sender may keep a column of an axle.
func TestBothAxlesOfAVehicle(t *testing.T) {
	const text = "vehicle,axle,units,upper,lower,readings,suspension,rear_upper\r\n" +
		"van 12,front,mm,eye,eye,420,independent,x\r\n" +
		"van 12,rear,mm,eye,eye,421,solid_axle,y\r\n"
	c := config(t, "outcome")
	c.Keep = []string{"rear_upper"}
	out, s := answerOf(t, file("v.csv", text), c)
	want := "vehicle,axle,units,upper,lower,readings,suspension,rear_upper,answer_outcome,answer_fault,answer_fault_codes\r\n" +
		"van 12,front,mm,eye,eye,420,independent,x,fits,,\r\n" +
		"van 12,rear,mm,eye,eye,421,solid_axle,y,fits,,\r\n"
	if out != want || s.Faults != 0 {
		t.Errorf("got\n%s\nwant\n%s", out, want)
	}
	const objects = `{"units":"mm","upper":"eye","lower":"eye","readings":420,"suspension":"independent","rear_readings":421}`
	if out, s = answerOf(t, file("v.ndjson", objects+"\n"), config(t, "outcome")); s.Faults != 1 || !strings.Contains(out, "row of its own") {
		t.Errorf("both axles in one object: %s", out)
	}
	const arms = "units,upper,lower,readings,travel_linkage_lower_arm_front,travel_linkage_lower_arm_rear\r\nmm,eye,eye,420,,\r\n"
	if b, err := batch.Open(file("v.csv", arms), config(t)); err != nil {
		t.Error(err)
	} else if err := b.Close(); err != nil {
		t.Error(err)
	}
}

func TestObjectsKeepTheirMembers(t *testing.T) {
	const text = `{"id":1e2,"units":"in","upper":"eye","lower":"eye","readings":["16 5/8",16.75],"suspension":"solid_axle","more":{"a":[1]}}` + "\n" +
		`{"id":2,"units":"in","upper":{"style":"eye"},"lower":"eye","readings":16}` + "\n" +
		`{"id":3,` + "\n" +
		`{"id":4,"units":"in","uper":"eye","lower":"eye","readings":16}` + "\n"
	c := config(t, "outcome", "margin.compression", "more")
	out, s := answerOf(t, file("v.ndjson", text), c)
	lines := strings.Split(strings.TrimSuffix(out, "\n"), "\n")
	if s.Rows != 4 || s.Faults != 3 || len(lines) != 4 {
		t.Fatalf("%+v\n%s", s, out)
	}
	if !strings.HasPrefix(lines[0], `{"id":1e2,"units":"in"`) || !strings.Contains(lines[0], `"more":{"a":[1]},"answer_outcome":"fits","answer_margin_compression":`) ||
		!strings.HasSuffix(lines[0], `,"answer_fault":null,"answer_fault_codes":null}`) {
		t.Error(lines[0])
	}
	for i, code := range []string{"", "wrong_type", "json_syntax", "unknown_field"} {
		if code != "" && !strings.Contains(lines[i], `"answer_fault_codes":"`+code) {
			t.Errorf("line %d has no %s: %s", i, code, lines[i])
		}
	}
	if !strings.Contains(lines[2], `"line":"{\"id\":3,"`) {
		t.Errorf("the line is lost: %s", lines[2])
	}
}

func TestRowsAfterTheTimeAreTold(t *testing.T) {
	c := config(t, "outcome")
	c.Workers, c.Late = 1, func() bool { return true }
	out, s := answerOf(t, file("v.csv", header+"a,in,eye,eye,16,solid_axle\r\n"), c)
	if s.Faults != 1 || !strings.Contains(out, "not_answered") {
		t.Error(out)
	}
}

func TestAnswersEndWithTheirContext(t *testing.T) {
	text := header + strings.Repeat("a,in,eye,eye,16,solid_axle\r\n", 5000)
	b, err := batch.Open(file("v.csv", text), config(t))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = b.Close() }()
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := b.Answer(ctx, io.Discard); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v", err)
	}
}

// TestUnitsInHeadersOfBolts: a bare number under a header's unit is what it is with that
// unit beside it, in a row of cells and in an object.
func TestUnitsInHeadersOfBolts(t *testing.T) {
	c := config(t, "working_length.value", "outcome", "damper.code")
	c.Defaults = url.Values{"units": {"in"}, "upper": {"eye"}, "lower": {"eye"}, "suspension": {"solid_axle"}, "lower_measured_to": {"near_edge"}}
	for bare, whole := range map[string]string{"12.2": "12.2 mm", "12": "12 mm", "1/2": "", "M12": "M12"} {
		units := "mm"
		if bare == "1/2" {
			units, whole = "in", "1/2 in"
		}
		want, _ := answerOf(t, file("v.csv", "readings,lower_bolt\r\n17.5,"+whole+"\r\n"), c)
		got, s := answerOf(t, file("v.csv", "readings,lower_bolt ("+units+")\r\n17.5,"+bare+"\r\n"), c)
		if s.Faults != 0 || !slices.Equal(answers(t, got), answers(t, want)) {
			t.Errorf("%s %s: %v, want %v", bare, units, answers(t, got), answers(t, want))
		}
		object, _ := answerOf(t, file("v.ndjson", fmt.Sprintf("{\"readings\":17.5,\"lower_bolt (%s)\":%q}\n", units, bare)), c)
		if value := answers(t, want)[0]; value == "" || !strings.Contains(object, `"answer_working_length_value":`+value) {
			t.Errorf("%s %s as an object: %s, want %s", bare, units, object, value)
		}
	}
	_, s := answerOf(t, file("v.ndjson", `{"readings":17.5,"lean_deg (mm)":3}`+"\n"), config(t, "outcome"))
	if s.Faults != 1 {
		t.Errorf("a stray unit in an object: %+v", s)
	}
}

// answers are the cells of the one row that an answer adds.
func answers(tb testing.TB, text string) (cells []string) {
	tb.Helper()
	rows := cellsOf(tb, text)
	for i, name := range rows[0] {
		if strings.HasPrefix(name, "answer_") {
			cells = append(cells, rows[1][i])
		}
	}
	return cells
}
