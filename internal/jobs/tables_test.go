package jobs_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/riverqueue/river/rivermigrate"

	"midstroke/internal/postgres/pgtest"
)

// described is what River relies on: the columns and constraints of its tables, and its
// function.
const described = `
	SELECT attrelid::regclass || '.' || attname || ' ' || format_type(atttypid, atttypmod) || CASE WHEN attnotnull THEN ' not null' ELSE '' END
		|| coalesce(' default ' || pg_get_expr(adbin, adrelid), '')
	FROM pg_attribute LEFT JOIN pg_attrdef ON adrelid = attrelid AND adnum = attnum
	WHERE attrelid = ANY ($1::regclass[]) AND attnum > 0 AND NOT attisdropped
	UNION ALL SELECT conrelid::regclass || ' ' || conname || ' ' || pg_get_constraintdef(oid) FROM pg_constraint WHERE conrelid = ANY ($1::regclass[]) AND contype <> 'n'
	UNION ALL SELECT indexdef FROM pg_indexes WHERE indexname = 'river_job_unique_idx'
	UNION ALL SELECT regexp_replace(prosrc, '\s+', ' ', 'g') FROM pg_proc WHERE proname = 'river_job_state_in_bitmask'
	UNION ALL SELECT 'state ' || enumlabel FROM pg_enum WHERE enumtypid = 'river_job_state'::regtype`

// TestTheTablesAreRivers compares them with those that River's own migrations make. It
// fails where a new version of River needs others.
func TestTheTablesAreRivers(t *testing.T) {
	t.Parallel()
	pool, err := pgxpool.New(t.Context(), pgtest.Empty(t))
	if err != nil {
		t.Fatal(err)
	}
	defer pool.Close()
	migrator, err := rivermigrate.New(riverpgxv5.New(pool), nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := migrator.Migrate(t.Context(), rivermigrate.DirectionUp, nil); err != nil {
		t.Fatal(err)
	}
	ours, err := pgx.Connect(t.Context(), pgtest.NewDatabase(t))
	if err != nil {
		t.Fatal(err)
	}
	defer ours.Close(t.Context())
	theirs, err := pool.Acquire(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer theirs.Release()
	tables := []string{"river_job", "river_leader", "river_queue"}
	list := func(conn *pgx.Conn) []string {
		rows, err := conn.Query(t.Context(), described, tables)
		if err != nil {
			t.Fatal(err)
		}
		all, err := pgx.CollectRows(rows, pgx.RowTo[string])
		if err != nil || len(all) < 40 {
			t.Fatalf("%d lines, %v", len(all), err)
		}
		slices.Sort(all)
		return all
	}
	if got, want := list(ours), list(theirs.Conn()); !slices.Equal(got, want) {
		t.Errorf("ours:\n%s\nRiver's:\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	// River's other tables: it uses the first with other databases, and the second for
	// its own migrations.
	var others []string
	if err := theirs.QueryRow(t.Context(), "SELECT array_agg(relname ORDER BY relname) FROM pg_class WHERE relname LIKE 'river\\_%' AND relkind = 'r' AND relname <> ALL ($1)", tables).Scan(&others); err != nil {
		t.Fatal(err)
	}
	if want := []string{"river_migration", "river_notification"}; !slices.Equal(others, want) {
		t.Errorf("River has the tables %q besides, want %q", others, want)
	}
}

// TestJobsAreFoundByIndex: policies keep the planner from an index over the state.
func TestJobsAreFoundByIndex(t *testing.T) {
	t.Parallel()
	w := newWorkplace(t)
	w.exec(`INSERT INTO river_job (args, kind, queue, state, finalized_at)
		SELECT '{"shop": 1}', 'chore', 'chore', 'completed', now() FROM generate_series(1, 20000)`)
	w.exec("ANALYZE river_job")
	for index, sql := range map[string]string{
		"river_job_available": "SELECT FROM river_job WHERE state = 'available' AND queue = 'chore' AND scheduled_at <= now() ORDER BY priority, scheduled_at, id LIMIT 8 FOR UPDATE SKIP LOCKED",
		"river_job_waiting":   "SELECT FROM river_job WHERE state IN ('retryable', 'scheduled') AND priority >= 0 AND queue IS NOT NULL AND scheduled_at <= now() ORDER BY priority, scheduled_at, id LIMIT 8 FOR UPDATE",
		"river_job_running":   "SELECT FROM river_job WHERE state = 'running' AND attempted_at < now() - interval '1 hour' AND id > 0 ORDER BY id LIMIT 8",
	} {
		rows, err := w.store.Working().Query(t.Context(), "EXPLAIN "+sql)
		if err != nil {
			t.Fatal(err)
		}
		plan, err := pgx.CollectRows(rows, pgx.RowTo[string])
		if got := fmt.Sprint(plan); err != nil || !strings.Contains(got, index) || strings.Contains(got, "Seq Scan on river_job") {
			t.Errorf("%s: %v: %s", index, err, strings.Join(plan, "\n"))
		}
	}
}
