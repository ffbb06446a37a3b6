package postgres_test

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/postgres"
	"midstroke/internal/postgres/pgtest"
	"midstroke/internal/shop"
)

// watch runs Watch until the test ends; what is new at each look, as "catalogue
// revision", and whether the database answers come out of the channels.
func watch(t *testing.T, s *postgres.Store, w postgres.Watcher) (told <-chan string, reachable <-chan bool) {
	t.Helper()
	news, states := make(chan string, 100), make(chan bool, 100)
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	known := map[string]shop.Release{}
	w.Published = func(all []shop.Release) {
		for _, r := range all {
			if known[r.Catalog] != r {
				known[r.Catalog] = r
				news <- fmt.Sprint(r.Catalog, " ", r.Revision)
			}
		}
	}
	w.Reachable = func(lost error) { states <- lost == nil }
	go func() { ended <- s.Watch(ctx, w) }()
	t.Cleanup(func() {
		cancel()
		select {
		case err := <-ended:
			if !errors.Is(err, context.Canceled) {
				t.Errorf("Watch answers %v", err)
			}
		case <-time.After(10 * time.Second):
			t.Error("Watch goes on after its context has ended")
		}
	})
	return news, states
}

func expect[T comparable](t *testing.T, from <-chan T, want T) {
	t.Helper()
	select {
	case got := <-from:
		if got != want {
			t.Fatalf("told %v, want %v", got, want)
		}
	case <-time.After(10 * time.Second):
		t.Fatalf("told nothing for 10 s, want %v", want)
	}
}

func silence[T any](t *testing.T, from <-chan T, d time.Duration) {
	t.Helper()
	select {
	case got := <-from:
		t.Fatalf("told %v, want nothing", got)
	case <-time.After(d):
	}
}

var nothing = catalog.Contents{Limits: mount.UsualLimits()}

func TestWatchTellsOfNewRevisions(t *testing.T) {
	t.Parallel()
	s, _ := withCatalog(t)
	if err := s.EnsureCatalog(t.Context(), "corner garage", "another"); err != nil {
		t.Fatal(err)
	}
	publish(t, s, nothing)
	publish(t, s, nothing)
	if _, err := s.Publish(t.Context(), "another", nothing, ""); err != nil {
		t.Fatal(err)
	}
	// So slow a poll that whatever comes was heard.
	told, reachable := watch(t, s, postgres.Watcher{Look: time.Hour})
	expect(t, reachable, true)
	expect(t, told, "another 1")
	expect(t, told, "own 2")
	publish(t, s, nothing)
	expect(t, told, "own 3")
	silence(t, told, 100*time.Millisecond)
	silence(t, reachable, 0)
}

// Each look that brings nothing new stays silent, on the same connection.
func TestWatchPolls(t *testing.T) {
	t.Parallel()
	s, url := withCatalog(t)
	publish(t, s, nothing)
	told, reachable := watch(t, s, postgres.Watcher{Look: 20 * time.Millisecond})
	expect(t, told, "own 1")
	expect(t, reachable, true)
	conn := connect(t, url)
	// Without a word: as if the notification had been lost.
	for _, sql := range []string{
		"ALTER TABLE catalogs DISABLE TRIGGER tell_published",
		"INSERT INTO revisions (catalog_id, number, state, published_at) SELECT id, 2, 'published', now() FROM catalogs",
	} {
		if _, err := conn.Exec(t.Context(), sql); err != nil {
			t.Fatal(err)
		}
	}
	expect(t, told, "own 2")
	silence(t, reachable, 200*time.Millisecond)
}

func TestWatchSurvivesALostConnection(t *testing.T) {
	t.Parallel()
	s, url := withCatalog(t)
	publish(t, s, nothing)
	told, reachable := watch(t, s, postgres.Watcher{Look: time.Hour})
	expect(t, told, "own 1")
	expect(t, reachable, true)
	conn := connect(t, url)
	// As whoever logged in, who may end what is his own.
	if _, err := conn.Exec(t.Context(), "SET ROLE NONE; SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE pid <> pg_backend_pid() AND query LIKE '%revision%' AND datname = current_database()"); err != nil {
		t.Fatal(err)
	}
	expect(t, reachable, false)
	publish(t, s, nothing) // while nobody listens
	expect(t, told, "own 2")
	expect(t, reachable, true)
	publish(t, s, nothing)
	expect(t, told, "own 3")
}

// TestWatchNoticesAFrozenDatabase: a server process that doesn't go on shows
// within two seconds, as the heartbeat promises.
func TestWatchNoticesAFrozenDatabase(t *testing.T) {
	t.Parallel()
	to := pgtest.NewDatabase(t)
	c := newCable(t, to)
	s := open(t, c.url)
	_, reachable := watch(t, s, postgres.Watcher{})
	expect(t, reachable, true)
	c.sever()
	start := time.Now()
	expect(t, reachable, false)
	if took := time.Since(start); took > 2*time.Second {
		t.Errorf("noticed after %v", took)
	}
}

