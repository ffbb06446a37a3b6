// Package jobs does work in the background that outlives the request and the process
// that asked for it. Jobs are rows in Postgres, kept and worked by River: a job that is
// put in by a transaction is there if that commits, and is done at least once, by any
// process that serves.
//
// A kind of job is a type with Args and a Kind that says how it is done. The tables
// are those of migration 13.
package jobs

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
)

// Args say what a job has to do. They are kept with it as JSON, so fields may be added
// and never renamed.
type Args interface {
	// Kind names the kind of job, in lower case. It never changes.
	Kind() string
	// Owner is the number of the shop that the job works for. Embed Of for it.
	Owner() int64
}

// Of is the shop that a job works for, to be embedded in its Args. By this name the
// database knows whose the job is.
type Of struct {
	Shop int64 `json:"shop"`
}

// Owner gives the shop's number.
func (o Of) Owner() int64 { return o.Shop }

// Job is an attempt at a job.
type Job[A Args] struct {
	ID      int64
	Attempt int // 1 for the first
	Args    A
}

// Kind says how jobs of one kind are done.
type Kind[A Args] struct {
	// Do does a job. It may be called again for a job that was done, where the process
	// or the database ended before that was noted. Its context ends at the timeout and
	// when the process stops, and then the job is tried again.
	Do func(context.Context, Job[A]) error
	// Timeout is how long an attempt may take.
	Timeout time.Duration
	// Again says how long to wait after so many attempts have failed, and whether to try
	// again at all.
	Again func(attempts int) (time.Duration, bool)
	// AtOnce is how many jobs of the kind a process does at once, and OfShop how many of
	// them may be for one shop. The others of that shop wait while jobs of other shops
	// pass.
	AtOnce, OfShop int
}

// Kinds are the kinds of jobs that a process does.
type Kinds struct {
	workers *river.Workers
	queues  map[string]river.QueueConfig
}

// NewKinds gives no kinds.
func NewKinds() *Kinds {
	return &Kinds{workers: river.NewWorkers(), queues: map[string]river.QueueConfig{}}
}

// Add adds a kind of jobs. Each kind has a queue of its own, so that none waits for
// another.
func Add[A Args](k *Kinds, kind Kind[A]) {
	var a A
	river.AddWorker(k.workers, &worker[A]{kind: kind, turns: newTurns(kind.OfShop)})
	k.queues[a.Kind()] = river.QueueConfig{MaxWorkers: kind.AtOnce}
}

// worker does the jobs of a kind for River.
type worker[A Args] struct {
	river.WorkerDefaults[A]
	kind  Kind[A]
	turns *turns
}

// Timeout implements river.Worker.
func (w *worker[A]) Timeout(*river.Job[A]) time.Duration { return w.kind.Timeout }

// NextRetry implements river.Worker.
func (w *worker[A]) NextRetry(job *river.Job[A]) time.Time {
	wait, _ := w.kind.Again(job.Attempt)
	return time.Now().Add(wait)
}

// Work implements river.Worker.
func (w *worker[A]) Work(ctx context.Context, job *river.Job[A]) error {
	wait, done := w.turns.take(ctx, job.Args.Owner())
	if done == nil {
		return river.JobSnooze(wait)
	}
	defer done()
	err := w.kind.Do(ctx, Job[A]{ID: job.ID, Attempt: job.Attempt, Args: job.Args})
	switch {
	case err == nil:
		return nil
	case errors.Is(ctx.Err(), context.Canceled): // the process stops, and the attempt doesn't count
		return errors.Join(err, ctx.Err())
	}
	if _, again := w.kind.Again(job.Attempt); !again {
		return river.JobCancel(err)
	}
	return err
}

// mostAttempts is what River is told, since Kind.Again decides.
const mostAttempts = math.MaxInt16

// InsertSQL gives the statements of a WITH query that put in a job of a kind, whose name
// is a constant, for each row of a query before them, source, which has its Args as args.
// The last of them is put. It saves the round trip that Insert takes.
func InsertSQL(kind, source string) string {
	return fmt.Sprintf(`put_jobs AS (
			INSERT INTO river_job (args, kind, queue, max_attempts) SELECT args, '%[1]s', '%[1]s', %[2]d FROM %[3]s RETURNING 1),
		put AS (SELECT pg_notify(current_schema() || '.river_insert', '{"queue":"%[1]s"}') FROM put_jobs LIMIT 1)`, kind, mostAttempts, source)
}

// Withdraw ends the jobs of a kind with these Args that wait, as part of a transaction.
// Those that are being done go on.
func Withdraw(ctx context.Context, tx pgx.Tx, a Args) error {
	_, err := tx.Exec(ctx, `UPDATE river_job SET state = 'cancelled', finalized_at = now()
		WHERE kind = $1 AND args @> $2 AND state IN ('available', 'retryable', 'scheduled')`, a.Kind(), a)
	if err != nil {
		return fmt.Errorf("withdraw jobs: %w", err)
	}
	return nil
}

// inserter puts jobs in, by transactions of others.
var inserter = func() *river.Client[pgx.Tx] {
	client, err := river.NewClient(riverpgxv5.New(nil), &river.Config{})
	if err != nil {
		panic(err) // the settings are constant
	}
	return client
}()

// Insert puts jobs in. They are there if the transaction commits, and are begun soon
// after.
func Insert(ctx context.Context, tx pgx.Tx, all ...Args) error {
	if len(all) == 0 {
		return nil
	}
	params := make([]river.InsertManyParams, len(all))
	for i, a := range all {
		params[i] = river.InsertManyParams{Args: a, InsertOpts: &river.InsertOpts{Queue: a.Kind(), MaxAttempts: mostAttempts}}
	}
	if _, err := inserter.InsertManyTx(ctx, tx, params); err != nil {
		return fmt.Errorf("put in jobs: %w", err)
	}
	return nil
}
