// Package postgres keeps catalogues in Postgres: it publishes revisions, reads
// them as snapshots and hears of new ones. Plain SQL; the schema is package
// migrations'.
package postgres

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"net"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"

	"midstroke/internal/shop"
	"midstroke/migrations"
)

// connectTimeout bounds each attempt to connect, unless the URL says
// otherwise: a host that swallows packets must not hold up a start.
const connectTimeout = 5 * time.Second

// Logins are the URLs of one database for the roles that a store works as, each a
// postgres:// URL or a list of key=value settings. Package migrations says what
// each role may do. The same URL may stand for several.
type Logins struct {
	// Service is for requests. It may carry pgx's pool_… settings.
	Service string
	// Keeper is for what the service does by itself: loading, keys, upkeep.
	Keeper string
	// Owner is for making shops and keys and for publishing from the command line.
	// "" for a store that does none of this.
	Owner string
	// Tracer is told of every statement. Optional.
	Tracer pgx.QueryTracer
}

// Store is the catalogues of one database. It is safe for any number of
// callers at once. Each kind of work has connections of its own, so that a
// draft that waits or a load of a million rows holds up nothing else.
type Store struct {
	asking  *pgxpool.Pool // requests: lists, look-ups and what changes a few rows
	writing *pgxpool.Pool // requests: drafts
	keeping *pgxpool.Pool // keys and upkeep
	loading *pgxpool.Pool // whole revisions, to hold in memory
	working *pgxpool.Pool // jobs
	owning  *pgxpool.Pool // shops and keys; nil without Logins.Owner

	line quoteLine

	watcher atomic.Pointer[Watcher] // of Watch, nil while nobody watches
	telling chan struct{}           // one place, for whoever tells the watcher something
}

// How many connections each kind of work has, and how long a draft waits for a
// lock that another one holds.
const (
	mostLoading = 4
	mostWriting = 3
	mostKeeping = 2
	mostWorking = 8
	// usualAsking is for requests where the URL says nothing.
	usualAsking = 10
	lockTimeout = 10 * time.Second
)

// Open connects to the database at url, and works as its role whatever it does. It
// answers only when the database does. Close the store when it has done its work.
func Open(ctx context.Context, url string) (*Store, error) {
	return OpenAs(ctx, Logins{Service: url, Keeper: url, Owner: url})
}

// OpenAs is Open with a role for each kind of work.
func OpenAs(ctx context.Context, as Logins) (_ *Store, err error) {
	s := &Store{telling: make(chan struct{}, 1)}
	defer func() {
		if err != nil {
			s.Close()
		}
	}()
	waits := fmt.Sprintf("SET lock_timeout = %d", lockTimeout.Milliseconds())
	sees := "SET midstroke.shop = '" + everyShop + "'"
	for _, p := range []struct {
		pool     **pgxpool.Pool
		url      string
		role     string // of a login that row-level security means nothing to
		most     int32  // connections; 0: as the URL says
		settings string
	}{
		{&s.asking, as.Service, migrations.ServiceRole, 0, ""},
		{&s.writing, as.Service, migrations.ServiceRole, mostWriting, waits},
		{&s.keeping, as.Keeper, migrations.KeeperRole, mostKeeping, ""},
		{&s.loading, as.Keeper, migrations.KeeperRole, mostLoading, ""},
		{&s.working, as.Keeper, migrations.KeeperRole, mostWorking, sees},
		{&s.owning, as.Owner, "", mostWriting, waits},
	} {
		if p.url == "" {
			continue
		}
		cfg, err := pgxpool.ParseConfig(p.url)
		if err != nil {
			return nil, err
		}
		if cfg.ConnConfig.ConnectTimeout == 0 {
			cfg.ConnConfig.ConnectTimeout = connectTimeout
		}
		if cfg.ConnConfig.RuntimeParams["application_name"] == "" {
			cfg.ConnConfig.RuntimeParams["application_name"] = "midstroke"
		}
		cfg.ConnConfig.Tracer = as.Tracer
		if p.pool == &s.asking && !strings.Contains(p.url, "pool_max_conns") {
			cfg.MaxConns = max(cfg.MaxConns, usualAsking)
		}
		if p.most > 0 {
			cfg.MaxConns, cfg.MinConns, cfg.MinIdleConns = p.most, 0, 0
		}
		cfg.AfterConnect = func(ctx context.Context, conn *pgx.Conn) error {
			if err := prepare(ctx, conn, p.role); err != nil || p.settings == "" {
				return err
			}
			_, err := conn.Exec(ctx, p.settings)
			return err
		}
		if *p.pool, err = pgxpool.NewWithConfig(ctx, cfg); err != nil {
			return nil, err
		}
	}
	for _, pool := range []*pgxpool.Pool{s.asking, s.keeping} {
		if err := pool.Ping(ctx); err != nil {
			return nil, fmt.Errorf("reach the database: %w", err)
		}
	}
	return s, nil
}

