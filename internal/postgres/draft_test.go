package postgres_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"midstroke/internal/catalog"
	"midstroke/internal/postgres"
	"midstroke/internal/shop"
)

var ownPlace = shop.Place{Catalog: "own"}

func agreed(shop.Revision) error { return nil }

// drafted makes a draft of so many dampers in the catalogue "own".
func drafted(t *testing.T, s *postgres.Store, dampers int) shop.Revision {
	t.Helper()
	r, err := s.Draft(t.Context(), ownPlace, shop.PartsOf(contents(t, dampers)), "", "a test")
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestARevisionCountsItsParts(t *testing.T) {
	t.Parallel()
	s, url := withCatalog(t)
	c := contents(t, 7)
	want := shop.Counts{Dampers: 7, Sleeves: len(c.Sleeves), Spacers: len(c.Spacers), Adapters: len(c.Adapters)}
	if r := drafted(t, s, 7); r.Counts != want {
		t.Errorf("counted %+v, want %+v", r.Counts, want)
	}
	publish(t, s, c)
	told := make(chan []shop.Release, 10)
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error)
	go func() {
		ended <- s.Watch(ctx, postgres.Watcher{Published: func(all []shop.Release) { told <- all }})
	}()
	defer func() { cancel(); <-ended }()
	if all := <-told; len(all) != 1 || all[0].Counts != want {
		t.Errorf("released %+v, want %+v", all, want)
	}
	var parts int
	conn := connect(t, url)
	set(t, conn, "midstroke.shop", "*")
	if err := conn.QueryRow(t.Context(), "SELECT parts FROM revisions WHERE number = 2").Scan(&parts); err != nil || parts != want.Dampers+want.Sleeves+want.Spacers+want.Adapters {
		t.Errorf("%d parts, %v", parts, err)
	}
}

func TestADraftIsDeletedAndItsNumberNeverComesBack(t *testing.T) {
	t.Parallel()
	s, _ := withCatalog(t)
	publish(t, s, contents(t, 1))
	second, third := drafted(t, s, 2), drafted(t, s, 3)
	if drafts, err := s.Drafts(t.Context(), shopOf(t, s)); err != nil || len(drafts) != 1 || len(drafts["own"]) != 2 || drafts["own"][0] != 3 {
		t.Errorf("drafts %v, %v", drafts, err)
	}
	unlike := errors.New("it is another one")
	if err := s.Discard(t.Context(), ownPlace, third.Number, func(shop.Revision) error { return unlike }); !errors.Is(err, unlike) {
		t.Errorf("without agreement: %v", err)
	}
	for _, r := range []shop.Revision{third, second} {
		if err := s.Discard(t.Context(), ownPlace, r.Number, agreed); err != nil {
			t.Fatal(err)
		}
		if _, err := s.Drafted(t.Context(), ownPlace, r.Number); !errors.Is(err, catalog.ErrNotFound) {
			t.Errorf("a deleted draft is read: %v", err)
		}
		if err := s.Discard(t.Context(), ownPlace, r.Number, agreed); !errors.Is(err, catalog.ErrNotFound) {
			t.Errorf("deleted twice: %v", err)
		}
	}
	if r := drafted(t, s, 4); r.Number != 4 {
		t.Errorf("the next draft has number %d, want 4", r.Number)
	}
	var conflict *shop.ConflictError
	if err := s.Discard(t.Context(), ownPlace, 1, agreed); !errors.As(err, &conflict) || conflict.Reason != shop.PublishedStays {
		t.Errorf("a published revision: %v", err)
	}
}

// shopOf gives the number of the shop of the catalogue "own".
func shopOf(t *testing.T, s *postgres.Store) int64 {
	t.Helper()
	createKey(t, s, "corner garage", shop.Admin)
	keys, err := s.Keys(t.Context(), "corner garage")
	if err != nil || len(keys) != 1 {
		t.Fatal(keys, err)
	}
	return keys[0].ShopID
}

// TestUnusedDraftsAreCleared: a draft that was used since stays, and so does what
// is published.
func TestUnusedDraftsAreCleared(t *testing.T) {
	t.Parallel()
	s, url := withCatalog(t)
	publish(t, s, contents(t, 1))
	old, read, fresh := drafted(t, s, 2), drafted(t, s, 3), drafted(t, s, 4)
	conn := connect(t, url)
	set(t, conn, "midstroke.shop", "*")
	exec(t, conn, "UPDATE revisions SET used_at = now() - interval '31 days' WHERE number IN (2, 3)")
	if r, err := s.Describe(t.Context(), ownPlace, read.Number); err != nil || time.Since(r.Used) < 30*24*time.Hour {
		t.Fatalf("last used %v, %v", r.Used, err)
	}
	cleared, err := s.DiscardUnused(t.Context(), time.Now().Add(-30*24*time.Hour))
	if err != nil || len(cleared) != 1 || cleared[0].Number != old.Number || cleared[0].Catalog != "own" || cleared[0].Shop == 0 {
		t.Errorf("cleared %+v, %v", cleared, err)
	}
	for _, number := range []int{1, read.Number, fresh.Number} {
		if _, err := s.Describe(t.Context(), ownPlace, number); err != nil {
			t.Errorf("revision %d: %v", number, err)
		}
	}
}
