package jobs

import (
	"sync"
	"time"
)

// turns bounds how many jobs of each shop are done at once. A job that finds no place
// is told when to come back: jobs of one shop are given times one after the other, as
// far apart as its jobs take, so that a thousand of them don't come back at once.
type turns struct {
	mu    sync.Mutex
	most  int
	shops map[int64]*shopTurns
}

// shopTurns are those of one shop.
type shopTurns struct {
	running int
	took    time.Duration // by a job, about
	next    time.Time     // that a job was told to come back at
}

// The bounds of how long a job is told to wait.
const (
	leastWait = 100 * time.Millisecond
	mostWait  = time.Minute
)

func newTurns(most int) *turns { return &turns{most: most, shops: map[int64]*shopTurns{}} }

// take gives a job of a shop a place until done is called with how long it took, or
// else says how long to wait.
func (t *turns) take(shop int64, now time.Time) (wait time.Duration, done func(took time.Duration)) {
	t.mu.Lock()
	defer t.mu.Unlock()
	s := t.shops[shop]
	if s == nil {
		s = &shopTurns{}
		t.shops[shop] = s
	}
	if s.running < t.most {
		s.running++
		return 0, func(took time.Duration) { t.end(shop, s, took) }
	}
	if s.next.Before(now) {
		s.next = now
	}
	s.next = s.next.Add(max(s.took/time.Duration(t.most), leastWait/time.Duration(t.most)))
	return min(max(s.next.Sub(now), leastWait), mostWait), nil
}

// end gives a place back.
func (t *turns) end(shop int64, s *shopTurns, took time.Duration) {
	t.mu.Lock()
	defer t.mu.Unlock()
	s.running--
	s.took = (3*s.took + took) / 4
	if s.running == 0 && s.next.Before(time.Now()) {
		delete(t.shops, shop)
	}
}
