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
	"slices"
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
// callers at once. Each kind of work has connections of its own, so that a
// draft that waits or a load of a million rows holds up nothing else.
type Store struct {
	asking  *pgxpool.Pool // lists, look-ups and what changes a few rows
	loading *pgxpool.Pool // whole revisions, to hold in memory
	writing *pgxpool.Pool // drafts
}

// How many connections each kind of work has, and how long a draft waits for a
// lock that another one holds.
const (
	mostLoading = 4
	mostWriting = 3
	lockTimeout = 10 * time.Second
)

// Open connects to the database at url, a postgres:// URL or a list of
// key=value settings, with pgx's pool_… settings among them, which are those of
// look-ups. It answers only when the database does. Close the store when it has
// done its work.
func Open(ctx context.Context, url string) (_ *Store, err error) {
	s := new(Store)
	defer func() {
		if err != nil {
			s.Close()
		}
	}()
	for _, p := range []struct {
		pool     **pgxpool.Pool
		most     int32 // connections; 0: as the URL says
		settings string
	}{
		{&s.asking, 0, ""},
		{&s.loading, mostLoading, ""},
		{&s.writing, mostWriting, fmt.Sprintf("SET lock_timeout = %d", lockTimeout.Milliseconds())},
	} {
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
		if p.most > 0 {
			cfg.MaxConns, cfg.MinConns, cfg.MinIdleConns = p.most, 0, 0
		}
		cfg.AfterConnect = func(ctx context.Context, conn *pgx.Conn) error {
			if err := prepare(ctx, conn); err != nil || p.settings == "" {
				return err
			}
			_, err := conn.Exec(ctx, p.settings)
			return err
		}
		if *p.pool, err = pgxpool.NewWithConfig(ctx, cfg); err != nil {
			return nil, err
		}
	}
	if err := s.asking.Ping(ctx); err != nil {
		return nil, fmt.Errorf("reach the database: %w", err)
	}
	return s, nil
}

// prepare sets up a new connection: whose eyes it sees with, and that the
// server lets go of it, with its locks, soon after this process has vanished.
func prepare(ctx context.Context, conn *pgx.Conn) error {
	if _, err := conn.Exec(ctx, `
		SET tcp_keepalives_idle = 5; SET tcp_keepalives_interval = 2; SET tcp_keepalives_count = 3;
		SET tcp_user_timeout = 10000; SET idle_in_transaction_session_timeout = 60000`); err != nil {
		return fmt.Errorf("set up a connection: %w", err)
	}
	return asService(ctx, conn)
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

// pools are those that have been opened.
func (s *Store) pools() []*pgxpool.Pool {
	return slices.DeleteFunc([]*pgxpool.Pool{s.asking, s.loading, s.writing}, func(p *pgxpool.Pool) bool { return p == nil })
}

// Close ends all connections; it waits for calls that are under way.
func (s *Store) Close() {
	for _, p := range s.pools() {
		p.Close()
	}
}

// reset lets go of all connections once they are free.
func (s *Store) reset() {
	for _, p := range s.pools() {
		p.Reset()
	}
}

var unchanging = pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}

// reading calls do with one unchanging view of what a shop may see, or of
// everything for shop.Everywhere.
func (s *Store) reading(ctx context.Context, shopID int64, do func(pgx.Tx) error) error {
	return reached(pgx.BeginTxFunc(ctx, s.asking, unchanging, seenBy(ctx, shopID, do)))
}

// loadingAll is reading for a whole revision.
func (s *Store) loadingAll(ctx context.Context, shopID int64, do func(pgx.Tx) error) error {
	return reached(pgx.BeginTxFunc(ctx, s.loading, unchanging, seenBy(ctx, shopID, do)))
}

// working is reading for what changes something.
func (s *Store) working(ctx context.Context, shopID int64, do func(pgx.Tx) error) error {
	return reached(pgx.BeginTxFunc(ctx, s.asking, pgx.TxOptions{}, seenBy(ctx, shopID, do)))
}

// drafting is working for a whole revision. Where all connections for that are
// taken it waits a while for one.
func (s *Store) drafting(ctx context.Context, shopID int64, do func(pgx.Tx) error) error {
	waiting, cancel := context.WithTimeout(ctx, lockTimeout)
	defer cancel()
	conn, err := s.writing.Acquire(waiting)
	if err != nil {
		if ctx.Err() == nil && errors.Is(err, context.DeadlineExceeded) {
			err = fmt.Errorf("%w: other drafts are being written", shop.ErrUnreachable)
		}
		return reached(err)
	}
	defer conn.Release()
	return reached(pgx.BeginTxFunc(ctx, conn, pgx.TxOptions{}, seenBy(ctx, shopID, do)))
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
		if !strings.HasPrefix(told.Code, "08") && !strings.HasPrefix(told.Code, "57P") && told.Code != "53300" && told.Code != lockNotHad {
			return err
		}
	case !errors.As(err, &connect) && !errors.As(err, &network) && !errors.Is(err, io.ErrUnexpectedEOF):
		return err
	}
	return fmt.Errorf("%w: %w", shop.ErrUnreachable, err)
}

// lockNotHad is Postgres's code for a lock that was not had in time.
const lockNotHad = "55P03"

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
