package main

import (
	"context"
	"time"

	"midstroke/internal/batch"
	"midstroke/internal/batchjob"
	"midstroke/internal/catalog"
	"midstroke/internal/jobs"
	"midstroke/internal/library"
	"midstroke/internal/postgres"
	"midstroke/internal/shop"
)

// batchTimeout is how long one attempt at a file of requests may take. The next one goes on
// where it was.
const batchTimeout = 6 * time.Hour

// batchKind says how files of requests are answered in the background: of each shop one
// at a time, so that the processors are shared among shops.
func (s *supervisor) batchKind(store *postgres.Store) jobs.Kind[postgres.BatchArgs] {
	runner := &batch.Runner{Keeper: store, Snapshot: s.snapshotOf, Turn: s.rowsTurn, Keep: s.keepBatches}
	return jobs.Kind[postgres.BatchArgs]{
		Timeout: batchTimeout, AtOnce: max(4, s.threads.Processors()), OfShop: 1,
		// A file that can't be answered ends its job. What fails otherwise is the database or the
		// process, which come back.
		Again: func(attempts int) (time.Duration, bool) {
			return min(time.Duration(attempts)*time.Second, time.Minute), attempts < 1000
		},
		Do: func(ctx context.Context, j jobs.Job[postgres.BatchArgs]) error {
			return runner.Do(ctx, j.Args.Shop, j.Args.ID)
		},
	}
}

// snapshotOf gives what the rows of a job are answered from, with the shop's stock of now.
func (s *supervisor) snapshotOf(ctx context.Context, j *batchjob.Job) (*catalog.Snapshot, error) {
	select {
	case <-s.library.Known():
	case <-ctx.Done():
		return nil, shop.ErrUnreachable
	}
	held, err := s.library.Revision(ctx, library.Wanted{Place: j.Place, Revision: j.Revision})
	if err != nil {
		return nil, err
	}
	if stock := s.stocks.Of(j.Shop); j.Place.Shop == j.Shop && !stock.Empty() {
		return held.Snapshot.WithStock(stock, true), nil
	}
	return held.Snapshot, nil
}
