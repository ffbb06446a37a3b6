package postgres_test

import (
	"context"
	"errors"
	"slices"
	"sync"
	"sync/atomic"
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
	r, err := s.Draft(t.Context(), ownPlace, shop.PartsOf(contents(t, dampers)), "", "a test", nil)
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
	defer func() {
		cancel()
		if err := <-ended; err != nil && !errors.Is(err, context.Canceled) {
			t.Errorf("watching ended with %v", err)
		}
	}()
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
	if err := s.Discard(t.Context(), ownPlace, 1, agreed); !errors.As(err, &conflict) || conflict.Reason != shop.CurrentStays {
		t.Errorf("the revision that answers come from: %v", err)
	}
}

// TestOldRevisionsAreCleared keeps the newest ones and the current one, which is older
// than these.
func TestOldRevisionsAreCleared(t *testing.T) {
	t.Parallel()
	s, owner, url := withLogins(t)
	if err := owner.EnsureCatalog(t.Context(), "corner garage", "own"); err != nil {
		t.Fatal(err)
	}
	for range 5 {
		publish(t, owner, contents(t, 2))
	}
	drafted(t, owner, 2)
	conn := connect(t, url)
	exec(t, conn, "UPDATE catalogs SET current = 2")
	cleared, err := s.DiscardOld(t.Context(), 2)
	var numbers []int
	for _, n := range cleared {
		numbers = append(numbers, n.Number)
	}
	if err != nil || !slices.Equal(numbers, []int{1, 3}) {
		t.Errorf("cleared %v, %v; want 1 and 3", numbers, err)
	}
	if list, err := owner.Revisions(t.Context(), ownPlace, 0, 10); err != nil || len(list) != 4 || list[3].Number != 2 {
		t.Errorf("left: %+v, %v", list, err)
	}
	if cleared, err := s.DiscardOld(t.Context(), 2); err != nil || len(cleared) != 0 {
		t.Errorf("cleared again: %v, %v", cleared, err)
	}
}

// TestQuotas draft up to each limit and beyond it. contents have 6 parts beside the
// dampers.
func TestQuotas(t *testing.T) {
	t.Parallel()
	s, _ := withCatalog(t)
	publish(t, s, contents(t, 4))
	if err := s.EnsureCatalog(t.Context(), "corner garage", "second"); err != nil {
		t.Fatal(err)
	}
	draft := func(quota shop.Quota) error {
		parts := shop.PartsOf(contents(t, 4))
		parts.Quota = quota
		_, err := s.Draft(t.Context(), shop.Place{Catalog: "second"}, parts, "", "a test", nil)
		return err
	}
	for _, c := range []struct {
		quota shop.Quota
		want  shop.QuotaError // zero where it is within the quota
	}{
		{shop.Quota{Revisions: 1}, shop.QuotaError{Of: shop.QuotaOfRevisions, Stored: 1, Most: 1}},
		{shop.Quota{Parts: 19}, shop.QuotaError{Of: shop.QuotaOfParts, Stored: 20, Most: 19}},
		{shop.Quota{Revisions: 2, Parts: 20}, shop.QuotaError{}},
		{shop.Quota{Revisions: 2}, shop.QuotaError{Of: shop.QuotaOfRevisions, Stored: 2, Most: 2}},
		{shop.Quota{}, shop.QuotaError{}},
	} {
		err := draft(c.quota)
		var over *shop.QuotaError
		switch {
		case c.want == (shop.QuotaError{}):
			if err != nil {
				t.Errorf("%+v: %v", c.quota, err)
			}
		case !errors.As(err, &over) || *over != c.want:
			t.Errorf("%+v: %v, want %v", c.quota, err, &c.want)
		}
	}
	if err := s.Discard(t.Context(), shop.Place{Catalog: "second"}, 1, agreed); err != nil {
		t.Fatal(err)
	}
	if err := draft(shop.Quota{Revisions: 3}); err != nil {
		t.Errorf("with a draft less: %v", err)
	}
}

// TestQuotasHoldAtOneMoment: of two drafts of one shop's catalogues, both written
// before either is counted, one is kept where the shop may store one more.
func TestQuotasHoldAtOneMoment(t *testing.T) {
	t.Parallel()
	s, _ := withCatalog(t)
	if err := s.EnsureCatalog(t.Context(), "corner garage", "second"); err != nil {
		t.Fatal(err)
	}
	var all, written sync.WaitGroup
	var kept, refused atomic.Int32
	written.Add(2)
	for _, name := range []string{"own", "second"} {
		all.Go(func() {
			parts := shop.PartsOf(contents(t, 4))
			parts.Quota = shop.Quota{Revisions: 1}
			parts.Checked = func() error {
				written.Done()
				written.Wait()
				return nil
			}
			_, err := s.Draft(t.Context(), shop.Place{Catalog: name}, parts, "", "a test", nil)
			var over *shop.QuotaError
			switch {
			case err == nil:
				kept.Add(1)
			case errors.As(err, &over):
				refused.Add(1)
			default:
				t.Error(err)
			}
		})
	}
	all.Wait()
	if kept.Load() != 1 || refused.Load() != 1 {
		t.Errorf("%d kept, %d refused; want one of each", kept.Load(), refused.Load())
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
