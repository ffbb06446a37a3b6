package httpapi_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"midstroke/internal/catalog"
	"midstroke/internal/postgres"
	"midstroke/internal/quote"
	"midstroke/internal/shop"
	"midstroke/internal/unit"
	"midstroke/testdata/demo"
)

// kept is a quote as it is answered.
type kept struct {
	ID, State, Reference, Remark, Language string
	Catalog                                struct {
		Name     string
		Revision int
	}
	CreatedBy string `json:"created_by"`
	History   []struct {
		State, Key string
		At         time.Time
		By         *string
	}
	Axles []struct {
		Axle, Damper string
		Quantity     int
		Fits         bool
		Risk         *struct{ By, Reason string } `json:"accepted_risk"`
		Request      json.RawMessage
		Answer       struct {
			Outcome string
			Catalog struct{ Revision int }
			Fits    []struct{ Damper struct{ Code string } }
			Judged  []struct{ Verdict string }
		}
	}
	PickList []pickLine `json:"pick_list"`
	Total    struct {
		Amount, Currency string
		Complete         bool
	}
	Sheet *struct {
		Link, URL string
		Expires   time.Time `json:"expires_at"`
	}
}

type pickLine struct {
	Kind, Text string
	Code       *string
	Quantity   int
	Each       *string
	Amount     *string
}

// quoting is the shops north and south with a published catalogue each.
type quoting struct {
	*shops
	tb testing.TB
	n  int // keys made
}

func newQuoting(tb testing.TB) *quoting {
	tb.Helper()
	contents := demo.Contents()
	s, _ := newShopsWith(tb, &contents)
	return &quoting{shops: s, tb: tb}
}

// frontEyes is another request than eyeToEye, for another axle.
const frontEyes = `{"units":"mm","upper":{"style":"eye"},"lower":{"style":"eye"},"readings":[420],"suspension":"independent"}`

// chosen gives the best fit to a request.
func (s *quoting) chosen(request string) string {
	s.tb.Helper()
	found := decode[struct {
		Fits []struct{ Damper struct{ Code string } }
	}](s.tb, s.post(s.tb, "/v1/fits", request, s.bearer("north server")...), 200)
	if len(found.Fits) == 0 {
		s.tb.Fatalf("nothing fits %s", request)
	}
	return found.Fits[0].Damper.Code
}

// axleOf is an axle of a request for a quote.
func axleOf(axle, damper, request string) string {
	return fmt.Sprintf(`{"axle":%q,"damper":%q,"request":%s}`, axle, damper, request)
}

func quoteOf(reference string, axles ...string) string {
	return fmt.Sprintf(`{"reference":%q,"remark":"call back","axles":[%s]}`, reference, strings.Join(axles, ","))
}

// keep sends a request for a quote under a new key.
func (s *quoting) keep(body, who string, header ...string) *answer {
	s.tb.Helper()
	s.n++
	return s.keepAs(fmt.Sprintf("key %d", s.n), body, who, header...)
}

func (s *quoting) keepAs(key, body, who string, header ...string) *answer {
	s.tb.Helper()
	return s.post(s.tb, "/v1/quotes", body, append(append(s.bearer(who), "Idempotency-Key", key), header...)...)
}

func (s *quoting) patch(id, tag, body string) *answer {
	s.tb.Helper()
	return s.do(s.tb, "PATCH", "/v1/quotes/"+id, body, append(s.bearer("north server"), "Content-Type", "application/json", "If-Match", tag)...)
}

