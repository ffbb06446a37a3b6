package postgres

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"time"
	"unicode"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgtype/zeronull"

	"midstroke/internal/quote"
	"midstroke/internal/shop"
)

// glance asks one question in one round trip, with the rows that a request's shop may
// see.
func (s *Store) glance(ctx context.Context, shopID int64, read func(pgx.Rows) error, sql string, args ...any) error {
	var b pgx.Batch
	queueView(ctx, &b, shopID)
	b.Queue(sql, args...).Query(read)
	return asShopError(s.asking.SendBatch(ctx, &b).Close())
}

// queueView says in a batch whose rows it may see, until its transaction ends.
func queueView(ctx context.Context, b *pgx.Batch, shopID int64) {
	whose, key := viewOf(ctx, shopID)
	b.Queue(sayView, whose, key)
}

// event is a quote.Event as the table keeps it.
type event struct {
	State string    `json:"state"`
	At    time.Time `json:"at"`
	Key   string    `json:"key"`
	By    string    `json:"by,omitempty"`
}

func eventsOf(q *quote.Quote) (events []event) {
	for _, e := range q.History {
		events = append(events, event{e.State.String(), e.At, e.Key, e.By})
	}
	return events
}

const quoteItemColumns = `id::text, state, reference, remark, catalog, revision, dampers, total, created_at, created_by, changed_at`

const quoteColumns = quoteItemColumns + `, codes, content, history, coalesce(sheet, ''), sheet_expires, needs, taken`

// scanQuoteItem reads a row of quoteItemColumns.
func scanQuoteItem(row pgx.CollectableRow) (quote.Quote, error) { return scanQuoteInto(row) }

// scanQuote reads a row of quoteColumns.
func scanQuote(row pgx.CollectableRow) (quote.Quote, error) {
	var events []event
	var codes []string
	var needs []quote.Need
	var taken []quote.Taken
	var content []byte
	var secret string
	var expires zeronull.Timestamptz
	q, err := scanQuoteInto(row, &codes, &content, &events, &secret, &expires, &needs, &taken)
	if err != nil {
		return q, err
	}
	q.Codes, q.Content, q.Needs, q.Taken, q.Link = codes, content, needs, taken, quote.Link{Secret: secret, Expires: time.Time(expires)}
	for _, e := range events {
		state, ok := quote.ParseState(e.State)
		if !ok {
			return q, fmt.Errorf("a state is %q", e.State)
		}
		q.History = append(q.History, quote.Event{State: state, At: e.At, Key: e.Key, By: e.By})
	}
	return q, nil
}

// scanQuoteInto reads quoteItemColumns and what comes behind them.
func scanQuoteInto(row pgx.CollectableRow, more ...any) (q quote.Quote, err error) {
	var state string
	err = row.Scan(append([]any{
		&q.ID, &state, &q.Reference, &q.Remark, &q.Catalog, &q.Revision, &q.Dampers, &q.Total, &q.Created, &q.CreatedBy, &q.Changed,
	}, more...)...)
	if err != nil {
		return q, err
	}
	var ok bool
	if q.State, ok = quote.ParseState(state); !ok {
		return q, fmt.Errorf("a state is %q", state)
	}
	return q, nil
}

// Quote reads a quote. It gives quote.ErrNotFound, or a *quote.ErasedError.
func (s *Store) Quote(ctx context.Context, shopID int64, id string) (q quote.Quote, err error) {
	err = s.readAsShop(ctx, shopID, func(tx pgx.Tx) error {
		q, err = findQuote(ctx, tx, shopID, id, "")
		return err
	})
	return q, err
}

// findQuote reads a quote of a shop, and locks it as lock says.
func findQuote(ctx context.Context, tx pgx.Tx, shopID int64, id, lock string) (q quote.Quote, err error) {
	rows, err := tx.Query(ctx, "SELECT "+quoteColumns+" FROM quotes WHERE id = $1 AND shop_id = $2 "+lock, id, shopID)
	if err == nil {
		q, err = pgx.CollectExactlyOneRow(rows, scanQuote)
	}
	if errors.Is(err, pgx.ErrNoRows) {
		return q, erasedOr(ctx, tx, shopID, id)
	}
	if err != nil {
		return q, fmt.Errorf("read the quote %s: %w", id, err)
	}
	return q, nil
}

