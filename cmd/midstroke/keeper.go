package main

import (
	"context"
	"crypto/sha256"
	"errors"
	"log/slog"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5/pgconn"

	"midstroke/internal/catalog"
	"midstroke/internal/httpapi"
	"midstroke/internal/library"
	"midstroke/internal/postgres"
	"midstroke/internal/shop"
)

// keeper works with the database for as long as the service runs, and keeps
// the library and the keys up to date. While the database is out of reach the
// last snapshots stay, and are called stale.
type keeper struct {
	library  *library.Library
	keys     shop.Keyring
	database databaseFlags
	log      *slog.Logger

	// store is the database that is worked with just now, nil between two.
	store atomic.Pointer[postgres.Store]
	// origins are those of pages that this service itself would serve; shown
	// are keys that were made on the first start and are to be shown once.
	origins []string
	shown   atomic.Pointer[[]string]

	// reached is when the database last said what is newest, in nanoseconds
	// since 1970; reachable whether it still can be asked.
	reached   atomic.Int64
	reachable atomic.Bool
}

func newKeeper(database databaseFlags, memory int64, log *slog.Logger) *keeper {
	k := &keeper{database: database, log: log}
	k.library = library.New(library.Config{Load: k.load, Keep: demoCatalog, Memory: memory, Log: log})
	return k
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
		before := k.reached.Load()
		err := k.keep(ctx)
		if k.reached.Load() != before {
			pause = firstPause // it was there meanwhile
		}
		if ctx.Err() != nil {
			if errors.Is(err, context.Canceled) {
				return nil // told to stop in the middle of starting
			}
			return err
		}
		if !k.library.Ready() && !unreachable(err) {
			return err
		}
		if err == nil {
			err = errDatabaseLeft // nil would say that it answers
		}
		k.setReachable(err)
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

var (
	errPrivateGone  = errors.New("the private Postgres has ended by itself")
	errDatabaseLeft = errors.New("work with the database has ended")
)

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
	if db.gone != nil {
		if err := k.firstKeys(ctx, store); err != nil {
			return err
		}
	}
	k.store.Store(store)
	defer k.store.Store(nil)
	noted := make(chan struct{})
	go func() {
		defer close(noted)
		k.noteUses(ctx, store)
	}()
	err = store.Watch(ctx, postgres.Watcher{
		Published: k.library.Announce,
		Keys:      k.keys.Replace,
		Reachable: k.setReachable,
	})
	cancel(nil)
	<-noted
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

// load reads a revision for the library.
func (k *keeper) load(ctx context.Context, w library.Wanted) (*catalog.Snapshot, error) {
	store := k.store.Load()
	if store == nil {
		return nil, shop.ErrUnreachable
	}
	if w.Draft {
		return store.Drafted(ctx, w.Place, w.Revision)
	}
	return store.Revision(ctx, w.Place, w.Revision)
}

// findKey looks for a key that was made this moment.
func (k *keeper) findKey(ctx context.Context, hash [sha256.Size]byte) (*shop.Key, error) {
	store := k.store.Load()
	if store == nil {
		return nil, shop.ErrUnreachable
	}
	return store.FindKey(ctx, hash)
}

// revisions gives where revisions are kept, nil while that is out of reach.
func (k *keeper) revisions() httpapi.Revisions {
	if store := k.store.Load(); store != nil {
		return store
	}
	return nil
}

// noteEvery is how often it is written down which keys were used.
const noteEvery = time.Minute

// noteUses writes down which keys were used until ctx ends, and then once
// more.
func (k *keeper) noteUses(ctx context.Context, store *postgres.Store) {
	tick := time.NewTicker(noteEvery)
	defer tick.Stop()
	for ended := false; !ended; {
		select {
		case <-ctx.Done():
			ended = true
		case <-tick.C:
		}
		writing, cancel := context.WithTimeout(context.WithoutCancel(ctx), 2*time.Second)
		used := k.keys.TakeUsed()
		if err := store.NoteUsed(writing, used); err != nil {
			k.keys.PutBack(used)
			k.log.Warn("when keys were last used could not be written down", "error", err)
		}
		cancel()
	}
}

// firstKeys makes a key of each use for the demo's shop, where that has none
// yet, for whoever started the service by its one command to try.
func (k *keeper) firstKeys(ctx context.Context, store *postgres.Store) error {
	keys, err := store.Keys(ctx, demoCatalog)
	if err != nil || len(keys) > 0 {
		return err
	}
	var shown []string
	for _, use := range []shop.Use{shop.Widget, shop.Server, shop.Admin} {
		text, key := shop.NewKey(use)
		key.Shop = demoCatalog
		if use == shop.Widget {
			key.Origins = k.origins
		}
		if err := store.CreateKey(ctx, key); err != nil {
			return err
		}
		shown = append(shown, text)
	}
	k.shown.Store(&shown)
	return nil
}

// setReachable marks the snapshots stale or not: lost says why the database
// doesn't answer, nil where it does.
func (k *keeper) setReachable(lost error) {
	now := lost == nil
	if now || k.reachable.Load() {
		k.reached.Store(time.Now().UnixNano())
	}
	if k.reachable.Swap(now) != now && k.library.Ready() {
		if now {
			k.log.Warn("the database answers again")
		} else {
			k.log.Warn("the database doesn't answer any more", "error", lost)
		}
	}
	k.library.SetStale(!now)
	if now {
		k.library.Follow()
	}
}
