package jobs

import (
	"context"
	"log/slog"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
)

const (
	// softStop is how long jobs under way may take when the process stops, and stopTime
	// how long it waits for all of it. A database that is frozen never notes what became
	// of them.
	softStop = 500 * time.Millisecond
	stopTime = 1500 * time.Millisecond
	// pause is how long to wait where the database doesn't answer at the start.
	pause = time.Second
	// keepDone is how long the rows of jobs stay that are done or given up.
	keepDone = time.Hour
)

// Run does jobs until ctx ends, over connections that log in as the keeper and see the
// rows of every shop.
func (k *Kinds) Run(ctx context.Context, pool *pgxpool.Pool, log *slog.Logger) {
	for len(k.queues) > 0 && ctx.Err() == nil {
		err := k.work(ctx, pool, log)
		if ctx.Err() != nil {
			return
		}
		log.Warn("jobs can't be done; trying again", "error", err)
		select {
		case <-ctx.Done():
		case <-time.After(pause):
		}
	}
}

// work does jobs until ctx ends. Its error says why it didn't begin.
func (k *Kinds) work(ctx context.Context, pool *pgxpool.Pool, log *slog.Logger) error {
	id := uuid.NewString()
	client, err := river.NewClient(riverpgxv5.New(pool), &river.Config{
		ID: id, Workers: k.workers, Queues: k.queues, Logger: quiet(log),
		SoftStopTimeout:             softStop,
		CompletedJobRetentionPeriod: keepDone, CancelledJobRetentionPeriod: keepDone,
		// Only the owner of an index may make it anew.
		ReindexerIndexNames: []string{},
	})
	if err != nil {
		return err
	}
	if err := client.Start(ctx); err != nil {
		return err
	}
	go keepAlive(ctx, pool, id, log)
	<-ctx.Done()
	select {
	case <-client.Stopped():
	case <-time.After(stopTime):
	}
	return nil
}

// quiet lets through what an operator has to know: River tells of every attempt that
// failed at the level of information.
func quiet(log *slog.Logger) *slog.Logger {
	return slog.New(aboveInfo{log.Handler()})
}

// aboveInfo lets through warnings and errors alone.
type aboveInfo struct{ slog.Handler }

// Enabled implements slog.Handler.
func (h aboveInfo) Enabled(ctx context.Context, l slog.Level) bool {
	return l > slog.LevelInfo && h.Handler.Enabled(ctx, l)
}

// WithAttrs implements slog.Handler.
func (h aboveInfo) WithAttrs(attrs []slog.Attr) slog.Handler {
	return aboveInfo{h.Handler.WithAttrs(attrs)}
}

// WithGroup implements slog.Handler.
func (h aboveInfo) WithGroup(name string) slog.Handler { return aboveInfo{h.Handler.WithGroup(name)} }
