package postgres

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/catalog"
	"midstroke/internal/quote"
)

// channelStock is where it is said that a stock has moved, and not whose.
const channelStock = "stock_moved"

// PutStock sets lines of a shop's stock, all or none, and gives the stock's version.
// With replace the lines that aren't named are deleted. When it returns, a watcher of
// this store knows of them.
func (s *Store) PutStock(ctx context.Context, shopID int64, lines []quote.StockLine, replace bool) (version int64, err error) {
	codes, locations, quantities, lows := make([]string, len(lines)), make([]string, len(lines)), make([]int, len(lines)), make([]*int, len(lines))
	for i, l := range lines {
		codes[i], locations[i], quantities[i], lows[i] = l.Code, l.Location, l.Quantity, l.Low
	}
	err = s.changeAsShop(ctx, shopID, func(tx pgx.Tx) error {
		if version, err = moveStock(ctx, tx, shopID); err != nil {
			return err
		}
		// The whole statement sees the stock as it was before it.
		low, err := lowLines(tx.Query(ctx, `
			WITH put AS (
				INSERT INTO stock AS s (shop_id, code, location, quantity, low, version)
				SELECT $1, u.code, u.location, u.quantity, u.low, $6
				FROM unnest($2::text[], $3::text[], $4::int[], $5::int[]) AS u (code, location, quantity, low)
				ON CONFLICT (shop_id, code, location) DO UPDATE SET
					quantity = excluded.quantity, low = coalesce(excluded.low, s.low), version = excluded.version, changed_at = now()
				RETURNING code, location, quantity, low)
			SELECT put.code, put.location, put.quantity, put.low
			FROM put LEFT JOIN stock s ON s.shop_id = $1 AND s.code = put.code AND s.location = put.location
			WHERE put.quantity <= put.low AND NOT coalesce(s.quantity <= s.low, false)
			ORDER BY put.code, put.location`,
			shopID, codes, locations, quantities, lows, version))
		if err == nil {
			err = tellOfLow(ctx, tx, shopID, low)
		}
		if err != nil || !replace {
			return err
		}
		gone, err := tx.Exec(ctx, "DELETE FROM stock WHERE shop_id = $1 AND version < $2", shopID, version)
		if err == nil && gone.RowsAffected() > 0 {
			_, err = tx.Exec(ctx, "UPDATE stock_versions SET epoch = version WHERE shop_id = $1", shopID)
		}
		return err
	})
	if err != nil {
		return 0, fmt.Errorf("set stock: %w", err)
	}
	s.tellStockNow(ctx)
	return version, nil
}

// moveStock gives the next version of a shop's stock. Nobody else changes the stock until
// the transaction ends, and then everybody who watches hears of it.
func moveStock(ctx context.Context, tx pgx.Tx, shopID int64) (version int64, err error) {
	err = tx.QueryRow(ctx, `
		INSERT INTO stock_versions AS v (shop_id, version, epoch) VALUES ($1, 1, 0)
		ON CONFLICT (shop_id) DO UPDATE SET version = v.version + 1 RETURNING version`, shopID).Scan(&version)
	if err == nil {
		_, err = tx.Exec(ctx, "SELECT pg_notify($1, '')", channelStock)
	}
	if err != nil {
		return 0, fmt.Errorf("number a change of the stock: %w", err)
	}
	return version, nil
}

// Stock lists a shop's stock by code and location, and gives its version.
func (s *Store) Stock(ctx context.Context, shopID int64, f quote.StockFilter) (list []quote.StockLine, version int64, err error) {
	err = s.readAsShop(ctx, shopID, func(tx pgx.Tx) error {
		err := tx.QueryRow(ctx, "SELECT version FROM stock_versions WHERE shop_id = $1", shopID).Scan(&version)
		if err != nil && !errors.Is(err, pgx.ErrNoRows) {
			return err
		}
		rows, err := tx.Query(ctx, `
			SELECT code, location, quantity, low, changed_at FROM stock
			WHERE shop_id = $1 AND ($2 = '' OR code = $2) AND ($3 = '' OR location = $3) AND (code, location) > ($4, $5)
			ORDER BY code, location LIMIT $6`, shopID, f.Code, f.Location, f.AfterCode, f.AfterLocation, f.Limit)
		if err != nil {
			return err
		}
		list, err = pgx.CollectRows(rows, pgx.RowToStructByPos[quote.StockLine])
		return err
	})
	if err != nil {
		return nil, 0, fmt.Errorf("list stock: %w", err)
	}
	return list, version, nil
}

