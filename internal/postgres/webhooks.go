package postgres

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgtype/zeronull"

	"midstroke/internal/jobs"
	"midstroke/internal/note"
	"midstroke/internal/webhook"
)

const webhookColumns = `id::text, url, events, description, active, created_at, created_by, secret, former_secrets, former_until`

// scanWebhook reads a row of webhookColumns.
func scanWebhook(row pgx.CollectableRow) (w webhook.Webhook, err error) {
	var former [][]byte
	var until []time.Time
	err = row.Scan(&w.ID, &w.URL, &w.Events, &w.Description, &w.Active, &w.Created, &w.CreatedBy, &w.Secret, &former, &until)
	w.Former = formerOf(former, until)
	return w, err
}

// formerOf gives those former secrets that are still good.
func formerOf(secrets [][]byte, until []time.Time) (former []webhook.FormerSecret) {
	for i := range secrets {
		if time.Now().Before(until[i]) {
			former = append(former, webhook.FormerSecret{Secret: secrets[i], Until: until[i]})
		}
	}
	return former
}

// Webhooks lists a shop's webhooks, the oldest first.
func (s *Store) Webhooks(ctx context.Context, shopID int64) (list []webhook.Webhook, err error) {
	err = s.glance(ctx, shopID, func(rows pgx.Rows) (err error) {
		list, err = pgx.CollectRows(rows, scanWebhook)
		return err
	}, "SELECT "+webhookColumns+" FROM webhooks WHERE shop_id = $1 ORDER BY id", shopID)
	if err != nil {
		return nil, fmt.Errorf("list webhooks: %w", err)
	}
	return list, nil
}

// Webhook reads a webhook. It gives webhook.ErrNotFound where the shop has none of that
// name.
func (s *Store) Webhook(ctx context.Context, shopID int64, id string) (w webhook.Webhook, err error) {
	err = s.readAsShop(ctx, shopID, func(tx pgx.Tx) error {
		w, err = findWebhook(ctx, tx, shopID, id, "")
		return err
	})
	return w, err
}

func findWebhook(ctx context.Context, tx pgx.Tx, shopID int64, id, lock string) (w webhook.Webhook, err error) {
	rows, err := tx.Query(ctx, "SELECT "+webhookColumns+" FROM webhooks WHERE id = $1 AND shop_id = $2 "+lock, id, shopID)
	if err == nil {
		w, err = pgx.CollectExactlyOneRow(rows, scanWebhook)
	}
	if errors.Is(err, pgx.ErrNoRows) {
		return w, webhook.ErrNotFound
	}
	if err != nil {
		return w, fmt.Errorf("read the webhook %s: %w", id, err)
	}
	return w, nil
}

// webhookLock is the class of the advisory lock for whoever adds a shop's webhook.
const webhookLock int32 = 0x6d696475

// AddWebhook adds a webhook to a shop. It gives webhook.ErrTooMany where the shop has as
// many as it may.
func (s *Store) AddWebhook(ctx context.Context, shopID int64, w *webhook.Webhook) error {
	return s.changeAsShop(ctx, shopID, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, "SELECT pg_advisory_xact_lock($1, $2)", webhookLock, int32(shopID&0x7fffffff)); err != nil {
			return err
		}
		done, err := tx.Exec(ctx, `
			INSERT INTO webhooks (id, shop_id, url, events, description, active, created_at, created_by, secret)
			SELECT $1, $2, $3, $4, $5, $6, $7, $8, $9 WHERE (SELECT count(*) FROM webhooks WHERE shop_id = $2) < $10`,
			w.ID, shopID, w.URL, w.Events, w.Description, w.Active, w.Created, w.CreatedBy, []byte(w.Secret), webhook.MostOfShop)
		if err != nil {
			return fmt.Errorf("add a webhook: %w", err)
		}
		if done.RowsAffected() == 0 {
			return webhook.ErrTooMany
		}
		return nil
	})
}

// ChangeWebhook changes a webhook.
func (s *Store) ChangeWebhook(ctx context.Context, shopID int64, id string, c *webhook.Change) (w webhook.Webhook, err error) {
	err = s.changeAsShop(ctx, shopID, func(tx pgx.Tx) error {
		if w, err = findWebhook(ctx, tx, shopID, id, "FOR UPDATE"); err != nil {
			return err
		}
		w.Apply(c)
		_, err := tx.Exec(ctx, "UPDATE webhooks SET url = $3, events = $4, description = $5, active = $6 WHERE id = $1 AND shop_id = $2",
			id, shopID, w.URL, w.Events, w.Description, w.Active)
		if err != nil {
			return fmt.Errorf("change the webhook %s: %w", id, err)
		}
		return nil
	})
	return w, err
}

