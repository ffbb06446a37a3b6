package httpapi_test

import (
	"bytes"
	"encoding/base64"
	"encoding/csv"
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/catalog"
	"midstroke/internal/damping"
	"midstroke/testdata/demo"
)

// listed is one page of any list.
type listed struct {
	Items []struct {
		Code       string
		Compressed float64
	}
	NextCursor *string `json:"next_cursor"`
	Catalog    struct{ Revision int }
}

func (l *listed) codes() []string {
	codes := make([]string, len(l.Items))
	for i, item := range l.Items {
		codes[i] = item.Code
	}
	return codes
}

// follow reads a list from target on, page by page, by next_cursor and by the
// Link field, which must agree.
func follow(t *testing.T, s *service, target string) (codes []string, pages int) {
	t.Helper()
	for target != "" {
		a := s.get(t, target)
		page := decode[listed](t, a, 200)
		codes = append(codes, page.codes()...)
		pages++
		link := a.header.Get("Link")
		if page.NextCursor == nil {
			if link != "" {
				t.Errorf("the last page has Link %q", link)
			}
			return codes, pages
		}
		next, ok := strings.CutSuffix(strings.TrimPrefix(link, "<"), `>; rel="next"`)
		if !ok || !strings.Contains(next, url.QueryEscape(*page.NextCursor)) {
			t.Fatalf("Link %q doesn't lead to next_cursor %q", link, *page.NextCursor)
		}
		target = next
	}
	return codes, pages
}

func TestPagesTogetherAreTheWholeList(t *testing.T) {
	s := newService(t)
	contents := demo.Contents()
	for list, want := range map[string]int{
		"dampers": len(contents.Dampers), "sleeves": len(contents.Sleeves), "spacers": len(contents.Spacers), "adapters": len(contents.Adapters),
	} {
		for _, limit := range []int{41, 500} {
			codes, pages := follow(t, s, fmt.Sprintf("/v1/%s?units=mm&limit=%d", list, limit))
			if len(codes) != want || !slices.IsSorted(codes) || len(slices.Compact(slices.Clone(codes))) != want {
				t.Errorf("%s by %d: %d codes in %d pages, want %d different ones in order", list, limit, len(codes), pages, want)
			}
			if wantPages := (want + limit - 1) / limit; pages != wantPages {
				t.Errorf("%s by %d: %d pages, want %d", list, limit, pages, wantPages)
			}
		}
	}
}

func TestACursorSurvivesANewRevision(t *testing.T) {
	s := newService(t)
	first := decode[listed](t, s.get(t, "/v1/dampers?units=in&limit=10"), 200)

	// The damper that the cursor stands at is gone, and another has come
	// behind it.
	contents := demo.Contents()
	last := first.Items[9].Code
	contents.Dampers = slices.DeleteFunc(contents.Dampers, func(d catalog.Damper) bool { return d.Code == last })
	added := contents.Dampers[0]
	added.Code = last + "!"
	contents.Dampers = append(contents.Dampers, added)
	s.library.Publish(1, catalog.NewSnapshot("demo", revision+1, contents))

	second := decode[listed](t, s.get(t, "/v1/dampers?units=in&limit=10&cursor="+*first.NextCursor), 200)
	if second.Catalog.Revision != revision+1 {
		t.Errorf("the page is of revision %d, want the newest", second.Catalog.Revision)
	}
	if second.Items[0].Code != added.Code {
		t.Errorf("the page begins with %q, want %q", second.Items[0].Code, added.Code)
	}
}

func TestCursorsThatAreNoneOrOthersAreRefused(t *testing.T) {
	s := newService(t)
	page := decode[listed](t, s.get(t, "/v1/dampers?units=in&limit=5&in_stock=true"), 200)
	good := *page.NextCursor
	for name, c := range map[string]struct{ target, code string }{
		"no cursor at all":   {"/v1/dampers?units=in&in_stock=true&cursor=hello", "bad_cursor"},
		"cut short":          {"/v1/dampers?units=in&in_stock=true&cursor=" + good[:len(good)-2], "bad_cursor"},
		"of another list":    {"/v1/sleeves?units=in&in_stock=true&cursor=" + good, "foreign_cursor"},
		"of other filters":   {"/v1/dampers?units=in&cursor=" + good, "foreign_cursor"},
		"of other units":     {"/v1/dampers?units=mm&in_stock=true&cursor=" + good, "foreign_cursor"},
		"made up":            {"/v1/dampers?units=in&in_stock=true&cursor=" + base64.RawURLEncoding.EncodeToString([]byte(`{"after":"a"}`)), "bad_cursor"},
		"longer than any is": {"/v1/dampers?units=in&in_stock=true&cursor=" + strings.Repeat("A", 2000), "bad_cursor"},
	} {
		p := refused(t, s.get(t, c.target), 422)
		if len(p.Errors) != 1 || p.Errors[0].Parameter != "cursor" || p.Errors[0].Code != c.code {
			t.Errorf("%s: %+v, want %s at cursor", name, p.Errors, c.code)
		}
	}
	if a := s.get(t, "/v1/dampers?in_stock=true&limit=50&units=in&cursor="+good); a.status != 200 {
		t.Errorf("the same filters in another order, by another limit: %d: %s", a.status, a.body)
	}
}