// TestAQuoteOfBothAxlesLivesItsLife keeps, reads, finds, orders, fits and erases one.
func TestAQuoteOfBothAxlesLivesItsLife(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	rear, front := s.chosen(eyeToEye), s.chosen(frontEyes)
	body := quoteOf("ticket 4411", axleOf("rear", rear, eyeToEye), axleOf("front", front, frontEyes))
	a := s.keepAs("once", body, "north server")
	q := decode[kept](t, a, 201)
	if q.State != "kept" || q.Reference != "ticket 4411" || q.Remark != "call back" || q.Catalog.Name != "north" || q.Catalog.Revision != 1 || len(q.Axles) != 2 ||
		q.Axles[0].Damper != rear || !q.Axles[0].Fits || q.Axles[0].Quantity != 2 || q.Axles[1].Axle != "front" || q.Axles[1].Answer.Fits[0].Damper.Code != front {
		t.Fatalf("%+v", q)
	}
	if string(q.Axles[0].Request) != eyeToEye {
		t.Errorf("the request is kept as %s", q.Axles[0].Request)
	}
	// The sum of the lines, added up by hand.
	var cents, each int
	for _, l := range q.PickList {
		if l.Amount != nil {
			if _, err := fmt.Sscanf(strings.Replace(*l.Amount, ".", "", 1), "%d", &each); err != nil {
				t.Fatal(err)
			}
			cents += each
		}
	}
	if want := fmt.Sprintf("%d.%02d", cents/100, cents%100); q.Total.Amount != want || q.Total.Currency != "USD" {
		t.Errorf("the total is %+v, want %s", q.Total, want)
	}
	if again := s.keepAs("once", body, "north server"); again.status != 201 || !bytes.Equal(again.body, a.body) || again.header.Get("ETag") != a.header.Get("ETag") || again.header.Get("Location") != a.header.Get("Location") {
		t.Errorf("sent again: %d %s", again.status, again.body)
	}
	if p := refused(t, s.keepAs("once", quoteOf("other", axleOf("rear", rear, eyeToEye)), "north server"), 422); p.Code != "other_request" {
		t.Errorf("another body: %+v", p)
	}
	if p := refused(t, s.post(t, "/v1/quotes", body, s.bearer("north server")...), 400); p.Code != "idempotency_key_missing" {
		t.Errorf("without a key: %+v", p)
	}
	if p := refused(t, s.keepAs(strings.Repeat("k", 256), body, "north server"), 400); p.Code != "idempotency_key_long" {
		t.Errorf("a long key: %+v", p)
	}

	read := s.get(t, "/v1/quotes/"+q.ID, s.bearer("north server")...)
	if read.status != 200 || !bytes.Equal(read.body, a.body) {
		t.Errorf("read: %d %s", read.status, read.body)
	}
	if sheet := s.get(t, "/v1/sheets/"+q.Sheet.Link); sheet.status != 200 || !bytes.Equal(sheet.body, a.body) {
		t.Errorf("by its link: %d %s", sheet.status, sheet.body)
	}
	if days := time.Until(q.Sheet.Expires).Hours() / 24; days < 29 || days > 31 || q.Sheet.URL != "/sheet?quote="+q.Sheet.Link {
		t.Errorf("the link %+v is good for %.1f days", q.Sheet, days)
	}

	tag := a.header.Get("ETag")
	if p := refused(t, s.patch(q.ID, tag, `{"state":"fitted"}`), 409); p.Code != "state_cant_follow" {
		t.Errorf("fitted at once: %+v", p)
	}
	ordered := s.patch(q.ID, tag, `{"state":"ordered","by":"counter 2","remark":""}`)
	if o := decode[kept](t, ordered, 200); o.State != "ordered" || o.Remark != "" || o.Reference != "ticket 4411" || len(o.History) != 2 || *o.History[1].By != "counter 2" || o.History[1].Key != q.CreatedBy {
		t.Errorf("%+v", o)
	}
	if p := refused(t, s.patch(q.ID, tag, `{"state":"cancelled"}`), 412); p.Code != "quote_changed" {
		t.Errorf("by an old tag: %+v", p)
	}
	if p := refused(t, s.do(t, "PATCH", "/v1/quotes/"+q.ID, `{}`, append(s.bearer("north server"), "Content-Type", "application/json")...), 428); p.Code != "quote_if_match_missing" {
		t.Errorf("without a tag: %+v", p)
	}
	if a := s.patch(q.ID, ordered.header.Get("ETag"), `{"state":"fitted"}`); a.status != 200 {
		t.Errorf("%d: %s", a.status, a.body)
	}
	renewed := decode[kept](t, s.patch(q.ID, "*", `{"sheet_days":0}`), 200)
	if a := s.get(t, "/v1/sheets/"+q.Sheet.Link); a.status != 404 || renewed.Sheet != nil {
		t.Errorf("a link that was ended: %d, %+v", a.status, renewed.Sheet)
	}

	if a := s.do(t, "DELETE", "/v1/quotes/"+q.ID, "", append(s.bearer("north server"), "If-Match", tag)...); a.status != 412 {
		t.Errorf("erased by an old tag: %d", a.status)
	}
	if a := s.do(t, "DELETE", "/v1/quotes/"+q.ID, "", s.bearer("north server")...); a.status != 204 {
		t.Fatalf("%d: %s", a.status, a.body)
	}
	for what, a := range map[string]*answer{
		"read":       s.get(t, "/v1/quotes/"+q.ID, s.bearer("north server")...),
		"today":      s.get(t, "/v1/quotes/"+q.ID+"/today", s.bearer("north server")...),
		"erased":     s.do(t, "DELETE", "/v1/quotes/"+q.ID, "", s.bearer("north server")...),
		"kept again": s.keepAs("once", body, "north server"),
	} {
		if p := refusedAnyhow(t, a, 410); p.Code != "quote_erased" || strings.Contains(string(a.body), "ticket 4411") {
			t.Errorf("%s after it was erased: %s", what, a.body)
		}
	}
}