// erasedOr says why a quote isn't there.
func erasedOr(ctx context.Context, tx pgx.Tx, shopID int64, id string) error {
	erased := &quote.ErasedError{ID: id}
	err := tx.QueryRow(ctx, "SELECT erased_at FROM erased_quotes WHERE id = $1 AND shop_id = $2", id, shopID).Scan(&erased.At)
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		return fmt.Errorf("%w: %s", quote.ErrNotFound, id)
	case err != nil:
		return fmt.Errorf("look for the trace of %s: %w", id, err)
	}
	return erased
}

// QuoteOfSheet reads the quote that a link leads to, as long as that is good. It gives
// quote.ErrNotFound.
func (s *Store) QuoteOfSheet(ctx context.Context, secret string) (q quote.Quote, err error) {
	var b pgx.Batch
	queueView(ctx, &b, shop.Everywhere)
	b.Queue("SELECT set_config('midstroke.sheet', $1, true)", secret)
	b.Queue("SELECT "+quoteColumns+" FROM quotes WHERE sheet = $1 AND now() < sheet_expires", secret).Query(func(rows pgx.Rows) error {
		q, err = pgx.CollectExactlyOneRow(rows, scanQuote)
		return err
	})
	err = asShopError(s.asking.SendBatch(ctx, &b).Close())
	if errors.Is(err, pgx.ErrNoRows) {
		return q, quote.ErrNotFound
	}
	return q, err
}

// Quotes lists a shop's quotes, the newest first, without their contents.
func (s *Store) Quotes(ctx context.Context, shopID int64, f quote.Filter) (list []quote.Quote, err error) {
	err = s.glance(ctx, shopID, func(rows pgx.Rows) (err error) {
		list, err = pgx.CollectRows(rows, scanQuoteItem)
		return err
	}, `SELECT `+quoteItemColumns+` FROM quotes
		WHERE shop_id = $1 AND ($2 = '' OR reference ~ $2) AND ($3 = '' OR codes @> ARRAY[$3]) AND ($4 = '' OR state = $4)
		AND ($5::timestamptz IS NULL OR created_at >= $5) AND ($6::timestamptz IS NULL OR created_at < $6) AND ($7 = '' OR id < nullif($7, '')::uuid)
		ORDER BY id DESC LIMIT $8`,
		shopID, containing(f.Reference), f.Code, f.State.String(), zeronull.Timestamptz(f.From), zeronull.Timestamptz(f.To), f.Before, f.Limit)
	if err != nil {
		return nil, fmt.Errorf("list quotes: %w", err)
	}
	return list, nil
}

// QuotedContents gives the states and contents of the quotes of a period, the newest first.
func (s *Store) QuotedContents(ctx context.Context, shopID int64, from, to time.Time, most int) (list []quote.Quote, err error) {
	err = s.readAsShop(ctx, shopID, func(tx pgx.Tx) error {
		rows, err := tx.Query(ctx, `SELECT id::text, state, content FROM quotes
			WHERE shop_id = $1 AND ($2::timestamptz IS NULL OR created_at >= $2) AND ($3::timestamptz IS NULL OR created_at < $3) ORDER BY id DESC LIMIT $4`,
			shopID, zeronull.Timestamptz(from), zeronull.Timestamptz(to), most)
		if err != nil {
			return err
		}
		list, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (q quote.Quote, err error) {
			var state string
			if err := row.Scan(&q.ID, &state, &q.Content); err != nil {
				return q, err
			}
			var ok bool
			if q.State, ok = quote.ParseState(state); !ok {
				return q, fmt.Errorf("a state is %q", state)
			}
			return q, nil
		})
		return err
	})
	return list, err
}

// containing is the regular expression of texts that contain one in upper or lower case,
// "" for any. It names each letter in both cases, since Postgres knows only those of the
// database's locale, which may be English alone.
func containing(text string) string {
	var b strings.Builder
	for _, r := range text {
		other := unicode.SimpleFold(r)
		if other == r {
			b.WriteString(regexp.QuoteMeta(string(r)))
			continue
		}
		b.WriteByte('[')
		b.WriteRune(r)
		for ; other != r; other = unicode.SimpleFold(other) {
			b.WriteRune(other)
		}
		b.WriteByte(']')
	}
	return b.String()
}