func TestAllFaultsOfAListAreToldAtOnce(t *testing.T) {
	s := newService(t)
	p := refused(t, s.get(t, "/v1/dampers?upper=hook&lower=fork&construction=x&adjusters=all&gas=maybe&limit=0&limit=2"+
		"&min_stroke=17,5&max_body_diameter=-1&colour=red&catalog=demo&revision=one&errors=json"), 422)
	var got []string
	for _, e := range p.Errors {
		got = append(got, e.Parameter+" "+e.Code)
	}
	slices.Sort(got)
	// What is wrong with a length in any units is told without units, too.
	want := []string{
		"adjusters not_allowed", "colour unknown_field", "construction not_allowed", "errors not_allowed", "gas wrong_type",
		"limit duplicate_field", "limit out_of_range", "lower not_allowed", "max_body_diameter negative", "min_stroke comma", "revision wrong_type", "units missing", "upper not_allowed",
	}
	if !slices.Equal(got, want) {
		t.Errorf("faults\n%q, want\n%q", got, want)
	}
	p = refused(t, s.get(t, "/v1/dampers?units=mm&min_stroke=17,5&max_body_diameter=-1&min_compressed=400&max_compressed=300&max_extended=1/2"), 422)
	got = nil
	for _, e := range p.Errors {
		got = append(got, e.Parameter+" "+e.Code)
	}
	slices.Sort(got)
	want = []string{"max_body_diameter negative", "max_extended fraction_metric", "min_compressed contradiction", "min_stroke comma"}
	if !slices.Equal(got, want) {
		t.Errorf("faults\n%q, want\n%q", got, want)
	}
}

func TestFiltersKeepWhatTheyNameAndNothingElse(t *testing.T) {
	s := newService(t)
	dampers := demo.Contents().Dampers
	slices.SortFunc(dampers, func(a, b catalog.Damper) int { return strings.Compare(a.Code, b.Code) })
	inch := func(f float64) int64 { return int64(f * 25_400_000) }
	for query, keep := range map[string]func(*catalog.Damper) bool{
		"upper=stud&lower=eye": func(d *catalog.Damper) bool {
			return d.Upper.Style.String() == "stud" && d.Lower.Style.String() == "eye"
		},
		"construction=monotube&in_stock=TRUE":      func(d *catalog.Damper) bool { return d.Construction == catalog.Monotube && d.InStock },
		"adjusters=rebound&adjusters=compression":  func(d *catalog.Damper) bool { return d.Adjusters.Has(catalog.Rebound | catalog.Compression) },
		"force_table=true":                         func(d *catalog.Damper) bool { return d.Forces.Text() != "" },
		"force_table=false&reservoir=remote":       func(d *catalog.Damper) bool { return d.Forces.Text() == "" && d.Reservoir == damping.RemoteReservoir },
		"gas=true&invertible=false":                func(d *catalog.Damper) bool { return d.Gas && !d.Invertible },
		"min_stroke=6&max_stroke=8+1/2":            func(d *catalog.Damper) bool { return int64(d.Stroke()) >= inch(6) && int64(d.Stroke()) <= inch(8.5) },
		"max_compressed=310+mm&min_extended=15+in": func(d *catalog.Damper) bool { return d.Compressed <= 310_000_000 && int64(d.Extended) >= inch(15) },
		"max_body_diameter=2":                      func(d *catalog.Damper) bool { return int64(d.BodyDiameter) <= inch(2) },
		"q=" + url.QueryEscape(strings.ToUpper(dampers[3].Code[1:])): func(d *catalog.Damper) bool {
			return strings.Contains(strings.ToLower(d.Code+" "+d.Description), strings.ToLower(dampers[3].Code[1:]))
		},
	} {
		var want []string
		for i := range dampers {
			if keep(&dampers[i]) {
				want = append(want, dampers[i].Code)
			}
		}
		got, _ := follow(t, s, "/v1/dampers?units=in&limit=200&"+query)
		if !slices.Equal(got, want) {
			t.Errorf("%s: %d dampers, want %d", query, len(got), len(want))
		}
		if len(want) == 0 || len(want) == len(dampers) {
			t.Errorf("%s proves nothing: it keeps %d of %d", query, len(want), len(dampers))
		}
	}
}