// refusedAnyhow is refused for an answer that was kept with an earlier request's id.
func refusedAnyhow(tb testing.TB, a *answer, status int) problem {
	tb.Helper()
	return decode[problem](tb, a, status)
}

// studBelow is a damper of the demo with a stud at its lower end, which fits no eye.
const studBelow = "demo-damper-0004"

// TestWhatAQuoteRefuses tells every fault at its place.
func TestWhatAQuoteRefuses(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	rear, front := s.chosen(eyeToEye), s.chosen(frontEyes)
	named := func(request, fields string) string { return strings.Replace(request, "{", "{"+fields+",", 1) }
	for name, c := range map[string]struct {
		body          string
		status        int
		pointer, code string
	}{
		"no JSON":                        {`{"axles":`, 400, "", "not_json_at"},
		"no axles":                       {`{}`, 422, "/axles", "missing"},
		"an empty list":                  {`{"axles":[]}`, 422, "/axles", "too_few"},
		"three axles":                    {quoteOf("", axleOf("rear", rear, eyeToEye), axleOf("front", rear, eyeToEye), axleOf("rear", rear, eyeToEye)), 422, "/axles", "too_many"},
		"an axle twice":                  {quoteOf("", axleOf("rear", rear, eyeToEye), axleOf("rear", rear, eyeToEye)), 422, "/axles/1/axle", "not_together"},
		"no axle at all":                 {`{"axles":[7]}`, 422, "/axles/0", "wrong_type"},
		"axles that are none":            {`{"axles":{"request":1}}`, 422, "/axles", "wrong_type"},
		"half an axle":                   {`{"axles":[{}]}`, 422, "/axles/0/axle", "missing"},
		"no damper of the catalogue":     {quoteOf("", axleOf("rear", "no such damper", eyeToEye)), 422, "/axles/0/damper", "unknown_code"},
		"a damper that doesn't fit":      {quoteOf("", axleOf("rear", studBelow, eyeToEye)), 422, "/axles/0/damper", "does_not_fit"},
		"a fault of the request":         {quoteOf("", axleOf("rear", rear, strings.Replace(eyeToEye, `"units":"in"`, `"units":"cm"`, 1))), 422, "/axles/0/request/units", "not_allowed"},
		"a fault that the core finds":    {quoteOf("", axleOf("rear", rear, named(eyeToEye, `"planned_change":1`))), 422, "/axles/0/request/motion_ratio", "missing"},
		"a revision that isn't there":    {quoteOf("", axleOf("rear", rear, named(eyeToEye, `"revision":9`))), 404, "/axles/0/request/revision", "no_such_revision"},
		"a catalogue that isn't there":   {quoteOf("", axleOf("front", front, frontEyes), axleOf("rear", rear, named(eyeToEye, `"catalog":"south"`))), 404, "/axles/1/request/catalog", "no_such_catalog"},
		"two catalogues":                 {quoteOf("", axleOf("rear", rear, named(eyeToEye, `"catalog":"north"`)), axleOf("front", front, named(frontEyes, `"catalog":"demo"`))), 422, "/axles/1/request/catalog", "contradiction"},
		"two revisions":                  {quoteOf("", axleOf("rear", rear, named(eyeToEye, `"revision":1`)), axleOf("front", front, named(frontEyes, `"revision":2`))), 422, "/axles/1/request/revision", "contradiction"},
		"an unknown field":               {`{"name":"A. Customer","axles":[` + axleOf("rear", rear, eyeToEye) + `]}`, 422, "/name", "unknown_field"},
		"a long reference":               {quoteOf(strings.Repeat("r", 201), axleOf("rear", rear, eyeToEye)), 422, "/reference", "text_too_long"},
		"nobody who accepts the risk":    {quoteOf("", strings.Replace(axleOf("rear", studBelow, eyeToEye), "{", `{"accepted_risk":{"reason":"x"},`, 1)), 422, "/axles/0/accepted_risk/by", "missing"},
		"NUL in a text":                  {`{"reference":"a\u0000","axles":[` + axleOf("rear", rear, eyeToEye) + `]}`, 422, "/reference", "not_text"},
		"a name of blanks alone":         {quoteOf("", strings.Replace(axleOf("rear", studBelow, eyeToEye), "{", `{"accepted_risk":{"by":"  "},`, 1)), 422, "/axles/0/accepted_risk/by", "blank"},
		"a link that is good for longer": {`{"sheet_days":366,"axles":[` + axleOf("rear", rear, eyeToEye) + `]}`, 422, "/sheet_days", "out_of_range"},
	} {
		p := refused(t, s.keep(c.body, "north server"), c.status)
		if c.pointer == "" {
			if p.Code != c.code {
				t.Errorf("%s: %+v", name, p)
			}
			continue
		}
		if len(p.Errors) == 0 || p.Errors[0].Pointer == nil || *p.Errors[0].Pointer != c.pointer || p.Errors[0].Code != c.code {
			t.Errorf("%s: %+v", name, p.Errors)
		}
	}
	accepted := strings.Replace(axleOf("rear", studBelow, eyeToEye), "{", `{"quantity":1,"accepted_risk":{"by":"the workshop's head","reason":"a trial"},`, 1)
	q := decode[kept](t, s.keep(quoteOf("risky", accepted), "north server"), 201)
	if x := q.Axles[0]; x.Fits || x.Risk == nil || x.Risk.By != "the workshop's head" || x.Answer.Judged[0].Verdict == "fits" || len(q.PickList) != 1 || q.PickList[0].Quantity != 1 || q.Total.Complete {
		t.Errorf("%+v", q)
	}
	for field := range strings.FieldsSeq("reference remark by location") {
		p := refused(t, s.patch(q.ID, "*", `{"`+field+`":"a\u0000"}`), 422)
		if *p.Errors[0].Pointer != "/"+field || p.Errors[0].Code != "not_text" {
			t.Errorf("%s with NUL: %+v", field, p.Errors)
		}
	}
	for _, body := range []string{`{"location":"van"}`, `{"state":"cancelled","location":"van"}`} {
		p := refused(t, s.patch(q.ID, "*", body), 422)
		if *p.Errors[0].Pointer != "/location" || p.Errors[0].Code != "not_together" {
			t.Errorf("%s: %+v", body, p.Errors)
		}
	}
	if n := len(s.list("").Items); n != 1 {
		t.Errorf("%d quotes are there", n)
	}
}

