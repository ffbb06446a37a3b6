package httpapi_test

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"midstroke/testdata/demo"
)

// hook is a webhook as an answer has it.
type hook struct {
	ID, URL, Description, Secret string
	Events                       []string
	Active                       bool
	CreatedBy                    string      `json:"created_by"`
	FormerUntil                  []time.Time `json:"former_signatures_until"`
}

type sent struct {
	ID, State   string
	Attempts    int
	LastAttempt *struct{} `json:"last_attempt"`
	Event       struct {
		Type string
		Data map[string]any
	}
}

type sentPage struct {
	Items      []sent
	NextCursor *string `json:"next_cursor"`
}

func (s *quoting) hook(events, who string) hook {
	s.tb.Helper()
	return decode[hook](s.tb, s.post(s.tb, "/v1/webhooks", `{"url":"https://till.example/hook","description":"the till","events":["`+strings.ReplaceAll(events, " ", `","`)+`"]}`, s.bearer(who)...), 201)
}

func (s *quoting) sentTo(h hook, query string) sentPage {
	s.tb.Helper()
	return decode[sentPage](s.tb, s.get(s.tb, "/v1/webhooks/"+h.ID+"/deliveries"+query, s.bearer("north admin")...), 200)
}

func (s *quoting) change(path, body, who string, header ...string) *answer {
	s.tb.Helper()
	return s.do(s.tb, "PATCH", path, body, append(append(s.bearer(who), "Content-Type", "application/json"), header...)...)
}

func TestAWebhooksSecretIsShownOnce(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	added := s.hook("quote.kept stock.low", "north admin")
	if !strings.HasPrefix(added.Secret, "whsec_") || !added.Active || added.Description != "the till" || !slices.Equal(added.Events, []string{"quote.kept", "stock.low"}) {
		t.Errorf("%+v", added)
	}
	path := "/v1/webhooks/" + added.ID
	for _, a := range []*answer{
		s.get(t, path, s.bearer("north admin")...), s.get(t, "/v1/webhooks", s.bearer("north admin")...),
		s.change(path, `{"active":false,"description":""}`, "north admin"), s.get(t, path+"/deliveries", s.bearer("north admin")...),
	} {
		if a.status != 200 || strings.Contains(string(a.body), "secret") || strings.Contains(string(a.body), "whsec_") {
			t.Errorf("%d: %s", a.status, a.body)
		}
	}
	if now := decode[hook](t, s.get(t, path, s.bearer("north admin")...), 200); now.Active || now.Description != "" || now.URL != added.URL || len(now.Events) != 2 {
		t.Errorf("%+v", now)
	}
	if a := s.do(t, "DELETE", path, "", s.bearer("north admin")...); a.status != 204 {
		t.Errorf("%d: %s", a.status, a.body)
	}
	refused(t, s.get(t, path, s.bearer("north admin")...), 404)
}

func TestAWebhooksSecretIsReplaced(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	added := s.hook("quote.kept", "north admin")
	path := "/v1/webhooks/" + added.ID
	renew := func(body string) *answer {
		t.Helper()
		return s.post(t, path+"/secret", body, s.bearer("north admin")...)
	}
	secrets := map[string]bool{added.Secret: true}
	// By default a former secret signs for 24 hours, by the contract.
	for i, body := range []string{"{}", `{"former_hours":168}`, `{"former_hours":1}`, `{"former_hours":0}`} {
		a := renew(body)
		now := decode[hook](t, a, 200)
		if now.ID != added.ID || !strings.HasPrefix(now.Secret, "whsec_") || secrets[now.Secret] || a.header.Get("Cache-Control") != "no-store" {
			t.Errorf("%s: %+v, %v", body, now, a.header)
		}
		secrets[now.Secret] = true
		want := [][]time.Duration{{24}, {168, 24}, {1, 168, 24}, {}}[i]
		seen := s.get(t, path, s.bearer("north admin")...)
		if strings.Contains(string(seen.body), "whsec_") {
			t.Errorf("it is shown again: %s", seen.body)
		}
		for _, got := range [][]time.Time{now.FormerUntil, decode[hook](t, seen, 200).FormerUntil} {
			if len(got) != len(want) {
				t.Fatalf("%s: until %v, want %v hours", body, got, want)
			}
			for j := range got {
				if off := time.Until(got[j]) - want[j]*time.Hour; off.Abs() > time.Minute {
					t.Errorf("%s: until %v, want %v hours", body, got, want)
				}
			}
		}
	}
	for body, pointer := range map[string]string{`{"former_hours":-1}`: "/former_hours", `{"former_hours":169}`: "/former_hours", `{"former_hours":1.5}`: "/former_hours", `{"secret":"whsec_"}`: "/secret"} {
		if a := renew(body); a.status != 422 || !strings.Contains(string(a.body), `"`+pointer+`"`) {
			t.Errorf("%s: %d: %s", body, a.status, a.body)
		}
	}
	refused(t, renew(""), 400)
	refused(t, s.post(t, "/v1/webhooks/nothing/secret", "{}", s.bearer("north admin")...), 404)
}

