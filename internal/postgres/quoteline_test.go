package postgres_test

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"midstroke/internal/quote"
	"midstroke/internal/shop"
)

// lined are quotes of two shops that wait for each other.
type lined struct {
	*quoting
	all sync.WaitGroup
}

func newLined(t *testing.T) *lined {
	t.Helper()
	l := &lined{quoting: newQuoting(t)}
	// Only the other shop is told of its quotes.
	exec(t, l.owner, fmt.Sprintf("UPDATE webhooks SET active = false WHERE shop_id = %d", l.shop))
	return l
}

// keep keeps a quote at the same time as others, and calls then with what came of it.
func (l *lined) keep(ctx context.Context, shopID int64, q *quote.Quote, key string, then func(*shop.Answer, error)) {
	l.all.Go(func() { then(l.KeepQuote(ctx, shop.NewClaim(shopID, key, [32]byte{1}), q, created)) })
}

// together lets quotes come while nothing can be kept, and keeps them then.
func (l *lined) together(t *testing.T, come func()) {
	t.Helper()
	exec(t, l.owner, "BEGIN; LOCK TABLE kept_answers IN SHARE MODE")
	come()
	for deadline := time.Now().Add(20 * time.Second); ; time.Sleep(10 * time.Millisecond) {
		if count(t, l.owner, "shops, pg_locks", "NOT granted AND relation = 'kept_answers'::regclass") > 0 {
			break
		}
		if time.Now().After(deadline) {
			t.Fatal("nobody waits for the table")
		}
	}
	time.Sleep(200 * time.Millisecond) // the others get into line
	exec(t, l.owner, "COMMIT")
	l.all.Wait()
}

// TestQuotesThatComeAtOnceShareTransactions keeps 80 quotes of two shops, of which one
// wants an event for each.
func TestQuotesThatComeAtOnceShareTransactions(t *testing.T) {
	t.Parallel()
	l := newLined(t)
	quotes, events := count(t, l.owner, "quotes", "true"), count(t, l.owner, "webhook_deliveries", "true")
	l.together(t, func() {
		for i := range 80 {
			ctx, shopID := l.ctx, l.shop
			if i%8 == 0 {
				ctx, shopID = shop.WithKey(t.Context(), l.two.southKey.Hash), l.two.south
			}
			reference := fmt.Sprint("line ", i)
			l.keep(ctx, shopID, newQuote(reference), reference, func(kept *shop.Answer, err error) {
				if kept != nil || err != nil {
					t.Errorf("%s: %v, %v", reference, kept, err)
				}
			})
		}
	})
	if n := count(t, l.owner, "quotes", "true") - quotes; n != 80 {
		t.Errorf("%d quotes are kept, want 80", n)
	}
	if n := count(t, l.owner, "quotes", fmt.Sprintf("shop_id = %d AND reference LIKE 'line %%'", l.shop)); n != 70 {
		t.Errorf("%d of them are the first shop's, want 70", n)
	}
	if n := count(t, l.owner, "kept_answers k JOIN quotes q ON q.repeat_key = k.key AND q.shop_id = k.shop_id", "k.key LIKE 'line %' AND q.reference = k.key"); n != 80 {
		t.Errorf("%d answers are of the quote with their key, want 80", n)
	}
	if n := count(t, l.owner, "webhook_deliveries", "true") - events; n != 10 {
		t.Errorf("%d events, want 10", n)
	}
	var transactions int
	err := l.owner.QueryRow(t.Context(), "SELECT count(DISTINCT xmin::text) FROM quotes WHERE shop_id = $1 AND reference LIKE 'line %'", l.shop).Scan(&transactions)
	if err != nil || transactions > 20 {
		t.Errorf("70 quotes took %d transactions, %v", transactions, err)
	}
}

// TestNoQuoteFailsForAnother has a quote that the table refuses, one of a key that
// isn't there any more, and two of one key among those that come at once.
func TestNoQuoteFailsForAnother(t *testing.T) {
	t.Parallel()
	l := newLined(t)
	var mu sync.Mutex
	outcomes := map[string]int{}
	l.together(t, func() {
		for i := range 60 {
			q, ctx, key := newQuote(fmt.Sprint("line ", i)), l.ctx, fmt.Sprint("line ", i)
			kind := "plain"
			switch i % 20 {
			case 3:
				kind, q.State = "refused", 0
			case 7:
				kind, ctx = "ended", shop.WithKey(t.Context(), [32]byte{9})
			case 11, 12:
				kind, key = "twice", fmt.Sprint("twice ", i/20)
			}
			l.keep(ctx, l.shop, q, key, func(kept *shop.Answer, err error) {
				mu.Lock()
				defer mu.Unlock()
				switch {
				case err == nil && kept == nil:
					outcomes[kind+" kept"]++
				case err == nil:
					outcomes[kind+" again"]++
				case errors.Is(err, shop.ErrKeyEnded):
					outcomes[kind+" without a key"]++
				case errors.Is(err, shop.ErrInFlight):
					outcomes[kind+" again"]++
				default:
					outcomes[kind+" failed"]++
				}
			})
		}
	})
	want := map[string]int{"plain kept": 48, "refused failed": 3, "ended without a key": 3, "twice kept": 3, "twice again": 3}
	for kind, n := range want {
		if outcomes[kind] != n {
			t.Errorf("%s: %d, want %d", kind, outcomes[kind], n)
		}
	}
	if len(outcomes) != len(want) {
		t.Errorf("outcomes %v", outcomes)
	}
	if n := count(t, l.owner, "quotes", "reference LIKE 'line %'"); n != 51 {
		t.Errorf("%d quotes are kept, want 51", n)
	}
}

// TestWhoeverGoesHoldsUpNoOther ends the first callers' contexts while they wait.
func TestWhoeverGoesHoldsUpNoOther(t *testing.T) {
	t.Parallel()
	l := newLined(t)
	l.together(t, func() {
		ctx, leave := context.WithCancel(l.ctx)
		for i := range 40 {
			if i < 4 {
				l.keep(ctx, l.shop, newQuote("gone"), fmt.Sprint("gone ", i), func(_ *shop.Answer, err error) {
					if !errors.Is(err, context.Canceled) {
						t.Errorf("who went: %v", err)
					}
				})
				continue
			}
			l.keep(l.ctx, l.shop, newQuote("stayed"), fmt.Sprint("stayed ", i), func(kept *shop.Answer, err error) {
				if kept != nil || err != nil {
					t.Errorf("who stayed: %v, %v", kept, err)
				}
			})
		}
		time.Sleep(50 * time.Millisecond)
		leave()
	})
	if n := count(t, l.owner, "quotes", "reference = 'stayed'"); n != 36 {
		t.Errorf("%d quotes are kept, want 36", n)
	}
}