type quotePage struct {
	Items []struct {
		ID, State, Reference string
		Dampers              []string
	}
	NextCursor *string `json:"next_cursor"`
}

func (p *quotePage) references() (all []string) {
	for _, item := range p.Items {
		all = append(all, item.Reference)
	}
	return all
}

func (s *quoting) list(query string) quotePage {
	s.tb.Helper()
	return decode[quotePage](s.tb, s.get(s.tb, "/v1/quotes?"+query, s.bearer("north server")...), 200)
}

// TestQuotesAreFound by each filter, and page by page.
func TestQuotesAreFound(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	rear, front := s.chosen(eyeToEye), s.chosen(frontEyes)
	for _, reference := range []string{"first", "100%", "Second_1", "secondX1", "last"} {
		axle := axleOf("rear", rear, eyeToEye)
		if reference == "last" {
			axle = axleOf("front", front, frontEyes)
		}
		q := decode[kept](t, s.keep(quoteOf(reference, axle), "north server"), 201)
		if reference == "first" {
			s.patch(q.ID, "*", `{"state":"cancelled"}`)
		}
	}
	today, tomorrow := time.Now().UTC().Format(time.DateOnly), time.Now().UTC().AddDate(0, 0, 1).Format(time.DateOnly)
	for query, want := range map[string][]string{
		"":                                  {"last", "secondX1", "Second_1", "100%", "first"},
		"reference=second":                  {"secondX1", "Second_1"},
		"reference=second_":                 {"Second_1"},
		"reference=%25":                     {"100%"},
		"code=" + url.QueryEscape(front):    {"last"},
		"code=nothing":                      nil,
		"state=cancelled":                   {"first"},
		"state=kept&reference=s":            {"last", "secondX1", "Second_1"},
		"from=" + today + "&to=" + tomorrow: {"last", "secondX1", "Second_1", "100%", "first"},
		"from=" + tomorrow:                  nil,
		"to=2020-01-01T00:00:00%2B02:00":    nil,
	} {
		if page := s.list(query); !slices.Equal(page.references(), want) {
			t.Errorf("%q: %q, want %q", query, page.references(), want)
		}
	}
	var all []string
	for cursor := ""; ; {
		page := s.list("limit=2&reference=s" + cursor)
		all = append(all, page.references()...)
		if page.NextCursor == nil {
			break
		}
		cursor = "&cursor=" + *page.NextCursor
		if p := refused(t, s.get(t, "/v1/quotes?limit=2"+cursor, s.bearer("north server")...), 422); p.Errors[0].Code != "foreign_cursor" {
			t.Errorf("with other filters: %+v", p)
		}
	}
	if want := []string{"last", "secondX1", "Second_1", "first"}; !slices.Equal(all, want) {
		t.Errorf("page by page: %q, want %q", all, want)
	}
	foreign := "MÜLLER Ñ. [2] " + strings.Repeat("x", quote.MostReference-14)
	decode[kept](t, s.keep(quoteOf(foreign, axleOf("rear", rear, eyeToEye)), "north server"), 201)
	for part, found := range map[string]int{"müller ñ": 1, "MüLLeR": 1, "ñ. [2]": 1, "Ñx": 0, "[3]": 0, ".*": 0, foreign: 1} {
		if n := len(s.list("reference=" + url.QueryEscape(part)).Items); n != found {
			t.Errorf("%q is found %d times, want %d", part, n, found)
		}
	}
	for query, code := range map[string]string{"from=yesterday1": "not_a_moment", "from=yesterday": "not_a_moment", "state=lost": "not_allowed", "limit=501": "out_of_range", "colour=red": "unknown_field"} {
		a := s.get(t, "/v1/quotes?"+query, s.bearer("north server")...)
		if p := refused(t, a, 422); p.Errors[0].Code != code {
			t.Errorf("%s: %+v", query, p)
		}
	}
}