// ChangeQuote changes a quote by do, which sees it as it is at that very moment and
// whose error leaves it as it was. An order takes the parts from the stock, from the
// location that is named or from any, and gives a *quote.ShortError where there isn't
// enough. Cancelling gives them back.
func (s *Store) ChangeQuote(ctx context.Context, shopID int64, id, location string, do func(*quote.Quote) error) (q quote.Quote, err error) {
	moved := false
	err = s.changeAsShop(ctx, shopID, func(tx pgx.Tx) error {
		if q, err = findQuote(ctx, tx, shopID, id, toRelease); err != nil {
			return err
		}
		before := q.State
		if err := do(&q); err != nil {
			return err
		}
		switch {
		case q.State == before:
		case q.State == quote.Ordered:
			moved, err = true, takeStock(ctx, tx, shopID, &q, location)
		case q.State == quote.Cancelled:
			moved, err = true, giveStockBack(ctx, tx, shopID, &q)
		}
		if err != nil {
			return err
		}
		_, err := tx.Exec(ctx, `
			UPDATE quotes SET state = $3, reference = $4, remark = $5, history = $6, changed_at = $7, sheet = nullif($8, ''), sheet_expires = $9, taken = $10
			WHERE id = $1 AND shop_id = $2`,
			id, shopID, q.State.String(), q.Reference, q.Remark, eventsOf(&q), q.Changed, q.Link.Secret, zeronull.Timestamptz(q.Link.Expires), append([]quote.Taken{}, q.Taken...))
		if err != nil {
			return fmt.Errorf("change the quote %s: %w", id, err)
		}
		if told := eventOf(q.State); told != 0 && q.State != before {
			return tellOf(ctx, tx, shopID, quoteEvent(told, &q))
		}
		return nil
	})
	if err == nil && moved {
		s.tellStockNow(ctx)
	}
	return q, err
}

// EraseQuote deletes a quote and leaves a trace of it. gone takes the place of the
// answer that was kept for the request for it. agree sees the quote first, and its error
// leaves it there.
func (s *Store) EraseQuote(ctx context.Context, shopID int64, id, by string, gone shop.Answer, agree func(*quote.Quote) error) error {
	return s.changeAsShop(ctx, shopID, func(tx pgx.Tx) error {
		q, err := findQuote(ctx, tx, shopID, id, "FOR UPDATE")
		if err != nil {
			return err
		}
		if err := agree(&q); err != nil {
			return err
		}
		return erase(ctx, tx, by, &gone, "id = $1 AND shop_id = $2", id, shopID)
	})
}

// erase deletes the quotes for which a condition holds. Without an answer in its place,
// the one that was kept is deleted.
func erase(ctx context.Context, tx pgx.Tx, by string, gone *shop.Answer, where string, args ...any) error {
	rows, err := tx.Query(ctx, "DELETE FROM quotes WHERE "+where+" RETURNING id::text, shop_id, repeat_key", args...)
	if err != nil {
		return fmt.Errorf("erase quotes: %w", err)
	}
	var b pgx.Batch
	var id, key string
	var owner int64
	_, err = pgx.ForEachRow(rows, []any{&id, &owner, &key}, func() error {
		b.Queue("INSERT INTO erased_quotes (id, shop_id, erased_by) VALUES ($1, $2, $3)", id, owner, by)
		if gone != nil {
			b.Queue("UPDATE kept_answers SET status = $3, header = $4, body = $5, quote_at = NULL, quote_id = NULL WHERE shop_id = $1 AND key = $2", owner, key, gone.Status, gone.Header, gone.Body)
		} else {
			b.Queue("DELETE FROM kept_answers WHERE shop_id = $1 AND key = $2", owner, key)
		}
		return nil
	})
	if err == nil {
		err = tx.SendBatch(ctx, &b).Close()
	}
	if err != nil {
		return fmt.Errorf("erase quotes: %w", err)
	}
	return nil
}

// retention is who erases quotes that were kept long enough.
const retention = "retention"

// ForgetQuotes erases the quotes of all shops that nobody has changed since a time, and
// says how many there were.
func (s *Store) ForgetQuotes(ctx context.Context, since time.Time) (erased int, err error) {
	err = s.changeAsKeeper(ctx, func(tx pgx.Tx) error {
		if err := tx.QueryRow(ctx, "SELECT count(*) FROM quotes WHERE changed_at < $1", since).Scan(&erased); err != nil || erased == 0 {
			return err
		}
		return erase(ctx, tx, retention, nil, "changed_at < $1", since)
	})
	return erased, err
}
