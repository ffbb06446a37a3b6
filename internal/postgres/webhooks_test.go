package postgres_test

import (
	"testing"
	"time"

	"midstroke/internal/quote"
	"midstroke/internal/shop"
	"midstroke/internal/webhook"
)

// TestWhatIsSentAgainBeginsAnew: a delivery that waits for a late attempt and is sent again
// has one job, so that its last attempt isn't that of the earlier series.
func TestWhatIsSentAgainBeginsAnew(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	hook := &webhook.Webhook{ID: webhook.NewID(), URL: "https://till.example/", Events: []string{webhook.QuoteKept.String()}, Active: true, Created: quote.Moment(time.Now()), CreatedBy: "prefix", Secret: webhook.NewSecret()}
	if err := s.AddWebhook(s.ctx, s.shop, hook); err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"one", "two"} {
		if _, err := s.KeepQuote(s.ctx, shop.NewClaim(s.shop, key, [32]byte{1}), newQuote(key), created); err != nil {
			t.Fatal(err)
		}
	}
	list, err := s.Deliveries(s.ctx, s.shop, hook.ID, webhook.Filter{Limit: 10})
	if err != nil || len(list) != 2 {
		t.Fatalf("%+v, %v", list, err)
	}
	exec(t, s.owner, "UPDATE river_job SET state = 'retryable', attempt = 11, scheduled_at = now() + interval '22 hours'")
	if _, err := s.Resend(s.ctx, s.shop, hook.ID, list[0].ID); err != nil {
		t.Fatal(err)
	}
	for where, want := range map[string]int{
		"args ->> 'delivery' = '" + list[0].ID + "' AND state = 'available' AND attempt = 0":  1,
		"args ->> 'delivery' = '" + list[0].ID + "' AND state = 'cancelled' AND attempt = 11": 1,
		"args ->> 'delivery' = '" + list[1].ID + "' AND state = 'retryable' AND attempt = 11": 1,
	} {
		if n := count(t, s.owner, "river_job", where); n != want {
			t.Errorf("%d jobs where %s, want %d", n, where, want)
		}
	}
}
