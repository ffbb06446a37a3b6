package library_test

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"midstroke/internal/catalog"
	"midstroke/internal/library"
	"midstroke/internal/shop"
)

// source is where a library under test loads from.
type source struct {
	loads atomic.Int32
	// hold, where it is not nil, keeps every load waiting.
	hold chan struct{}
	fail atomic.Pointer[error]
	// dampers is how many each snapshot has.
	dampers int
}

func (s *source) load(ctx context.Context, w library.Wanted) (*catalog.Snapshot, error) {
	s.loads.Add(1)
	if s.hold != nil {
		select {
		case <-s.hold:
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
	if err := s.fail.Load(); err != nil {
		return nil, *err
	}
	dampers := make([]catalog.Damper, s.dampers)
	for i := range dampers {
		dampers[i].Code = fmt.Sprint("d", i)
	}
	return catalog.NewSnapshot(w.Catalog, w.Revision, catalog.Contents{Dampers: dampers}), nil
}

func made(s *source, c library.Config) *library.Library {
	c.Load, c.Log = s.load, slog.New(slog.DiscardHandler)
	return library.New(c)
}

func release(name string, revision int) shop.Release {
	return shop.Release{Owner: 1, Catalog: name, Revision: revision, Identity: fmt.Sprint(name, revision)}
}

// answered gives the revision that a caller is answered from.
func answered(t *testing.T, l *library.Library, name string) library.Held {
	t.Helper()
	h, err := l.Newest(t.Context(), name)
	if err != nil {
		t.Fatalf("newest of %s: %v", name, err)
	}
	return h
}

func TestNothingIsLoadedBeforeItIsAskedFor(t *testing.T) {
	s := &source{}
	l := made(s, library.Config{})
	select {
	case <-l.Known():
		t.Error("the catalogues are known before anybody said so")
	default:
	}
	l.Announce([]shop.Release{release("north", 1), release("south", 4)})
	<-l.Known()
	if n := s.loads.Load(); n != 0 {
		t.Errorf("%d loads before the first request", n)
	}
	if r, ok := l.Find("south"); !ok || r.Revision != 4 {
		t.Errorf("south is %v, %v", r, ok)
	}
	if h := answered(t, l, "south"); h.Snapshot.Revision() != 4 || h.Stale {
		t.Errorf("answered from revision %d, stale %v", h.Snapshot.Revision(), h.Stale)
	}
	if _, err := l.Newest(t.Context(), "west"); !errors.Is(err, catalog.ErrNotFound) {
		t.Errorf("a catalogue that isn't there: %v", err)
	}
}

// TestOneLoadForAllWhoWait: a hundred first requests wait for one load, and
// none is refused.
func TestOneLoadForAllWhoWait(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := &source{hold: make(chan struct{})}
		l := made(s, library.Config{})
		l.Announce([]shop.Release{release("north", 1)})
		var all sync.WaitGroup
		for range 100 {
			all.Go(func() {
				if h, err := l.Newest(t.Context(), "north"); err != nil || h.Snapshot.Revision() != 1 {
					t.Errorf("%v", err)
				}
			})
		}
		synctest.Wait()
		close(s.hold)
		all.Wait()
		if n := s.loads.Load(); n != 1 {
			t.Errorf("%d loads, want 1", n)
		}
	})
}

// TestWhoGoesAwayEndsNoLoad: the first caller hangs up; the second is answered
// by the same load.
func TestWhoGoesAwayEndsNoLoad(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := &source{hold: make(chan struct{})}
		l := made(s, library.Config{})
		l.Announce([]shop.Release{release("north", 1)})
		ctx, hangUp := context.WithCancel(t.Context())
		go func() {
			if _, err := l.Newest(ctx, "north"); !errors.Is(err, context.Canceled) {
				t.Errorf("who hung up is told %v", err)
			}
		}()
		synctest.Wait()
		hangUp()
		synctest.Wait()
		close(s.hold)
		answered(t, l, "north")
		if n := s.loads.Load(); n != 1 {
			t.Errorf("%d loads, want 1", n)
		}
	})
}