// TestAQuoteStaysWhatItWas while the catalogue moves on: dearer, with other lengths,
// and at last without the damper.
func TestAQuoteStaysWhatItWas(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	rear := s.chosen(eyeToEye)
	a := s.keep(quoteOf("stays", axleOf("rear", rear, eyeToEye)), "north server")
	q := decode[kept](t, a, 201)
	type today struct {
		Differs bool
		Today   struct{ Revision int }
		Changes []struct{ Code, Text string }
		Axles   []struct {
			Fits   bool
			Answer json.RawMessage
		}
	}
	now := func(lang string) today {
		return decode[today](t, s.get(t, "/v1/quotes/"+q.ID+"/today?lang="+lang, s.bearer("north server")...), 200)
	}
	codes := func(d today) (all []string) {
		for _, c := range d.Changes {
			all = append(all, c.Code)
		}
		return all
	}
	if d := now("es"); d.Differs || len(d.Changes) != 0 || d.Today.Revision != 1 {
		t.Errorf("at once: %+v", d)
	}
	publish := func(change func(dampers []catalog.Damper, chosen int) []catalog.Damper) {
		t.Helper()
		c := demo.Contents()
		c.Dampers = slices.Clone(c.Dampers)
		c.Dampers = change(c.Dampers, slices.IndexFunc(c.Dampers, func(d catalog.Damper) bool { return d.Code == rear }))
		r, tag := s.upload(t, "north", c)
		if a := s.publish(t, "north", r.Revision, tag); a.status != 200 {
			t.Fatalf("%d: %s", a.status, a.body)
		}
	}
	publish(func(dampers []catalog.Damper, i int) []catalog.Damper {
		dampers[i].Price += 100
		return dampers
	})
	if d := now("en"); !slices.Contains(codes(d), "price_changed") || !slices.Contains(codes(d), "total_changed") || !d.Axles[0].Fits || d.Today.Revision != 2 {
		t.Errorf("dearer: %+v", d)
	}
	publish(func(dampers []catalog.Damper, i int) []catalog.Damper {
		dampers[i].Compressed, dampers[i].Extended = 200*unit.Millimetre, 280*unit.Millimetre
		return dampers
	})
	if d := now("en"); !slices.Contains(codes(d), "fits_no_more") || d.Axles[0].Fits {
		t.Errorf("shorter: %+v", d)
	}
	publish(func(dampers []catalog.Damper, i int) []catalog.Damper { return slices.Delete(dampers, i, i+1) })
	if d := now("en"); !slices.Contains(codes(d), "damper_gone") || slices.Contains(codes(d), "part_removed") || string(d.Axles[0].Answer) != "null" {
		t.Errorf("gone: %+v", d)
	}
	if read := s.get(t, "/v1/quotes/"+q.ID, s.bearer("north server")...); !bytes.Equal(read.body, a.body) {
		t.Error("the quote has changed")
	}
	// A revision that is still there can be quoted from.
	old := decode[kept](t, s.keep(quoteOf("of the first", axleOf("rear", rear, strings.Replace(eyeToEye, "{", `{"revision":1,`, 1))), "north server"), 201)
	if old.Catalog.Revision != 1 || old.Axles[0].Answer.Catalog.Revision != 1 {
		t.Errorf("%+v", old)
	}
}

