package postgres

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/shop"
)

// KeptFor is how long answers are kept for requests that are sent again.
const KeptFor = 24 * time.Hour

// Claim enters a claim for a while, or gives the answer that is kept for its key. It
// gives shop.ErrInFlight while another claim of the key holds, and shop.ErrKeyReused
// where the key belongs to another request.
func (s *Store) Claim(ctx context.Context, c shop.Claim, while time.Duration) (kept *shop.Answer, err error) {
	err = s.changeAsShop(ctx, c.Shop, func(tx pgx.Tx) error {
		entered, err := tx.Exec(ctx, `
			INSERT INTO kept_answers AS k (shop_id, key, fingerprint, claim, claimed_until)
			VALUES ($1, $2, $3, $4, now() + make_interval(secs => $5))
			ON CONFLICT (shop_id, key) DO UPDATE SET
				fingerprint = excluded.fingerprint, claim = excluded.claim, claimed_until = excluded.claimed_until,
				created_at = now(), status = NULL, header = NULL, body = NULL, quote_at = NULL, quote_id = NULL
			WHERE k.status IS NULL AND k.claimed_until < now() OR k.created_at < now() - make_interval(secs => $6)`,
			c.Shop, c.Key, c.Fingerprint[:], c.ID, while.Seconds(), KeptFor.Seconds())
		if err != nil || entered.RowsAffected() == 1 {
			return err
		}
		var fingerprint []byte
		var status *int
		var answer shop.Answer
		err = tx.QueryRow(ctx, "SELECT fingerprint, status, header, body FROM kept_answers WHERE shop_id = $1 AND key = $2", c.Shop, c.Key).
			Scan(&fingerprint, &status, &answer.Header, &answer.Body)
		switch {
		case errors.Is(err, pgx.ErrNoRows): // the claim was given up this moment
			return shop.ErrInFlight
		case err != nil:
			return err
		case [32]byte(fingerprint) != c.Fingerprint:
			return shop.ErrKeyReused
		case status == nil:
			return shop.ErrInFlight
		}
		answer.Status = *status
		kept = &answer
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("claim a request: %w", err)
	}
	return kept, nil
}

// Keep keeps the answer to a request that was claimed.
func (s *Store) Keep(ctx context.Context, c shop.Claim, a shop.Answer) error {
	return s.changeAsShop(ctx, c.Shop, func(tx pgx.Tx) error { return keep(ctx, tx, c, a) })
}

// keep is Keep within a transaction. It fails where the claim doesn't hold any more.
func keep(ctx context.Context, tx pgx.Tx, c shop.Claim, a shop.Answer) error {
	done, err := tx.Exec(ctx, "UPDATE kept_answers SET status = $4, header = $5, body = $6 WHERE shop_id = $1 AND key = $2 AND claim = $3 AND status IS NULL",
		c.Shop, c.Key, c.ID, a.Status, a.Header, a.Body)
	if err == nil && done.RowsAffected() == 0 {
		err = shop.ErrInFlight
	}
	if err != nil {
		return fmt.Errorf("keep an answer: %w", err)
	}
	return nil
}

// GiveUp ends a claim without an answer, so that the request can be sent again.
func (s *Store) GiveUp(ctx context.Context, c shop.Claim) error {
	return s.changeAsShop(ctx, c.Shop, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, "DELETE FROM kept_answers WHERE shop_id = $1 AND key = $2 AND claim = $3 AND status IS NULL", c.Shop, c.Key, c.ID)
		return err
	})
}

// ForgetAnswers deletes the answers of all shops that were kept long enough.
func (s *Store) ForgetAnswers(ctx context.Context) error {
	return s.changeAsKeeper(ctx, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, "DELETE FROM kept_answers WHERE created_at < now() - make_interval(secs => $1)", KeptFor.Seconds())
		return err
	})
}
