// Package librarytest makes a library of snapshots that a test has at hand.
package librarytest

import (
	"context"
	"fmt"
	"log/slog"
	"sync"

	"midstroke/internal/catalog"
	"midstroke/internal/library"
	"midstroke/internal/shop"
)

// Source is a library with what it loads from. The zero value is of no use; New
// makes one.
type Source struct {
	*library.Library

	mu        sync.Mutex
	snapshots map[library.Wanted]*catalog.Snapshot
	releases  map[string]shop.Release
	// Loaded lists what was loaded, as "owner name number".
	loaded []string
	// Instead, where set, loads what isn't there.
	Instead library.Load
}

// New makes a library of the shop 1 with snapshots that are published.
func New(snapshots ...*catalog.Snapshot) *Source {
	s := Empty()
	for _, snapshot := range snapshots {
		s.Publish(1, snapshot)
	}
	return s
}

// Empty makes a library to which nobody has said yet what there is.
func Empty() *Source {
	s := &Source{snapshots: map[library.Wanted]*catalog.Snapshot{}, releases: map[string]shop.Release{}}
	s.Library = library.New(library.Config{Load: s.load, Keep: "demo", Log: slog.New(slog.DiscardHandler)})
	return s
}

// Put makes a revision one that can be loaded by its number.
func (s *Source) Put(owner int64, snapshot *catalog.Snapshot) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.snapshots[library.Wanted{Place: shop.Place{Shop: owner, Catalog: snapshot.Name()}, Revision: snapshot.Revision()}] = snapshot
}

// Publish makes a snapshot the newest of its catalogue and waits until it is
// answered from.
func (s *Source) Publish(owner int64, snapshot *catalog.Snapshot) {
	s.Put(owner, snapshot)
	s.mu.Lock()
	name := snapshot.Name()
	s.releases[name] = shop.Release{
		Owner: owner, Catalog: name, Revision: snapshot.Revision(), Identity: fmt.Sprintf("%p", snapshot),
		Counts: shop.Counts{
			Dampers: len(snapshot.Dampers()), Sleeves: len(snapshot.Sleeves()), Spacers: len(snapshot.Spacers()), Adapters: len(snapshot.Adapters()),
		},
	}
	all := make([]shop.Release, 0, len(s.releases))
	for _, r := range s.releases {
		all = append(all, r)
	}
	r := s.releases[name]
	s.mu.Unlock()
	s.Announce(all)
	if err := s.Published(context.Background(), r); err != nil {
		panic(err) // it is at hand
	}
}

// Loads lists what was loaded, as "owner name number", and forgets it.
func (s *Source) Loads() []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	loaded := s.loaded
	s.loaded = nil
	return loaded
}

func (s *Source) load(ctx context.Context, w library.Wanted) (*catalog.Snapshot, error) {
	s.mu.Lock()
	s.loaded = append(s.loaded, fmt.Sprint(w.Shop, " ", w.Catalog, " ", w.Revision))
	published := w
	published.Draft = false // it is nothing else by its number
	snapshot, instead := s.snapshots[published], s.Instead
	s.mu.Unlock()
	switch {
	case snapshot != nil:
		return snapshot, nil
	case instead != nil:
		return instead(ctx, w)
	}
	return nil, catalog.ErrNotFound
}
