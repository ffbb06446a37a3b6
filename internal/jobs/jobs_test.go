package jobs_test

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/jobs"
	"midstroke/internal/postgres"
	"midstroke/internal/postgres/pgtest"
	"midstroke/internal/shop"
	"midstroke/migrations"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

// chore is a job of these tests.
type chore struct {
	jobs.Of
	Name string `json:"name"`
}

func (chore) Kind() string { return "chore" }

// workplace is a database with two shops, as a service has it.
type workplace struct {
	*testing.T
	url   string
	store *postgres.Store
	keys  []shop.Key
}

func newWorkplace(t *testing.T) *workplace {
	t.Helper()
	url := pgtest.NewDatabase(t)
	owner, err := postgres.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(owner.Close)
	w := &workplace{T: t, url: url}
	for _, name := range []string{"north", "south"} {
		_, key := shop.NewKey(shop.Admin)
		key.Shop = name
		err := owner.EnsureCatalog(t.Context(), name, name)
		if err == nil {
			err = owner.CreateKey(t.Context(), key)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if w.keys, err = owner.Keys(t.Context(), ""); err != nil || len(w.keys) != 2 {
		t.Fatal(w.keys, err)
	}
	w.store, err = postgres.OpenAs(t.Context(), postgres.Logins{
		Service: pgtest.Login(t, url, migrations.ServiceRole), Keeper: pgtest.Login(t, url, migrations.KeeperRole),
	})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(w.store.Close)
	return w
}

// insert puts jobs in, and undoes that where commit is false.
func (w *workplace) insert(commit bool, all ...jobs.Args) {
	w.Helper()
	err := pgx.BeginFunc(w.Context(), w.store.Working(), func(tx pgx.Tx) error {
		if err := jobs.Insert(w.Context(), tx, all...); err != nil || commit {
			return err
		}
		return errUndone
	})
	if err != nil && (commit || !errors.Is(err, errUndone)) {
		w.Fatal(err)
	}
}

var errUndone = errors.New("undone")

// work does the chores until the test ends or stop is called.
func (w *workplace) work(kind jobs.Kind[chore]) (stop func()) {
	kinds := jobs.NewKinds()
	jobs.Add(kinds, kind)
	ctx, cancel := context.WithCancel(w.Context())
	var running sync.WaitGroup
	running.Go(func() { kinds.Run(ctx, w.store.Working(), slog.New(slog.DiscardHandler)) })
	stop = sync.OnceFunc(func() { cancel(); running.Wait() })
	w.Cleanup(stop)
	return stop
}

// within waits until something holds.
func (w *workplace) within(most time.Duration, what string, holds func() bool) {
	w.Helper()
	for end := time.Now().Add(most); !holds(); time.Sleep(20 * time.Millisecond) {
		if time.Now().After(end) {
			w.Fatalf("not within %s: %s", most, what)
		}
	}
}

// exec changes rows as the owner, who sees every shop's.
func (w *workplace) exec(sql string, args ...any) {
	w.Helper()
	conn := w.owner()
	if _, err := conn.Exec(w.Context(), sql, args...); err != nil {
		w.Fatal(err)
	}
}

func (w *workplace) owner() *pgx.Conn {
	w.Helper()
	conn, err := pgx.Connect(w.Context(), w.url)
	if err == nil {
		_, err = conn.Exec(w.Context(), "SET midstroke.shop = '*'")
	}
	if err != nil {
		w.Fatal(err)
	}
	w.Cleanup(func() { _ = conn.Close(context.Background()) })
	return conn
}

// once never tries again.
func once(int) (time.Duration, bool) { return 0, false }

func TestACommittedJobIsDoneAndAnUndoneOneIsNot(t *testing.T) {
	t.Parallel()
	w := newWorkplace(t)
	var done sync.Map
	w.work(jobs.Kind[chore]{AtOnce: 4, OfShop: 2, Timeout: time.Minute, Again: once, Do: func(_ context.Context, j jobs.Job[chore]) error {
		if _, twice := done.LoadOrStore(j.Args.Name, j.Args.Shop); twice || j.Attempt != 1 {
			t.Errorf("%q is done again, attempt %d", j.Args.Name, j.Attempt)
		}
		return nil
	}})
	w.insert(false, chore{jobs.Of{Shop: w.keys[0].ShopID}, "undone"})
	w.insert(true, chore{jobs.Of{Shop: w.keys[0].ShopID}, "first"}, chore{jobs.Of{Shop: w.keys[1].ShopID}, "second"})
	w.insert(true)
	w.within(10*time.Second, "both are done", func() bool {
		first, _ := done.Load("first")
		second, _ := done.Load("second")
		return first == w.keys[0].ShopID && second == w.keys[1].ShopID
	})
	if _, there := done.Load("undone"); there {
		t.Error("a job is done whose transaction was undone")
	}
}

// TestJobsPutInByAStatement: they are done, and those who do them hear of them as from
// Insert.
func TestJobsPutInByAStatement(t *testing.T) {
	t.Parallel()
	w := newWorkplace(t)
	listener := w.owner()
	if _, err := listener.Exec(t.Context(), `LISTEN "public.river_insert"`); err != nil {
		t.Fatal(err)
	}
	w.exec("WITH wanted AS (SELECT jsonb_build_object('shop', $1::bigint, 'name', n::text) AS args FROM generate_series(1, 3) n), "+
		jobs.InsertSQL(chore{}.Kind(), "wanted")+" SELECT count(*) FROM put", w.keys[0].ShopID)
	hearing, cancel := context.WithTimeout(t.Context(), 5*time.Second)
	defer cancel()
	heard, err := listener.WaitForNotification(hearing)
	if err != nil || heard.Payload != `{"queue":"chore"}` {
		t.Errorf("heard %+v, %v", heard, err)
	}
	var done atomic.Int32
	w.work(jobs.Kind[chore]{AtOnce: 4, OfShop: 4, Timeout: time.Minute, Again: once, Do: func(_ context.Context, j jobs.Job[chore]) error {
		if j.Args.Shop == w.keys[0].ShopID && j.Args.Name != "" {
			done.Add(1)
		}
		return nil
	}})
	w.within(10*time.Second, "all are done", func() bool { return done.Load() == 3 })
}

func TestAFailedJobIsTriedAgainUntilItIsGivenUp(t *testing.T) {
	t.Parallel()
	w := newWorkplace(t)
	var attempts atomic.Int32
	w.work(jobs.Kind[chore]{
		AtOnce: 1, OfShop: 1, Timeout: time.Minute,
		Again: func(attempts int) (time.Duration, bool) { return 200 * time.Millisecond, attempts < 3 },
		Do: func(context.Context, jobs.Job[chore]) error {
			attempts.Add(1)
			return errors.New("a test's")
		},
	})
	w.insert(true, chore{jobs.Of{Shop: w.keys[0].ShopID}, "fails"})
	conn := w.owner()
	w.within(15*time.Second, "it is given up", func() bool {
		var state string
		var errs int
		if err := conn.QueryRow(t.Context(), "SELECT state, coalesce(cardinality(errors), 0) FROM river_job").Scan(&state, &errs); err != nil {
			t.Fatal(err)
		}
		return state == "cancelled" && errs == 3
	})
	if n := attempts.Load(); n != 3 {
		t.Errorf("%d attempts", n)
	}
}

// TestNoShopHoldsUpAnother has hundreds of hanging jobs of one shop before the job of
// another.
func TestNoShopHoldsUpAnother(t *testing.T) {
	t.Parallel()
	w := newWorkplace(t)
	other := make(chan struct{})
	var hanging, most atomic.Int32
	stop := w.work(jobs.Kind[chore]{AtOnce: 8, OfShop: 3, Timeout: time.Minute, Again: once, Do: func(ctx context.Context, j jobs.Job[chore]) error {
		if j.Args.Name == "other" {
			close(other)
			return nil
		}
		if n := hanging.Add(1); n > most.Load() {
			most.Store(n)
		}
		defer hanging.Add(-1)
		<-ctx.Done()
		return ctx.Err()
	}})
	hang := make([]jobs.Args, 400)
	for i := range hang {
		hang[i] = chore{jobs.Of{Shop: w.keys[0].ShopID}, "hangs"}
	}
	w.insert(true, hang...)
	w.within(10*time.Second, "three hang", func() bool { return hanging.Load() == 3 })
	w.insert(true, chore{jobs.Of{Shop: w.keys[1].ShopID}, "other"})
	select {
	case <-other:
	case <-time.After(20 * time.Second):
		t.Error("the other shop's job is held up")
	}
	if n := most.Load(); n > 3 {
		t.Errorf("%d jobs of one shop at once", n)
	}
	begun := time.Now()
	stop()
	if took := time.Since(begun); took > 5*time.Second {
		t.Errorf("stopping with jobs that hang took %s", took)
	}
	var left int
	if err := w.owner().QueryRow(t.Context(), "SELECT count(*) FROM river_job WHERE state IN ('available', 'scheduled')").Scan(&left); err != nil || left != 400 {
		t.Errorf("%d of the 400 jobs wait for the next process, %v", left, err)
	}
}

// TestManyQuickJobsOfAShopPass: a place that is soon free is waited for.
func TestManyQuickJobsOfAShopPass(t *testing.T) {
	t.Parallel()
	w := newWorkplace(t)
	var done atomic.Int32
	w.work(jobs.Kind[chore]{AtOnce: 50, OfShop: 2, Timeout: time.Minute, Again: once, Do: func(context.Context, jobs.Job[chore]) error {
		time.Sleep(time.Millisecond)
		done.Add(1)
		return nil
	}})
	many := make([]jobs.Args, 500)
	for i := range many {
		many[i] = chore{jobs.Of{Shop: w.keys[0].ShopID}, "quick"}
	}
	w.insert(true, many...)
	w.within(20*time.Second, "all are done", func() bool { return done.Load() == 500 })
	var snoozed int
	if err := w.owner().QueryRow(t.Context(), "SELECT count(*) FROM river_job WHERE metadata ? 'snoozes'").Scan(&snoozed); err != nil || snoozed > 100 {
		t.Errorf("%d of 500 were told to come back, %v", snoozed, err)
	}
}

// TestJobsOfADeadProcessAreTakenUp: one that was killed noted nothing.
func TestJobsOfADeadProcessAreTakenUp(t *testing.T) {
	t.Parallel()
	w := newWorkplace(t)
	w.insert(true, chore{jobs.Of{Shop: w.keys[0].ShopID}, "left"})
	w.exec("UPDATE river_job SET state = 'running', attempt = 1, attempted_at = now() - interval '10 s', attempted_by = '{dead}'")
	done := make(chan int, 1)
	var slow atomic.Int32
	w.work(jobs.Kind[chore]{AtOnce: 2, OfShop: 2, Timeout: time.Minute, Again: once, Do: func(_ context.Context, j jobs.Job[chore]) error {
		if j.Args.Name == "left" {
			done <- j.Attempt
			return nil
		}
		slow.Add(1)
		time.Sleep(12 * time.Second)
		return nil
	}})
	// A slow job of a living process stays its own.
	w.insert(true, chore{jobs.Of{Shop: w.keys[1].ShopID}, "slow"})
	select {
	case attempt := <-done:
		if attempt != 2 {
			t.Errorf("attempt %d", attempt)
		}
	case <-time.After(30 * time.Second):
		t.Fatal("it isn't taken up")
	}
	conn := w.owner()
	w.within(20*time.Second, "the slow one is done", func() bool {
		var state string
		if err := conn.QueryRow(t.Context(), "SELECT state FROM river_job WHERE args ->> 'name' = 'slow'").Scan(&state); err != nil {
			t.Fatal(err)
		}
		return state == "completed"
	})
	if n := slow.Load(); n != 1 {
		t.Errorf("the slow job was begun %d times", n)
	}
}

// TestARequestPutsInJobsOfItsShopAlone works with the rights of requests.
func TestARequestPutsInJobsOfItsShopAlone(t *testing.T) {
	t.Parallel()
	w := newWorkplace(t)
	conn, err := pgx.Connect(t.Context(), pgtest.Login(t, w.url, migrations.ServiceRole))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	if _, err := conn.Exec(t.Context(), "SELECT set_config('midstroke.key', $1, false)", fmt.Sprintf("%x", w.keys[0].Hash)); err != nil {
		t.Fatal(err)
	}
	insert := func(whose int64) error {
		return pgx.BeginFunc(t.Context(), conn, func(tx pgx.Tx) error {
			return jobs.Insert(t.Context(), tx, chore{jobs.Of{Shop: whose}, "a request's"})
		})
	}
	if err := insert(w.keys[0].ShopID); err != nil {
		t.Errorf("its own: %v", err)
	}
	if err := insert(w.keys[1].ShopID); err == nil || !strings.Contains(err.Error(), "row-level security") {
		t.Errorf("another's: %v", err)
	}
	w.insert(true, chore{jobs.Of{Shop: w.keys[1].ShopID}, "another's"})
	var seen int
	if err := conn.QueryRow(t.Context(), "SELECT count(*) FROM river_job").Scan(&seen); err != nil || seen != 1 {
		t.Errorf("the request sees %d jobs, %v", seen, err)
	}
	for _, table := range []string{"river_leader", "river_queue"} {
		if _, err := conn.Exec(t.Context(), "SELECT FROM "+table); err == nil {
			t.Errorf("the request reads %s", table)
		}
	}
}
