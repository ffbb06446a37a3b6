package httpapi_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
)

func (s *quoting) put(media, body, query string) *answer {
	s.tb.Helper()
	return s.do(s.tb, "PUT", "/v1/stock"+query, body, append(s.bearer("north server"), "Content-Type", media)...)
}

// stocked is what an answer says of the stock.
type stocked struct {
	Outcome string
	Catalog struct {
		Version *int `json:"stock_version"`
	}
	Fits []struct {
		Damper   struct{ Code string }
		PickList []struct {
			Code    *string
			InStock *bool `json:"in_stock"`
			Stock   []struct {
				Location string
				Quantity int
			}
		} `json:"pick_list"`
	}
}

func (s *quoting) find(request, who string) stocked {
	s.tb.Helper()
	return decode[stocked](s.tb, s.post(s.tb, "/v1/fits", request, append(s.bearer(who), "Origin", pageOrigin)...), 200)
}

func limited(request, limits string) string {
	return strings.Replace(request, "{", `{"limits":{`+limits+`},`, 1)
}

// TestRatesBesideAStock: a shop with a stock is told of the damping as one without.
func TestRatesBesideAStock(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	rated := strings.Replace(eyeToEye, "{", `{"corner":`+corner+`,`, 1)
	rates := `{"units":"in","corner":` + corner + `}`
	ask := func() (of []string) {
		a := s.post(t, "/v1/fits", rated, s.bearer("north server")...)
		for _, f := range decode[struct {
			Fits []struct{ Damping *struct{ Verdict string } }
		}](t, a, 200).Fits {
			if f.Damping != nil {
				of = append(of, f.Damping.Verdict)
			}
		}
		for _, d := range decode[struct {
			Dampers []struct{ Code string }
		}](t, s.post(t, "/v1/rates", rates, s.bearer("north server")...), 200).Dampers {
			of = append(of, d.Code)
		}
		return of
	}
	before := ask()
	if a := s.put("application/json", `{"code":"something-else","location":"main","quantity":1}`, ""); a.status != 200 {
		t.Fatalf("%d: %s", a.status, a.body)
	}
	if after := ask(); len(before) == 0 || !slices.Equal(before, after) {
		t.Errorf("%v before, %v beside a stock", before, after)
	}
}

// TestStockMovesWithTheOrders puts a stock, sees it in answers, sells it out and gets it
// back. The figures are counted by hand.
func TestStockMovesWithTheOrders(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	before := s.post(t, "/v1/fits", eyeToEye, s.bearer("north server")...)
	code := s.chosen(eyeToEye)
	if a := s.put("application/json", fmt.Sprintf(`{"code":%q,"location":"main","quantity":3}`, code), ""); a.status != 200 {
		t.Fatalf("%d: %s", a.status, a.body)
	}
	// The instance that answered knows it at once.
	if f := s.find(eyeToEye, "north server"); *f.Catalog.Version != 1 || f.Fits[0].PickList[0].Stock[0].Location != "main" || f.Fits[0].PickList[0].Stock[0].Quantity != 3 || !*f.Fits[0].PickList[0].InStock {
		t.Errorf("%+v", f)
	}
	if f := s.find(eyeToEye, "north widget"); f.Fits[0].PickList[0].Stock != nil || !*f.Fits[0].PickList[0].InStock {
		t.Errorf("a widget is told how many there are: %+v", f)
	}
	// A shop without stock is answered as before, byte for byte; so is nobody's request.
	if a := s.post(t, "/v1/fits", eyeToEye, s.bearer("south server")...); !bytes.Equal(bytes.ReplaceAll(a.body, []byte(`"south"`), []byte(`"north"`)), before.body) {
		t.Errorf("another shop is answered %s", a.body)
	}
	if f := s.find(limited(eyeToEye, `"in_stock_at":"main"`), "north server"); f.Fits[0].Damper.Code != code || len(f.Fits) != 1 {
		t.Errorf("at the one location: %+v", f)
	}
	if p := refused(t, s.post(t, "/v1/fits", limited(eyeToEye, `"in_stock_at":"moon"`), s.bearer("north server")...), 422); *p.Errors[0].Pointer != "/limits/in_stock_at" || p.Errors[0].Code != "unknown_location" {
		t.Errorf("%+v", p)
	}

	axle := axleOf("rear", code, eyeToEye)
	first := decode[kept](t, s.keep(quoteOf("first", axle), "north server"), 201)
	second := decode[kept](t, s.keep(quoteOf("second", axle), "north server"), 201)
	ordered := decode[struct{ Taken []json.RawMessage }](t, s.patch(first.ID, "*", `{"state":"ordered"}`), 200)
	if len(ordered.Taken) != 1 || string(ordered.Taken[0]) != fmt.Sprintf(`{"code":%q,"location":"main","quantity":2}`, code) {
		t.Errorf("taken %s", ordered.Taken)
	}
	p := refused(t, s.patch(second.ID, "*", `{"state":"ordered"}`), 409)
	if p.Code != "parts_short" || p.Errors[0].Values["left"] != 1.0 || p.Errors[0].Values["wanted"] != 2.0 || p.Errors[0].Values["code"] != code {
		t.Errorf("%+v", p)
	}
	if q := decode[kept](t, s.get(t, "/v1/quotes/"+second.ID, s.bearer("north server")...), 200); q.State != "kept" {
		t.Errorf("the second is %s", q.State)
	}
	if f := s.find(eyeToEye, "north server"); f.Fits[0].PickList[0].Stock[0].Quantity != 1 {
		t.Errorf("after the order: %+v", f.Fits[0].PickList[0])
	}
	if a := s.put("application/json", fmt.Sprintf(`{"code":%q,"location":"van","quantity":1}`, code), ""); a.status != 200 {
		t.Fatalf("%d: %s", a.status, a.body)
	}
	if p := refused(t, s.patch(second.ID, "*", `{"state":"ordered","location":"van"}`), 409); p.Errors[0].Values["left"] != 1.0 {
		t.Errorf("from one location alone: %+v", p)
	}
	both := decode[struct{ Taken []struct{ Location string } }](t, s.patch(second.ID, "*", `{"state":"ordered"}`), 200)
	if len(both.Taken) != 2 {
		t.Errorf("taken %+v", both.Taken)
	}
	if f := s.find(limited(eyeToEye, `"in_stock":true`), "north server"); slices.ContainsFunc(f.Fits, func(f struct {
		Damper   struct{ Code string }
		PickList []struct {
			Code    *string
			InStock *bool `json:"in_stock"`
			Stock   []struct {
				Location string
				Quantity int
			}
		} `json:"pick_list"`
	}) bool {
		return f.Damper.Code == code
	}) {
		t.Error("what is sold out is offered as in stock")
	}
	if a := s.patch(first.ID, "*", `{"state":"cancelled"}`); a.status != 200 {
		t.Fatalf("%d: %s", a.status, a.body)
	}
	type page struct {
		Version int
		Items   []struct {
			Location string
			Quantity int
		}
	}
	if got := decode[page](t, s.get(t, "/v1/stock?code="+url.QueryEscape(code), s.bearer("north server")...), 200); got.Items[0].Quantity != 2 || got.Items[1].Quantity != 0 {
		t.Errorf("after it was given back: %+v", got)
	}
	if got := decode[page](t, s.get(t, "/v1/stock", s.bearer("south server")...), 200); len(got.Items) != 0 || got.Version != 0 {
		t.Errorf("another shop sees %+v", got)
	}
}