func TestWebhooksAreForAdministratorsOfTheirShop(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	north := s.hook("quote.kept", "north admin")
	s.keep(quoteOf("", axleOf("rear", s.chosen(eyeToEye), eyeToEye)), "north server")
	delivery := s.sentTo(north, "").Items[0].ID
	south := s.hook("quote.kept", "south admin")
	one := "/v1/webhooks/" + north.ID
	calls := []struct{ method, path, body string }{
		{"GET", "/v1/webhooks", ""}, {"POST", "/v1/webhooks", `{"url":"https://till.example/","events":["quote.kept"]}`},
		{"GET", one, ""}, {"PATCH", one, `{"active":false}`}, {"DELETE", one, ""},
		{"POST", one + "/secret", "{}"}, {"GET", one + "/deliveries", ""}, {"POST", one + "/deliveries/" + delivery + "/resend", ""},
	}
	for _, c := range calls {
		for who, status := range map[string]int{"north server": 403, "north widget": 403, "": 401} {
			header := []string{"Content-Type", "application/json", "Origin", pageOrigin}
			if who != "" {
				header = append(header, s.bearer(who)...)
			}
			refused(t, s.do(t, c.method, c.path, c.body, header...), status)
		}
		if strings.HasPrefix(c.path, one) {
			refused(t, s.do(t, c.method, c.path, c.body, append(s.bearer("south admin"), "Content-Type", "application/json")...), 404)
		}
	}
	// A delivery of another's webhook isn't found under one's own.
	refused(t, s.post(t, "/v1/webhooks/"+south.ID+"/deliveries/"+delivery+"/resend", "", s.bearer("south admin")...), 404)
	if list := decode[struct{ Items []hook }](t, s.get(t, "/v1/webhooks", s.bearer("south admin")...), 200); len(list.Items) != 1 || list.Items[0].ID != south.ID {
		t.Errorf("%+v", list)
	}
	if page := s.sentTo(north, ""); len(page.Items) != 1 || !decode[hook](t, s.get(t, one, s.bearer("north admin")...), 200).Active {
		t.Errorf("%+v", page)
	}
	if page := decode[sentPage](t, s.get(t, "/v1/webhooks/"+south.ID+"/deliveries", s.bearer("south admin")...), 200); len(page.Items) != 0 {
		t.Errorf("south is told of north's quote: %+v", page)
	}
}

// TestWhatHappensIsTold does each thing that a webhook can be told of, and what it isn't.
func TestWhatHappensIsTold(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	code := s.chosen(eyeToEye)
	all := s.hook("quote.kept quote.ordered quote.cancelled catalog.published stock.low", "north admin")
	low := s.hook("stock.low", "north admin")
	off := s.hook("quote.kept", "north admin")
	if a := s.change("/v1/webhooks/"+off.ID, `{"active":false}`, "north admin"); a.status != 200 {
		t.Fatalf("%d: %s", a.status, a.body)
	}
	put := func(quantity, mark string) {
		t.Helper()
		if a := s.put("application/json", fmt.Sprintf(`{"code":%q,"location":"main","quantity":%s%s}`, code, quantity, mark), ""); a.status != 200 {
			t.Fatalf("%d: %s", a.status, a.body)
		}
	}
	put("9", "")         // has no mark
	put("6", `,"low":4`) // is above its mark
	body := quoteOf("secret reference", axleOf("rear", code, eyeToEye))
	first := s.keepAs("one", body, "north server")
	if again := s.keepAs("one", body, "north server"); again.status != 201 { // told once
		t.Fatalf("%d: %s", again.status, again.body)
	}
	kept := decode[kept](t, first, 201)
	for _, state := range []string{"ordered", "cancelled"} { // 6 less the pair is 4, at the mark; and back
		if a := s.change("/v1/quotes/"+kept.ID, `{"state":"`+state+`"}`, "north server", "If-Match", "*"); a.status != 200 {
			t.Fatalf("%d: %s", a.status, a.body)
		}
	}
	if a := s.change("/v1/quotes/"+kept.ID, `{"remark":"another"}`, "north server", "If-Match", "*"); a.status != 200 { // nothing of interest
		t.Fatalf("%d: %s", a.status, a.body)
	}
	put("4", "") // falls to its mark
	put("3", "") // is low already
	refused(t, s.keepAs("two", quoteOf("", axleOf("rear", code, `{"units":"mm"}`)), "north server"), 422)
	r, tag := s.upload(t, "north", demo.Contents())
	if a := s.publish(t, "north", r.Revision, tag); a.status != 200 {
		t.Fatalf("%d: %s", a.status, a.body)
	}

	page := s.sentTo(all, "")
	var types []string
	for _, d := range page.Items {
		types = append(types, d.Event.Type)
		if d.State != "waiting" || d.Attempts != 0 || d.LastAttempt != nil {
			t.Errorf("nobody delivers here, and yet %+v", d)
		}
		if strings.Contains(fmt.Sprint(d.Event), "secret reference") {
			t.Errorf("an event has the quote's reference: %+v", d)
		}
	}
	// The last first. Both of the order come from one transaction, stock first.
	if want := []string{"catalog.published", "stock.low", "quote.cancelled", "quote.ordered", "stock.low", "quote.kept"}; !slices.Equal(types, want) {
		t.Errorf("%q, want %q", types, want)
	}
	if d := page.Items[5].Event.Data; d["quote"] != kept.ID || d["state"] != "kept" || fmt.Sprint(d["dampers"]) != "["+code+"]" {
		t.Errorf("%v", d)
	}
	if d := page.Items[0].Event.Data; d["catalog"] != "north" || d["revision"] != float64(r.Revision) || d["action"] != "publish" {
		t.Errorf("%v", d)
	}
	if page := s.sentTo(low, ""); len(page.Items) != 2 || fmt.Sprint(page.Items[0].Event.Data["lines"]) != fmt.Sprintf("[map[code:%s location:main low:4 quantity:4]]", code) {
		t.Errorf("%+v", page)
	}
	if page := s.sentTo(off, ""); len(page.Items) != 0 {
		t.Errorf("one that is off: %+v", page)
	}
	// Pages, and what is sent again.
	two := s.sentTo(all, "?limit=2")
	rest := s.sentTo(all, "?limit=500&cursor="+*two.NextCursor)
	if len(two.Items) != 2 || len(rest.Items) != 4 || rest.NextCursor != nil || rest.Items[0].ID != page.Items[2].ID {
		t.Errorf("%+v, %+v", two, rest)
	}
	refused(t, s.get(t, "/v1/webhooks/"+low.ID+"/deliveries?cursor="+*two.NextCursor, s.bearer("north admin")...), 422)
	if page := s.sentTo(all, "?state=delivered"); len(page.Items) != 0 {
		t.Errorf("%+v", page)
	}
	again := decode[sent](t, s.post(t, "/v1/webhooks/"+all.ID+"/deliveries/"+page.Items[0].ID+"/resend", "", s.bearer("north admin")...), 202)
	if again.ID != page.Items[0].ID || again.State != "waiting" {
		t.Errorf("%+v", again)
	}
	// An erased quote leaves events that name it by its id alone.
	if a := s.do(t, "DELETE", "/v1/quotes/"+kept.ID, "", s.bearer("north server")...); a.status != 204 {
		t.Errorf("%d: %s", a.status, a.body)
	}
}

