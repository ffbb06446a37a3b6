package postgres_test

import (
	"context"
	"errors"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/postgres"
	"midstroke/internal/postgres/pgtest"
	"midstroke/internal/quote"
	"midstroke/internal/shop"
	"midstroke/migrations"
)

// newQuote is a quote as it is kept.
func newQuote(reference string) *quote.Quote {
	now := quote.Moment(time.Now())
	return &quote.Quote{
		ID: quote.NewID(), State: quote.Kept, Reference: reference, Catalog: "north", Revision: 1, Created: now, Changed: now, CreatedBy: "prefix",
		History: []quote.Event{{State: quote.Kept, At: now, Key: "prefix"}}, Link: quote.NewLink(1, now),
		Content: []byte(`{"axles":[]}`), Dampers: []string{"d1"}, Codes: []string{"d1", "s1"}, Total: quote.Total{Amount: "1.00", Currency: "USD"},
	}
}

var created = shop.Answer{Status: 201, Header: map[string]string{"ETag": `"x"`}, Body: []byte("{}\n")}

// keepTwoAndEraseOne leaves a row in every table of quotes.
func keepTwoAndEraseOne(t *testing.T, s *postgres.Store, k shop.Key) {
	t.Helper()
	ctx := shop.WithKey(t.Context(), k.Hash)
	for i, key := range []string{"first " + k.Shop, "second " + k.Shop} {
		q := newQuote(key)
		if kept, err := s.KeepQuote(ctx, shop.NewClaim(k.ShopID, key, [32]byte{byte(i)}), q, created); err != nil || kept != nil {
			t.Fatal(kept, err)
		}
		if i == 0 {
			if err := s.EraseQuote(ctx, k.ShopID, q.ID, "test", shop.Answer{Status: 410, Header: map[string]string{}, Body: []byte("gone")}, func(*quote.Quote) error { return nil }); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// quoting is a store that works with the rights of the service, for one shop.
type quoting struct {
	*postgres.Store
	ctx   context.Context
	shop  int64
	two   neighbours // of which it is the first
	url   string
	owner *pgx.Conn
}

func newQuoting(t *testing.T) *quoting {
	t.Helper()
	url := pgtest.NewDatabase(t)
	two := twoShops(t, open(t, url))
	var as postgres.Logins
	as.Service, as.Keeper = pgtest.ServiceLogins(t, url)
	s, err := postgres.OpenAs(t.Context(), as)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return &quoting{s, shop.WithKey(t.Context(), two.northKey.Hash), two.north, two, url, connect(t, url)}
}

// TestAQuoteIsKeptOnce sends one request 40 times at once: one quote is kept, and
// whoever is answered has the first answer.
func TestAQuoteIsKeptOnce(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	before := count(t, s.owner, "quotes", "true")
	var first, again, inFlight atomic.Int32
	var all sync.WaitGroup
	for range 40 {
		all.Go(func() {
			kept, err := s.KeepQuote(s.ctx, shop.NewClaim(s.shop, "one", [32]byte{7}), newQuote("one"), created)
			switch {
			case errors.Is(err, shop.ErrInFlight):
				inFlight.Add(1)
			case err != nil:
				t.Error(err)
			case kept == nil:
				first.Add(1)
			case string(kept.Body) == string(created.Body) && kept.Status == 201:
				again.Add(1)
			default:
				t.Errorf("%+v", kept)
			}
		})
	}
	all.Wait()
	if first.Load() != 1 || again.Load()+inFlight.Load() != 39 || count(t, s.owner, "quotes", "true") != before+1 {
		t.Errorf("%d first, %d again, %d in flight, %d quotes", first.Load(), again.Load(), inFlight.Load(), count(t, s.owner, "quotes", "true")-before)
	}
	if _, err := s.KeepQuote(s.ctx, shop.NewClaim(s.shop, "one", [32]byte{8}), newQuote("other"), created); !errors.Is(err, shop.ErrKeyReused) {
		t.Errorf("another request: %v", err)
	}
	if kept, err := s.Kept(s.ctx, shop.NewClaim(s.shop, "one", [32]byte{7})); err != nil || kept == nil {
		t.Errorf("kept %v, %v", kept, err)
	}
	// A key is free again once its answer was kept long enough.
	exec(t, s.owner, "UPDATE kept_answers SET created_at = now() - interval '25 hours' WHERE key = 'one'")
	if kept, err := s.KeepQuote(s.ctx, shop.NewClaim(s.shop, "one", [32]byte{8}), newQuote("other"), created); err != nil || kept != nil {
		t.Errorf("after a day: %v, %v", kept, err)
	}
}

// TestAQuoteAndItsAnswerAreKeptTogether breaks the second of the two rows.
func TestAQuoteAndItsAnswerAreKeptTogether(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	broken := newQuote("broken")
	broken.State = 0 // which the table refuses
	claim := shop.NewClaim(s.shop, "broken", [32]byte{1})
	if _, err := s.KeepQuote(s.ctx, claim, broken, created); err == nil {
		t.Fatal("kept")
	}
	if kept, err := s.Kept(s.ctx, claim); err != nil || kept != nil {
		t.Errorf("an answer without its quote: %v, %v", kept, err)
	}
	if kept, err := s.KeepQuote(s.ctx, claim, newQuote("whole"), created); err != nil || kept != nil {
		t.Errorf("the next try: %v, %v", kept, err)
	}
}

// TestTheLinkOfASheetOpensOneQuote reads with the service's role and no key.
func TestTheLinkOfASheetOpensOneQuote(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	q := newQuote("with a link")
	if _, err := s.KeepQuote(s.ctx, shop.NewClaim(s.shop, "link", [32]byte{1}), q, created); err != nil {
		t.Fatal(err)
	}
	if found, err := s.QuoteOfSheet(t.Context(), q.Link.Secret); err != nil || found.ID != q.ID {
		t.Errorf("%+v, %v", found, err)
	}
	conn := plain(t, pgtest.Login(t, s.url, migrations.ServiceRole))
	set(t, conn, "midstroke.sheet", q.Link.Secret)
	if n := count(t, conn, "quotes", "true"); n != 1 {
		t.Errorf("%d quotes are seen by a link", n)
	}
	for _, sql := range []string{"DELETE FROM quotes", "UPDATE quotes SET reference = 'x'"} {
		if done, err := conn.Exec(t.Context(), sql); err != nil || done.RowsAffected() != 0 {
			t.Errorf("by a link: %s: %v, %v", sql, done, err)
		}
	}
	for _, other := range []string{"", "x", q.Link.Secret + "a", "%"} {
		if _, err := s.QuoteOfSheet(t.Context(), other); !errors.Is(err, quote.ErrNotFound) {
			t.Errorf("%q: %v", other, err)
		}
	}
	exec(t, s.owner, "UPDATE quotes SET sheet_expires = now() WHERE id = '"+q.ID+"'")
	if _, err := s.QuoteOfSheet(t.Context(), q.Link.Secret); !errors.Is(err, quote.ErrNotFound) {
		t.Errorf("expired: %v", err)
	}
}

// TestOldQuotesAreErased by the keeper, with the answers that were kept for them.
func TestOldQuotesAreErased(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	old := newQuote("old")
	if _, err := s.KeepQuote(s.ctx, shop.NewClaim(s.shop, "old", [32]byte{1}), old, created); err != nil {
		t.Fatal(err)
	}
	exec(t, s.owner, "UPDATE quotes SET changed_at = now() - interval '3 days' WHERE id = '"+old.ID+"'")
	if n, err := s.ForgetQuotes(t.Context(), time.Now().AddDate(0, 0, -2)); n != 1 || err != nil {
		t.Fatalf("%d erased, %v", n, err)
	}
	var erased *quote.ErasedError
	if _, err := s.Quote(s.ctx, s.shop, old.ID); !errors.As(err, &erased) || erased.ID != old.ID {
		t.Errorf("%v", err)
	}
	if n := count(t, s.owner, "kept_answers", "key = 'old'"); n != 0 {
		t.Error("its answer is still there")
	}
	if n, err := s.ForgetQuotes(t.Context(), time.Now().AddDate(0, 0, -2)); n != 0 || err != nil {
		t.Errorf("%d erased again, %v", n, err)
	}
}