// TestWhoMayDoWhatWithQuotes: a widget's key keeps where it says so and reads nothing,
// a key in a query only reads, and one shop has nothing of another.
func TestWhoMayDoWhatWithQuotes(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	body := quoteOf("mine", axleOf("rear", s.chosen(eyeToEye), eyeToEye))
	page := []string{"Origin", pageOrigin}
	q := decode[kept](t, s.keep(body, "north keeping widget", page...), 201)
	if p := refused(t, s.keep(body, "north widget", page...), 403); p.Code != "widget_keeps_not" {
		t.Errorf("a widget's key without the right: %+v", p)
	}
	if a := s.keep(body, "north keeping widget", "Origin", "https://elsewhere.example"); a.status != 403 {
		t.Errorf("from elsewhere: %d", a.status)
	}
	if a := s.post(t, "/v1/quotes", body, "Idempotency-Key", "x"); a.status != 401 {
		t.Errorf("without a key: %d", a.status)
	}
	if p := refused(t, s.post(t, "/v1/quotes?"+s.query("north server"), body, "Idempotency-Key", "x"), 403); p.Code != "query_key_reads" {
		t.Errorf("with a key in the query: %+v", p)
	}
	one := "/v1/quotes/" + q.ID
	for _, request := range [][2]string{{"GET", "/v1/quotes"}, {"GET", one}, {"GET", one + "/today"}, {"PATCH", one}, {"DELETE", one}} {
		for who, want := range map[string]int{"north keeping widget": 403, "south server": 404, "south admin": 404} {
			header := append(append(s.bearer(who), page...), "If-Match", "*", "Content-Type", "application/json")
			if a := s.do(t, request[0], request[1], `{"state":"cancelled"}`, header...); a.status != want && (request[1] != "/v1/quotes" || strings.Contains(string(a.body), "mine")) {
				t.Errorf("%v as %s: %d", request, who, a.status)
			}
		}
	}
	// The same Idempotency-Key of another shop is another key.
	s.keepAs("shared", body, "north server")
	if a := s.keepAs("shared", body, "south server"); a.status != 201 || strings.Contains(string(a.body), `"north"`) {
		t.Errorf("%d: %s", a.status, a.body)
	}
}

