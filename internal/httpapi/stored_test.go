package httpapi_test

import (
	"archive/zip"
	"bytes"
	"context"
	"fmt"
	"io"
	"slices"
	"sync"
	"testing"
	"time"

	"midstroke/internal/catalog"
	"midstroke/internal/httpapi"
	"midstroke/internal/library"
	"midstroke/internal/library/librarytest"
	"midstroke/internal/postgres"
	"midstroke/internal/postgres/pgtest"
	"midstroke/internal/shop"
	"midstroke/internal/table"
	"midstroke/internal/unit"
	"midstroke/testdata/demo"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

// newStoredShops is newShops on a real Postgres, kept up to date as the
// program does it, and with the rights that the program has. Each shop has an empty
// catalogue of its own name. The store that it gives is the owner's.
func newStoredShops(tb testing.TB) (*shops, *postgres.Store) {
	tb.Helper()
	return newShopsWith(tb, nil)
}

// newShopsWith is newStoredShops, where each shop is answered from contents, unless they
// are nil.
func newShopsWith(tb testing.TB, contents *catalog.Contents) (*shops, *postgres.Store) {
	tb.Helper()
	url := pgtest.NewDatabase(tb)
	owner, err := postgres.Open(context.Background(), url)
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(owner.Close)
	var as postgres.Logins
	as.Service, as.Keeper = pgtest.ServiceLogins(tb, url)
	store, err := postgres.OpenAs(context.Background(), as)
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(store.Close)
	s := &shops{
		service: &service{library: librarytest.New(demoSnapshot()), log: new(lockedBuffer)},
		ring:    new(shop.Keyring), text: map[string]string{}, stocks: new(library.Stocks),
	}
	for _, name := range []string{"north", "south"} {
		for _, use := range []shop.Use{shop.Widget, shop.Server, shop.Admin} {
			text, k := shop.NewKey(use)
			k.Shop = name
			if use == shop.Widget {
				k.Origins = []string{pageOrigin}
			}
			if err := owner.CreateKey(context.Background(), k); err != nil {
				tb.Fatal(err)
			}
			s.text[name+" "+use.String()] = text
		}
		text, k := shop.NewKey(shop.Widget)
		k.Shop, k.Origins, k.KeepsQuotes = name, []string{pageOrigin}, true
		if err := owner.CreateKey(context.Background(), k); err != nil {
			tb.Fatal(err)
		}
		s.text[name+" keeping widget"] = text
		if contents == nil {
			continue
		}
		if _, err := owner.Publish(context.Background(), name, *contents, ""); err != nil {
			tb.Fatal(err)
		}
	}
	s.library.Instead = func(ctx context.Context, w library.Wanted) (*catalog.Snapshot, error) {
		if w.Draft {
			return store.Drafted(ctx, w.Place, w.Revision)
		}
		return store.Revision(ctx, w.Place, w.Revision)
	}
	s.start(tb, httpapi.Config{Keys: s.ring, FindKey: store.FindKey, Batches: func() httpapi.Batches { return store }, Revisions: func() httpapi.Revisions { return store }, Quotes: func() httpapi.Quotes { return &countedQuotes{store, &s.computed} }, Stock: func() httpapi.Stock { return store }, Stocks: s.stocks, Webhooks: func() httpapi.Webhooks { return store }})
	s.store = store
	s.follow(tb, store)
	return s, owner
}

// follow keeps the service up to date until the test ends.
func (s *shops) follow(tb testing.TB, store *postgres.Store) {
	ctx, cancel := context.WithCancel(context.Background())
	ready, ended := make(chan struct{}), make(chan struct{})
	var once sync.Once
	demo, _ := s.library.Find("demo") // it stands in no database here
	go func() {
		defer close(ended)
		_ = store.Watch(ctx, postgres.Watcher{
			Keys:  s.ring.Replace,
			Stock: s.stocks.Replace,
			Published: func(all []shop.Release) {
				s.library.Announce(append(all, demo))
				once.Do(func() { close(ready) })
			},
		})
	}()
	tb.Cleanup(func() { cancel(); <-ended })
	<-ready
}

// archive zips a catalogue as an export would be.
func archive(tb testing.TB, c catalog.Contents) string {
	tb.Helper()
	var b bytes.Buffer
	if err := table.Write(&b, table.CSV, c, unit.Inches); err != nil {
		tb.Fatal(err)
	}
	return b.String()
}

// zipped zips files given as name, text, ….
func zipped(tb testing.TB, files ...string) string {
	tb.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := 0; i < len(files); i += 2 {
		w, err := z.Create(files[i])
		if err == nil {
			_, err = io.WriteString(w, files[i+1])
		}
		if err != nil {
			tb.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		tb.Fatal(err)
	}
	return b.String()
}

// coded is the demo with codes that begin with a mark of their own.
func coded(mark string) catalog.Contents {
	c := demo.Contents()
	c.Dampers = slices.Clone(c.Dampers)
	for i := range c.Dampers {
		c.Dampers[i].Code = mark + c.Dampers[i].Code
	}
	return c
}

// told is a revision as it is answered.
type told struct {
	Catalog, State, Note string
	Revision             int
	Current              *int
	BasedOn              *int   `json:"based_on"`
	CreatedBy            string `json:"created_by"`
	Publications         []struct {
		Action, By string
		At         time.Time
		Replaced   *int
	}
}

// upload brings a catalogue and gives the draft with its ETag.
func (s *shops) upload(tb testing.TB, name string, c catalog.Contents) (r told, tag string) {
	tb.Helper()
	a := s.do(tb, "POST", "/v1/catalogs/"+name+"/revisions?note=spring", archive(tb, c), append(s.bearer(name+" admin"), "Content-Type", "application/zip")...)
	r = decode[told](tb, a, 201)
	if want := fmt.Sprintf("/v1/catalogs/%s/revisions/%d", name, r.Revision); a.header.Get("Location") != want {
		tb.Errorf("Location %q, want %q", a.header.Get("Location"), want)
	}
	return r, a.header.Get("ETag")
}

func (s *shops) publish(tb testing.TB, name string, number int, tag string) *answer {
	tb.Helper()
	return s.do(tb, "POST", fmt.Sprintf("/v1/catalogs/%s/revisions/%d/publish", name, number), "", append(s.bearer(name+" admin"), "If-Match", tag)...)
}

// answeredFrom fails where a shop isn't answered from a revision, at once: the
// instance that published it answers from it.
func (s *shops) answeredFrom(tb testing.TB, name string, number int) {
	tb.Helper()
	if got := decode[from](tb, s.post(tb, "/v1/fits", eyeToEye, s.bearer(name+" server")...), 200); got.Catalog.Name != name || got.Catalog.Revision != number {
		tb.Fatalf("answered from %+v, want %s %d", got.Catalog, name, number)
	}
}
