package httpapi_test

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"midstroke/internal/httpapi"
	"midstroke/internal/shop"
)

const pricedDampers = "code,construction,compressed,extended,length_tolerance,body_diameter,upper_style,lower_style,price\n" +
	"a-1,monotube,300 mm,400 mm,0 mm,50 mm,eye,eye,84.50\n"

// csvUpload sends a file with the key of north's administrator.
func (s *shops) csvUpload(tb testing.TB, query, text string, header ...string) *answer {
	tb.Helper()
	header = append(append(s.bearer("north admin"), "Content-Type", "text/csv"), header...)
	return s.do(tb, "POST", "/v1/catalogs/north/revisions"+query, text, header...)
}

func TestALoneFileWithPricesTakesItsCurrencyFromTheQuery(t *testing.T) {
	t.Parallel()
	s, _ := newStoredShops(t)
	p := refused(t, s.csvUpload(t, "", pricedDampers), 422)
	if p.Code != "file_fault" || p.Errors[0].Code != "currency_missing" {
		t.Errorf("without a currency: %+v", p)
	}
	r := decode[told](t, s.csvUpload(t, "?currency=USD", "\ufeff"+pricedDampers), 201)
	s.publish(t, "north", r.Revision, "*")
	list := s.get(t, "/v1/dampers?units=mm", s.bearer("north server")...)
	if !strings.Contains(string(list.body), `"price":{"amount":"84.50","currency":"USD"}`) {
		t.Errorf("listed as %s", list.body)
	}
	for _, currency := range []string{"usd", "US", "DOLLAR", "U5D"} {
		p := refused(t, s.csvUpload(t, "?currency="+currency, pricedDampers), 422)
		if len(p.Errors) != 1 || p.Errors[0].Parameter != "currency" || p.Errors[0].Code != "not_a_currency" {
			t.Errorf("%s: %+v", currency, p.Errors)
		}
	}
	zip := zipped(t, "dampers.csv", pricedDampers, "catalog.csv", "currency\nEUR\n")
	p = refused(t, s.do(t, "POST", "/v1/catalogs/north/revisions?currency=USD", zip, append(s.bearer("north admin"), "Content-Type", "application/zip")...), 422)
	if e := p.Errors[0]; len(p.Errors) != 1 || e.Code != "currency_other" || e.File != "catalogue.zip/catalog.csv" || e.Line != 2 || e.Column != "currency" || e.Value != "EUR" || e.Cure == "" {
		t.Errorf("another currency in the file: %+v", p.Errors)
	}
}

func TestCodesThatShowOtherwiseThanTheyAre(t *testing.T) {
	t.Parallel()
	s, _ := newStoredShops(t)
	for code, want := range map[string]string{"=A-1": "formula", "a\u200b1": "code_characters", "a\u202e1": "code_characters", "\u05d01": "code_characters"} {
		p := refused(t, s.csvUpload(t, "?currency=USD", strings.Replace(pricedDampers, "a-1", code, 1)), 422)
		if e := p.Errors[0]; len(p.Errors) != 1 || e.Code != want || e.File != "dampers.csv" || e.Line != 2 || e.Column != "code" || e.Value != code {
			t.Errorf("%q: %+v", code, p.Errors)
		}
	}
}

// TestAnUploadIsCarriedOutOnce follows draft-ietf-httpapi-idempotency-key-header, from
// memory: the same request gets the first answer, another one with its key 422.
func TestAnUploadIsCarriedOutOnce(t *testing.T) {
	t.Parallel()
	s, _ := newStoredShops(t)
	key := func(value string) []string { return []string{"Idempotency-Key", value} }
	first := s.csvUpload(t, "?currency=USD&note=once", pricedDampers, key(`"7c1e0f"`)...)
	if r := decode[told](t, first, 201); r.Revision != 1 {
		t.Fatalf("%+v", r)
	}
	for _, spelling := range []string{`"7c1e0f"`, "7c1e0f", ` 7c1e0f `} {
		again := s.csvUpload(t, "?currency=USD&note=once", pricedDampers, key(spelling)...)
		if again.status != 201 || !bytes.Equal(again.body, first.body) {
			t.Errorf("%s: %d: %s", spelling, again.status, again.body)
		}
		for _, name := range []string{"ETag", "Location", "Content-Type", "Cache-Control", "Vary"} {
			if again.header.Get(name) != first.header.Get(name) {
				t.Errorf("%s: %s %q, first %q", spelling, name, again.header.Get(name), first.header.Get(name))
			}
		}
	}
	// After it was published the first answer is still the same.
	s.publish(t, "north", 1, "*")
	if again := s.csvUpload(t, "?currency=USD&note=once", pricedDampers, key("7c1e0f")...); !bytes.Equal(again.body, first.body) {
		t.Errorf("after publishing: %s", again.body)
	}
	for name, other := range map[string]*answer{
		"another body":  s.csvUpload(t, "?currency=USD&note=once", strings.Replace(pricedDampers, "84", "85", 1), key("7c1e0f")...),
		"another query": s.csvUpload(t, "?currency=EUR&note=once", pricedDampers, key("7c1e0f")...),
	} {
		if p := refused(t, other, 422); p.Type != "/docs/problems#idempotency-key-reused" {
			t.Errorf("%s: %+v", name, p)
		}
	}
	// A key is its shop's own, and without one each upload is a draft of its own.
	south := s.do(t, "POST", "/v1/catalogs/south/revisions?currency=USD", pricedDampers, append(s.bearer("south admin"), "Content-Type", "text/csv", "Idempotency-Key", "7c1e0f")...)
	if r := decode[told](t, south, 201); r.Catalog != "south" || r.Revision != 1 {
		t.Errorf("%+v", r)
	}
	if r := decode[told](t, s.csvUpload(t, "?currency=USD&note=once", pricedDampers), 201); r.Revision != 2 {
		t.Errorf("without a key: %+v", r)
	}

	// What is wrong with a file is told again in the same bytes, in whatever language
	// it was told first.
	wrong := s.csvUpload(t, "", pricedDampers, "Idempotency-Key", "wrong", "Accept-Language", "es")
	again := s.csvUpload(t, "", pricedDampers, "Idempotency-Key", "wrong")
	if p := decode[problem](t, again, 422); !bytes.Equal(again.body, wrong.body) || p.Errors[0].Code != "currency_missing" || again.header.Get("Content-Language") != "es" {
		t.Errorf("first %s\nthen %s", wrong.body, again.body)
	}

	for name, header := range map[string][]string{
		"empty":           key(""),
		"a long one":      key(strings.Repeat("k", 256)),
		"not ASCII":       key("clé"),
		"a quote open":    key(`"abc`),
		"text behind it":  key(`"abc" d`),
		"an empty string": key(`""`),
	} {
		if p := refused(t, s.csvUpload(t, "?currency=USD", pricedDampers, header...), 400); p.Type != "/docs/problems#bad-idempotency-key" {
			t.Errorf("%s: %+v", name, p)
		}
	}
	if a := s.csvUpload(t, "?currency=USD", pricedDampers, key(strings.Repeat("k", 255))...); a.status != 201 {
		t.Errorf("255 characters: %d: %s", a.status, a.body)
	}
}