// takeStock takes from the stock what a quote needs, and notes it with the quote. It gives
// a *quote.ShortError where there isn't enough.
func takeStock(ctx context.Context, tx pgx.Tx, shopID int64, q *quote.Quote, at string) error {
	var any bool
	if err := tx.QueryRow(ctx, "SELECT EXISTS (SELECT FROM stock WHERE shop_id = $1)", shopID).Scan(&any); err != nil || !any {
		return err
	}
	version, err := moveStock(ctx, tx, shopID)
	if err != nil {
		return err
	}
	codes := make([]string, len(q.Needs))
	for i, n := range q.Needs {
		codes[i] = n.Code
	}
	rows, err := tx.Query(ctx, "SELECT code, location, quantity FROM stock WHERE shop_id = $1 AND code = ANY ($2) ORDER BY code, location", shopID, codes)
	if err != nil {
		return fmt.Errorf("read the stock: %w", err)
	}
	lines, err := pgx.CollectRows(rows, scanStockLine)
	if err != nil {
		return fmt.Errorf("read the stock: %w", err)
	}
	if q.Taken, err = quote.Take(q.Needs, lines, at); err != nil {
		return err
	}
	return moveParts(ctx, tx, shopID, q.Taken, -1, version)
}

// giveStockBack returns to the stock what was taken from it for a quote.
func giveStockBack(ctx context.Context, tx pgx.Tx, shopID int64, q *quote.Quote) error {
	if len(q.Taken) == 0 {
		return nil
	}
	version, err := moveStock(ctx, tx, shopID)
	if err != nil {
		return err
	}
	taken := q.Taken
	q.Taken = nil
	return moveParts(ctx, tx, shopID, taken, 1, version)
}

// moveParts adds parts to the stock, or takes them from it where the sign is -1. A line
// that was deleted meanwhile comes back.
func moveParts(ctx context.Context, tx pgx.Tx, shopID int64, parts []quote.Taken, sign int, version int64) error {
	var b pgx.Batch
	var low []lowLine
	for _, p := range parts {
		b.Queue(`
			INSERT INTO stock AS s (shop_id, code, location, quantity, version) VALUES ($1, $2, $3, greatest($4, 0), $5)
			ON CONFLICT (shop_id, code, location) DO UPDATE SET quantity = s.quantity + $4, version = excluded.version, changed_at = now()
			RETURNING code, location, quantity, coalesce(low, -1)`,
			shopID, p.Code, p.Location, sign*p.Quantity, version).
			Query(func(rows pgx.Rows) error {
				moved, err := lowLines(rows, nil)
				for _, l := range moved {
					if l.Quantity <= l.Low && l.Quantity-sign*p.Quantity > l.Low {
						low = append(low, l)
					}
				}
				return err
			})
	}
	if err := tx.SendBatch(ctx, &b).Close(); err != nil {
		return fmt.Errorf("move the stock: %w", err)
	}
	return tellOfLow(ctx, tx, shopID, low)
}

// lowLines reads lines of stock with their marks.
func lowLines(rows pgx.Rows, err error) ([]lowLine, error) {
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[lowLine])
}

func scanStockLine(row pgx.CollectableRow) (l catalog.StockLine, err error) {
	return l, row.Scan(&l.Code, &l.Location, &l.Quantity)
}

// stockWatch is what a watcher was told of stocks.
type stockWatch map[int64]*catalog.Stock

// tellStock tells the stocks that have moved.
func (w *Watcher) tellStock(ctx context.Context, conn querier) error {
	if w.Stock == nil {
		return nil
	}
	if w.stocks == nil {
		w.stocks = stockWatch{}
	}
	rows, err := conn.Query(ctx, "SELECT shop_id, version, epoch FROM stock_versions")
	if err != nil {
		return fmt.Errorf("read the versions of stocks: %w", err)
	}
	type state struct{ Shop, Version, Epoch int64 }
	states, err := pgx.CollectRows(rows, pgx.RowToStructByPos[state])
	if err != nil {
		return fmt.Errorf("read the versions of stocks: %w", err)
	}
	for _, now := range states {
		known := w.stocks[now.Shop]
		if known != nil && known.Version() == now.Version {
			continue
		}
		if known != nil && (known.Version() < now.Epoch || known.Version() > now.Version) {
			known = nil // lines were deleted, or the database is an older one
		}
		rows, err := conn.Query(ctx, "SELECT code, location, quantity FROM stock WHERE shop_id = $1 AND version > $2 AND version <= $3", now.Shop, known.Version(), now.Version)
		if err != nil {
			return fmt.Errorf("read a stock: %w", err)
		}
		lines, err := pgx.CollectRows(rows, scanStockLine)
		if err != nil {
			return fmt.Errorf("read a stock: %w", err)
		}
		next := known.With(now.Version, lines)
		w.stocks[now.Shop] = next
		w.Stock(now.Shop, next)
	}
	return nil
}

// tellStockNow is tellNow for stocks alone.
func (s *Store) tellStockNow(ctx context.Context) {
	w := s.watcher.Load()
	if w == nil || w.Stock == nil {
		return
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), tellTime)
	defer cancel()
	_ = s.tellInTurn(ctx, func() error {
		return s.changeAsKeeper(ctx, func(tx pgx.Tx) error { return w.tellStock(ctx, tx) })
	})
}
