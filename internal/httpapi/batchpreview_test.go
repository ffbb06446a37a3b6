package httpapi_test

import (
	"strings"
	"testing"
)

type previewed struct {
	Kind    string
	Rows    int
	Ready   bool
	Columns []struct {
		Header            string
		Name, Units, Near *string
	}
	Faults []struct{ Column, Code, Text, Cure string }
	Picks  []string
	First  []struct {
		Line          int
		Cells, Values []string
		Fault         *string
	}
}

func text(s *string) string {
	if s == nil {
		return ""
	}
	return *s
}

func TestAFileIsPreviewed(t *testing.T) {
	t.Parallel()
	s := newShops(t)
	look := func(query, media, text string) previewed {
		return decode[previewed](t, s.do(t, "POST", "/v1/batches/preview"+query, text, append(s.bearer("north server"), "Content-Type", media)...), 200)
	}
	const near = "vehicle,units,uper,lower,Readings (mm),suspension\r\n" +
		"a,in,eye,eye,422,solid_axle\r\n" + "b,in,eye,eye,\"42,2\",solid_axle\r\n" + "c,in,eye,eye,430,solid_axle\r\n"
	got := look("?pick=outcome", "text/csv", near)
	if got.Ready || got.Rows != 3 || len(got.Columns) != 6 || text(got.Columns[2].Near) != "upper" || text(got.Columns[2].Name) != "" ||
		text(got.Columns[4].Name) != "readings" || text(got.Columns[4].Units) != "mm" || text(got.Columns[0].Name) != "" {
		t.Errorf("%+v", got)
	}
	if len(got.Faults) != 2 || got.Faults[0].Column != "uper" || got.Faults[0].Code != "column_unknown" || got.Faults[1].Code != "column_missing" || len(got.First) != 3 || len(got.First[0].Values) != 0 || got.First[0].Cells[0] != "a" {
		t.Errorf("%+v", got)
	}
	got = look("?pick=outcome&first=2&read_as=Uper=upper", "text/csv", near)
	if !got.Ready || len(got.First) != 2 || got.First[0].Values[0] != "fits" || got.First[1].Fault == nil || got.First[1].Line != 3 || text(got.Columns[2].Name) != "upper" {
		t.Errorf("%+v", got)
	}
	// A file is answered by the same words.
	if a := s.batch(t, "?pick=outcome&read_as=Uper=upper", "text/csv", near); a.status != 200 || !strings.Contains(string(a.body), "solid_axle,fits") {
		t.Errorf("%d: %s", a.status, a.body)
	}
	got = look("?units=in&pick=outcome", "application/x-ndjson", `{"id":7,"upper":"eye","lower":"eye","readings":[16,16.125],"suspension":"solid_axle","tags":{"a":1}}`+"\n")
	if got.Kind != "objects" || len(got.Columns) != 6 || got.First[0].Cells[3] != "16|16.125" || got.First[0].Cells[5] != `{"a":1}` || got.First[0].Values[0] != "fits" {
		t.Errorf("%+v", got)
	}
	for query, code := range map[string]string{"?read_as=uper": "not_allowed", "?read_as=a=uper": "not_allowed", "?first=0": "out_of_range"} {
		p := refused(t, s.do(t, "POST", "/v1/batches/preview"+query, near, append(s.bearer("north server"), "Content-Type", "text/csv")...), 422)
		if p.Errors[0].Code != code {
			t.Errorf("%s: %+v", query, p.Errors)
		}
	}
}
