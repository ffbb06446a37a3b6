package library

import (
	"context"
	"fmt"
	"runtime/debug"
	"time"

	"midstroke/internal/catalog"
)

// wait gives a loaded slot, or waits until it is loaded. A caller that goes
// away doesn't end the loading, which others may wait for.
func (l *Library) wait(ctx context.Context, wanted Wanted, identity string) (*slot, error) {
	s, err := l.start(ctx, wanted, identity)
	if err != nil {
		return nil, err
	}
	select {
	case <-s.done:
		if s.err != nil {
			return nil, s.err
		}
		s.touch(time.Now().Unix())
		if identity == "" {
			l.mu.Lock()
			l.turns++
			s.turn = l.turns
			l.mu.Unlock()
		}
		return s, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// start gives the slot of a revision and begins to load it where nobody has.
// identity is of a newest revision, "" of others.
func (l *Library) start(ctx context.Context, wanted Wanted, identity string) (*slot, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if s, ok := l.slots[wanted]; ok && (identity == "" || s.identity == "" || s.identity == identity) {
		if s.identity == "" {
			s.identity = identity
		}
		return s, nil
	}
	if l.waiting(wanted.Shop) >= mostWaiting {
		return nil, ErrBusy
	}
	l.forget(wanted)
	s := &slot{wanted: wanted, identity: identity, done: make(chan struct{})}
	l.slots[wanted] = s
	go l.load(context.WithoutCancel(ctx), s, identity != "")
	return s, nil
}

// waiting counts the revisions of a shop that are being loaded or wait for it.
func (l *Library) waiting(owner int64) (n int) {
	for wanted, s := range l.slots {
		if wanted.Shop == owner && !s.isDone() {
			n++
		}
	}
	return n
}

func (s *slot) isDone() bool {
	select {
	case <-s.done:
		return true
	default:
		return false
	}
}

// load fills a slot and tells those who wait.
func (l *Library) load(ctx context.Context, s *slot, newest bool) {
	ctx, cancel := context.WithTimeout(ctx, l.config.Patience)
	defer cancel()
	s.snapshot, s.err = l.inTurn(ctx, s.wanted, newest)
	l.mu.Lock()
	defer l.mu.Unlock()
	if s.err != nil {
		if l.slots[s.wanted] == s {
			delete(l.slots, s.wanted)
		}
	} else {
		s.size, s.loaded = s.snapshot.Size(), time.Now()
		s.touch(time.Now().Unix())
		l.settle(s)
	}
	close(s.done)
}

// inTurn loads a revision when there is a place for it. Older revisions and
// drafts take half of the places at most: the newest are what callers wait for.
func (l *Library) inTurn(ctx context.Context, wanted Wanted, newest bool) (*catalog.Snapshot, error) {
	places := []chan struct{}{l.loading}
	if !newest {
		places = []chan struct{}{l.older, l.loading}
	}
	for _, place := range places {
		select {
		case place <- struct{}{}:
			defer func() { <-place }()
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
	return l.read(ctx, wanted)
}

// read loads a revision. No handler stands around it, so it sees to its own
// panics.
func (l *Library) read(ctx context.Context, wanted Wanted) (_ *catalog.Snapshot, err error) {
	defer func() {
		if v := recover(); v != nil {
			err = fmt.Errorf("panic while loading %s: %v\n%s", wanted.Catalog, v, debug.Stack())
		}
	}()
	return l.config.Load(ctx, wanted)
}

// settle takes in a slot that has been loaded. Where it is the newest revision
// of its catalogue it is answered from now. l.mu is held.
func (l *Library) settle(s *slot) {
	if l.slots[s.wanted] != s {
		return // it was let go while it was loaded
	}
	l.held += s.size
	if e, ok := (*l.catalogs.Load())[s.wanted.Catalog]; ok {
		if r := e.release.Load(); wantedOf(r) == s.wanted && (s.identity == "" || s.identity == r.Identity) {
			before := e.newest.Swap(s)
			e.behind.Store(false)
			if before != nil && before != s && l.slots[before.wanted] == before {
				l.forget(before.wanted) // the next revision is what callers ask for
			}
			l.config.Log.Info("loaded a revision", "catalog", r.Catalog, "revision", r.Revision, "dampers", len(s.snapshot.Dampers()))
		}
	}
	l.shrink(s)
}

// shrink lets go of what was used longest ago: of older revisions until few are
// left, and of all until the rest is under the ceiling. It keeps last, which was
// loaded just now, and the catalogue to keep. l.mu is held.
func (l *Library) shrink(last *slot) {
	older := func(s *slot) bool { return !l.isNewest(s) }
	for {
		count, bytes := 0, int64(0)
		for _, s := range l.slots {
			if (s == last || s.isDone()) && older(s) {
				count, bytes = count+1, bytes+s.size
			}
		}
		if count <= mostOlder && bytes <= mostOlderBytes || !l.letGo(last, older) {
			break
		}
	}
	all := func(s *slot) bool { return s.wanted.Catalog != l.config.Keep || older(s) }
	for l.config.Memory > 0 && l.held > l.config.Memory && l.letGo(last, all) {
	}
}

// letGo forgets the revision used longest ago among those, last excepted. It
// says whether there was one. l.mu is held.
func (l *Library) letGo(last *slot, among func(*slot) bool) bool {
	var oldest *slot
	for _, s := range l.slots {
		if s == last || !s.isDone() || !among(s) {
			continue
		}
		if oldest == nil || s.used.Load() < oldest.used.Load() || s.used.Load() == oldest.used.Load() && s.turn < oldest.turn {
			oldest = s
		}
	}
	if oldest == nil {
		return false
	}
	l.forget(oldest.wanted)
	return true
}

func (l *Library) isNewest(s *slot) bool {
	e, ok := (*l.catalogs.Load())[s.wanted.Catalog]
	return ok && e.newest.Load() == s
}

// forget lets a revision go. Whoever is answered from it keeps it until then.
// l.mu is held.
func (l *Library) forget(wanted Wanted) {
	s, ok := l.slots[wanted]
	if !ok {
		return
	}
	delete(l.slots, wanted)
	if s.isDone() && s.err == nil {
		l.held -= s.size
	}
	if e, ok := (*l.catalogs.Load())[wanted.Catalog]; ok {
		e.newest.CompareAndSwap(s, nil)
	}
}

// Forget lets a revision go that is no longer there, such as a draft that was
// deleted.
func (l *Library) Forget(wanted Wanted) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.forget(wanted)
}
