package main

import (
	"context"
	"time"

	"midstroke/internal/library"
	"midstroke/internal/postgres"
)

// upkeepEvery is how often what is too old is deleted.
const upkeepEvery = time.Hour

// keepUp deletes what is too old, at once and then regularly, until ctx ends.
func (s *supervisor) keepUp(ctx context.Context, store *postgres.Store) {
	tick := time.NewTicker(upkeepEvery)
	defer tick.Stop()
	for {
		s.clearDrafts(ctx, store)
		s.clearOld(ctx, store)
		s.clearQuotes(ctx, store)
		if _, err := store.ForgetBatches(ctx); err != nil && ctx.Err() == nil {
			s.log.Warn("old answers to files could not be deleted", "error", err)
		}
		if err := store.ForgetAnswers(ctx); err != nil && ctx.Err() == nil {
			s.log.Warn("old answers could not be deleted", "error", err)
		}
		if err := store.ForgetDeliveries(ctx); err != nil && ctx.Err() == nil {
			s.log.Warn("old deliveries could not be deleted", "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// clearDrafts deletes the drafts that nobody has used for a long time.
func (s *supervisor) clearDrafts(ctx context.Context, store *postgres.Store) {
	if s.keepDrafts <= 0 {
		return
	}
	discarded, err := store.DiscardUnused(ctx, time.Now().Add(-s.keepDrafts))
	for _, n := range discarded {
		s.library.Forget(library.Wanted{Place: n.Place, Revision: n.Number, Draft: true})
		s.log.Info("deleted an unused draft", "catalog", n.Catalog, "revision", n.Number)
	}
	if err != nil && ctx.Err() == nil {
		s.log.Warn("unused drafts could not be deleted", "error", err)
	}
}

// clearOld deletes the published revisions that are more than are to be kept.
func (s *supervisor) clearOld(ctx context.Context, store *postgres.Store) {
	if s.keepRevisions <= 0 {
		return
	}
	discarded, err := store.DiscardOld(ctx, s.keepRevisions)
	for _, n := range discarded {
		for _, draft := range []bool{true, false} {
			s.library.Forget(library.Wanted{Place: n.Place, Revision: n.Number, Draft: draft})
		}
		s.log.Info("deleted an old revision", "catalog", n.Catalog, "revision", n.Number)
	}
	if err != nil && ctx.Err() == nil {
		s.log.Warn("old revisions could not be deleted", "error", err)
	}
}

// clearQuotes erases the quotes that nobody has changed for a long time.
func (s *supervisor) clearQuotes(ctx context.Context, store *postgres.Store) {
	if s.keepQuotes <= 0 {
		return
	}
	erased, err := store.ForgetQuotes(ctx, time.Now().Add(-s.keepQuotes))
	if erased > 0 {
		s.log.Info("erased old quotes", "quotes", erased)
	}
	if err != nil && ctx.Err() == nil {
		s.log.Warn("old quotes could not be erased", "error", err)
	}
}