func TestNewerRevisionTakesThePlaceOfTheOld(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := &source{}
		l := made(s, library.Config{})
		l.Announce([]shop.Release{release("north", 1)})
		answered(t, l, "north")
		s.hold = make(chan struct{})
		l.Announce([]shop.Release{release("north", 2)})
		synctest.Wait()
		if h := answered(t, l, "north"); h.Snapshot.Revision() != 1 || !h.Stale {
			t.Errorf("while revision 2 is loaded: revision %d, stale %v", h.Snapshot.Revision(), h.Stale)
		}
		close(s.hold)
		synctest.Wait()
		if h := answered(t, l, "north"); h.Snapshot.Revision() != 2 || h.Stale {
			t.Errorf("after that: revision %d, stale %v", h.Snapshot.Revision(), h.Stale)
		}
	})
}

// TestFailedLoadIsTriedAgain: the old revision answers, as stale, until the new
// one can be loaded.
func TestFailedLoadIsTriedAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := &source{}
		l := made(s, library.Config{})
		l.Announce([]shop.Release{release("north", 1)})
		answered(t, l, "north")
		s.fail.Store(&shop.ErrUnreachable)
		l.Announce([]shop.Release{release("north", 2)})
		synctest.Wait()
		if h := answered(t, l, "north"); h.Snapshot.Revision() != 1 || !h.Stale {
			t.Errorf("revision %d, stale %v", h.Snapshot.Revision(), h.Stale)
		}
		s.fail.Store(nil)
		l.Follow()
		synctest.Wait()
		if h := answered(t, l, "north"); h.Snapshot.Revision() != 2 || h.Stale {
			t.Errorf("revision %d, stale %v", h.Snapshot.Revision(), h.Stale)
		}
	})
}

// TestSameNumberOfAnotherHistory: a database restored to an earlier state may
// publish a revision 2 of its own.
func TestSameNumberOfAnotherHistory(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := &source{}
		l := made(s, library.Config{})
		l.Announce([]shop.Release{release("north", 2)})
		before := answered(t, l, "north").Snapshot
		other := release("north", 2)
		other.Identity = "of another history"
		l.Announce([]shop.Release{other})
		synctest.Wait()
		if answered(t, l, "north").Snapshot == before {
			t.Error("the revision of the other history isn't loaded")
		}
	})
}

// TestPublishedIsAnsweredFromAtOnce: whoever publishes is answered from what it
// wrote, by the instance that took it.
func TestPublishedIsAnsweredFromAtOnce(t *testing.T) {
	s := &source{}
	l := made(s, library.Config{})
	l.Announce([]shop.Release{release("north", 1)})
	answered(t, l, "north")
	for _, r := range []shop.Release{release("north", 2), release("south", 1), release("north", 1)} {
		if err := l.Published(t.Context(), r); err != nil {
			t.Fatal(err)
		}
		if h := answered(t, l, r.Catalog); h.Snapshot.Revision() != r.Revision || h.Stale {
			t.Errorf("%s is answered from revision %d, stale %v; want %d", r.Catalog, h.Snapshot.Revision(), h.Stale, r.Revision)
		}
	}
}

// TestCeilingOfMemory: what was used longest ago is let go, and loaded again
// when it is asked for. What is to be kept stays.
func TestCeilingOfMemory(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := &source{dampers: 1000}
		one, err := s.load(t.Context(), library.Wanted{})
		if err != nil {
			t.Fatal(err)
		}
		s.loads.Store(0)
		l := made(s, library.Config{Keep: "demo", Memory: 3*one.Size() + one.Size()/2})
		l.Announce([]shop.Release{release("demo", 1), release("a", 1), release("b", 1), release("c", 1)})
		synctest.Wait() // demo is loaded without being asked for
		for _, name := range []string{"a", "b", "c"} {
			time.Sleep(2 * time.Second) // so that their last uses differ
			answered(t, l, name)
		}
		if n := s.loads.Load(); n != 4 {
			t.Fatalf("%d loads, want 4", n)
		}
		for _, again := range []struct {
			name  string
			loads int32 // after it, by hand: a was let go for c, and b is let go for a
		}{{"c", 4}, {"b", 4}, {"demo", 4}, {"a", 5}, {"b", 5}, {"c", 6}} {
			time.Sleep(2 * time.Second)
			answered(t, l, again.name)
			if n := s.loads.Load(); n != again.loads {
				t.Errorf("after %s %d loads, want %d", again.name, n, again.loads)
			}
		}
		if m := l.Memory(); m.Bytes > m.Ceiling || m.Snapshots != 3 {
			t.Errorf("holds %+v", m)
		}
	})
}

