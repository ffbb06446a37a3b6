package postgres

import (
	"cmp"
	"context"
	"errors"
	"math/rand/v2"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"midstroke/internal/shop"
)

// Watcher is told of new revisions and of keys. Its functions are called one at a time
// and hold up the next call.
type Watcher struct {
	// Newest is told the newest published revision of each catalogue, first
	// all of them and then each that changed, by name. After an error it is
	// told again, half a second later.
	Newest func(ctx context.Context, r Release) error
	// Told is called when Newest has taken all that there was at one look.
	// Optional.
	Told func()
	// Keys is told every key there is, first and whenever it is looked.
	// Optional.
	Keys func([]shop.Key)
	// Reachable is told whether the database answers, at first and whenever
	// that changes: nil where it does, else why it doesn't. Optional.
	Reachable func(error)
	// Poll is how often to look without having heard anything: what was
	// missed by a proxy that dropped the connection without a word. Defaults
	// to 30 s.
	Poll time.Duration
	// Patience is how long the database may take to answer before the
	// connection counts as lost. Defaults to 5 s.
	Patience time.Duration
}

// Release is the newest published revision of a catalogue.
type Release struct {
	// Owner is the number of the shop whose catalogue it is.
	Owner    int64
	Catalog  string
	Revision int
}

const (
	defaultPoll = 30 * time.Second
	// A dead network never answers.
	defaultPatience = 5 * time.Second
	firstWait       = 100 * time.Millisecond
	longestGap      = 5 * time.Second
	// When to tell again what wasn't taken.
	retryAfter = 500 * time.Millisecond
)

// Watch tells w of every catalogue's newest revision until ctx ends, which is
// the error that it then answers. It listens on a connection of its own and
// makes a new one whenever that is lost.
func (s *Store) Watch(ctx context.Context, w Watcher) error {
	w.Poll, w.Patience = cmp.Or(w.Poll, defaultPoll), cmp.Or(w.Patience, defaultPatience)
	v := &vigil{Watcher: w, config: s.pool.Config().ConnConfig, told: map[string]Release{}}
	for wait := firstWait; ; wait = min(2*wait, longestGap) {
		connected, err := v.listen(ctx)
		if connected {
			wait = firstWait
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
		v.reachable(err)
		// What cut this connection off has likely cut off those of the pool,
		// which show it only when they are used.
		s.pool.Reset()
		select {
		case <-ctx.Done():
			return ctx.Err()
		// Not all instances at once when the database is back.
		case <-time.After(wait/2 + rand.N(wait/2)):
		}
	}
}

var errLost = errors.New("the connection was lost")

// vigil is one Watch.
type vigil struct {
	Watcher
	config *pgx.ConnConfig
	told   map[string]Release // by catalogue, what Newest took
	state  *bool              // what Reachable was told, nil before
}

func (v *vigil) reachable(lost error) {
	now := lost == nil
	if v.Reachable != nil && (v.state == nil || *v.state != now) {
		v.Reachable(lost)
	}
	v.state = &now
}

// listen tells what there is and what comes until the connection is lost. It
// says whether there was one, and why there is none any more.
func (v *vigil) listen(ctx context.Context) (connected bool, _ error) {
	conn, err := pgx.ConnectConfig(ctx, v.config)
	if err != nil {
		return false, err
	}
	defer func() {
		ending, cancel := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
		defer cancel()
		_ = conn.Close(ending) // lost already, or no longer wanted
	}()
	// Listen first and look then: nothing is published unheard in between.
	if err := v.step(ctx, func(ctx context.Context) error {
		if err := asService(ctx, conn); err != nil {
			return err
		}
		_, err := conn.Exec(ctx, "SET midstroke.shop = '"+everyShop+"'; LISTEN revision_published; LISTEN keys_changed")
		return err
	}); err != nil {
		return false, err
	}
	for {
		// Keys first: a revoked one is not to wait for a large revision.
		var releases []Release
		err := v.step(ctx, func(ctx context.Context) (err error) {
			if v.Keys != nil {
				keys, err := readKeys(ctx, conn, "")
				if err != nil {
					return err
				}
				v.Keys(keys)
			}
			releases, err = newest(ctx, conn)
			return err
		})
		if err != nil {
			return true, err
		}
		v.reachable(nil)
		next := v.Poll
		if !v.tell(ctx, releases) {
			next = min(next, retryAfter)
		}
		quiet, cancel := context.WithTimeout(ctx, next)
		_, err = conn.WaitForNotification(quiet)
		cancel()
		if err != nil && !pgconn.Timeout(err) || conn.IsClosed() || ctx.Err() != nil {
			return true, cmp.Or(err, errLost)
		}
	}
}

func (v *vigil) step(ctx context.Context, do func(context.Context) error) error {
	ctx, cancel := context.WithTimeout(ctx, v.Patience)
	defer cancel()
	return do(ctx)
}

// tell tells the revisions that weren't told yet, and says whether all are now.
func (v *vigil) tell(ctx context.Context, releases []Release) (all bool) {
	all = true
	for _, r := range releases {
		if v.told[r.Catalog] == r {
			continue
		}
		if err := v.Newest(ctx, r); err == nil {
			v.told[r.Catalog] = r
		} else if all = false; errors.Is(err, context.Canceled) {
			return false
		}
	}
	if all && v.Told != nil {
		v.Told()
	}
	return all
}