// TestManyOrdersAtOnce: 40 orders of two want the 21 that are there. Ten get theirs.
func TestManyOrdersAtOnce(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	code := s.chosen(eyeToEye)
	s.put("text/csv", "code,location,quantity\n"+code+",main,15\n"+code+",van,6\n", "")
	ids := make([]string, 24)
	for i := range ids {
		ids[i] = decode[kept](t, s.keep(quoteOf(fmt.Sprint(i), axleOf("rear", code, eyeToEye)), "north server"), 201).ID
	}
	var ordered, short atomic.Int32
	var all sync.WaitGroup
	for _, id := range ids {
		all.Go(func() {
			switch a := s.patch(id, "*", `{"state":"ordered"}`); a.status {
			case 200:
				ordered.Add(1)
			case 409:
				short.Add(1)
			default:
				t.Errorf("%d: %s", a.status, a.body)
			}
		})
	}
	all.Wait()
	if ordered.Load() != 10 || short.Load() != 14 {
		t.Errorf("%d were ordered and %d refused", ordered.Load(), short.Load())
	}
	if csv := string(s.get(t, "/v1/stock?format=csv", s.bearer("north server")...).body); csv != "code,location,quantity,low\r\n"+code+",main,0,\r\n"+code+",van,1,\r\n" {
		t.Errorf("left are %q", csv)
	}
}