func TestAnyLimitGivesTheSameList(t *testing.T) {
	s := newService(t)
	want, _ := follow(t, s, "/v1/sleeves?units=in&limit=500")
	rapid.Check(t, func(rt *rapid.T) {
		var got []string
		target := "/v1/sleeves?units=in"
		for next := ""; ; {
			limit := rapid.IntRange(5, 500).Draw(rt, "limit")
			page := decode[listed](t, s.ask(fmt.Sprintf("%s&limit=%d%s", target, limit, next)), 200)
			got = append(got, page.codes()...)
			if page.NextCursor == nil {
				break
			}
			next = "&cursor=" + *page.NextCursor
		}
		if !slices.Equal(got, want) {
			rt.Fatalf("%d sleeves, want %d", len(got), len(want))
		}
	})
}

func TestOneDamper(t *testing.T) {
	s := newService(t)
	code := demo.Contents().Dampers[0].Code
	type one struct{ Code, Units string }
	if got := decode[one](t, s.get(t, "/v1/dampers/"+url.PathEscape(code)+"?units=mm"), 200); got.Code != code || got.Units != "mm" {
		t.Errorf("got %+v", got)
	}
	refused(t, s.get(t, "/v1/dampers/"+url.PathEscape("no/such%code")+"?units=mm"), 404)
	p := refused(t, s.get(t, "/v1/dampers/"+url.PathEscape(code)), 422)
	if p.Errors[0].Parameter != "units" {
		t.Errorf("errors %+v", p.Errors)
	}
}

// sortedCodes gives the codes of parts in the order that the contract states: by
// value, equal ones by code, unknown ones last. It shares no code with catalog.Order.
func sortedCodes[T any](parts []T, code func(*T) string, value func(*T) (int64, bool), descending bool) []string {
	type row struct {
		code  string
		value int64
		known bool
	}
	var known, unknown []row
	for i := range parts {
		v, ok := value(&parts[i])
		r := row{code(&parts[i]), v, ok}
		if ok {
			known = append(known, r)
		} else {
			unknown = append(unknown, r)
		}
	}
	byCode := func(a, b row) int { return strings.Compare(a.code, b.code) }
	slices.SortFunc(known, byCode)
	slices.SortFunc(unknown, byCode)
	slices.SortStableFunc(known, func(a, b row) int {
		if descending {
			a, b = b, a
		}
		return int(max(-1, min(1, a.value-b.value)))
	})
	var codes []string
	for _, r := range append(known, unknown...) {
		codes = append(codes, r.code)
	}
	return codes
}

// TestSortedPagesAreTheSortedList: pages of any size are the list in its order.
// Many of the demo's dampers have the same price or body, and some have no price.
func TestSortedPagesAreTheSortedList(t *testing.T) {
	s := newService(t)
	dampers := demo.Contents().Dampers
	code := func(d *catalog.Damper) string { return d.Code }
	for by, value := range map[string]func(*catalog.Damper) (int64, bool){
		"stroke":        func(d *catalog.Damper) (int64, bool) { return int64(d.Extended - d.Compressed), true },
		"body_diameter": func(d *catalog.Damper) (int64, bool) { return int64(d.BodyDiameter), true },
		"price":         func(d *catalog.Damper) (int64, bool) { return int64(d.Price), d.Price >= 0 },
	} {
		for _, limit := range []int{47, 500} {
			for sign, descending := range map[string]bool{"": false, "-": true} {
				got, _ := follow(t, s, fmt.Sprintf("/v1/dampers?units=in&limit=%d&sort=%s%s", limit, sign, by))
				if want := sortedCodes(dampers, code, value, descending); !slices.Equal(got, want) {
					t.Errorf("sort=%s%s by %d: %d dampers, not in the right order: %.200q", sign, by, limit, len(got), got)
				}
			}
		}
	}
	want := slices.Sorted(func(yield func(string) bool) {
		for i := range dampers {
			if !yield(dampers[i].Code) {
				return
			}
		}
	})
	if got, _ := follow(t, s, "/v1/dampers?units=mm&limit=100&sort=code"); !slices.Equal(got, want) {
		t.Error("sort=code isn't the order of codes")
	}
	slices.Reverse(want)
	if got, _ := follow(t, s, "/v1/dampers?units=mm&limit=100&sort=-code"); !slices.Equal(got, want) {
		t.Error("sort=-code isn't that order reversed")
	}
}

