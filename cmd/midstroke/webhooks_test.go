package main_test

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/pglocal"
)

// TestReceiversThatFail has receivers that answer 500 for a day, hang, redirect, and are
// the service itself. The days pass by moving the times of jobs in the database.
func TestReceiversThatFail(t *testing.T) {
	t.Parallel()
	var well, failing, redirected, late atomic.Int32
	var signatures atomic.Value // of the last event that /well was told
	var mended, dayOver atomic.Bool
	at := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		_, _ = io.Copy(io.Discard, r.Body)
		switch r.URL.Path {
		case "/well":
			signatures.Store(r.Header.Get("webhook-signature"))
			well.Add(1)
		case "/fails":
			if failing.Add(1); !mended.Load() {
				w.WriteHeader(http.StatusInternalServerError)
			}
		case "/day":
			if !dayOver.Load() {
				w.WriteHeader(http.StatusServiceUnavailable)
				return
			}
			late.Add(1)
		case "/hangs":
			<-r.Context().Done()
		case "/redirects":
			http.Redirect(w, r, "/target", http.StatusFound)
		case "/target":
			redirected.Add(1)
		}
	}))
	t.Cleanup(at.Close)
	dir := usedDataDir(t)
	server := serve(t, "--data-dir", dir, "--webhook-networks", "127.0.0.1")
	url, err := pglocal.Attach(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	key, conn := demoKey(t, url), seesAll(t, url)
	send := func(status int, method, path, body string) []byte {
		t.Helper()
		r, err := http.NewRequestWithContext(t.Context(), method, server.url+path, strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Authorization", "Bearer "+key)
		r.Header.Set("Content-Type", "application/json")
		r.Header.Set("Idempotency-Key", "one")
		a, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer a.Body.Close()
		raw, err := io.ReadAll(a.Body)
		if err != nil || a.StatusCode != status {
			t.Fatalf("%s %s: %d, %v: %s", method, path, a.StatusCode, err, raw)
		}
		return raw
	}
	hooks := map[string]string{}
	for name, to := range map[string]string{"well": at.URL + "/well", "fails": at.URL + "/fails", "day": at.URL + "/day", "hangs": at.URL + "/hangs", "redirects": at.URL + "/redirects", "itself": server.url + "/v1/quotes"} {
		var added struct{ ID string }
		if err := json.Unmarshal(send(201, "POST", "/v1/webhooks", fmt.Sprintf(`{"url":%q,"events":["quote.kept"]}`, to)), &added); err != nil {
			t.Fatal(err)
		}
		hooks[name] = added.ID
	}
	type delivery struct {
		ID, State   string
		Attempts    int
		LastAttempt *struct {
			Status *int
			Fault  *struct{ Code string }
		} `json:"last_attempt"`
	}
	sent := func(name string) delivery {
		t.Helper()
		var page struct{ Items []delivery }
		if err := json.Unmarshal(send(200, "GET", "/v1/webhooks/"+hooks[name]+"/deliveries", ""), &page); err != nil || len(page.Items) != 1 {
			t.Fatalf("%s: %+v, %v", name, page, err)
		}
		return page.Items[0]
	}
	send(201, "POST", "/v1/quotes", fmt.Sprintf(stormQuote, "a ticket"))
	within(t, 30*time.Second, "the one that works is told, whatever becomes of the others", func() bool { return sent("well").State == "delivered" })
	// comeBack lets the attempts that were put off begin now, and adds up for how long
	// those of the receiver that is down for a day were put off.
	var down time.Duration
	comeBack := func(day string) {
		rows, err := conn.Query(t.Context(), `
			WITH late AS (SELECT id, args ->> 'delivery' AS delivery, extract(epoch FROM scheduled_at - attempted_at)::float8 AS wait FROM river_job
				WHERE state IN ('available', 'retryable', 'scheduled') AND scheduled_at > now() FOR UPDATE)
			UPDATE river_job j SET state = 'available', scheduled_at = now() FROM late WHERE j.id = late.id RETURNING late.delivery, late.wait`)
		if err != nil {
			t.Fatal(err)
		}
		var delivery string
		var wait float64
		if _, err := pgx.ForEachRow(rows, []any{&delivery, &wait}, func() error {
			if delivery == day {
				down += time.Duration(wait * float64(time.Second))
			}
			return nil
		}); err != nil {
			t.Fatal(err)
		}
		dayOver.Store(down > 24*time.Hour)
	}
	within(t, 2*time.Minute, "the others are given up", func() bool {
		comeBack(sent("day").ID)
		time.Sleep(200 * time.Millisecond)
		return sent("fails").State == "failed" && sent("itself").State == "failed" && sent("redirects").State == "failed" && sent("day").State == "delivered" && sent("hangs").Attempts > 0
	})
	for name, want := range map[string]struct {
		fault  string
		status int
	}{"fails": {"delivery_answered", 500}, "itself": {"delivery_answered", 401}, "redirects": {"delivery_redirected", 302}, "hangs": {"delivery_timed_out", 0}} {
		d := sent(name)
		status := 0
		if d.LastAttempt.Status != nil {
			status = *d.LastAttempt.Status
		}
		if name != "hangs" && d.Attempts != 12 || d.LastAttempt.Fault.Code != want.fault || status != want.status {
			t.Errorf("%s: %+v, %+v, status %d", name, d, d.LastAttempt.Fault, status)
		}
	}
	// Of the attempts by the contract's back-off the tenth comes after 22.4 hours and the
	// eleventh after 37.4 (added up by hand).
	if d := sent("day"); d.State != "delivered" || d.Attempts != 11 || late.Load() != 1 || down < 37*time.Hour || down > 38*time.Hour {
		t.Errorf("after a day: %+v, %d got through, down for %s", d, late.Load(), down)
	}
	if n := failing.Load(); n != 12 {
		t.Errorf("%d tries, want 12", n)
	}
	// The service as its own receiver makes no further events.
	var quotes, deliveries int
	if err := conn.QueryRow(t.Context(), "SELECT (SELECT count(*) FROM quotes), (SELECT count(*) FROM webhook_deliveries)").Scan(&quotes, &deliveries); err != nil || quotes != 1 || deliveries != len(hooks) {
		t.Errorf("%d quotes and %d deliveries, %v", quotes, deliveries, err)
	}
	mended.Store(true)
	send(202, "POST", "/v1/webhooks/"+hooks["fails"]+"/deliveries/"+sent("fails").ID+"/resend", "")
	within(t, 30*time.Second, "what is sent again arrives", func() bool { return sent("fails").State == "delivered" })
	if well.Load() != 1 || redirected.Load() != 0 {
		t.Errorf("%d calls of the one that works, and %d of where a redirect leads", well.Load(), redirected.Load())
	}
	send(200, "POST", "/v1/webhooks/"+hooks["well"]+"/secret", "{}")
	send(202, "POST", "/v1/webhooks/"+hooks["well"]+"/deliveries/"+sent("well").ID+"/resend", "")
	within(t, 30*time.Second, "both secrets sign", func() bool { return well.Load() == 2 })
	if got := strings.Fields(signatures.Load().(string)); len(got) != 2 || got[0] == got[1] {
		t.Errorf("signed %q", got)
	}
	server.interrupt(t)
}
