// Package limit keeps one caller from taking what others need. Turns bounds how
// much work goes on at once and lets callers take turns; Rates bounds how often
// each of them may ask; Threads lets quick work go before long work. It knows no HTTP.
package limit

import (
	"context"
	"errors"
	"runtime"
	"sync"
	"time"
)

// ErrBusy says that work was turned away: too much of it waits, or it has waited
// too long.
var ErrBusy = errors.New("too much work is waiting")

// TurnsConfig is what Turns are made of. Every field is required but Threads.
type TurnsConfig struct {
	// AtOnce is how many pieces of work may go on at once.
	AtOnce int
	// Waiting is how much may wait, as the sum of the costs.
	Waiting int
	// Patience is how long one piece may wait.
	Patience time.Duration
	// Threads is told of the work while it goes on, where it is long.
	Threads *Threads
}

// Turns lets a bounded amount of work go on at once. Work that can't begin waits in
// the line of its caller. The line whose caller has had the least work done is served
// first (start-time fair queueing), so that a caller with much work doesn't hold up
// one with little. When too much waits, the longest line is cut. It is safe for
// concurrent use.
type Turns struct {
	config TurnsConfig

	mu      sync.Mutex
	running int
	waiting int // the sum of the costs
	served  int // how far service has come, in cost
	lines   map[string]*line

	shed int64
	// end tells Threads that no work goes on any more.
	end func()
}

// line is the work of one caller that waits.
type line struct {
	waiters []*waiter
	cost    int // the sum of theirs
	// due is how far service must have come for the first of them.
	due int
}

type waiter struct {
	cost int
	// begun is told true when the work may begin, false when it is turned away.
	begun chan bool
}

// NewTurns makes Turns without any work.
func NewTurns(c TurnsConfig) *Turns {
	return &Turns{config: c, lines: map[string]*line{}}
}

// Take waits until work of a caller may begin. Done must be called when it has
// ended, unless there is an error: ErrBusy, or that of ctx.
func (t *Turns) Take(ctx context.Context, who string, cost int) error {
	err := t.wait(ctx, who, cost)
	if err == nil {
		// Those who have just come get into line, or are turned away, before the work
		// begins. They would otherwise wait unseen for a processor.
		runtime.Gosched()
	}
	return err
}

func (t *Turns) wait(ctx context.Context, who string, cost int) error {
	t.mu.Lock()
	if t.running < t.config.AtOnce {
		if t.running++; t.running == 1 {
			t.end = t.config.Threads.Long()
		}
		t.mu.Unlock()
		return nil
	}
	w := t.join(who, cost)
	t.mu.Unlock()
	if w == nil {
		return ErrBusy
	}
	patience := time.NewTimer(t.config.Patience)
	defer patience.Stop()
	select {
	case begun := <-w.begun:
		return busyUnless(begun)
	case <-patience.C:
	case <-ctx.Done():
	}
	// It may have begun, or been turned away, at this very moment.
	t.mu.Lock()
	defer t.mu.Unlock()
	select {
	case begun := <-w.begun:
		if begun && ctx.Err() != nil {
			t.next()
			return ctx.Err()
		}
		return busyUnless(begun)
	default:
	}
	t.leave(who, w)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	t.shed++
	return ErrBusy
}

func busyUnless(begun bool) error {
	if begun {
		return nil
	}
	return ErrBusy
}

// Done ends a piece of work, so that the next one can begin.
func (t *Turns) Done() {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.next()
}

// Full says whether work of that cost would be turned away at once, and counts
// it as turned away. It lets a caller be refused before its request is read.
func (t *Turns) Full(who string, cost int) bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.waiting == 0 || t.waiting+cost <= t.config.Waiting || t.longest(who, cost) != who {
		return false
	}
	t.shed++
	return true
}

// join puts work into the line of its caller. It gives nil if the work is turned
// away. t.mu is held.
func (t *Turns) join(who string, cost int) *waiter {
	for t.waiting > 0 && t.waiting+cost > t.config.Waiting {
		t.shed++
		long := t.longest(who, cost)
		if long == who {
			return nil
		}
		l := t.lines[long]
		last := l.waiters[len(l.waiters)-1]
		t.leave(long, last)
		last.begun <- false
	}
	l, ok := t.lines[who]
	if !ok {
		l = &line{due: t.served}
		t.lines[who] = l
	}
	w := &waiter{cost, make(chan bool, 1)}
	l.waiters = append(l.waiters, w)
	l.cost += cost
	t.waiting += cost
	return w
}

// longest gives the caller whose line is the longest, with the work that who is about
// to add counted. Among equals it is who. t.mu is held.
func (t *Turns) longest(who string, more int) string {
	most := more
	if l, ok := t.lines[who]; ok {
		most += l.cost
	}
	for other, l := range t.lines {
		if other != who && l.cost > most {
			who, most = other, l.cost
		}
	}
	return who
}

// leave takes work out of a line. t.mu is held.
func (t *Turns) leave(who string, w *waiter) {
	l := t.lines[who]
	for i, other := range l.waiters {
		if other == w {
			l.waiters = append(l.waiters[:i], l.waiters[i+1:]...)
			break
		}
	}
	l.cost -= w.cost
	t.waiting -= w.cost
	if len(l.waiters) == 0 {
		delete(t.lines, who)
	}
}

// next gives the place that has become free to the line that is due first. t.mu
// is held.
func (t *Turns) next() {
	var who string
	var first *line
	for name, l := range t.lines {
		if first == nil || l.due < first.due || l.due == first.due && name < who {
			who, first = name, l
		}
	}
	if first == nil {
		if t.running--; t.running == 0 {
			t.end()
		}
		return
	}
	w := first.waiters[0]
	t.served = first.due
	first.due += w.cost
	t.leave(who, w)
	w.begun <- true
}

// TurnsState is the state of Turns at one moment.
type TurnsState struct {
	// Running counts the work that goes on, Waiting the cost of what waits.
	Running, Waiting int
	// Shed counts what was turned away since the start.
	Shed int64
}

// State gives the present state.
func (t *Turns) State() TurnsState {
	t.mu.Lock()
	defer t.mu.Unlock()
	return TurnsState{t.running, t.waiting, t.shed}
}