// TestASortedCursorSurvivesANewRevision: the damper that the cursor stands at is
// gone, and one of the same stroke has come behind it.
func TestASortedCursorSurvivesANewRevision(t *testing.T) {
	s := newService(t)
	target := "/v1/dampers?units=in&limit=10&sort=-stroke"
	first := decode[listed](t, s.get(t, target), 200)
	contents := demo.Contents()
	last := first.Items[9].Code
	i := slices.IndexFunc(contents.Dampers, func(d catalog.Damper) bool { return d.Code == last })
	contents.Dampers[i].Code += "!"
	s.library.Publish(1, catalog.NewSnapshot("demo", revision+1, contents))
	second := decode[listed](t, s.get(t, target+"&cursor="+*first.NextCursor), 200)
	if second.Items[0].Code != last+"!" {
		t.Errorf("the page begins with %q, want %q", second.Items[0].Code, last+"!")
	}
	p := refused(t, s.get(t, "/v1/dampers?units=in&limit=10&cursor="+*first.NextCursor), 422)
	if p.Errors[0].Code != "foreign_cursor" {
		t.Errorf("a cursor of another order: %+v", p.Errors)
	}
}

// TestSortNamesAreTheContracts: each list is sorted by the names of its pattern,
// and by no others; a refusal names them.
func TestSortNamesAreTheContracts(t *testing.T) {
	s := newService(t)
	for _, path := range []string{"/v1/dampers", "/v1/sleeves", "/v1/spacers", "/v1/adapters"} {
		pattern := s.doc.Paths.Find(path).Get.Parameters.GetByInAndName("query", "sort").Schema.Value.Pattern
		names := strings.Split(strings.TrimSuffix(strings.TrimPrefix(pattern, "^-?("), ")$"), "|")
		for _, name := range names {
			for _, by := range []string{name, "-" + name} {
				if a := s.get(t, path+"?units=in&limit=1&sort="+by); a.status != 200 {
					t.Errorf("%s by %s: %d: %s", path, by, a.status, a.body)
				}
			}
		}
		for _, by := range []string{"upper_bore", "construction", "in_stock", "description", "--code", "Code", "-", "colour"} {
			p := refused(t, s.get(t, path+"?units=in&sort="+by), 422)
			if len(p.Errors) != 1 || p.Errors[0].Parameter != "sort" || p.Errors[0].Code != "not_allowed" || p.Errors[0].Values["options"] != strings.Join(names, ", ") {
				t.Errorf("%s by %s: %+v", path, by, p.Errors)
			}
		}
	}
}

// TestAListAsCSV reads the CSV form back by encoding/csv and holds it against the
// JSON of the same page.
func TestAListAsCSV(t *testing.T) {
	s := newService(t)
	for list, columns := range map[string]string{
		"dampers": "code,description,construction,gas,adjusters,compressed,extended,stroke,length_tolerance,body_diameter," +
			"upper_style,upper_bore,upper_bore_is,upper_width,upper_thread,upper_usable_length,upper_spigot,upper_hole_spacing,upper_slot,upper_hole," +
			"lower_style,lower_bore,lower_bore_is,lower_width,lower_thread,lower_usable_length,lower_spigot,lower_hole_spacing,lower_slot,lower_hole," +
			"invertible,reservoir,force_table,gas_included,gas_force_n,test_temperature_c,in_stock,price_amount,price_currency,units,catalog_name,catalog_revision,catalog_stale",
		"sleeves":  "code,description,outer,bore,bore_is,length,in_stock,price_amount,price_currency,units,catalog_name,catalog_revision,catalog_stale",
		"spacers":  "code,description,bore,thickness,in_stock,price_amount,price_currency,units,catalog_name,catalog_revision,catalog_stale",
		"adapters": "",
	} {
		target := "/v1/" + list + "?units=mm&limit=40&sort=-code"
		byQuery, byHeader := s.get(t, target+"&format=csv"), s.get(t, target, "Accept", "text/csv")
		if !bytes.Equal(byQuery.body, byHeader.body) || byQuery.header.Get("Content-Type") != "text/csv; charset=utf-8; header=present" {
			t.Errorf("%s: format=csv and Accept differ, or came as %q", list, byQuery.header.Get("Content-Type"))
		}
		asJSON := decode[struct {
			Items      []map[string]any
			NextCursor *string `json:"next_cursor"`
		}](t, s.get(t, target), 200)
		rows, err := csv.NewReader(bytes.NewReader(byQuery.body)).ReadAll()
		if err != nil || len(rows) != len(asJSON.Items)+1 {
			t.Fatalf("%s: %d rows, %v", list, len(rows), err)
		}
		if got := strings.Join(rows[0], ","); columns != "" && got != columns {
			t.Errorf("%s has the columns\n%s, want\n%s", list, got, columns)
		}
		for i, item := range asJSON.Items {
			for j, name := range rows[0][:slices.Index(rows[0], "units")] {
				if want := cellOf(item, name); rows[i+1][j] != want {
					t.Errorf("%s %s: %s is %q, want %q", list, rows[i+1][0], name, rows[i+1][j], want)
				}
			}
		}
		link := byQuery.header.Get("Link")
		if (asJSON.NextCursor == nil) != (link == "") || link != "" && !strings.Contains(link, "format=csv") {
			t.Errorf("%s: Link %q", list, link)
		}
	}
	empty := s.get(t, "/v1/spacers?units=mm&q=nothing-is-called-so&format=csv")
	if rows, err := csv.NewReader(bytes.NewReader(empty.body)).ReadAll(); err != nil || len(rows) != 1 {
		t.Errorf("an empty list: %q, %v", empty.body, err)
	}
	refused(t, s.get(t, "/v1/spacers?units=mm&format=text"), 422)
	refused(t, s.get(t, "/v1/spacers?units=mm", "Accept", "image/png"), 406)
}

