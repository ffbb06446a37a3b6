package httpapi_test

import (
	"encoding/csv"
	"strings"
	"testing"

	"midstroke/api"
)

const requestFile = "vehicle,units,upper,lower,readings,suspension\r\n" +
	"a,in,eye,eye,16 5/8|16 11/16,solid_axle\r\n" +
	"b,in,eye,eye,\"16,5\",solid_axle\r\n"

func (s *shops) batch(tb testing.TB, query, media, text string) *answer {
	tb.Helper()
	return s.do(tb, "POST", "/v1/batches"+query, text, append(s.bearer("north server"), "Content-Type", media)...)
}

func TestBatchesGiveTheSameFileBack(t *testing.T) {
	t.Parallel()
	s := newShops(t)
	a := s.batch(t, "?pick=damper.code&pick=outcome", "text/csv", requestFile)
	if a.status != 200 || !strings.HasPrefix(a.header.Get("Content-Type"), "text/csv") {
		t.Fatalf("%d %s: %s", a.status, a.header.Get("Content-Type"), a.body)
	}
	rows, err := csv.NewReader(strings.NewReader(string(a.body))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	single := s.get(t, "/v1/fits?units=in&upper=eye&lower=eye&readings=16+5/8&readings=16+11/16&suspension=solid_axle&format=text&pick=damper.code", s.bearer("north server")...)
	if want := string(single.body); rows[1][6] != want || rows[1][7] != "fits" || !strings.HasPrefix(want, "north-2-") {
		t.Errorf("row %q, the single request has %q", rows[1], want)
	}
	if rows[2][6] != "" || rows[2][9] != "comma" {
		t.Errorf("row %q", rows[2])
	}
	spanish := s.batch(t, "?lang=es", "text/csv", requestFile)
	if spanish.header.Get("Content-Language") != "es" || strings.Contains(string(spanish.body), "write a point") {
		t.Errorf("%s", spanish.body)
	}
	objects := s.batch(t, "?units=in&pick=outcome", "application/x-ndjson", `{"upper":"eye","lower":"eye","readings":16.625,"suspension":"solid_axle"}`+"\n")
	if want := `{"upper":"eye","lower":"eye","readings":16.625,"suspension":"solid_axle","answer_outcome":"fits","answer_fault":null,"answer_fault_codes":null}` + "\n"; string(objects.body) != want {
		t.Errorf("got  %s\nwant %s", objects.body, want)
	}
}

// TestBatchesAnswerTheContractsExample: the file for both axles of a vehicle in the
// contract's description gets the answer that stands there.
func TestBatchesAnswerTheContractsExample(t *testing.T) {
	t.Parallel()
	document, err := api.Load()
	if err != nil {
		t.Fatal(err)
	}
	var blocks []string // of indented lines
	within := false
	for line := range strings.Lines(document.Paths.Find("/v1/batches").Post.Description) {
		text, indented := strings.CutPrefix(line, "    ")
		if indented && !within {
			blocks = append(blocks, "")
		}
		if within = indented; indented {
			blocks[len(blocks)-1] += text
		}
	}
	if len(blocks) != 2 || strings.Count(blocks[0], "\n") != 3 {
		t.Fatalf("blocks %q", blocks)
	}
	a := newShops(t).batch(t, "?catalog=demo&pick=outcome&pick=damper.code", "text/csv", blocks[0])
	if got := strings.ReplaceAll(string(a.body), "\r\n", "\n"); a.status != 200 || got != blocks[1] {
		t.Errorf("%d\n%s\nthe contract has\n%s", a.status, got, blocks[1])
	}
}

func TestBatchesThatAreRefused(t *testing.T) {
	t.Parallel()
	s := newShops(t)
	many := requestFile + strings.Repeat("c,in,eye,eye,16,solid_axle\r\n", 10_000)
	for name, c := range map[string]struct {
		query, media, text string
		status             int
		code               string
	}{
		"another media type":  {"", "text/plain", requestFile, 415, "file_types"},
		"too many rows":       {"", "text/csv", many, 413, "too_many_request_rows"},
		"a near name":         {"", "text/csv", strings.Replace(requestFile, "readings", "reading", 1), 422, "rows_faults"},
		"an empty file":       {"", "text/csv", "", 422, "rows_fault"},
		"an unknown value":    {"?pick=damper.cod", "text/csv", requestFile, 422, "unknown_field"},
		"a part of an answer": {"?pick=damper", "text/csv", requestFile, 422, "wrong_type"},
		"another parameter":   {"?readings=16", "text/csv", requestFile, 422, "unknown_field"},
		"another's catalogue": {"?catalog=south", "text/csv", requestFile, 404, "no_such_catalog"},
		"no such revision":    {"?revision=77", "text/csv", requestFile, 404, "no_such_revision"},
		"a workbook cut off":  {"", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", "PK\x03\x04", 422, "rows_fault"},
	} {
		if p := refused(t, s.batch(t, c.query, c.media, c.text), c.status); p.Code != c.code {
			t.Errorf("%s: code %s", name, p.Code)
		}
	}
	if a := s.do(t, "POST", "/v1/batches", requestFile, "Content-Type", "text/csv"); a.status != 401 {
		t.Errorf("without a key: %d", a.status)
	}
	if a := s.do(t, "POST", "/v1/batches", requestFile, append(s.bearer("north widget"), "Content-Type", "text/csv", "Origin", pageOrigin)...); a.status != 403 {
		t.Errorf("with a widget's key: %d", a.status)
	}
}
