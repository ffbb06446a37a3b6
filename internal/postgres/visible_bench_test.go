package postgres_test

import (
	"context"
	"fmt"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/postgres"
	"midstroke/internal/postgres/pgtest"
	"midstroke/internal/shop"
)

// BenchmarkPublishToVisible goes back and forth between two revisions on one
// store and waits until another has loaded what is current then.
func BenchmarkPublishToVisible(b *testing.B) {
	for _, n := range []int{1_000, 20_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			url := pgtest.NewDatabase(b)
			s, replica := open(b, url), open(b, url)
			if err := s.EnsureCatalog(b.Context(), "corner garage", "own"); err != nil {
				b.Fatal(err)
			}
			publish(b, s, contents(b, n))
			publish(b, s, contents(b, n))
			ctx, cancel := context.WithCancel(b.Context())
			loaded, ended := make(chan *catalog.Snapshot, 1), make(chan struct{})
			go func() {
				defer close(ended)
				last := ""
				_ = replica.Watch(ctx, postgres.Watcher{Published: func(all []shop.Release) {
					if all[0].Identity == last {
						return
					}
					last = all[0].Identity
					if snapshot, err := replica.Newest(ctx, all[0].Catalog); err == nil {
						loaded <- snapshot
					}
				}})
			}()
			<-loaded
			for i := 0; b.Loop(); i++ {
				number := 1 + i%2
				if _, err := s.Release(ctx, shop.Place{Catalog: "own"}, number, shop.RollBack, "a benchmark", func(shop.Revision) error { return nil }); err != nil {
					b.Fatal(err)
				}
				if got := (<-loaded).Revision(); got != number {
					b.Fatalf("revision %d is loaded, want %d", got, number)
				}
			}
			cancel()
			<-ended
		})
	}
}
