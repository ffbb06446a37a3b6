package postgres

import (
	"cmp"
	"context"
	"errors"
	"maps"
	"math/rand/v2"
	"slices"
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
	// told again, at the next poll or news at the latest.
	Newest func(ctx context.Context, catalog string, revision int) error
	// Keys is told every key there is, first and whenever it is looked.
	// Optional.
	Keys func([]shop.Key)
	// Reachable is told whether the database answers, at first and whenever
	// that changes. Optional.
	Reachable func(bool)
	// Poll is how often to look without having heard anything: what was
	// missed by a proxy that dropped the connection without a word. Defaults
	// to 30 s.
	Poll time.Duration
}

const (
	defaultPoll = 30 * time.Second
	// A step of talking to the database, which a dead network never answers.
	answerTime = 10 * time.Second
	firstWait  = 100 * time.Millisecond
	longestGap = 5 * time.Second
)

// Watch tells w of every catalogue's newest revision until ctx ends, which is
// the error that it then answers. It listens on a connection of its own and
// makes a new one whenever that is lost.
func (s *Store) Watch(ctx context.Context, w Watcher) error {
	w.Poll = cmp.Or(w.Poll, defaultPoll)
	v := &vigil{Watcher: w, config: s.pool.Config().ConnConfig, told: map[string]int{}}
	for wait := firstWait; ; wait = min(2*wait, longestGap) {
		if v.listen(ctx) {
			wait = firstWait
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
		v.reachable(false)
		select {
		case <-ctx.Done():
			return ctx.Err()
		// Not all instances at once when the database is back.
		case <-time.After(wait/2 + rand.N(wait/2)):
		}
	}
}

// vigil is one Watch.
type vigil struct {
	Watcher
	config *pgx.ConnConfig
	told   map[string]int // by catalogue, the revision that Newest took
	state  *bool          // what Reachable was told, nil before
}

func (v *vigil) reachable(now bool) {
	if v.Reachable != nil && (v.state == nil || *v.state != now) {
		v.Reachable(now)
	}
	v.state = &now
}

// listen tells what there is and what comes until the connection is lost, and
// says whether there was one.
func (v *vigil) listen(ctx context.Context) bool {
	conn, err := pgx.ConnectConfig(ctx, v.config)
	if err != nil {
		return false
	}
	defer func() {
		ending, cancel := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
		defer cancel()
		_ = conn.Close(ending) // lost already, or no longer wanted
	}()
	// Listen first and look then: nothing is published unheard in between.
	if err := v.step(ctx, func(ctx context.Context) error {
		_, err := conn.Exec(ctx, "LISTEN revision_published; LISTEN keys_changed")
		return err
	}); err != nil {
		return false
	}
	for {
		// Keys first: a revoked one is not to wait for a large revision.
		var numbers map[string]int
		err := v.step(ctx, func(ctx context.Context) (err error) {
			if v.Keys != nil {
				keys, err := readKeys(ctx, conn, "")
				if err != nil {
					return err
				}
				v.Keys(keys)
			}
			numbers, err = newest(ctx, conn)
			return err
		})
		if err != nil {
			return true
		}
		v.reachable(true)
		v.tell(ctx, numbers)
		quiet, cancel := context.WithTimeout(ctx, v.Poll)
		_, err = conn.WaitForNotification(quiet)
		cancel()
		if err != nil && !pgconn.Timeout(err) || conn.IsClosed() || ctx.Err() != nil {
			return true
		}
	}
}

func (*vigil) step(ctx context.Context, do func(context.Context) error) error {
	ctx, cancel := context.WithTimeout(ctx, answerTime)
	defer cancel()
	return do(ctx)
}

// tell tells the revisions that weren't told yet.
func (v *vigil) tell(ctx context.Context, numbers map[string]int) {
	for _, name := range slices.Sorted(maps.Keys(numbers)) {
		if v.told[name] == numbers[name] {
			continue
		}
		if err := v.Newest(ctx, name, numbers[name]); err == nil {
			v.told[name] = numbers[name]
		} else if errors.Is(err, context.Canceled) {
			return
		}
	}
}
