package postgres

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgtype/zeronull"

	"midstroke/internal/jobs"
	"midstroke/internal/quote"
	"midstroke/internal/shop"
	"midstroke/internal/webhook"
)

// DeliveryJob is the job of delivering an event to a webhook.
type DeliveryJob struct {
	jobs.Of
	Delivery string `json:"delivery"`
}

// Kind names the kind of job.
func (DeliveryJob) Kind() string { return "webhook_delivery" }

// eventSQL gives the statements of a WITH query that enter the deliveries of an event to
// the webhooks of the shop $1 that want it, with their jobs, for a row of a query before
// them, cause. The last of them is put. The event's parameters are its type, its body and
// the names of its deliveries.
func eventSQL(cause, kind, body, ids string) string {
	return `told AS (
		INSERT INTO webhook_deliveries (id, shop_id, webhook_id, event, body)
		SELECT (` + ids + `::uuid[])[row_number() OVER (ORDER BY w.id)], w.shop_id, w.id, ` + kind + `, ` + body + ` FROM ` + cause + `, webhooks w
		WHERE w.shop_id = $1 AND w.active AND ` + kind + ` = ANY (w.events)
		RETURNING id, shop_id),
	wanted AS (SELECT jsonb_build_object('shop', shop_id, 'delivery', id) AS args FROM told),
	` + jobs.InsertSQL(DeliveryJob{}.Kind(), "wanted")
}

// tellSQL enters an event by itself.
var tellSQL = "WITH cause AS (SELECT), " + eventSQL("cause", "$2", "$3", "$4") + " SELECT count(*) FROM put"

// eventArgs gives the parameters of tellSQL.
func eventArgs(shopID int64, e *webhook.Event) ([]any, error) {
	body, err := e.Body()
	if err != nil {
		return nil, err
	}
	ids := make([]string, webhook.MostOfShop)
	for i := range ids {
		ids[i] = webhook.NewID()
	}
	return []any{shopID, e.Type.String(), body, ids}, nil
}

// tellOf puts in an event for the webhooks of a shop, as part of the transaction that
// caused it.
func tellOf(ctx context.Context, tx pgx.Tx, shopID int64, e *webhook.Event) error {
	args, err := eventArgs(shopID, e)
	if err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, tellSQL, args...); err != nil {
		return fmt.Errorf("enter the event %s: %w", e.Type, err)
	}
	return nil
}

// quoteEvent says what became of a quote, and none of its texts.
func quoteEvent(t webhook.EventType, q *quote.Quote) *webhook.Event {
	type edition struct {
		Name     string `json:"name"`
		Revision int    `json:"revision"`
	}
	type total struct {
		Amount   string `json:"amount"`
		Currency string `json:"currency"`
		Complete bool   `json:"complete"`
	}
	return &webhook.Event{Type: t, At: q.Changed, Data: struct {
		Quote   string   `json:"quote"`
		State   string   `json:"state"`
		Catalog edition  `json:"catalog"`
		Dampers []string `json:"dampers"`
		Total   total    `json:"total"`
	}{q.ID, q.State.String(), edition{q.Catalog, q.Revision}, q.Dampers, total(q.Total)}}
}

// eventOf gives the event of a quote's coming into a state, 0 for none.
func eventOf(s quote.State) webhook.EventType {
	switch s {
	case quote.Kept:
		return webhook.QuoteKept
	case quote.Ordered:
		return webhook.QuoteOrdered
	case quote.Cancelled:
		return webhook.QuoteCancelled
	case quote.Fitted:
	}
	return 0
}

// publishedEvent says that another revision answers.
func publishedEvent(name string, number int, action shop.Action) *webhook.Event {
	return &webhook.Event{Type: webhook.CatalogPublished, At: time.Now(), Data: struct {
		Catalog  string `json:"catalog"`
		Revision int    `json:"revision"`
		Action   string `json:"action"`
	}{name, number, action.String()}}
}

// lowLine is a line of stock that came to be at or below its mark.
type lowLine struct {
	Code     string `json:"code"`
	Location string `json:"location"`
	Quantity int    `json:"quantity"`
	Low      int    `json:"low"`
}

// tellOfLow tells of lines that came to be low by one change.
func tellOfLow(ctx context.Context, tx pgx.Tx, shopID int64, lines []lowLine) error {
	if len(lines) == 0 {
		return nil
	}
	listed := lines[:min(len(lines), webhook.MostLines)]
	return tellOf(ctx, tx, shopID, &webhook.Event{Type: webhook.StockLow, At: time.Now(), Data: struct {
		Lines    []lowLine `json:"lines"`
		Unlisted int       `json:"unlisted"`
	}{listed, len(lines) - len(listed)}})
}

// ToDeliver gives a delivery that waits, and where it goes. It gives webhook.ErrNotFound
// for one that doesn't wait any more.
func (s *Store) ToDeliver(ctx context.Context, job DeliveryJob) (to webhook.Webhook, body []byte, err error) {
	var former [][]byte
	var until []time.Time
	rows, err := s.working.Query(ctx, `
		SELECT w.id::text, w.url, w.active, w.secret, w.former_secrets, w.former_until, d.body FROM webhook_deliveries d JOIN webhooks w ON w.id = d.webhook_id
		WHERE d.id = $1 AND d.shop_id = $2 AND d.state = 'waiting'`, job.Delivery, job.Shop)
	if err == nil {
		_, err = pgx.CollectExactlyOneRow(rows, func(row pgx.CollectableRow) (struct{}, error) {
			return struct{}{}, row.Scan(&to.ID, &to.URL, &to.Active, &to.Secret, &former, &until, &body)
		})
	}
	if errors.Is(err, pgx.ErrNoRows) {
		return to, nil, webhook.ErrNotFound
	}
	to.Former = formerOf(former, until)
	return to, body, asShopError(err)
}

// NoteAttempt notes what became of an attempt to deliver, and when the next one is due.
// A receiver that asked for no more has its webhook switched off.
func (s *Store) NoteAttempt(ctx context.Context, job DeliveryJob, to *webhook.Webhook, a *webhook.Attempt, state webhook.State, next time.Time) error {
	var b pgx.Batch
	b.Queue(`UPDATE webhook_deliveries SET state = $3, attempts = attempts + 1, next_at = $4, tried_at = $5, took_ms = $6, status = $7, fault = $8, detail = $9
		WHERE id = $1 AND shop_id = $2`, job.Delivery, job.Shop, state.String(), zeronull.Timestamptz(next),
		a.At, a.Took.Milliseconds(), zeronull.Int4(a.Status), zeronull.Text(a.Fault), zeronull.Text(a.Detail))
	if a.Off() {
		b.Queue("UPDATE webhooks SET active = false WHERE id = $1", to.ID)
	}
	return asShopError(s.working.SendBatch(ctx, &b).Close())
}

// deliveriesKeptFor is how long deliveries are listed.
const deliveriesKeptFor = 30 * 24 * time.Hour

// ForgetDeliveries deletes the deliveries of all shops that were kept long enough.
func (s *Store) ForgetDeliveries(ctx context.Context) error {
	return s.changeAsKeeper(ctx, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, "DELETE FROM webhook_deliveries WHERE created_at < now() - make_interval(secs => $1) AND state <> 'waiting'", deliveriesKeptFor.Seconds())
		return err
	})
}