// TestIdentityTellsRevisionsOfOneNumberApart: what is published in the place of
// a revision that was removed isn't taken for it.
func TestIdentityTellsRevisionsOfOneNumberApart(t *testing.T) {
	t.Parallel()
	s, url := withCatalog(t)
	publish(t, s, nothing)
	told, _ := watch(t, s, postgres.Watcher{Look: 20 * time.Millisecond})
	expect(t, told, "own 1")
	conn := connect(t, url)
	// As after a restore: the same number with another history.
	if _, err := conn.Exec(t.Context(), "DELETE FROM revisions; UPDATE catalogs SET current = NULL"); err != nil {
		t.Fatal(err)
	}
	publish(t, s, nothing)
	expect(t, told, "own 1")
}

// TestDraftsHoldUpNothingElse: with every place for drafts taken, lists and
// loads go on, and one draft more is told to come again.
func TestDraftsHoldUpNothingElse(t *testing.T) {
	t.Parallel()
	s, _ := withCatalog(t)
	publish(t, s, nothing)
	stuck := make(chan struct{})
	ended := make(chan error, 3)
	started := make(chan struct{}, 3)
	for i := range 3 {
		name := fmt.Sprint("stuck ", i)
		if err := s.EnsureCatalog(t.Context(), "corner garage", name); err != nil {
			t.Fatal(err)
		}
		parts := shop.PartsOf(nothing)
		parts.Checked = func() error { started <- struct{}{}; <-stuck; return errors.New("given up") }
		go func() {
			_, err := s.Draft(context.Background(), shop.Place{Catalog: name}, parts, "", "a test", nil)
			ended <- err
		}()
	}
	for range 3 {
		<-started
	}
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Second)
	defer cancel()
	if _, err := s.Revisions(ctx, shop.Place{Catalog: "own"}, 0, 10); err != nil {
		t.Errorf("a list beside stuck drafts: %v", err)
	}
	if _, err := s.Newest(ctx, "own"); err != nil {
		t.Errorf("a load beside stuck drafts: %v", err)
	}
	if _, err := s.Keys(ctx, ""); err != nil {
		t.Errorf("keys beside stuck drafts: %v", err)
	}
	if _, err := s.Draft(t.Context(), shop.Place{Catalog: "own"}, shop.PartsOf(nothing), "", "a test", nil); !errors.Is(err, shop.ErrUnreachable) {
		t.Errorf("one draft more: %v", err)
	}
	close(stuck)
	for range 3 {
		if err := <-ended; err == nil {
			t.Error("a draft whose parts gave up was written")
		}
	}
}

// TestWhoeverPublishesIsToldFirst: when Release, CreateKey and RevokeKey have
// returned, the watcher of the same store knows, and it is never told what was before.
func TestWhoeverPublishesIsToldFirst(t *testing.T) {
	t.Parallel()
	s, _ := withCatalog(t)
	var mu sync.Mutex
	var current, keys, valid int
	ready := make(chan struct{})
	var once sync.Once
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error)
	go func() {
		ended <- s.Watch(ctx, postgres.Watcher{
			Look: 20 * time.Millisecond, // as often as it gets, to come in between
			Published: func(all []shop.Release) {
				mu.Lock()
				defer mu.Unlock()
				current = 0
				for _, r := range all {
					current = r.Revision
				}
				once.Do(func() { close(ready) })
			},
			Keys: func(all []shop.Key) {
				mu.Lock()
				defer mu.Unlock()
				keys, valid = len(all), 0
				for _, k := range all {
					if k.Valid(time.Now()) {
						valid++
					}
				}
			},
		})
	}()
	defer func() {
		cancel()
		if err := <-ended; err != nil && !errors.Is(err, context.Canceled) {
			t.Errorf("watching ended with %v", err)
		}
	}()
	<-ready
	known := func() (int, int, int) {
		mu.Lock()
		defer mu.Unlock()
		return current, keys, valid
	}
	for round := range 10 {
		r := drafted(t, s, 1)
		if _, err := s.Release(t.Context(), ownPlace, r.Number, shop.Publish, "a test", agreed); err != nil {
			t.Fatal(err)
		}
		if got, _, _ := known(); got != r.Number {
			t.Fatalf("round %d: published %d, and the watcher knows %d", round, r.Number, got)
		}
		if round > 0 {
			if _, err := s.Release(t.Context(), ownPlace, 1, shop.RollBack, "a test", agreed); err != nil {
				t.Fatal(err)
			}
			if got, _, _ := known(); got != 1 {
				t.Fatalf("round %d: went back to 1, and the watcher knows %d", round, got)
			}
		}
		_, key := createKey(t, s, "corner garage", shop.Server)
		if _, got, ok := known(); got != round+1 || ok != 1 {
			t.Fatalf("round %d: the watcher knows %d keys, of which %d are valid", round, got, ok)
		}
		if err := s.RevokeKey(t.Context(), key.Prefix); err != nil {
			t.Fatal(err)
		}
		if _, _, ok := known(); ok != 0 {
			t.Fatalf("round %d: the watcher takes the key for valid", round)
		}
	}
}
