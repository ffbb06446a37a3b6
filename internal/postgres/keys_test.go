package postgres_test

import (
	"context"
	"errors"
	"slices"
	"testing"
	"time"

	"midstroke/internal/postgres"
	"midstroke/internal/shop"
)

func createKey(t *testing.T, s *postgres.Store, shopName string, use shop.Use) (text string, k shop.Key) {
	t.Helper()
	text, k = shop.NewKey(use)
	k.Shop = shopName
	if use == shop.Widget {
		k.Origins = []string{"https://shop.example"}
	}
	if err := s.CreateKey(t.Context(), k); err != nil {
		t.Fatal(err)
	}
	return text, k
}

func TestKeysComeBackAsTheyWereMade(t *testing.T) {
	t.Parallel()
	s, _ := withCatalog(t)
	_, made := shop.NewKey(shop.Widget)
	made.Shop, made.Origins = "corner garage", []string{"https://a.example", "https://b.example"}
	made.Expires = time.Now().Add(time.Hour).Truncate(time.Microsecond) // as finely as Postgres keeps it
	if err := s.CreateKey(t.Context(), made); err != nil {
		t.Fatal(err)
	}
	createKey(t, s, "north street", shop.Admin)
	keys, err := s.Keys(t.Context(), "")
	if err != nil || len(keys) != 2 {
		t.Fatalf("%d keys, %v", len(keys), err)
	}
	k := keys[0]
	if k.Prefix != made.Prefix || k.Hash != made.Hash || k.Use != shop.Widget || k.Shop != "corner garage" || k.Catalog != "own" ||
		!slices.Equal(k.Origins, made.Origins) || !k.Expires.Equal(made.Expires) || !k.Revoked.IsZero() || !k.LastUsed.IsZero() || k.Created.IsZero() {
		t.Errorf("came back as %+v, want %+v", k, made)
	}
	// A shop without a catalogue gets one of its own name.
	if keys[1].Catalog != "north street" || keys[1].ShopID == k.ShopID {
		t.Errorf("the other shop's is %+v", keys[1])
	}
	only, err := s.Keys(t.Context(), "north street")
	if err != nil || len(only) != 1 || only[0].Prefix != keys[1].Prefix {
		t.Errorf("one shop's keys are %+v, %v", only, err)
	}
}

// TestAKeysOwnCatalogueIsOneToAnswerFrom: of a shop's catalogues the first in
// which something is published, whichever was made first.
func TestAKeysOwnCatalogueIsOneToAnswerFrom(t *testing.T) {
	t.Parallel()
	s, _ := withCatalog(t)
	createKey(t, s, "north street", shop.Server)
	if err := s.EnsureCatalog(t.Context(), "north street", "stock"); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"north street", "stock"} {
		keys, err := s.Keys(t.Context(), "north street")
		if err != nil || keys[0].Catalog != want {
			t.Errorf("the key's own is %q, %v; want %q", keys[0].Catalog, err, want)
		}
		if _, err := s.Publish(t.Context(), "stock", contents(t, 1), ""); err != nil {
			t.Fatal(err)
		}
	}
}

func TestAKeyWithoutAShopsOwnCatalogueTakesNobodyElses(t *testing.T) {
	t.Parallel()
	s, _ := withCatalog(t)
	_, k := shop.NewKey(shop.Server)
	k.Shop = "own" // as another shop's catalogue is called
	if err := s.CreateKey(t.Context(), k); err == nil {
		t.Error("a shop got a key though its catalogue is another's")
	}
	if keys, err := s.Keys(t.Context(), ""); err != nil || len(keys) != 0 {
		t.Errorf("left behind: %+v, %v", keys, err)
	}
}

func TestNoteUsedKeepsTheLatest(t *testing.T) {
	t.Parallel()
	s, _ := withCatalog(t)
	createKey(t, s, "corner garage", shop.Server)
	keys, err := s.Keys(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	now := time.Now().Truncate(time.Microsecond)
	for _, at := range []time.Time{now, now.Add(-time.Hour)} {
		if err := s.NoteUsed(t.Context(), map[int64]time.Time{keys[0].ID: at, 12345: at}); err != nil {
			t.Fatal(err)
		}
	}
	keys, err = s.Keys(t.Context(), "")
	if err != nil || !keys[0].LastUsed.Equal(now) {
		t.Errorf("last used %v, %v; want %v", keys[0].LastUsed, err, now)
	}
}

// A key that is made or revoked is known to whoever watches within a second.
func TestWatchTellsOfKeys(t *testing.T) {
	t.Parallel()
	s, _ := withCatalog(t)
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	told := make(chan []shop.Key, 100)
	go func() {
		_ = s.Watch(ctx, postgres.Watcher{
			Keys: func(keys []shop.Key) { told <- keys },
			Look: time.Hour,
		})
	}()
	within := func(what string, so func([]shop.Key) bool) {
		t.Helper()
		late := time.After(time.Second)
		for {
			select {
			case keys := <-told:
				if so(keys) {
					return
				}
			case <-late:
				t.Fatalf("not told within a second: %s", what)
			}
		}
	}
	within("that there is none", func(keys []shop.Key) bool { return len(keys) == 0 })
	_, k := createKey(t, s, "corner garage", shop.Server)
	if found, err := s.FindKey(t.Context(), k.Hash); err != nil || found == nil || found.Prefix != k.Prefix {
		t.Errorf("the new key is found as %v, %v", found, err)
	}
	if found, err := s.FindKey(t.Context(), [32]byte{}); err != nil || found != nil {
		t.Errorf("a key that isn't there is found as %v, %v", found, err)
	}
	within("a new key", func(keys []shop.Key) bool { return len(keys) == 1 && keys[0].Valid(time.Now()) })
	if err := s.RevokeKey(t.Context(), k.Prefix); err != nil {
		t.Fatal(err)
	}
	within("a revoked key", func(keys []shop.Key) bool { return len(keys) == 1 && !keys[0].Valid(time.Now()) })
	if err := s.RevokeKey(t.Context(), "00000000"); !errors.Is(err, postgres.ErrNoKey) {
		t.Errorf("a key that isn't there was revoked: %v", err)
	}
}