// RenewSecret gives a webhook another secret. The former one stays good for a while.
func (s *Store) RenewSecret(ctx context.Context, shopID int64, id string, fresh webhook.Secret, while time.Duration) (w webhook.Webhook, err error) {
	err = s.changeAsShop(ctx, shopID, func(tx pgx.Tx) error {
		if w, err = findWebhook(ctx, tx, shopID, id, "FOR UPDATE"); err != nil {
			return err
		}
		w.Renew(fresh, time.Now().Truncate(time.Second), while)
		former, until := [][]byte{}, []time.Time{}
		for _, f := range w.Former {
			former, until = append(former, f.Secret), append(until, f.Until)
		}
		_, err := tx.Exec(ctx, "UPDATE webhooks SET secret = $3, former_secrets = $4, former_until = $5 WHERE id = $1 AND shop_id = $2",
			id, shopID, []byte(w.Secret), former, until)
		if err != nil {
			return fmt.Errorf("renew the secret of the webhook %s: %w", id, err)
		}
		return nil
	})
	return w, err
}

// DeleteWebhook deletes a webhook with its log.
func (s *Store) DeleteWebhook(ctx context.Context, shopID int64, id string) error {
	return s.changeAsShop(ctx, shopID, func(tx pgx.Tx) error {
		gone, err := tx.Exec(ctx, "DELETE FROM webhooks WHERE id = $1 AND shop_id = $2", id, shopID)
		switch {
		case err != nil:
			return fmt.Errorf("delete the webhook %s: %w", id, err)
		case gone.RowsAffected() == 0:
			return webhook.ErrNotFound
		}
		return nil
	})
}

const deliveryColumns = `id::text, state, attempts, created_at, next_at, body, tried_at, took_ms, status, fault, detail`

// scanDelivery reads a row of deliveryColumns.
func scanDelivery(row pgx.CollectableRow) (d webhook.Delivery, err error) {
	var state string
	var next, tried zeronull.Timestamptz
	var took, status zeronull.Int4
	var code, detail zeronull.Text
	if err := row.Scan(&d.ID, &state, &d.Attempts, &d.Created, &next, &d.Body, &tried, &took, &status, &code, &detail); err != nil {
		return d, err
	}
	var ok bool
	if d.State, ok = webhook.ParseState(state); !ok {
		return d, fmt.Errorf("a state is %q", state)
	}
	d.Next = time.Time(next)
	if !time.Time(tried).IsZero() {
		d.Last = &webhook.Attempt{
			At: time.Time(tried), Took: time.Duration(took) * time.Millisecond, Status: int(status), Fault: note.Code(code), Detail: string(detail),
		}
	}
	return d, nil
}

// Deliveries lists what a webhook was sent, the last first.
func (s *Store) Deliveries(ctx context.Context, shopID int64, id string, f webhook.Filter) (list []webhook.Delivery, err error) {
	err = s.readAsShop(ctx, shopID, func(tx pgx.Tx) error {
		if _, err := findWebhook(ctx, tx, shopID, id, ""); err != nil {
			return err
		}
		rows, err := tx.Query(ctx, "SELECT "+deliveryColumns+` FROM webhook_deliveries
			WHERE webhook_id = $1 AND ($2 = '' OR state = $2) AND ($3 = '' OR id < nullif($3, '')::uuid) ORDER BY id DESC LIMIT $4`,
			id, f.State.String(), f.Before, f.Limit)
		if err == nil {
			list, err = pgx.CollectRows(rows, scanDelivery)
		}
		if err != nil {
			return fmt.Errorf("list deliveries: %w", err)
		}
		return nil
	})
	return list, err
}

// Resend sends an event again, as one of now.
func (s *Store) Resend(ctx context.Context, shopID int64, id, delivery string) (d webhook.Delivery, err error) {
	err = s.changeAsShop(ctx, shopID, func(tx pgx.Tx) error {
		rows, err := tx.Query(ctx, `UPDATE webhook_deliveries SET state = 'waiting', next_at = NULL
			WHERE id = $1 AND webhook_id = $2 AND shop_id = $3 RETURNING `+deliveryColumns, delivery, id, shopID)
		if err == nil {
			d, err = pgx.CollectExactlyOneRow(rows, scanDelivery)
		}
		if errors.Is(err, pgx.ErrNoRows) {
			return webhook.ErrNotFound
		}
		if err != nil {
			return fmt.Errorf("send %s again: %w", delivery, err)
		}
		// A job that waits is late in its series of attempts, and would end the new one's.
		job := DeliveryJob{jobs.Of{Shop: shopID}, delivery}
		if err := jobs.Withdraw(ctx, tx, job); err != nil {
			return err
		}
		return jobs.Insert(ctx, tx, job)
	})
	return d, err
}
