package httpapi_test

import (
	"strings"
	"testing"
)

const demandFile = "units,upper,lower,readings,suspension,weight\r\n" +
	"in,eye,eye,16 5/8,solid_axle,3\r\n" +
	"in,eye,eye,16 1/2,solid_axle,\r\n" +
	"in,eye,eye,3,solid_axle,6\r\n" +
	"in,spindle_strut,eye,16,solid_axle,4\r\n" +
	"in,eye,eye,16,solid_axle,half\r\n"

type covered struct {
	Rows, Weight   int
	RowsUnclear    int `json:"rows_unclear"`
	RowsWithFaults int `json:"rows_with_faults"`
	Served         struct {
		Weight int
		Share  float64
	}
	Gaps struct {
		Step  float64
		Cells []struct{ Weight, Unserved int }
	}
	Set struct {
		Method  string
		Dampers []struct {
			Code string
			Adds int
		}
		Weight  int
		Reached bool
	}
	Faults []struct {
		Line  int
		Codes string
	}
}

func TestCoverage(t *testing.T) {
	t.Parallel()
	s := newShops(t)
	post := func(query, accept string) *answer {
		return s.do(t, "POST", "/v1/coverage"+query, demandFile, append(s.bearer("north server"), "Content-Type", "text/csv", "Accept", accept)...)
	}
	// By hand: 3 + 1 + 6 is asked, of which no damper is as short as 3 in asks.
	got := decode[covered](t, post("?share=0.4", "application/json"), 200)
	if got.Rows != 5 || got.Weight != 10 || got.RowsUnclear != 1 || got.RowsWithFaults != 1 || got.Served.Weight != 4 || got.Served.Share != 0.4 {
		t.Errorf("%+v", got)
	}
	if got.Set.Method != "exact" || got.Set.Weight != 4 || !got.Set.Reached || len(got.Set.Dampers) != 1 {
		t.Errorf("the set: %+v", got.Set)
	}
	if len(got.Faults) != 1 || got.Faults[0].Line != 6 || got.Faults[0].Codes != "out_of_range" {
		t.Errorf("faults: %+v", got.Faults)
	}
	unserved := 0
	for _, cell := range got.Gaps.Cells {
		unserved += cell.Unserved
	}
	if unserved != 6 || got.Gaps.Step <= 0 {
		t.Errorf("gaps: %+v", got.Gaps)
	}
	if all := decode[covered](t, post("?share=1", "application/json"), 200); all.Set.Reached {
		t.Errorf("a share that can't be reached is: %+v", all.Set)
	}
	if a := post("?most=1", "text/csv"); a.status != 200 || !strings.HasPrefix(string(a.body), "code,in_stock,serves,only,rank,adds,") {
		t.Errorf("%d: %.200s", a.status, a.body)
	}
	if a := post("", "image/svg+xml"); a.status != 200 || !strings.Contains(string(a.body), ">6</text>") {
		t.Errorf("%d: %.200s", a.status, a.body)
	}
	if p := refused(t, post("?most=1&share=0.5", "application/json"), 422); p.Code != "not_together" {
		t.Errorf("both: %s", p.Code)
	}
	if p := refused(t, post("?share=1.5", "application/json"), 422); p.Code != "out_of_range" {
		t.Errorf("too large a share: %s", p.Code)
	}
}

// TestCoverageOfQuotes: each axle of the quotes of a period counts by its quote's state.
func TestCoverageOfQuotes(t *testing.T) {
	t.Parallel()
	q := newQuoting(t)
	damper := q.chosen(eyeToEye)
	a := q.keep(quoteOf("first", axleOf("rear", damper, eyeToEye)), "north server")
	ordered := decode[kept](t, q.keep(quoteOf("second", axleOf("rear", damper, eyeToEye)), "north server"), 201)
	if a.status != 201 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	if a := q.patch(ordered.ID, "*", `{"state":"ordered"}`); a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	look := func(query string) covered {
		return decode[covered](t, q.get(t, "/v1/coverage"+query, q.bearer("north server")...), 200)
	}
	if got := look("?weight_ordered=5&share=1"); got.Rows != 2 || got.Weight != 6 || got.Served.Weight != 6 || got.Set.Method != "exact" || len(got.Set.Dampers) != 1 || got.Set.Dampers[0].Adds != 6 {
		t.Errorf("%+v", got)
	}
	if got := look("?weight_kept=0"); got.Rows != 1 || got.Weight != 1 {
		t.Errorf("without those that were only kept: %+v", got)
	}
	if got := look("?to=2020-01-01"); got.Rows != 0 || got.Weight != 0 || len(got.Set.Dampers) != 0 {
		t.Errorf("of a period without quotes: %+v", got)
	}
	if got := decode[covered](t, q.get(t, "/v1/coverage", q.bearer("south server")...), 200); got.Rows != 0 {
		t.Errorf("of another shop: %+v", got)
	}
	for query, code := range map[string]string{"?weight_kept=-1": "out_of_range", "?from=yesterday+evening": "not_a_moment", "?upper=eye": "unknown_field"} {
		if p := refused(t, q.get(t, "/v1/coverage"+query, q.bearer("north server")...), 422); p.Errors[0].Code != code {
			t.Errorf("%s: %+v", query, p.Errors)
		}
	}
}
