package postgres_test

import (
	"context"
	"errors"
	"fmt"
	"testing"
	"time"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/postgres"
)

// watch runs Watch until the test ends; what it tells comes out of the
// channels.
func watch(t *testing.T, s *postgres.Store, poll time.Duration, refuse func(revision int) error) (told <-chan string, reachable <-chan bool) {
	t.Helper()
	news, states := make(chan string, 100), make(chan bool, 100)
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() {
		ended <- s.Watch(ctx, postgres.Watcher{
			Newest: func(_ context.Context, r postgres.Release) error {
				news <- fmt.Sprint(r.Catalog, " ", r.Revision)
				return refuse(r.Revision)
			},
			Reachable: func(lost error) { states <- lost == nil },
			Poll:      poll,
		})
	}()
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

func takesAll(int) error { return nil }

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
	told, reachable := watch(t, s, time.Hour, takesAll)
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
	told, reachable := watch(t, s, 20*time.Millisecond, takesAll)
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
	told, reachable := watch(t, s, time.Hour, takesAll)
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

func TestWatchTellsAgainWhatWasNotTaken(t *testing.T) {
	t.Parallel()
	s, _ := withCatalog(t)
	publish(t, s, nothing)
	tries := 0
	told, _ := watch(t, s, 20*time.Millisecond, func(int) error {
		if tries++; tries < 3 {
			return errors.New("couldn't be read just now")
		}
		return nil
	})
	for range 3 {
		expect(t, told, "own 1")
	}
	silence(t, told, 100*time.Millisecond)
}