// countedQuotes counts the quotes that were computed, to be kept.
type countedQuotes struct {
	*postgres.Store
	computed *atomic.Int32
}

func (q *countedQuotes) KeepQuote(ctx context.Context, c shop.Claim, made *quote.Quote, a shop.Answer) (*shop.Answer, error) {
	q.computed.Add(1)
	return q.Store.KeepQuote(ctx, c, made, a)
}

// TestARepeatIsLookedUpFirst: a request that is sent again has its first answer, and
// nothing is computed for it. Nor is anything for another request with its key.
func TestARepeatIsLookedUpFirst(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	body := quoteOf("once", axleOf("rear", s.chosen(eyeToEye), eyeToEye))
	first := s.keepAs("same", body, "north server")
	if first.status != 201 {
		t.Fatalf("%d: %s", first.status, first.body)
	}
	for range 3 {
		if a := s.keepAs("same", body, "north server"); a.status != 201 || !bytes.Equal(a.body, first.body) || a.header.Get("ETag") != first.header.Get("ETag") {
			t.Errorf("%d: %s", a.status, a.body)
		}
	}
	refused(t, s.keepAs("same", strings.Replace(body, "once", "twice", 1), "north server"), 422)
	if n := s.computed.Load(); n != 1 {
		t.Errorf("%d quotes were computed", n)
	}
	// Another shop's key of the same name is another request.
	if a := s.keepAs("same", body, "south server"); a.status != 201 || bytes.Equal(a.body, first.body) || s.computed.Load() != 2 {
		t.Errorf("%d: %s, and %d were computed", a.status, a.body, s.computed.Load())
	}
}

// TestDuplicatesAtOnce sends one request many times at once: all that are answered as
// a success are answered alike.
func TestDuplicatesAtOnce(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	body := quoteOf("once", axleOf("rear", s.chosen(eyeToEye), eyeToEye))
	answers := make([]*answer, 16)
	var all sync.WaitGroup
	for i := range answers {
		all.Go(func() { answers[i] = s.keepAs("same", body, "north server") })
	}
	all.Wait()
	var first []byte
	for _, a := range answers {
		switch {
		case a.status == 409 && a.header.Get("Retry-After") != "":
		case a.status != 201:
			t.Errorf("%d: %s", a.status, a.body)
		case first == nil:
			first = a.body
		case !bytes.Equal(first, a.body):
			t.Errorf("two answers:\n%s\n%s", first, a.body)
		}
	}
	if n := len(s.list("").Items); n != 1 {
		t.Errorf("%d quotes were kept", n)
	}
}

// TestTheExampleOfAQuoteWorks sends the contract's example, with a damper that the
// demo has.
func TestTheExampleOfAQuoteWorks(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	example := s.doc.Paths.Find("/v1/quotes").Post.RequestBody.Value.Content["application/json"].Example
	raw, err := json.Marshal(example)
	if err != nil {
		t.Fatal(err)
	}
	if a := s.keep(string(raw), "north server"); a.status != 201 {
		t.Errorf("%d: %s", a.status, a.body)
	}
}
