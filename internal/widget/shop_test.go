//go:build browser

package widget_test

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"sync"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/httpapi"
	"midstroke/internal/library"
	"midstroke/internal/library/librarytest"
	"midstroke/internal/postgres"
	"midstroke/internal/postgres/pgtest"
	"midstroke/internal/shop"
	"midstroke/testdata/demo"
)

// A shopService is the service over a real Postgres, in which the shop "corner" has the
// demo's parts as a catalogue of its own, revision 1.
type shopService struct {
	*service
	owner *postgres.Store
	// key is a server's key of the shop.
	key string
}

func newShopService(tb testing.TB) *shopService {
	tb.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	url := pgtest.NewDatabase(tb)
	owner, err := postgres.Open(ctx, url)
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(owner.Close)
	var as postgres.Logins
	as.Service, as.Keeper = pgtest.ServiceLogins(tb, url)
	store, err := postgres.OpenAs(ctx, as)
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(store.Close)
	s := &shopService{owner: owner}
	if err := owner.EnsureCatalog(ctx, "corner", "corner"); err != nil {
		tb.Fatal(err)
	}
	s.publish(tb, demo.Contents())
	s.key = s.newKey(tb, shop.Key{}, shop.Server)
	ring, stocks := new(shop.Keyring), new(library.Stocks)
	released := librarytest.New(catalog.NewSnapshot("demo", 7, demo.Contents()))
	released.Instead = func(ctx context.Context, w library.Wanted) (*catalog.Snapshot, error) {
		return store.Revision(ctx, w.Place, w.Revision)
	}
	s.service = newServiceOn(tb, demo.Contents(), func(c *httpapi.Config) {
		c.Library, c.Keys, c.FindKey, c.Stocks = released.Library, ring, store.FindKey, stocks
		c.Quotes = func() httpapi.Quotes { return store }
		c.Stock = func() httpapi.Stock { return store }
		c.Revisions = func() httpapi.Revisions { return store }
	})
	ready, ended := make(chan struct{}), make(chan struct{})
	var once sync.Once
	demoRelease, _ := released.Find("demo")
	go func() {
		defer close(ended)
		_ = store.Watch(ctx, postgres.Watcher{Keys: ring.Replace, Stock: stocks.Replace, Published: func(all []shop.Release) {
			released.Announce(append(all, demoRelease))
			once.Do(func() { close(ready) })
		}})
	}()
	tb.Cleanup(func() { cancel(); <-ended })
	<-ready
	return s
}

// publish makes contents the shop's newest revision.
func (s *shopService) publish(tb testing.TB, contents catalog.Contents) {
	tb.Helper()
	if _, err := s.owner.Publish(context.Background(), "corner", contents, ""); err != nil {
		tb.Fatal(err)
	}
}

// newKey makes a key of the shop, with what is set in like.
func (s *shopService) newKey(tb testing.TB, like shop.Key, use shop.Use) string {
	tb.Helper()
	text, key := shop.NewKey(use)
	key.Shop, key.Origins, key.KeepsQuotes = "corner", like.Origins, like.KeepsQuotes
	if err := s.owner.CreateKey(context.Background(), key); err != nil {
		tb.Fatal(err)
	}
	return text
}

// stock sets lines of the shop's stock, as CSV.
func (s *shopService) stock(tb testing.TB, csv string) {
	tb.Helper()
	r, err := http.NewRequest(http.MethodPut, s.URL+"/v1/stock", bytes.NewReader([]byte(csv)))
	if err != nil {
		tb.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+s.key)
	r.Header.Set("Content-Type", "text/csv")
	response, err := http.DefaultClient.Do(r)
	if err != nil {
		tb.Fatal(err)
	}
	defer response.Body.Close()
	if response.StatusCode != http.StatusOK {
		tb.Fatalf("the stock isn't taken: %s", response.Status)
	}
}

// ask gives what a path of the service answers the shop.
func ask[T any](tb testing.TB, s *shopService, path string) T {
	tb.Helper()
	r, err := http.NewRequest(http.MethodGet, s.URL+path, nil)
	if err != nil {
		tb.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+s.key)
	response, err := http.DefaultClient.Do(r)
	if err != nil {
		tb.Fatal(err)
	}
	defer response.Body.Close()
	var value T
	if err := json.NewDecoder(response.Body).Decode(&value); err != nil || response.StatusCode != http.StatusOK {
		tb.Fatalf("%s: %s, %v", path, response.Status, err)
	}
	return value
}

// count gives how many quotes the shop has.
func (s *shopService) count(tb testing.TB) int {
	tb.Helper()
	return len(ask[struct{ Items []struct{} }](tb, s, "/v1/quotes?limit=500").Items)
}
