package main_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"strconv"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/pglocal"
	"midstroke/internal/postgres"
	"midstroke/internal/shop"
	"midstroke/internal/webhook"
)

// Each of the clients keeps one quote of two dampers in a round. The stock is shorter
// than what they want.
const (
	stormClients  = 64
	stormStock    = 200
	stormPatience = 5 * time.Minute
	stormDamper   = "demo-damper-0202"
	stormQuote    = `{"reference":%q,"axles":[{"axle":"rear","damper":"` + stormDamper + `","request":{"units":"in","upper":{"style":"eye"},"lower":{"style":"eye"},"readings":["17 5/16"],"suspension":"solid_axle"}}]}`
)

// storm is a service that is killed again and again, and what its clients were told.
type storm struct {
	key  string
	url  atomic.Pointer[string]
	http *http.Client
	told *receiver

	mu    sync.Mutex
	kept  map[string]string // the quote's id by the client's reference
	state map[string]string // what the client was last told, by the quote's id
	sent  map[string]int    // how often each request was answered by its quote
	twins sync.WaitGroup    // requests that were sent at the same time as their like
}

// TestQuotesInAStorm kills the service, or its Postgres, while clients keep, order and
// cancel quotes, send requests twice and cut connections, and while a receiver of their
// events fails now and then. Afterwards every quote that was acknowledged is there exactly
// once, the stock is what the ordered quotes say, and the receiver's set of ids has each
// event exactly once.
func TestQuotesInAStorm(t *testing.T) {
	t.Parallel()
	rounds := 2 // one kills the service, one Postgres
	if os.Getenv("MIDSTROKE_TEST_LONG") != "" {
		rounds = 100
	}
	dir := usedDataDir(t)
	args := []string{"--data-dir", dir, "--webhook-networks", "127.0.0.0/8"}
	server := serve(t, args...)
	url, err := pglocal.Attach(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	s := &storm{http: &http.Client{Timeout: 15 * time.Second}, kept: map[string]string{}, state: map[string]string{}, sent: map[string]int{}}
	s.url.Store(&server.url)
	s.key = demoKey(t, url)
	s.told = s.receive(t)
	s.until(t, func() bool {
		status, _ := s.send(t.Context(), "PUT", "/v1/stock", fmt.Sprintf(`{"code":%q,"location":"main","quantity":%d,"low":%d}`, stormDamper, stormStock, stormStock/2))
		return status == http.StatusOK
	})
	const seed = 16
	rnd := rand.New(rand.NewPCG(seed, seed))
	for round := range rounds {
		var clients sync.WaitGroup
		for client := range stormClients {
			own := rand.New(rand.NewPCG(uint64(round), uint64(client)))
			clients.Go(func() { s.client(t, fmt.Sprintf("round %d client %d", round, client), own) })
		}
		time.Sleep(time.Duration(rnd.Int64N(int64(300 * time.Millisecond))))
		if round%2 == 0 {
			_ = server.cmd.Process.Kill()
			if err := <-server.exited; err == nil {
				t.Error("a killed process ended well")
			}
			server = serve(t, args...)
			s.url.Store(&server.url)
		} else {
			_ = syscall.Kill(postmaster(t, dir), syscall.SIGKILL)
		}
		clients.Wait()
	}
	s.twins.Wait()
	s.until(t, func() bool {
		url, err = pglocal.Attach(t.Context(), dir)
		return err == nil
	})
	s.check(t, url, rounds*stormClients)
	s.checkEvents(t, url)
	server.interrupt(t)
}

// demoKey makes a key of the shop whose catalogue the demo is.
func demoKey(t *testing.T, url string) string {
	t.Helper()
	store, err := postgres.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	text, key := shop.NewKey(shop.Admin)
	key.Shop = "demo"
	if err := store.CreateKey(t.Context(), key); err != nil {
		t.Fatal(err)
	}
	return text
}

// send sends a request once. The status is 0 where no answer came.
func (s *storm) send(ctx context.Context, method, path, body string, header ...string) (status int, answer []byte) {
	r, err := http.NewRequestWithContext(ctx, method, *s.url.Load()+path, bytes.NewReader([]byte(body)))
	if err != nil {
		return 0, nil
	}
	r.Header.Set("Authorization", "Bearer "+s.key)
	r.Header.Set("Content-Type", "application/json")
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	a, err := s.http.Do(r)
	if err != nil {
		return 0, nil
	}
	defer func() { _ = a.Body.Close() }()
	if answer, err = io.ReadAll(a.Body); err != nil {
		return 0, nil
	}
	return a.StatusCode, answer
}

// until calls so until it holds, for as long as a busy machine may need.
func (s *storm) until(t *testing.T, so func() bool) {
	t.Helper()
	for end := time.Now().Add(stormPatience); !so(); time.Sleep(50 * time.Millisecond) {
		if time.Now().After(end) {
			t.Errorf("nothing helped for %s", stormPatience)
			return
		}
	}
}

// client keeps a quote, orders it, and cancels some.
func (s *storm) client(t *testing.T, reference string, own *rand.Rand) {
	body := fmt.Sprintf(stormQuote, reference)
	keep := func(ctx context.Context) bool {
		status, answer := s.send(ctx, "POST", "/v1/quotes", body, "Idempotency-Key", reference)
		return status == http.StatusCreated && s.acknowledged(t, reference, answer)
	}
	s.until(t, func() bool {
		if own.IntN(3) == 0 {
			s.twins.Go(func() { keep(t.Context()) })
		}
		ctx, cut := context.WithCancel(t.Context())
		defer cut()
		if own.IntN(3) == 0 {
			time.AfterFunc(time.Duration(own.Int64N(int64(10*time.Millisecond))), cut)
		}
		return keep(ctx)
	})
	s.mu.Lock()
	id := s.kept[reference]
	s.mu.Unlock()
	s.change(t, id, "ordered")
	if own.IntN(3) == 0 {
		s.change(t, id, "cancelled")
	}
}

// acknowledged notes a quote that was kept; the same request has always the same one.
func (s *storm) acknowledged(t *testing.T, reference string, answer []byte) bool {
	var q struct{ ID string }
	if err := json.Unmarshal(answer, &q); err != nil || q.ID == "" {
		t.Errorf("%s: %v: %s", reference, err, answer)
		return false
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.sent[reference]++
	if before, there := s.kept[reference]; there && before != q.ID {
		t.Errorf("%s is %s and %s", reference, before, q.ID)
	}
	s.kept[reference] = q.ID
	return true
}

// change changes a quote's state, as often as it takes to know what became of it.
func (s *storm) change(t *testing.T, id, state string) {
	s.until(t, func() bool {
		status, answer := s.send(t.Context(), "PATCH", "/v1/quotes/"+id, `{"state":"`+state+`"}`, "If-Match", "*")
		if status != http.StatusOK && status != http.StatusConflict {
			return false
		}
		if status == http.StatusConflict && bytes.Contains(answer, []byte("parts_short")) {
			return true
		}
		// A conflict of states: an earlier try has got through.
		s.mu.Lock()
		defer s.mu.Unlock()
		s.state[id] = state
		return true
	})
}

// check holds what the clients were told against the database.
func (s *storm) check(t *testing.T, url string, requests int) {
	t.Helper()
	conn := seesAll(t, url)
	rows, err := conn.Query(t.Context(), "SELECT id::text, reference, state, coalesce((SELECT sum((x->>'quantity')::int) FROM json_array_elements(taken) x), 0) FROM quotes")
	if err != nil {
		t.Fatal(err)
	}
	byReference, states, taken, found := map[string]int{}, map[string]int{}, 0, map[string]string{}
	var id, reference, state string
	var parts int
	if _, err = pgx.ForEachRow(rows, []any{&id, &reference, &state, &parts}, func() error {
		byReference[reference]++
		states[state]++
		taken += parts
		found[id] = state
		if want := map[string]int{"ordered": 2}[state]; parts != want {
			t.Errorf("%s is %s and has taken %d", reference, state, parts)
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	if len(s.kept) != requests {
		t.Errorf("%d of %d requests were acknowledged", len(s.kept), requests)
	}
	again := 0
	for reference, id := range s.kept {
		again += s.sent[reference] - 1
		if byReference[reference] != 1 || found[id] == "" {
			t.Errorf("%s, acknowledged as %s, is there %d times", reference, id, byReference[reference])
		}
	}
	for id, state := range s.state {
		if found[id] != state {
			t.Errorf("%s is %s, and its client was told %s", id, found[id], state)
		}
	}
	var left int
	if err := conn.QueryRow(t.Context(), "SELECT quantity FROM stock WHERE code = $1", stormDamper).Scan(&left); err != nil || left != stormStock-taken || left < 0 {
		t.Errorf("%d are left of %d after %d were taken, %v", left, stormStock, taken, err)
	}
	if states["ordered"] == 0 || states["cancelled"] == 0 || again == 0 {
		t.Errorf("%v, %d answered again, which proves little", states, again)
	}
	t.Logf("%d quotes: %v, %d answered more than once, %d of %d left", len(found), states, again, left, stormStock)
}

// seesAll connects as one who sees every shop's rows.
func seesAll(t *testing.T, url string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err == nil {
		_, err = conn.Exec(t.Context(), "SELECT set_config('midstroke.shop', '*', false)")
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = conn.Close(context.Background()) })
	return conn
}

// receiver is a shop's server that is told of events.
type receiver struct {
	secret webhook.Secret
	mu     sync.Mutex
	tries  map[string]int    // by webhook-id
	ids    map[string]string // the event's body by its webhook-id, of those that were taken
	wrong  []string
}

// receive starts a receiver and has the service tell it of every event.
func (s *storm) receive(t *testing.T) *receiver {
	t.Helper()
	told := &receiver{tries: map[string]int{}, ids: map[string]string{}}
	at := httptest.NewServer(told)
	t.Cleanup(at.Close)
	var added struct{ Secret string }
	s.until(t, func() bool {
		status, answer := s.send(t.Context(), "POST", "/v1/webhooks", fmt.Sprintf(`{"url":%q,"events":["quote.kept","quote.ordered","quote.cancelled","stock.low"]}`, at.URL))
		return status == http.StatusCreated && json.Unmarshal(answer, &added) == nil
	})
	var err error
	if told.secret, err = webhook.ReadSecret(added.Secret); err != nil {
		t.Fatal(err)
	}
	return told
}

// ServeHTTP takes an event, but now and then it fails at the first try or, when it has
// taken the event, cuts the connection.
func (r *receiver) ServeHTTP(w http.ResponseWriter, q *http.Request) {
	body, err := io.ReadAll(q.Body)
	if err != nil {
		return // cut off with the service
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	id := q.Header.Get("webhook-id")
	seconds, err := strconv.ParseInt(q.Header.Get("webhook-timestamp"), 10, 64)
	if err != nil || q.Header.Get("webhook-signature") != r.secret.Sign(id, time.Unix(seconds, 0), body) {
		r.wrong = append(r.wrong, fmt.Sprintf("%v: %s", q.Header, body))
	}
	r.tries[id]++
	if first := r.tries[id] == 1; first && len(r.tries)%8 == 0 {
		w.WriteHeader(http.StatusInternalServerError)
		return
	}
	if before, there := r.ids[id]; there && before != string(body) {
		r.wrong = append(r.wrong, fmt.Sprintf("%s is %s and %s", id, before, body))
	}
	r.ids[id] = string(body)
	if r.tries[id] == 1 && len(r.tries)%8 == 1 {
		panic(http.ErrAbortHandler)
	}
}

// checkEvents waits until everything is delivered, and holds the receiver's set of ids
// against the quotes.
func (s *storm) checkEvents(t *testing.T, url string) {
	t.Helper()
	conn := seesAll(t, url)
	begun := time.Now()
	s.until(t, func() bool {
		var waiting int
		if err := conn.QueryRow(t.Context(), "SELECT count(*) FROM webhook_deliveries WHERE state <> 'delivered'").Scan(&waiting); err != nil {
			t.Fatal(err)
		}
		return waiting == 0
	})
	waited := time.Since(begun)
	s.told.mu.Lock()
	defer s.told.mu.Unlock()
	type event struct {
		Type string
		Data struct{ Quote string }
	}
	got, wanted := map[event]int{}, map[event]int{}
	low, repeats := 0, 0
	for id, body := range s.told.ids {
		var e event
		if err := json.Unmarshal([]byte(body), &e); err != nil {
			t.Fatal(err)
		}
		if repeats += s.told.tries[id] - 1; e.Type == "stock.low" {
			low++
			continue
		}
		got[e]++
	}
	rows, err := conn.Query(t.Context(), "SELECT id::text, e ->> 'state' FROM quotes, json_array_elements(history) e")
	if err != nil {
		t.Fatal(err)
	}
	var id, state string
	if _, err := pgx.ForEachRow(rows, []any{&id, &state}, func() error {
		e := event{Type: "quote." + state}
		e.Data.Quote = id
		wanted[e]++
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	if !maps.Equal(got, wanted) || low == 0 || repeats == 0 {
		t.Errorf("%d events came, of %d that happened, and %d of low stock; %d tries were repeats", len(got), len(wanted), low, repeats)
	}
	for e, n := range got {
		if n != 1 || wanted[e] != 1 {
			t.Errorf("%+v happened %d times and came under %d ids", e, wanted[e], n)
		}
	}
	for _, wrong := range s.told.wrong {
		t.Error(wrong)
	}
	t.Logf("%d events and %d of low stock came, %d tries were repeats; the last came after %s", len(got), low, repeats, waited.Round(time.Millisecond))
}
