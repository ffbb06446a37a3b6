package postgres_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"midstroke/internal/catalog"
	"midstroke/internal/postgres"
	"midstroke/internal/postgres/pgtest"
	"midstroke/internal/shop"
	"midstroke/migrations"
)

// withLogins is a store as the service has it, beside one of the owner's.
func withLogins(t *testing.T) (s, owner *postgres.Store, url string) {
	t.Helper()
	url = pgtest.NewDatabase(t)
	owner = open(t, url)
	s, err := postgres.OpenAs(t.Context(), postgres.Logins{
		Service: pgtest.Login(t, url, migrations.ServiceRole), Keeper: pgtest.Login(t, url, migrations.KeeperRole),
	})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return s, owner, url
}

// TestTheServiceWorksWithoutTheOwner does all that a running service does.
func TestTheServiceWorksWithoutTheOwner(t *testing.T) {
	t.Parallel()
	s, owner, url := withLogins(t)
	_, k := createKey(t, owner, "north", shop.Admin)
	keys, err := s.Keys(t.Context(), "")
	if err != nil || len(keys) != 1 {
		t.Fatalf("%d keys, %v", len(keys), err)
	}
	if found, err := s.FindKey(t.Context(), k.Hash); err != nil || found == nil || found.Prefix != k.Prefix {
		t.Errorf("the key is found as %v, %v", found, err)
	}
	if err := s.NoteUsed(t.Context(), map[int64]time.Time{keys[0].ID: time.Now()}); err != nil {
		t.Error(err)
	}
	in := shop.Place{Shop: keys[0].ShopID, Catalog: "north"}
	ctx := shop.WithKey(t.Context(), k.Hash)
	draft, err := s.Draft(ctx, in, shop.PartsOf(contents(t, 20)), "", "a test", nil)
	if err != nil {
		t.Fatal(err)
	}
	agree := func(shop.Revision) error { return nil }
	for _, action := range []shop.Action{shop.Publish, shop.Publish, shop.RollBack} {
		if _, err := s.Release(ctx, in, draft.Number, action, "a test", agree); err != nil {
			t.Fatal(err)
		}
		if action == shop.Publish && draft.Number == 1 {
			if draft, err = s.Draft(ctx, in, shop.PartsOf(contents(t, 20)), "", "a test", nil); err != nil {
				t.Fatal(err)
			}
		} else {
			draft.Number = 1
		}
	}
	if list, err := s.Revisions(ctx, in, 0, 10); err != nil || len(list) != 2 || list[0].Current != 1 {
		t.Errorf("%+v, %v", list, err)
	}
	told, _ := watch(t, s, postgres.Watcher{})
	expect(t, told, "north 1")
	if snapshot, err := s.Newest(t.Context(), "north"); err != nil || len(snapshot.Dampers()) != 20 {
		t.Errorf("the keeper loads %v, %v", snapshot, err)
	}
	for _, c := range []struct {
		url  string
		owns bool
	}{{url, true}, {pgtest.Login(t, url, migrations.KeeperRole), true}, {pgtest.Login(t, url, migrations.ServiceRole), false}} {
		if owns, err := postgres.Owns(t.Context(), c.url); err != nil || owns != c.owns {
			t.Errorf("a role could see every shop: %v, %v; want %v", owns, err, c.owns)
		}
	}
	_, another := shop.NewKey(shop.Admin)
	another.Shop = "north"
	for what, err := range map[string]error{
		"a key is made":       s.CreateKey(t.Context(), another),
		"a key is revoked":    s.RevokeKey(t.Context(), k.Prefix),
		"a catalogue is made": s.EnsureCatalog(t.Context(), "north", "second"),
	} {
		if err == nil {
			t.Errorf("%s without the owner", what)
		}
	}
}

// TestARequestWithoutItsKeySeesNothing: whatever shop the code names.
func TestARequestWithoutItsKeySeesNothing(t *testing.T) {
	t.Parallel()
	s, owner, _ := withLogins(t)
	two := twoShops(t, owner)
	in := shop.Place{Shop: two.north, Catalog: "north"}
	for name, ctx := range map[string]context.Context{
		"no key":            t.Context(),
		"the other's key":   shop.WithKey(t.Context(), two.southKey.Hash),
		"a key of nobody's": shop.WithKey(t.Context(), [32]byte{1}),
	} {
		if _, err := s.Describe(ctx, in, 1); !errors.Is(err, catalog.ErrNotFound) {
			t.Errorf("%s: %v", name, err)
		}
		if _, err := s.Describe(ctx, shop.Place{Shop: shop.Everywhere, Catalog: "north"}, 1); !errors.Is(err, catalog.ErrNotFound) {
			t.Errorf("%s, asking for every shop: %v", name, err)
		}
	}
}

// TestAKeyThatIsRevokedMeanwhileEndsItsDraft: what it has written so far goes.
func TestAKeyThatIsRevokedMeanwhileEndsItsDraft(t *testing.T) {
	t.Parallel()
	s, owner, _ := withLogins(t)
	two := twoShops(t, owner)
	in := shop.Place{Shop: two.north, Catalog: "north"}
	parts := shop.PartsOf(contents(t, 20))
	dampers := parts.Dampers
	parts.Dampers = func(yield func(catalog.Damper, error) bool) {
		if err := owner.RevokeKey(t.Context(), two.northKey.Prefix); err != nil {
			t.Error(err)
		}
		dampers(yield)
	}
	if _, err := s.Draft(shop.WithKey(t.Context(), two.northKey.Hash), in, parts, "", "a test", nil); !errors.Is(err, shop.ErrKeyEnded) {
		t.Errorf("a draft by a revoked key: %v", err)
	}
	if list, err := owner.Revisions(t.Context(), in, 0, 10); err != nil || len(list) != 1 {
		t.Errorf("%d revisions are left, %v", len(list), err)
	}
}