func TestBadWebhooks(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	for _, c := range []struct{ body, pointer, code string }{
		{`{}`, "/url", "missing"},
		{`{"url":"https://till.example/"}`, "/events", "missing"},
		{`{"url":"https://till.example/","events":[]}`, "/events", "too_few"},
		{`{"url":"https://till.example/","events":["quote.fitted"]}`, "/events/0", "not_allowed"},
		{`{"url":"https://till.example/","events":["quote.kept"],"secret":"mine"}`, "/secret", "unknown_field"},
		{`{"url":"https://till.example/` + strings.Repeat("a", 2000) + `","events":["quote.kept"]}`, "/url", "text_too_long"},
		{`{"url":"https://till.example/","events":["quote.kept"],"active":"yes"}`, "/active", "wrong_type"},
		{`{"url":"https://till.example/","events":["quote.kept"],"description":"\u0000"}`, "/description", "not_text"},
		{`{"url":"till","events":["quote.kept"]}`, "/url", "not_a_url"},
		{`{"url":"http://till.example/","events":["quote.kept"]}`, "/url", "not_allowed"},
		{`{"url":"https://192.168.1.4/","events":["quote.kept"]}`, "/url", "not_allowed"},
		{`{"url":"https://127.0.0.1:8080/v1/quotes","events":["quote.kept"]}`, "/url", "not_allowed"},
	} {
		p := refused(t, s.post(t, "/v1/webhooks", c.body, s.bearer("north admin")...), 422)
		if len(p.Errors) == 0 || *p.Errors[0].Pointer != c.pointer || p.Errors[0].Code != c.code {
			t.Errorf("%.200s: %+v", c.body, p.Errors)
		}
	}
	h := s.hook("quote.kept", "north admin")
	for _, body := range []string{`{"url":"https://10.0.0.1/"}`, `{"events":[]}`, `{"active":null}`, `{"id":"x"}`} {
		refused(t, s.change("/v1/webhooks/"+h.ID, body, "north admin"), 422)
	}
	refused(t, s.post(t, "/v1/webhooks", "no JSON", s.bearer("north admin")...), 400)
	for _, path := range []string{"/v1/webhooks/x", "/v1/webhooks/" + h.ID + "/deliveries/x/resend", "/v1/webhooks/00000000-0000-7000-8000-000000000000"} {
		method := http.MethodGet
		if strings.HasSuffix(path, "resend") {
			method = http.MethodPost
		}
		refused(t, s.do(t, method, path, "", s.bearer("north admin")...), 404)
	}
	for range 9 { // the contract says 10
		s.hook("quote.kept", "north admin")
	}
	p := refused(t, s.post(t, "/v1/webhooks", `{"url":"https://till.example/","events":["quote.kept"]}`, s.bearer("north admin")...), 507)
	if p.Code != "quota_of_webhooks" {
		t.Errorf("%+v", p)
	}
	s.hook("quote.kept", "south admin")
}
