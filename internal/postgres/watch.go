package postgres

import (
	"cmp"
	"context"
	"errors"
	"math/rand/v2"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"midstroke/internal/catalog"
	"midstroke/internal/shop"
	"midstroke/migrations"
)

// Watcher has functions that are told which revisions are published, which keys there
// are, and whether the database answers. They are called one at a time, so each must
// return soon.
type Watcher struct {
	// Published is told the newest published revision of every catalogue, first
	// and at every look. Optional.
	Published func([]shop.Release)
	// Keys is told every key there is, first and at every look. Optional.
	Keys func([]shop.Key)
	// Stock is told every stock, first and whenever it has moved. Optional.
	Stock func(shopID int64, stock *catalog.Stock)
	// Reachable is told whether the database answers, first and whenever that
	// changes: nil where it does, else why it doesn't. Optional.
	Reachable func(error)
	// Look is how often everything is read without a notification, in case one was
	// lost. Defaults to 5 s.
	Look time.Duration
	// Heartbeat is how often the database is asked whether it still answers.
	// Defaults to 500 ms.
	Heartbeat time.Duration
	// Patience is how long an answer may take before the connection counts as
	// lost. Defaults to 1.2 s, so that with Heartbeat a frozen database shows
	// within 2 s.
	Patience time.Duration

	stocks stockWatch // that Stock was told
}

const (
	defaultLook      = 5 * time.Second
	defaultHeartbeat = 500 * time.Millisecond
	defaultPatience  = 1200 * time.Millisecond
	// firstPatience is for what comes first on a new connection. Nothing is lost
	// by waiting: the database counts as out of reach until then.
	firstPatience = 10 * time.Second
	firstWait     = 100 * time.Millisecond
	longestWait   = 2 * time.Second
)

// Watch tells w what there is until ctx ends, and then returns the error of ctx. It
// listens on a connection of its own, which no load or list can hold up, and makes a
// new one whenever that is lost.
func (s *Store) Watch(ctx context.Context, w Watcher) error {
	w.Look, w.Heartbeat, w.Patience = cmp.Or(w.Look, defaultLook), cmp.Or(w.Heartbeat, defaultHeartbeat), cmp.Or(w.Patience, defaultPatience)
	s.watcher.Store(&w)
	defer s.watcher.Store(nil)
	watch := &watch{Watcher: w, store: s, config: s.keeping.Config().ConnConfig}
	for wait := firstWait; ; wait = min(2*wait, longestWait) {
		connected, err := watch.listen(ctx)
		if connected {
			wait = firstWait
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
		watch.reachable(err)
		// What cut this connection off has likely cut off those of the pools,
		// which show it only when they are used.
		s.reset()
		select {
		case <-ctx.Done():
			return ctx.Err()
		// So that not all instances connect at once when the database is back.
		case <-time.After(wait/2 + rand.N(wait/2)):
		}
	}
}

var errLost = errors.New("the connection was lost")

// watch is one call of Watch.
type watch struct {
	Watcher
	store  *Store
	config *pgx.ConnConfig
	state  *bool // what Reachable was told, nil before
}

func (w *watch) reachable(lost error) {
	now := lost == nil
	if w.Reachable != nil && (w.state == nil || *w.state != now) {
		w.Reachable(lost)
	}
	w.state = &now
}

// listen tells what there is and what comes until the connection is lost. It
// says whether there was one, and why there is none any more.
func (w *watch) listen(ctx context.Context) (connected bool, _ error) {
	conn, err := pgx.ConnectConfig(ctx, w.config)
	if err != nil {
		return false, err
	}
	defer func() {
		ending, cancel := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
		defer cancel()
		_ = conn.Close(ending) // lost already, or no longer wanted
	}()
	// Listen first, then read: so nothing is missed that is published in between.
	if err := inTime(ctx, firstPatience, func(ctx context.Context) error {
		if err := prepare(ctx, conn, migrations.KeeperRole); err != nil {
			return err
		}
		_, err := conn.Exec(ctx, "SET midstroke.shop = '"+everyShop+"'; LISTEN revision_published; LISTEN keys_changed; LISTEN "+channelStock)
		return err
	}); err != nil {
		return false, err
	}
	patience := firstPatience
	for {
		if err := inTime(ctx, patience, func(ctx context.Context) error { return w.tellAll(ctx, conn) }); err != nil {
			return true, err
		}
		patience = w.Patience
		channel, err := w.waitForNews(ctx, conn)
		for err == nil && channel == channelStock {
			err = inTime(ctx, w.Patience, func(ctx context.Context) error { return w.tellStockInTurn(ctx, conn) })
			if err == nil {
				channel, err = w.waitForNews(ctx, conn)
			}
		}
		if err != nil {
			return true, err
		}
	}
}

// tellAll reads everything and tells the watcher.
func (w *watch) tellAll(ctx context.Context, conn *pgx.Conn) error {
	err := w.store.tellInTurn(ctx, func() error { return w.tell(ctx, conn) })
	if err == nil {
		w.reachable(nil)
	}
	return err
}

// tellStockInTurn is tellAll for stocks alone, which move often.
func (w *watch) tellStockInTurn(ctx context.Context, conn *pgx.Conn) error {
	return w.store.tellInTurn(ctx, func() error { return w.tellStock(ctx, conn) })
}

// tellInTurn calls do while no other call tells the watcher, so that it never hears
// older news after newer ones.
func (s *Store) tellInTurn(ctx context.Context, do func() error) error {
	select {
	case s.telling <- struct{}{}:
		defer func() { <-s.telling }()
		return do()
	case <-ctx.Done():
		return ctx.Err()
	}
}

// tellTime is how long a caller that has written something waits until the watcher is
// told.
const tellTime = 2 * time.Second

// tellNow tells the watcher what there is after something was written, so that this
// instance answers from it as soon as the writer is answered. Where that fails the
// watcher hears of it by notification, a moment later.
func (s *Store) tellNow(ctx context.Context) {
	w := s.watcher.Load()
	if w == nil {
		return
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), tellTime)
	defer cancel()
	_ = s.tellInTurn(ctx, func() error {
		return s.changeAsKeeper(ctx, func(tx pgx.Tx) error { return w.tell(ctx, tx) })
	})
}

// tell tells everything there is. Keys come first: a revoked one ends before
// anything else.
func (w *Watcher) tell(ctx context.Context, conn querier) error {
	if w.Keys != nil {
		keys, err := readKeys(ctx, conn, "")
		if err != nil {
			return err
		}
		w.Keys(keys)
	}
	if w.Published != nil {
		releases, err := published(ctx, conn)
		if err != nil {
			return err
		}
		w.Published(releases)
	}
	return w.tellStock(ctx, conn)
}

// waitForNews waits for a notification, or until it is time to look again. Its error
// says why the connection is lost. channel is where it heard something, "" where it didn't.
func (w *watch) waitForNews(ctx context.Context, conn *pgx.Conn) (channel string, _ error) {
	for until := time.Now().Add(w.Look); time.Now().Before(until); {
		quiet, cancel := context.WithTimeout(ctx, min(w.Heartbeat, time.Until(until)))
		heard, err := conn.WaitForNotification(quiet)
		cancel()
		switch {
		case err == nil:
			return heard.Channel, nil
		case !pgconn.Timeout(err) || conn.IsClosed() || ctx.Err() != nil:
			return "", cmp.Or(err, errLost)
		}
		if err := inTime(ctx, w.Patience, conn.Ping); err != nil {
			return "", err
		}
	}
	return "", nil
}

func inTime(ctx context.Context, patience time.Duration, do func(context.Context) error) error {
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	return do(ctx)
}
