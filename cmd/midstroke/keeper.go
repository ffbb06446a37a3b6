package main

import (
	"context"
	"errors"
	"log/slog"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5/pgconn"

	"midstroke/internal/catalog"
	"midstroke/internal/postgres"
)

// keeper holds the newest snapshot of the demo catalogue for whoever answers
// from it, for as long as the service runs. While the database is out of reach
// the last snapshot stays, and is called stale.
type keeper struct {
	live     catalog.Live
	database databaseFlags
	log      *slog.Logger

	// reached is when the database last said what is newest, in nanoseconds
	// since 1970; reachable whether it still can be asked.
	reached   atomic.Int64
	reachable atomic.Bool
}

func newKeeper(database databaseFlags, log *slog.Logger) *keeper {
	return &keeper{database: database, log: log}
}

// confirmed is when it was last known that the snapshot is the newest; zero
// before the first.
func (k *keeper) confirmed() time.Time {
	if k.reachable.Load() {
		// The database would have told of a newer one.
		return time.Now()
	}
	if at := k.reached.Load(); at != 0 {
		return time.Unix(0, at)
	}
	return time.Time{}
}

// How long to wait before the database is tried again.
const (
	firstPause   = 500 * time.Millisecond
	longestPause = 10 * time.Second
)

// run keeps the snapshot until ctx ends. It gives up only where trying again
// would not help: where the very first start fails for another reason than a
// database that doesn't answer yet.
func (k *keeper) run(ctx context.Context) error {
	for pause := firstPause; ; pause = min(2*pause, longestPause) {
		err := k.keep(ctx)
		if ctx.Err() != nil {
			if errors.Is(err, context.Canceled) {
				return nil // told to stop in the middle of starting
			}
			return err
		}
		if k.live.Load() == nil && !unreachable(err) {
			return err
		}
		k.setReachable(false)
		k.log.Error("the database is out of reach; trying again", "error", err, "pause", pause.String())
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(pause):
		}
	}
}

// unreachable says that an error is of a database that doesn't answer, which
// it may well do a moment later.
func unreachable(err error) bool {
	var connect *pgconn.ConnectError
	return errors.As(err, &connect)
}

var errPrivateGone = errors.New("the private Postgres has ended by itself")

// keep works with one database from its start to its end, or to that of ctx,
// which is no error.
func (k *keeper) keep(ctx context.Context) (err error) {
	db, err := k.open(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.close()) }()
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
	if err := migrate(ctx, db.url, k.log); err != nil {
		return err
	}
	store, err := postgres.Open(ctx, db.url)
	if err != nil {
		return err
	}
	defer store.Close()
	if err := ensureDemo(ctx, store, k.log); err != nil {
		return err
	}
	err = store.Watch(ctx, postgres.Watcher{
		Newest:    func(ctx context.Context, name string, _ int) error { return k.load(ctx, store, name) },
		Reachable: k.setReachable,
	})
	if cause := context.Cause(ctx); errors.Is(cause, errPrivateGone) {
		return cause
	}
	if errors.Is(err, context.Canceled) {
		return nil
	}
	return err
}

// open gives the database that is named, or starts the private one, which
// belongs to this process as long as it serves.
func (k *keeper) open(ctx context.Context) (*database, error) {
	if k.database.DatabaseURL != "" {
		return k.database.open(ctx, k.log)
	}
	return k.database.start(ctx, k.log)
}

// load swaps the newest snapshot in.
func (k *keeper) load(ctx context.Context, store *postgres.Store, name string) error {
	if name != demoCatalog {
		return nil // needs a key
	}
	snapshot, err := store.Newest(ctx, name)
	if err != nil {
		k.log.Error("a newer revision could not be loaded", "catalog", name, "error", err)
		k.live.SetStale(true)
		return err
	}
	k.live.Store(snapshot)
	k.setReachable(true)
	k.log.Info("loaded a revision", "catalog", name, "revision", snapshot.Revision(), "dampers", len(snapshot.Dampers()))
	return nil
}

// setReachable marks the snapshot stale or not.
func (k *keeper) setReachable(now bool) {
	if now || k.reachable.Load() {
		k.reached.Store(time.Now().UnixNano())
	}
	if k.reachable.Swap(now) != now && k.live.Load() != nil {
		k.log.Warn("the database's reach has changed", "reachable", now)
	}
	k.live.SetStale(!now)
}
