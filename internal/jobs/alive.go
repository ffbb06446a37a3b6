package jobs

import (
	"context"
	"fmt"
	"log/slog"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"
)

const (
	// aliveClass is the first half of the advisory locks by which processes show that
	// they are alive.
	aliveClass = 0x6d6a6f62
	// lookEvery is how often jobs are looked for that a dead process left behind, and
	// grace how long this process has to be alive before it looks: when the database has
	// been away, all lose their locks at once.
	lookEvery = 3 * time.Second
	grace     = 5 * time.Second
)

// keepAlive shows until ctx ends that a client is alive, and takes up the jobs of clients
// that aren't. A process that is killed loses its connection, and with it its lock.
func keepAlive(ctx context.Context, pool *pgxpool.Pool, id string, log *slog.Logger) {
	for ctx.Err() == nil {
		if err := holdLock(ctx, pool, id, log); err != nil && ctx.Err() == nil {
			log.Debug("the lock of the jobs was lost", "error", err)
		}
		select {
		case <-ctx.Done():
		case <-time.After(pause):
		}
	}
}

// holdLock holds the lock until its connection is lost.
func holdLock(ctx context.Context, pool *pgxpool.Pool, id string, log *slog.Logger) error {
	pooled, err := pool.Acquire(ctx)
	if err != nil {
		return err
	}
	conn := pooled.Hijack() // its lock mustn't go back into the pool
	defer func() {
		ending, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopTime)
		defer cancel()
		_ = conn.Close(ending) // lost already, or no longer wanted
	}()
	ask := func(sql string, args ...any) (int64, error) {
		asking, cancel := context.WithTimeout(ctx, grace)
		defer cancel()
		tag, err := conn.Exec(asking, sql, args...)
		return tag.RowsAffected(), err
	}
	if _, err := ask("SELECT pg_advisory_lock($1, hashtext($2))", aliveClass, id); err != nil {
		return fmt.Errorf("show that a process is alive: %w", err)
	}
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	for since := time.Now(); ; {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-tick.C:
		}
		if time.Since(since) < grace {
			continue
		}
		left, err := ask(takeUp, aliveClass, grace.Seconds())
		if err != nil {
			return fmt.Errorf("look for jobs that were left behind: %w", err)
		}
		if left > 0 {
			log.Warn("took up jobs that a process left behind", "jobs", left)
		}
	}
}

// takeUp lets jobs be done again whose process holds no lock.
const takeUp = `
	UPDATE river_job SET state = 'available', scheduled_at = now()
	WHERE state = 'running' AND attempted_at < now() - make_interval(secs => $2)
	AND NOT EXISTS (
		SELECT FROM pg_locks l
		WHERE l.locktype = 'advisory' AND l.granted AND l.objsubid = 2
		AND l.database = (SELECT oid FROM pg_database WHERE datname = current_database())
		AND l.classid = $1::integer::oid AND l.objid = hashtext(attempted_by[array_upper(attempted_by, 1)])::oid)`