// cellOf says what a cell under a name holds, by the JSON of the part.
func cellOf(item map[string]any, name string) string {
	value, ok := item[name]
	if !ok {
		group, rest, _ := strings.Cut(name, "_")
		inner, isObject := item[group].(map[string]any)
		if !isObject {
			return ""
		}
		value = inner[rest]
	}
	switch v := value.(type) {
	case nil:
		return ""
	case float64:
		return strconv.FormatFloat(v, 'f', -1, 64)
	case []any:
		var items []string
		for _, one := range v {
			if curve, ok := one.(map[string]any); ok {
				one = curveText(curve)
			}
			items = append(items, fmt.Sprint(one))
		}
		return strings.Join(items, "|")
	}
	return fmt.Sprint(value)
}

// curveText writes the forces at one position as files have them.
func curveText(curve map[string]any) string {
	text := ""
	if position, ok := curve["position"].(string); ok {
		text = position + ": "
	}
	velocities, _ := curve["velocity_m_s"].([]any)
	compression, _ := curve["compression_n"].([]any)
	rebound, _ := curve["rebound_n"].([]any)
	points := make([]string, len(velocities))
	for i := range velocities {
		points[i] = fmt.Sprintf("%v %v/%v", velocities[i], compression[i], rebound[i])
	}
	return text + strings.Join(points, "; ")
}

// TestOnePartByItsCode: parts are found by codes that a path has to escape.
func TestOnePartByItsCode(t *testing.T) {
	s := newService(t)
	contents := demo.Contents()
	odd := []string{"a/b", "50 %", "x?y#z", "Größe+1", "..", "a;b=c", "%2F", `back\slash`}
	for _, code := range odd {
		sleeve, spacer, adapter := contents.Sleeves[0], contents.Spacers[0], contents.Adapters[0]
		sleeve.Code, spacer.Code, adapter.Code = code, code, code
		contents.Sleeves, contents.Spacers, contents.Adapters = append(contents.Sleeves, sleeve), append(contents.Spacers, spacer), append(contents.Adapters, adapter)
	}
	s.library.Publish(1, catalog.NewSnapshot("demo", revision+1, contents))
	type one struct {
		Code, Units string
		Catalog     struct{ Revision int }
	}
	for _, list := range []string{"sleeves", "spacers", "adapters"} {
		for _, code := range odd {
			got := decode[one](t, s.get(t, "/v1/"+list+"/"+escaped(code)+"?units=in"), 200)
			if got.Code != code || got.Units != "in" || got.Catalog.Revision != revision+1 {
				t.Errorf("%s %q: %+v", list, code, got)
			}
		}
		p := refused(t, s.get(t, "/v1/"+list+"/no-such-code?units=in"), 404)
		if p.Code != "no_such_part" {
			t.Errorf("%s: %+v", list, p)
		}
		refused(t, s.get(t, "/v1/"+list+"/a%2Fb?units=in&limit=3"), 422)
	}
}

// escaped is url.PathEscape with full stops escaped as well, since clients take
// a segment ".." for a step back.
func escaped(code string) string { return strings.ReplaceAll(url.PathEscape(code), ".", "%2E") }