// TestOneBadLineOfStock among 10,000 keeps all of them out, and is named.
func TestOneBadLineOfStock(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	lines := []string{"code,location,quantity,low"}
	for i := range 10_000 {
		lines = append(lines, fmt.Sprintf("part-%d,main,%d,", i, i))
	}
	lines[7000] = "part-6999,main,-3,"
	p := refused(t, s.put("text/csv", strings.Join(lines, "\n"), ""), 422)
	if e := p.Errors[0]; len(p.Errors) != 1 || e.Line != 7001 || e.Column != "quantity" || e.Value != "-3" || e.Code != "out_of_range" || e.File != "stock.csv" {
		t.Errorf("%+v", p.Errors)
	}
	if body := s.get(t, "/v1/stock", s.bearer("north server")...).body; !strings.Contains(string(body), `"items":[]`) {
		t.Errorf("something was set: %.200s", body)
	}
	lines[7000] = "part-6999,main,3,"
	if a := s.put("text/csv", strings.Join(lines, "\n"), ""); a.status != 200 || !strings.Contains(string(a.body), `"lines":10000`) {
		t.Errorf("%d: %s", a.status, a.body)
	}
	for name, c := range map[string]struct {
		media, body, code, column string
		line                      int
	}{
		"an unknown column":             {"text/csv", "code,location,quantity,colour\na,b,1,red\n", "unknown_field", "colour", 1},
		"no quantity at all":            {"text/csv", "code,location\na,b\n", "missing", "quantity", 1},
		"an empty cell":                 {"text/csv", "code,location,quantity\na,,1\n", "missing", "location", 2},
		"a line twice":                  {"text/csv", "code,location,quantity\na,b,1\na,b,2\n", "same_line", "code", 3},
		"half of one":                   {"text/csv", "code,location,quantity\na,b,1.5\n", "wrong_type", "quantity", 2},
		"a cell too many":               {"text/csv", "code,location,quantity\na,b,1,2\n", "too_many", "", 2},
		"a code with a blank before it": {"application/x-ndjson", `{"code":" a","location":"b","quantity":1}`, "not_a_name", "code", 1},
		"a code of blanks":              {"application/x-ndjson", `{"code":"  ","location":"b","quantity":1}`, "not_a_name", "code", 1},
		"a code of two lines":           {"application/x-ndjson", `{"code":"a\nb","location":"b","quantity":1}`, "not_a_name", "code", 1},
		"Latin-1":                       {"text/csv", "code,location,quantity\na\xe4,b,1\n", "not_utf8", "code", 2},
		"NUL":                           {"text/csv", "code,location,quantity\na,b\x00,1\n", "not_text", "location", 2},
		"NUL as JSON":                   {"application/x-ndjson", `{"code":"a\u0000","location":"b","quantity":1}`, "not_text", "code", 1},
		"an open quote":                 {"text/csv", "code,location,quantity\n\"a,b,1\n", "quote_open", "", 2},
		"only a header":                 {"text/csv", "code,location,quantity\n", "too_few", "", 1},
		"nothing":                       {"text/csv", "", "file_empty", "", 0},
		"JSON that is said to be CSV":   {"text/csv", "{\"code\":\"a\",\"location\":\"b\",\"quantity\":1}\n", "not_a_line", "", 1},
		"a negative quantity":           {"application/x-ndjson", `{"code":"a","location":"b","quantity":1}` + "\n" + `{"code":"c","location":"b","quantity":-1}`, "out_of_range", "quantity", 2},
		"an unknown member":             {"application/x-ndjson", `{"code":"a","location":"b","quantity":1,"colour":"red"}`, "unknown_field", "colour", 1},
		"a line that is no JSON":        {"application/x-ndjson", "{}{\n", "not_a_line", "", 1},
	} {
		p := refused(t, s.put(c.media, c.body, ""), 422)
		if e := p.Errors[0]; e.Code != c.code || e.Column != c.column || e.Line != c.line {
			t.Errorf("%s: %+v", name, p.Errors)
		}
	}
	if a := s.put("application/json", `{"code":"a","location":"b","quantity":-1}`, ""); a.status != 422 {
		t.Errorf("a negative quantity as JSON: %d", a.status)
	}
	if a := s.put("application/xml", "<stock/>", ""); a.status != 415 {
		t.Errorf("XML: %d", a.status)
	}
	// As spreadsheets and other programs write them.
	for media, bodies := range map[string][]string{
		"text/csv": {
			"\ufeffcode,location,quantity\r\nas it is,main,7\r\n", "\ufeff\"code\",\"location\",\"quantity\"\r\n\"as it is\",\"main\",\"7\"\r\n\r\n",
			"Location;Quantity;Code\nmain;7;as it is\n", "code\tlocation\tquantity\nas it is\tmain\t7",
		},
		"application/x-ndjson": {"\ufeff" + `{"code":"as it is","location":"main","quantity":7}` + "\r\n\r\n"},
	} {
		for _, body := range bodies {
			s.put("text/csv", "code,location,quantity\nas it is,main,0\n", "")
			a := s.put(media, body, "")
			if csv := string(s.get(t, "/v1/stock?format=csv&code=as+it+is", s.bearer("north server")...).body); a.status != 200 || csv != "code,location,quantity,low\r\nas it is,main,7,\r\n" {
				t.Errorf("%q: %d: %s; then %q", body, a.status, a.body, csv)
			}
		}
	}
	// What isn't in a whole new list is gone.
	s.put("application/x-ndjson", `{"code":"only","location":"main","quantity":1}`, "?replace=true")
	if csv := string(s.get(t, "/v1/stock?format=csv", s.bearer("north server")...).body); csv != "code,location,quantity,low\r\nonly,main,1,\r\n" {
		t.Errorf("after all was replaced: %.200q", csv)
	}
}