// prepare sets up a new connection: the role that it works as, and that the server
// ends it, with its locks, soon after this process has vanished.
func prepare(ctx context.Context, conn *pgx.Conn, role string) error {
	if _, err := conn.Exec(ctx, `
		SET tcp_keepalives_idle = 5; SET tcp_keepalives_interval = 2; SET tcp_keepalives_count = 3;
		SET tcp_user_timeout = 10000; SET idle_in_transaction_session_timeout = 60000`); err != nil {
		return fmt.Errorf("set up a connection: %w", err)
	}
	return workAs(ctx, conn, role)
}

// workAs makes row-level security hold for what a connection does. A connection
// that logged in as a superuser, or as another role that the policies mean nothing
// to, works as role from now on. "" leaves it as it is.
func workAs(ctx context.Context, conn *pgx.Conn, role string) error {
	_, err := conn.Exec(ctx, `
		SELECT set_config('role', $1, false) FROM pg_roles
		WHERE $1 <> '' AND rolname = current_user AND (rolsuper OR rolbypassrls)`, role)
	if err != nil {
		return fmt.Errorf("work as the role %s: %w", role, err)
	}
	return nil
}

// Owns says whether the role of a URL could be told to see every shop, since it
// owns the tables, keeps all shops or is a superuser.
func Owns(ctx context.Context, url string) (owns bool, err error) {
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		return false, err
	}
	defer func() { err = errors.Join(err, conn.Close(context.WithoutCancel(ctx))) }()
	err = conn.QueryRow(ctx, "SELECT keeps_all_shops()").Scan(&owns)
	return owns, err
}

// pools are those that have been opened.
func (s *Store) pools() []*pgxpool.Pool {
	return slices.DeleteFunc([]*pgxpool.Pool{s.asking, s.writing, s.keeping, s.loading, s.working, s.owning}, func(p *pgxpool.Pool) bool { return p == nil })
}

// Working gives the connections for jobs. They see the rows of every shop.
func (s *Store) Working() *pgxpool.Pool { return s.working }

// PoolState is what one kind of work does with its connections.
type PoolState struct {
	Name             string
	Open, Busy, Most int
	// Waits counts the calls that waited for a connection, Waited is how long they
	// did together, and GivenUp counts those that gave up.
	Waits, GivenUp int64
	Waited         time.Duration
}

// Pools tells of each kind of work.
func (s *Store) Pools() (all []PoolState) {
	for name, pool := range map[string]*pgxpool.Pool{"asking": s.asking, "writing": s.writing, "keeping": s.keeping, "loading": s.loading, "working": s.working} {
		now := pool.Stat()
		all = append(all, PoolState{
			Name: name, Open: int(now.TotalConns()), Busy: int(now.AcquiredConns()), Most: int(now.MaxConns()),
			Waits: now.EmptyAcquireCount(), GivenUp: now.CanceledAcquireCount(), Waited: now.EmptyAcquireWaitTime(),
		})
	}
	return all
}

// Close ends all connections; it waits for calls that are under way.
func (s *Store) Close() {
	for _, p := range s.pools() {
		p.Close()
	}
}

// reset closes all connections, those in use as soon as they are free.
func (s *Store) reset() {
	for _, p := range s.pools() {
		p.Reset()
	}
}

var unchanging = pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}

// readAsShop calls do in a read-only transaction with one unchanging view of the rows
// that a request's shop may see. shop.Everywhere shows all rows to a role that may see
// them.
func (s *Store) readAsShop(ctx context.Context, shopID int64, do func(pgx.Tx) error) error {
	return inTransaction(ctx, s.asking, unchanging, shopID, do)
}

// readAsKeeper is readAsShop for loading a whole revision, as the keeper.
func (s *Store) readAsKeeper(ctx context.Context, shopID int64, do func(pgx.Tx) error) error {
	return inTransaction(ctx, s.loading, unchanging, shopID, do)
}

