package main

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/exaring/otelpgx"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"go.opentelemetry.io/otel/attribute"
	sdktrace "go.opentelemetry.io/otel/sdk/trace"
	"go.opentelemetry.io/otel/trace"

	"midstroke/internal/catalog"
	"midstroke/internal/httpapi"
	"midstroke/internal/library"
	"midstroke/internal/limit"
	"midstroke/internal/postgres"
	"midstroke/internal/shop"
	"midstroke/internal/webhook"
)

// supervisor works with the database as long as the service runs, and keeps the
// library and the keys up to date. While the database can't be reached, the last
// snapshots stay in use and are marked as stale.
type supervisor struct {
	library  *library.Library
	keys     shop.Keyring
	stocks   library.Stocks
	database databaseFlags
	// keeperURL is the named database for the keeper's role, "" for that of the
	// database itself.
	keeperURL string
	// sender sends the events of webhooks.
	sender *webhook.Sender
	// spans makes spans; nil where nobody asked for them.
	spans *sdktrace.TracerProvider
	log   *slog.Logger
	// threads is told of loads.
	threads *limit.Threads
	// keepDrafts is how long drafts are kept that nobody uses; 0 keeps them all.
	keepDrafts time.Duration
	// keepRevisions is how many published revisions of a catalogue are kept beside
	// the current one; 0 keeps them all.
	keepRevisions int
	// keepQuotes is how long quotes are kept that nobody changes; 0 keeps them all.
	keepQuotes time.Duration
	// keepBatches is how long the answers to files stay that were answered in the
	// background. rowsTurn gives the function by which rows of a shop's files wait for their
	// turn.
	keepBatches time.Duration
	rowsTurn    func(shopID int64) func(context.Context, int, func()) error

	// store is the present connection to the database, nil while there is none.
	store atomic.Pointer[postgres.Store]
	// origins are the web origins of the service's own pages. newKeys are keys
	// that the first start made, until they are shown once.
	origins []string
	newKeys atomic.Pointer[[]string]

	// reached is when the database last told the newest revisions, in
	// nanoseconds since 1970. reachable says whether it can still be asked. lost says
	// that it doesn't answer any more, which isn't so while it is still starting.
	reached   atomic.Int64
	reachable atomic.Bool
	lost      atomic.Bool

	// warned says that the log told about a role with too many rights.
	warned atomic.Bool
}

func newSupervisor(database databaseFlags, memory int64, threads *limit.Threads, log *slog.Logger) *supervisor {
	s := &supervisor{database: database, threads: threads, log: log}
	s.library = library.New(library.Config{Load: s.load, Keep: demoCatalog, Memory: memory, Log: log})
	return s
}

// confirmed is the last time when the snapshot was known to be the newest; zero
// before the first snapshot.
func (s *supervisor) confirmed() time.Time {
	if s.reachable.Load() {
		// The database would have announced a newer one.
		return time.Now()
	}
	if at := s.reached.Load(); at != 0 {
		return time.Unix(0, at)
	}
	return time.Time{}
}

// How long to wait before trying the database again.
const (
	firstPause   = 500 * time.Millisecond
	longestPause = 10 * time.Second
)

// run works with the database, again and again, until ctx ends. It gives up only
// if the first start fails and the reason isn't that the database doesn't answer
// yet.
func (s *supervisor) run(ctx context.Context) error {
	for pause := firstPause; ; pause = min(2*pause, longestPause) {
		before := s.reached.Load()
		err := s.work(ctx)
		if s.reached.Load() != before {
			pause = firstPause // it was reached in between
		}
		if ctx.Err() != nil {
			if errors.Is(err, context.Canceled) {
				return nil // stopped while starting
			}
			return err
		}
		if !s.library.Ready() && !unreachable(err) {
			return err
		}
		if err == nil {
			err = errDatabaseLeft // nil would mean that it answers
		}
		s.setReachable(err)
		s.log.Error("the database is out of reach; trying again", "error", err, "pause", pause.String())
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(pause):
		}
	}
}

// unreachable says whether an error is that the database doesn't answer, which
// may pass. A wrong password, role, database or host doesn't.
func unreachable(err error) bool {
	var connect *pgconn.ConnectError
	var told *pgconn.PgError
	var name *net.DNSError
	switch {
	case !errors.As(err, &connect):
		return false
	case errors.As(err, &told):
		// Class 28, invalid authorization specification; 3D000, invalid catalog
		// name; 42501, insufficient privilege to connect.
		return !strings.HasPrefix(told.Code, "28") && told.Code != "3D000" && told.Code != "42501"
	case errors.As(err, &name):
		return !name.IsNotFound
	}
	return true
}

