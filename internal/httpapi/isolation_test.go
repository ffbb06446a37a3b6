package httpapi_test

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	_ "midstroke/internal/seeded"
	"midstroke/internal/shop"
)

// TestShopsNeverSeeEachOther sends, with the keys of one shop and of nobody,
// every route of the service the names, numbers, codes and cursors of two
// shops. Everything of a shop bears a mark, in codes, notes and key prefixes,
// which must never come back to the other.
func TestShopsNeverSeeEachOther(t *testing.T) {
	t.Parallel()
	s, store := newStoredShops(t)
	marks := map[string]string{"north": "NORTHERN", "south": "SOUTHERN"}
	others := map[string]string{"north": "south", "south": "north", "nobody": ""}
	prefixes, codes, cursors, tags := map[string][]string{}, map[string]string{}, map[string]string{}, map[string]string{}
	quotes, quoteCursors := map[string]string{}, map[string]string{}
	hooks, deliveries := map[string]string{}, map[string]string{}
	quoteFor := func(name string) string {
		return quoteOf(marks[name], `{"axle":"rear","accepted_risk":{"by":"nobody"},"damper":"`+codes[name]+`","request":`+fitsOf(name, 0)+`}`)
	}
	keys, err := store.Keys(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range keys {
		prefixes[k.Shop] = append(prefixes[k.Shop], k.Prefix)
	}
	for name, mark := range marks {
		r, tag := s.upload(t, name, coded(mark))
		if a := s.publish(t, name, r.Revision, tag); a.status != 200 {
			t.Fatalf("%d: %s", a.status, a.body)
		}
		if _, err := store.Draft(t.Context(), shop.Place{Catalog: name}, shop.PartsOf(coded(mark)), mark, mark, nil); err != nil {
			t.Fatal(err)
		}
		s.answeredFrom(t, name, 1)
		page := decode[listed](t, s.get(t, "/v1/dampers?units=in&limit=1", s.bearer(name+" server")...), 200)
		codes[name], cursors[name] = page.codes()[0], *page.NextCursor
		hooks[name] = decode[hook](t, s.post(t, "/v1/webhooks", hookOf(mark), s.bearer(name+" admin")...), 201).ID
		if a := s.do(t, "PUT", "/v1/stock", `{"code":"`+codes[name]+`","location":"`+mark+`","quantity":1000,"low":2000}`, append(s.bearer(name+" server"), "Content-Type", "application/json")...); a.status != 200 {
			t.Fatalf("%d: %s", a.status, a.body)
		}
		deliveries[name] = decode[sentPage](t, s.get(t, "/v1/webhooks/"+hooks[name]+"/deliveries", s.bearer(name+" admin")...), 200).Items[0].ID
		for i := range 2 {
			header := append(s.bearer(name+" server"), "Idempotency-Key", fmt.Sprint(i))
			quotes[name] = decode[kept](t, s.post(t, "/v1/quotes", quoteFor(name), header...), 201).ID
		}
		quoteCursors[name] = *decode[quotePage](t, s.get(t, "/v1/quotes?limit=1", s.bearer(name+" server")...), 200).NextCursor
		tags[name] = s.get(t, "/v1/catalogs/"+name+"/revisions/2", s.bearer(name+" admin")...).header.Get("ETag")
	}

	routes := slices.DeleteFunc(s.Routes(), func(route string) bool { return !strings.Contains(route, " /v1/") })
	either := rapid.SampledFrom([]string{"north", "south"})
	asked, granted := map[string]bool{}, 0
	ask := func(rt *rapid.T) {
		route := rapid.SampledFrom(routes).Draw(rt, "route")
		method, path, _ := strings.Cut(route, " ")
		who := rapid.SampledFrom([]string{"north", "south", "nobody"}).Draw(rt, "who")
		of := either.Draw(rt, "whose catalogue")
		number := func(name string) string { return rapid.SampledFrom([]string{"1", "2", "3", "0"}).Draw(rt, name) }
		named := strings.Contains(path, "{name}")
		path = strings.NewReplacer("{name}", of, "{number}", number("number"), "{other}", number("other"), "{code}", codes[of], "{id}", quotes[of], "{link}", strings.Repeat("A", 27), "{webhook}", hooks[of], "{delivery}", deliveries[of]).Replace(path)
		query := url.Values{"units": {"in"}}
		if !named && rapid.Bool().Draw(rt, "names a catalogue") {
			query.Set("catalog", of)
		}
		if !named && rapid.Bool().Draw(rt, "names a revision") {
			query.Set("revision", number("revision"))
		}
		if rapid.Bool().Draw(rt, "has a cursor") {
			query.Set("limit", "1")
			query.Set("cursor", cursors[either.Draw(rt, "cursor")])
		}
		body, media := fitsOf(query.Get("catalog"), 0), "application/json"
		switch {
		case strings.HasSuffix(path, "/revisions"):
			body, media = goodDampers, "text/csv"
		case strings.Contains(path, "/changes/"):
			body = `{"samples":[` + fitsOf(of, 0) + `]}`
		case path == "/v1/quotes":
			body = quoteFor(of)
		case path == "/v1/webhooks":
			body = hookOf(marks[who])
		case strings.HasSuffix(path, "/secret"):
			body = `{"former_hours":1}`
		case method == "PATCH" && strings.HasPrefix(path, "/v1/webhooks"):
			body = `{"active":true}`
		case method == "PUT":
			body = `{"code":"` + codes[of] + `","location":"here ` + marks[who] + `","quantity":1000}`
		case method == "PATCH":
			body = `{"remark":"changed"}`
		case path == "/v1/hardware":
			body = fmt.Sprintf(`{"units":"mm","catalog":%q,"end":{"style":"eye","bore":16,"width":31},"bracket":{"bolt":"M10"}}`, of)
		}
		// What a route doesn't take is left out, or nothing would get past it.
		if strings.HasPrefix(path, "/v1/quotes") || strings.HasPrefix(path, "/v1/sheets") || strings.HasPrefix(path, "/v1/webhooks") || path == "/v1/stock" {
			query = url.Values{}
			if method == "GET" && path == "/v1/quotes" && rapid.Bool().Draw(rt, "goes on") {
				query.Set("cursor", quoteCursors[of])
			}
		} else if method == "POST" {
			query = url.Values{}
			if strings.Contains(path, "/changes/") {
				query.Set("units", "in")
			}
		} else if named {
			keep := url.Values{}
			switch {
			case strings.HasSuffix(path, "/revisions"):
				if query.Has("cursor") {
					keep["cursor"] = query["cursor"]
				}
			case strings.Contains(path, "/changes/") || strings.HasSuffix(path, "/export"):
				keep["units"] = query["units"]
			}
			query = keep
		} else if path == "/v1/catalogs" {
			query.Del("units")
			query.Del("catalog")
			query.Del("revision")
		} else if path == "/v1/fits" {
			query.Del("limit")
			query.Del("cursor")
			for k, v := range map[string]string{"readings": "17.25", "upper": "eye", "lower": "eye", "suspension": "solid_axle", "codes": codes[of]} {
				query.Set(k, v)
			}
		}
		use := rapid.SampledFrom([]string{"widget", "server", "admin"}).Draw(rt, "use")
		inQuery := who != "nobody" && rapid.IntRange(0, 4).Draw(rt, "key in the query") == 0
		if inQuery {
			query.Set("key", s.text[who+" "+use])
		}
		r := httptest.NewRequest(method, path+"?"+query.Encode(), strings.NewReader(body))
		r.Header.Set("Content-Type", media)
		r.Header.Set("Idempotency-Key", rapid.SampledFrom([]string{"0", "1", "2"}).Draw(rt, "request"))
		r.Header.Set("Origin", pageOrigin)
		r.Header.Set("If-Match", rapid.SampledFrom([]string{"*", tags["north"], tags["south"]}).Draw(rt, "tag"))
		if who != "nobody" && !inQuery {
			r.Header.Set("Authorization", "Bearer "+s.text[who+" "+use])
		}
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)

		got := fmt.Sprint(w.Header()) + w.Body.String()
		for name, mark := range marks {
			if name == who {
				continue
			}
			// A code that was asked for may be named in a refusal or a
			// judgement of it; nothing else of its owner may.
			got := strings.ReplaceAll(got, codes[name], "")
			for _, secret := range append([]string{mark}, prefixes[name]...) {
				if strings.Contains(got, secret) {
					rt.Fatalf("%s %s as %s %s: %d gives away %q:\n%.600s", method, r.URL, who, use, w.Code, secret, got)
				}
			}
		}
		if other := others[who]; named && strings.HasPrefix(path, "/v1/") && (of == other || who == "nobody") {
			if w.Code != http.StatusNotFound && w.Code != http.StatusForbidden && w.Code != http.StatusUnauthorized && w.Code != http.StatusUnprocessableEntity {
				rt.Fatalf("%s %s as %s %s: %d: %.600s", method, r.URL, who, use, w.Code, got)
			}
		}
		asked[route] = true
		if w.Code < 300 && strings.HasPrefix(path, "/v1/") {
			granted++
		}
	}
	rapid.Check(t, func(rt *rapid.T) {
		for range 8 {
			ask(rt)
		}
	})
	if len(asked) < len(routes) || granted < 50 {
		t.Errorf("%d of %d routes were asked and %d requests granted, which proves little", len(asked), len(routes), granted)
	}
	// Each still has its own and nothing more.
	for name := range marks {
		for _, r := range mustRevisions(t, store.Revisions, name) {
			if strings.Contains(fmt.Sprint(r), marks[others[name]]) {
				t.Errorf("%s has %+v", name, r)
			}
			for _, p := range prefixes[others[name]] {
				if strings.Contains(fmt.Sprint(r), p) {
					t.Errorf("%s has what the other's key wrote: %+v", name, r)
				}
			}
		}
	}
}

// hookOf is a request for a webhook that bears a mark.
func hookOf(mark string) string {
	return `{"url":"https://till.example/` + mark + `","description":"` + mark + `","events":["quote.kept","stock.low"]}`
}

func mustRevisions(t *testing.T, list revisionsOf, name string) []shop.Revision {
	t.Helper()
	all, err := list(t.Context(), shop.Place{Catalog: name}, 0, 1000)
	if err != nil {
		t.Fatal(err)
	}
	return all
}

type revisionsOf = func(ctx context.Context, in shop.Place, below, limit int) ([]shop.Revision, error)