// changeAsShop is readAsShop for changes.
func (s *Store) changeAsShop(ctx context.Context, shopID int64, do func(pgx.Tx) error) error {
	return inTransaction(ctx, s.asking, pgx.TxOptions{}, shopID, do)
}

// changeAsKeeper calls do for the service's own work on the rows of all shops.
func (s *Store) changeAsKeeper(ctx context.Context, do func(pgx.Tx) error) error {
	return inTransaction(ctx, s.keeping, pgx.TxOptions{}, shop.Everywhere, do)
}

// changeAsOwner calls do for what only the owner of the tables may do.
func (s *Store) changeAsOwner(ctx context.Context, do func(pgx.Tx) error) error {
	if s.owning == nil {
		return errNotOwner
	}
	err := inTransaction(ctx, s.owning, pgx.TxOptions{}, shop.Everywhere, do)
	var told *pgconn.PgError
	if errors.As(err, &told) && told.Code == notAllowed {
		return fmt.Errorf("%w: %w", errNotOwner, err)
	}
	return err
}

var errNotOwner = errors.New("only the role that owns the tables may do this")

// inTransaction calls do in a transaction on a connection of its own or of a pool.
func inTransaction(ctx context.Context, conns interface {
	BeginTx(context.Context, pgx.TxOptions) (pgx.Tx, error)
}, options pgx.TxOptions, shopID int64, do func(pgx.Tx) error) error {
	return asShopError(pgx.BeginTxFunc(ctx, conns, options, visibleTo(ctx, shopID, do)))
}

// draftAsShop is changeAsShop for writing a whole revision. If all connections for that
// are taken it waits a while for one.
func (s *Store) draftAsShop(ctx context.Context, shopID int64, do func(pgx.Tx) error) error {
	waiting, cancel := context.WithTimeout(ctx, lockTimeout)
	defer cancel()
	conn, err := s.writing.Acquire(waiting)
	if err != nil {
		if ctx.Err() == nil && errors.Is(err, context.DeadlineExceeded) {
			err = fmt.Errorf("%w: other drafts are being written", shop.ErrUnreachable)
		}
		return asShopError(err)
	}
	defer conn.Release()
	return inTransaction(ctx, conn, pgx.TxOptions{}, shopID, do)
}

// asShopError translates errors of the database that requests must tell apart:
// shop.ErrUnreachable if it doesn't answer now but may do so later, shop.ErrFull if its
// disk is full, shop.ErrKeyEnded if the request's key was revoked meanwhile. Other
// errors are returned unchanged.
func asShopError(err error) error {
	var connect *pgconn.ConnectError
	var network net.Error
	var told *pgconn.PgError
	switch {
	case errors.As(err, &told) && told.Code == notAllowed && strings.Contains(told.Message, "row-level security"):
		// A request's key saw the rows before.
		return fmt.Errorf("%w: %w", shop.ErrKeyEnded, err)
	case errors.As(err, &told) && told.Code == diskFull:
		return fmt.Errorf("%w: %w", shop.ErrFull, err)
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

// Error codes of Postgres.
const (
	diskFull   = "53100" // the disk is full
	lockNotHad = "55P03" // a lock wasn't free in time
	notAllowed = "42501" // the role lacks the right
)

// everyShop is the setting under which the policies let all rows be seen.
const everyShop = "*"

// visibleTo sets, for the length of a transaction, whose rows it sees, and then calls
// do. The key of the request decides, or else shopID. Without either, the policies of
// the tables show no row.
func visibleTo(ctx context.Context, shopID int64, do func(pgx.Tx) error) func(pgx.Tx) error {
	return func(tx pgx.Tx) error {
		whose, key := viewOf(ctx, shopID)
		if _, err := tx.Exec(ctx, sayView, whose, key); err != nil {
			return fmt.Errorf("say whose rows are wanted: %w", err)
		}
		return do(tx)
	}
}

// sayView says for the length of a transaction whose rows it may see.
const sayView = "SELECT set_config('midstroke.shop', $1, true), set_config('midstroke.key', $2, true)"

// viewOf gives what sayView is told.
func viewOf(ctx context.Context, shopID int64) (whose, key string) {
	whose = everyShop
	if shopID != shop.Everywhere {
		whose = strconv.FormatInt(shopID, 10)
	}
	if hash, ok := shop.KeyOf(ctx); ok {
		key = hex.EncodeToString(hash[:])
	}
	return whose, key
}