// TestUploadsAtOnceWithOneKey: one of many becomes a draft. The others get its answer,
// or are told that it is being carried out.
func TestUploadsAtOnceWithOneKey(t *testing.T) {
	t.Parallel()
	s, store := newStoredShops(t)
	var all sync.WaitGroup
	answers := make([]*answer, 12)
	for i := range answers {
		all.Go(func() { answers[i] = s.csvUpload(t, "?currency=USD", pricedDampers, "Idempotency-Key", "at-once") })
	}
	all.Wait()
	drafted := 0
	for _, a := range answers {
		switch a.status {
		case 201:
			drafted++
			if r := decode[told](t, a, 201); r.Revision != 1 {
				t.Errorf("%+v", r)
			}
		case 409:
			if p := refused(t, a, 409); p.Type != "/docs/problems#in-flight" || a.header.Get("Retry-After") == "" {
				t.Errorf("%+v", p)
			}
		default:
			t.Errorf("%d: %s", a.status, a.body)
		}
	}
	list, err := store.Revisions(context.Background(), shop.Place{Catalog: "north"}, 0, 10)
	if err != nil || len(list) != 1 || drafted == 0 {
		t.Errorf("%d revisions of %d answers, %v", len(list), drafted, err)
	}
}

// TestASlowBodyIsToldSo sends a file that stops coming, to a real server.
func TestASlowBodyIsToldSo(t *testing.T) {
	t.Parallel()
	s, store := newStoredShops(t)
	h, err := httpapi.New(httpapi.Config{
		Library: s.library.Library, Keys: s.ring, FindKey: store.FindKey, Revisions: func() httpapi.Revisions { return store },
		Pace: httpapi.Pace{Least: 1000, Window: time.Second},
	})
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	served := make(chan error, 1)
	go func() { served <- h.Serve(ctx, l, httpapi.Stop{}) }()
	defer func() {
		stop()
		if err := <-served; err != nil {
			t.Errorf("serving ended with %v", err)
		}
	}()

	send := func(write func(io.Writer)) *http.Response {
		conn, err := net.Dial("tcp", l.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = conn.Close() })
		fmt.Fprintf(conn, "POST /v1/catalogs/north/revisions?currency=USD HTTP/1.1\r\nHost: x\r\nContent-Type: text/csv\r\n"+
			"Authorization: Bearer %s\r\nContent-Length: %d\r\n\r\n", s.text["north admin"], len(pricedDampers))
		write(conn)
		answer, err := http.ReadResponse(bufio.NewReader(conn), nil)
		if err != nil {
			t.Fatal(err)
		}
		return answer
	}
	began := time.Now()
	slow := send(func(w io.Writer) { _, _ = io.WriteString(w, pricedDampers[:20]) })
	body, err := io.ReadAll(slow.Body)
	if err != nil || slow.StatusCode != 408 || !slow.Close || !strings.Contains(string(body), "/docs/problems#too-slow") {
		t.Errorf("%d: %s, %v", slow.StatusCode, body, err)
	}
	if took := time.Since(began); took < 900*time.Millisecond {
		t.Errorf("told after %v", took)
	}
	// One that is small and slow, but there in time, is taken.
	ok := send(func(w io.Writer) {
		for _, part := range strings.SplitAfter(pricedDampers, ",") {
			_, _ = io.WriteString(w, part)
			time.Sleep(10 * time.Millisecond)
		}
	})
	if body, err := io.ReadAll(ok.Body); err != nil || ok.StatusCode != 201 {
		t.Errorf("%d: %s, %v", ok.StatusCode, body, err)
	}
}