var (
	errPrivateGone  = errors.New("the private Postgres has ended by itself")
	errDatabaseLeft = errors.New("work with the database has ended")
)

// work works with one database until it ends or ctx ends. The end of ctx is no
// error.
func (s *supervisor) work(ctx context.Context) (err error) {
	db, err := s.open(ctx)
	if err != nil {
		return err
	}
	s.lost.Store(false)
	defer func() {
		most := stopTimeout
		if s.lost.Load() {
			most = frozenTimeout
		}
		err = errors.Join(err, db.closeWithin(most))
	}()
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	if db.gone != nil {
		go func() {
			select {
			case <-db.gone:
				cancel(errPrivateGone)
			case <-ctx.Done():
			}
		}()
	}
	if err := migrate(ctx, db.url, s.log); err != nil {
		return err
	}
	if err := s.setUp(ctx, db); err != nil {
		return err
	}
	store, err := postgres.OpenAs(ctx, postgres.Logins{Service: db.service, Keeper: db.keeper, Tracer: s.statements()})
	if err != nil {
		return err
	}
	defer closeInTime(store)
	s.store.Store(store)
	defer s.store.Store(nil)
	var beside sync.WaitGroup
	beside.Go(func() { s.noteUses(ctx, store) })
	beside.Go(func() { s.keepUp(ctx, store) })
	beside.Go(func() { s.jobKinds(store).Run(ctx, store.Working(), s.log) })
	err = store.Watch(ctx, postgres.Watcher{
		Published: s.library.Announce,
		Keys:      s.keys.Replace,
		Stock:     s.stocks.Replace,
		Reachable: s.setReachable,
	})
	cancel(nil)
	beside.Wait()
	if cause := context.Cause(ctx); errors.Is(cause, errPrivateGone) {
		return cause
	}
	if errors.Is(err, context.Canceled) {
		return nil
	}
	return err
}

// closeTimeout is how long the last calls of a store may take. A database that
// is frozen never ends them.
const closeTimeout = time.Second

// closeInTime closes a store, which waits for the last calls of it.
func closeInTime(store *postgres.Store) {
	closed := make(chan struct{})
	go func() {
		defer close(closed)
		store.Close()
	}()
	select {
	case <-closed:
	case <-time.After(closeTimeout):
	}
}

// open gives the named database, or starts the private one for as long as this
// process runs.
func (s *supervisor) open(ctx context.Context) (*database, error) {
	if s.database.DatabaseURL == "" {
		return s.database.start(ctx, s.log)
	}
	db, err := s.database.open(ctx, s.log)
	if err != nil || s.keeperURL == "" {
		return db, err
	}
	if _, err := pgconn.ParseConfig(s.keeperURL); err != nil {
		return nil, fmt.Errorf("--keeper-url (MIDSTROKE_KEEPER_URL): %w", err)
	}
	db.keeper = s.keeperURL
	return db, nil
}

// setUp makes what a first start needs, as the owner of the tables. Where the
// database's role is another one, "midstroke migrate" has made it.
func (s *supervisor) setUp(ctx context.Context, db *database) error {
	owns, err := postgres.Owns(ctx, db.url)
	if err != nil {
		return err
	}
	if !owns {
		return s.wasSetUp(ctx, db)
	}
	if db.gone == nil && !s.warned.Swap(true) {
		s.log.Warn("the role of the database's URL can see every shop's rows; midstroke rights prints how to give requests a role that can't")
	}
	owner, err := postgres.Open(ctx, db.url)
	if err != nil {
		return err
	}
	defer closeInTime(owner)
	if err := ensureDemo(ctx, owner, s.log); err != nil {
		return err
	}
	if db.gone == nil {
		return nil
	}
	return s.firstKeys(ctx, owner)
}

// wasSetUp says whether the owner of the tables has made what a first start needs.
func (s *supervisor) wasSetUp(ctx context.Context, db *database) error {
	keeper, err := postgres.OpenAs(ctx, postgres.Logins{Service: db.service, Keeper: db.keeper})
	if err != nil {
		return err
	}
	defer closeInTime(keeper)
	if _, err := keeper.Newest(ctx, demoCatalog); err != nil {
		return fmt.Errorf("the demo catalogue can't be read: run midstroke migrate as the role that owns the tables, and give serve the keeper's URL in MIDSTROKE_KEEPER_URL: %w", err)
	}
	return nil
}

