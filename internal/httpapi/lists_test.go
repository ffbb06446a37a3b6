package httpapi_test

import (
	"encoding/base64"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/catalog"
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