func TestOlderRevisionsAndDrafts(t *testing.T) {
	s := &source{}
	l := made(s, library.Config{})
	l.Announce([]shop.Release{release("north", 3)})
	place := shop.Place{Shop: 1, Catalog: "north"}
	for _, w := range []library.Wanted{{Place: place, Revision: 1}, {Place: place, Revision: 4, Draft: true}} {
		for range 2 {
			h, err := l.Revision(t.Context(), w)
			if err != nil || h.Snapshot.Revision() != w.Revision {
				t.Fatalf("%+v: %v", w, err)
			}
		}
	}
	if n := s.loads.Load(); n != 2 {
		t.Errorf("%d loads, want 2", n)
	}
	l.Forget(library.Wanted{Place: place, Revision: 4, Draft: true})
	gone := error(catalog.ErrNotFound)
	s.fail.Store(&gone)
	if _, err := l.Revision(t.Context(), library.Wanted{Place: place, Revision: 4, Draft: true}); !errors.Is(err, catalog.ErrNotFound) {
		t.Errorf("a draft that was deleted: %v", err)
	}
}

// TestManyRevisionsOfOneShop: one shop can't fill the queue of loads.
func TestManyRevisionsOfOneShop(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := &source{hold: make(chan struct{})}
		l := made(s, library.Config{})
		l.Announce([]shop.Release{release("north", 100), {Owner: 2, Catalog: "south", Revision: 1}})
		var refused atomic.Int32
		var all sync.WaitGroup
		for i := range 40 {
			all.Go(func() {
				_, err := l.Revision(t.Context(), library.Wanted{Place: shop.Place{Shop: 1, Catalog: "north"}, Revision: i + 1})
				if errors.Is(err, library.ErrBusy) {
					refused.Add(1)
				} else if err != nil {
					t.Error(err)
				}
			})
		}
		synctest.Wait()
		if n := refused.Load(); n != 24 { // 40 less the 16 that may wait
			t.Errorf("%d refused, want 24", n)
		}
		all.Go(func() { answered(t, l, "south") })
		synctest.Wait()
		close(s.hold)
		all.Wait()
	})
}

func TestCataloguesThatGo(t *testing.T) {
	l := made(&source{}, library.Config{})
	l.Announce([]shop.Release{release("north", 1), release("south", 1)})
	answered(t, l, "north")
	l.Announce([]shop.Release{release("south", 1)})
	if _, err := l.Newest(t.Context(), "north"); !errors.Is(err, catalog.ErrNotFound) {
		t.Errorf("a catalogue that went: %v", err)
	}
	answered(t, l, "south")
}

func TestPanicInALoadIsAnError(t *testing.T) {
	l := library.New(library.Config{
		Load: func(context.Context, library.Wanted) (*catalog.Snapshot, error) { panic("a bad row") },
		Log:  slog.New(slog.DiscardHandler),
	})
	l.Announce([]shop.Release{release("north", 1)})
	if _, err := l.Newest(t.Context(), "north"); err == nil {
		t.Error("no error")
	}
}

func TestShopsAreToldApartByNumber(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := &source{}
		l := made(s, library.Config{})
		other := release("other", 1)
		other.Owner = 2
		l.Announce([]shop.Release{release("first", 1), release("second", 1), release("never asked for", 1), other})
		answered(t, l, "first")
		time.Sleep(time.Minute)
		answered(t, l, "second")
		answered(t, l, "other")
		// The newer revision of "second" can't be loaded.
		away := shop.ErrUnreachable
		s.fail.Store(&away)
		l.Announce([]shop.Release{release("first", 1), release("second", 2), release("never asked for", 1), other})
		synctest.Wait()
		want := map[int64]library.Shop{
			1: {Number: 1, Loaded: 2, Behind: 1, Oldest: time.Now().Add(-time.Minute)},
			2: {Number: 2, Loaded: 1, Oldest: time.Now()},
		}
		all := l.Shops()
		for _, got := range all {
			if got != want[got.Number] {
				t.Errorf("got %+v, want %+v", got, want[got.Number])
			}
		}
		if len(all) != len(want) {
			t.Errorf("%d shops", len(all))
		}
	})
}
