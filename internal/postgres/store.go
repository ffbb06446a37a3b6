// Package postgres keeps catalogues in Postgres: it publishes revisions, reads
// them as snapshots and hears of new ones. Plain SQL; the schema is package
// migrations'.
package postgres

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"

	"midstroke/internal/shop"
)

// connectTimeout bounds each attempt to connect, unless the URL says
// otherwise: a host that swallows packets must not hold up a start.
const connectTimeout = 5 * time.Second

// Store is the catalogues of one database. It is safe for any number of
// callers at once.
type Store struct{ pool *pgxpool.Pool }

// Open connects to the database at url, a postgres:// URL or a list of
// key=value settings, with pgx's pool_… settings among them. It answers only
// when the database does. Close the store when it has done its work.
func Open(ctx context.Context, url string) (*Store, error) {
	cfg, err := pgxpool.ParseConfig(url)
	if err != nil {
		return nil, err
	}
	if cfg.ConnConfig.ConnectTimeout == 0 {
		cfg.ConnConfig.ConnectTimeout = connectTimeout
	}
	if cfg.ConnConfig.RuntimeParams["application_name"] == "" {
		cfg.ConnConfig.RuntimeParams["application_name"] = "midstroke"
	}
	cfg.AfterConnect = asService
	pool, err := pgxpool.NewWithConfig(ctx, cfg)
	if err != nil {
		return nil, err
	}
	if err := pool.Ping(ctx); err != nil {
		pool.Close()
		return nil, fmt.Errorf("reach the database: %w", err)
	}
	return &Store{pool: pool}, nil
}

// asService sees to it that row-level security holds for what a connection
// does: one that logged in as a superuser, or as a role that the policies mean
// nothing to, works as the role that the migrations made for that.
func asService(ctx context.Context, conn *pgx.Conn) error {
	_, err := conn.Exec(ctx, `
		SELECT set_config('role', 'midstroke_service', false) FROM pg_roles
		WHERE rolname = current_user AND (rolsuper OR rolbypassrls)`)
	if err != nil {
		return fmt.Errorf("work as a role that sees no more than it should: %w", err)
	}
	return nil
}

// Close ends all connections; it waits for calls that are under way.
func (s *Store) Close() { s.pool.Close() }

// reading calls do with one unchanging view of what a shop may see, or of
// everything for shop.Everywhere.
func (s *Store) reading(ctx context.Context, shopID int64, do func(pgx.Tx) error) error {
	view := pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}
	return reached(pgx.BeginTxFunc(ctx, s.pool, view, seenBy(ctx, shopID, do)))
}

// working is reading for what changes something.
func (s *Store) working(ctx context.Context, shopID int64, do func(pgx.Tx) error) error {
	return reached(pgx.BeginTxFunc(ctx, s.pool, pgx.TxOptions{}, seenBy(ctx, shopID, do)))
}

// reached calls an error shop.ErrUnreachable that is of a database which
// doesn't answer, and may well do so a moment later.
func reached(err error) error {
	var connect *pgconn.ConnectError
	var network net.Error
	var told *pgconn.PgError
	switch {
	case errors.As(err, &told):
		// Classes 08, connection exception, and 57P, operator intervention: it
		// is about to go down. 53300: it has too many connections.
		if !strings.HasPrefix(told.Code, "08") && !strings.HasPrefix(told.Code, "57P") && told.Code != "53300" {
			return err
		}
	case !errors.As(err, &connect) && !errors.As(err, &network) && !errors.Is(err, io.ErrUnexpectedEOF):
		return err
	}
	return fmt.Errorf("%w: %w", shop.ErrUnreachable, err)
}

// everyShop is the setting under which the policies let all rows be seen.
const everyShop = "*"

// seenBy says first, for the length of a transaction, whose rows it may see:
// without that the policies of the tables let it see none.
func seenBy(ctx context.Context, shopID int64, do func(pgx.Tx) error) func(pgx.Tx) error {
	return func(tx pgx.Tx) error {
		whose := everyShop
		if shopID != shop.Everywhere {
			whose = strconv.FormatInt(shopID, 10)
		}
		if _, err := tx.Exec(ctx, "SELECT set_config('midstroke.shop', $1, true)", whose); err != nil {
			return fmt.Errorf("say whose rows are wanted: %w", err)
		}
		return do(tx)
	}
}
