package pgtest_test

import (
	"context"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/postgres/pgtest"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

func connect(tb testing.TB, url string) *pgx.Conn {
	tb.Helper()
	conn, err := pgx.Connect(context.Background(), url)
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() { _ = conn.Close(context.Background()) })
	// Row-level security shows no row to who doesn't say whose are wanted.
	if _, err := conn.Exec(context.Background(), "SELECT set_config('midstroke.shop', '*', false)"); err != nil {
		tb.Fatal(err)
	}
	return conn
}

func TestNewDatabaseIsMigratedOwnedAndAlone(t *testing.T) {
	url := pgtest.NewDatabase(t)
	conn := connect(t, url)
	if _, err := conn.Exec(t.Context(), "INSERT INTO shops (name) VALUES ('corner garage')"); err != nil {
		t.Fatal(err)
	}
	var shops int
	if err := connect(t, pgtest.NewDatabase(t)).QueryRow(t.Context(), "SELECT count(*) FROM shops").Scan(&shops); err != nil || shops != 0 {
		t.Errorf("another test's database has %d shops, %v", shops, err)
	}
	var super, owner bool
	if err := conn.QueryRow(t.Context(), `
		SELECT rolsuper, pg_get_userbyid(datdba) = current_user
		FROM pg_roles, pg_database WHERE rolname = current_user AND datname = current_database()`).Scan(&super, &owner); err != nil {
		t.Fatal(err)
	}
	if super || !owner {
		t.Errorf("the role is a superuser: %v, owns the database: %v", super, owner)
	}
}

func TestDatabaseGoesWithItsTest(t *testing.T) {
	var name string
	t.Run("the test", func(t *testing.T) {
		url := pgtest.Empty(t)
		conn, err := pgx.Connect(t.Context(), url)
		if err != nil {
			t.Fatal(err)
		}
		// Left open on purpose.
		if err := conn.QueryRow(t.Context(), "SELECT current_database()").Scan(&name); err != nil {
			t.Fatal(err)
		}
	})
	if !strings.HasPrefix(name, "midstroke_test_") {
		t.Errorf("the test's database was %q", name)
	}
	var left bool
	err := connect(t, pgtest.Empty(t)).QueryRow(t.Context(), "SELECT EXISTS (SELECT FROM pg_database WHERE datname = $1)", name).Scan(&left)
	if err != nil || left {
		t.Errorf("%s is still there: %v, %v", name, left, err)
	}
}

func BenchmarkNewDatabase(b *testing.B) {
	for b.Loop() {
		b.StopTimer()
		one := &once{TB: b}
		b.StartTimer()
		pgtest.NewDatabase(one)
		one.end()
	}
}

// once is a test that ends when told to.
type once struct {
	testing.TB
	cleanups []func()
}

func (o *once) Cleanup(f func()) { o.cleanups = append(o.cleanups, f) }

func (o *once) end() {
	for _, f := range o.cleanups {
		f()
	}
}