// statements makes spans of SQL, without its values. It is nil where nobody asked for
// spans.
func (s *supervisor) statements() pgx.QueryTracer {
	if s.spans == nil {
		return nil
	}
	return otelpgx.NewTracer(otelpgx.WithTracerProvider(s.spans))
}

// load reads a revision for the library.
func (s *supervisor) load(ctx context.Context, w library.Wanted) (*catalog.Snapshot, error) {
	store := s.store.Load()
	if store == nil {
		return nil, shop.ErrUnreachable
	}
	defer s.threads.Long()()
	if s.spans != nil {
		var span trace.Span
		ctx, span = s.spans.Tracer("midstroke").Start(ctx, "load a revision", trace.WithAttributes(attribute.String("midstroke.catalog", w.Catalog), attribute.Int("midstroke.revision", w.Revision)))
		defer span.End()
	}
	if w.Draft {
		return store.Drafted(ctx, w.Place, w.Revision)
	}
	return store.Revision(ctx, w.Place, w.Revision)
}

// findKey looks in the database for a key that isn't in the key ring yet.
func (s *supervisor) findKey(ctx context.Context, hash [sha256.Size]byte) (*shop.Key, error) {
	store := s.store.Load()
	if store == nil {
		return nil, shop.ErrUnreachable
	}
	return store.FindKey(ctx, hash)
}

// revisions gives the store of revisions, nil while it can't be reached.
func (s *supervisor) revisions() httpapi.Revisions {
	if store := s.store.Load(); store != nil {
		return store
	}
	return nil
}

// quotes gives the store of quotes, nil while it can't be reached.
func (s *supervisor) quotes() httpapi.Quotes {
	if store := s.store.Load(); store != nil {
		return store
	}
	return nil
}

// batches gives the store of files of requests, nil while it can't be reached.
func (s *supervisor) batches() httpapi.Batches {
	if store := s.store.Load(); store != nil {
		return store
	}
	return nil
}

// stock gives the store of stock, nil while it can't be reached.
func (s *supervisor) stock() httpapi.Stock {
	if store := s.store.Load(); store != nil {
		return store
	}
	return nil
}

// webhooks gives the store of webhooks, nil while it can't be reached.
func (s *supervisor) webhooks() httpapi.Webhooks {
	if store := s.store.Load(); store != nil {
		return store
	}
	return nil
}

// noteEvery is how often the last use of keys is saved.
const noteEvery = time.Minute

// noteUses saves regularly when keys were last used, and once more when ctx ends.
func (s *supervisor) noteUses(ctx context.Context, store *postgres.Store) {
	tick := time.NewTicker(noteEvery)
	defer tick.Stop()
	for ended := false; !ended; {
		select {
		case <-ctx.Done():
			ended = true
		case <-tick.C:
		}
		writing, cancel := context.WithTimeout(context.WithoutCancel(ctx), closeTimeout)
		used := s.keys.TakeUsed()
		if err := store.NoteUsed(writing, used); err != nil {
			s.keys.PutBack(used)
			s.log.Warn("the last use of keys could not be saved", "error", err)
		}
		cancel()
	}
}

// firstKeys makes a key of each use for the demo's shop unless it has keys. They
// are for whoever starts the service for the first time and wants to try it.
func (s *supervisor) firstKeys(ctx context.Context, store *postgres.Store) error {
	texts, err := firstKeys(ctx, store, demoCatalog, s.origins)
	if texts != nil {
		s.newKeys.Store(&texts)
	}
	return err
}

// setReachable marks the snapshots as stale or not. lost says why the database
// doesn't answer; it is nil if it does.
func (s *supervisor) setReachable(lost error) {
	now := lost == nil
	s.lost.Store(!now)
	if now || s.reachable.Load() {
		s.reached.Store(time.Now().UnixNano())
	}
	if s.reachable.Swap(now) != now && s.library.Ready() {
		if now {
			s.log.Warn("the database answers again")
		} else {
			s.log.Warn("the database doesn't answer any more", "error", lost)
		}
	}
	s.library.SetStale(!now)
	if now {
		s.library.Follow()
	}
}
