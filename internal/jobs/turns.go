package jobs

import (
	"context"
	"sync"
	"time"
)

// turns bounds how many jobs of each shop are done at once. A job that finds no place
// waits a moment for one, as long as those of its shop go quickly. Else it is told when
// to come back: jobs of one shop are given times one after the other, as far apart as its
// jobs take, so that a thousand of them don't come back at once.
type turns struct {
	mu    sync.Mutex
	most  int
	shops map[int64]*shopTurns
}

// shopTurns are those of one shop.
type shopTurns struct {
	places chan struct{}
	known  int           // jobs that have a place or wait for one
	took   time.Duration // by a job, about
	moved  time.Time     // when a place was last taken or given back
	next   time.Time     // that a job was told to come back at
}

const (
	// moment is how long a job waits for a place here.
	moment = 250 * time.Millisecond
	// The bounds of how long a job is told to wait.
	leastWait = 100 * time.Millisecond
	mostWait  = time.Minute
)

func newTurns(most int) *turns { return &turns{most: most, shops: map[int64]*shopTurns{}} }

// take gives a job of a shop a place until done is called, or else says how long to wait.
func (t *turns) take(ctx context.Context, shop int64) (wait time.Duration, done func()) {
	s, quick := t.enter(shop)
	if !s.find(ctx, quick) {
		defer t.leave(shop, s)
		return t.later(s), nil
	}
	begun := time.Now()
	t.note(s, 0)
	return 0, func() {
		<-s.places
		t.note(s, time.Since(begun))
		t.leave(shop, s)
	}
}

// enter gives the turns of a shop, and whether its jobs go quickly.
func (t *turns) enter(shop int64) (s *shopTurns, quick bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	s = t.shops[shop]
	if s == nil {
		s = &shopTurns{places: make(chan struct{}, t.most)}
		t.shops[shop] = s
	}
	s.known++
	return s, time.Since(s.moved) < moment
}

func (t *turns) leave(shop int64, s *shopTurns) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if s.known--; s.known == 0 && s.next.Before(time.Now()) {
		delete(t.shops, shop)
	}
}

// find takes a place, and waits for one where that is worth it.
func (s *shopTurns) find(ctx context.Context, quick bool) bool {
	select {
	case s.places <- struct{}{}:
		return true
	default:
	}
	if !quick {
		return false
	}
	end := time.NewTimer(moment)
	defer end.Stop()
	select {
	case s.places <- struct{}{}:
		return true
	case <-end.C:
	case <-ctx.Done():
	}
	return false
}

// note notes that a place was taken or, where a job took some time, given back.
func (t *turns) note(s *shopTurns, took time.Duration) {
	t.mu.Lock()
	defer t.mu.Unlock()
	s.moved = time.Now()
	if took > 0 {
		s.took = (3*s.took + took) / 4
	}
}

// later says when the next job of a shop may come back.
func (t *turns) later(s *shopTurns) time.Duration {
	t.mu.Lock()
	defer t.mu.Unlock()
	now := time.Now()
	if s.next.Before(now) {
		s.next = now
	}
	s.next = s.next.Add(max(s.took, leastWait) / time.Duration(t.most))
	return min(max(s.next.Sub(now), leastWait), mostWait)
}
