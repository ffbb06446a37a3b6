package migrations_test

import (
	"errors"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/postgres/pgtest"
	"midstroke/migrations"
)

// TestTablesOfBeforeTheRolesKeepTheirRows brings a database up to date that was in
// use before requests had a role of their own: one that an ordinary role made and
// one that a superuser made.
func TestTablesOfBeforeTheRolesKeepTheirRows(t *testing.T) {
	t.Parallel()
	for owner, make := range map[string]func(testing.TB) string{"an ordinary role": pgtest.Empty, "a superuser": pgtest.EmptyForSuperuser} {
		t.Run(owner, func(t *testing.T) {
			t.Parallel()
			url := make(t)
			const before = 7
			if err := migrations.UpTo(t.Context(), url, before); err != nil {
				t.Fatal(err)
			}
			conn := connect(t, url)
			// Revision 2 stays a draft, and 1 is gone back to from 3.
			if _, err := conn.Exec(t.Context(), draft+`
				UPDATE revisions SET state = 'published', published_at = now() WHERE number = 1;
				INSERT INTO revisions (catalog_id, number, state, published_at) VALUES (1, 3, 'published', now());
				UPDATE catalogs SET current = 1;
				INSERT INTO keys (shop_id, use, prefix, hash) VALUES (1, 'admin', 'abcdefgh', sha256('a key'))`); err != nil {
				t.Fatal(err)
			}
			rows := func() []string { return contentsOf(t, conn) }
			was := rows()
			if _, err := migrations.Up(t.Context(), url); err != nil {
				t.Fatal(err)
			}
			if now := rows(); !slices.Equal(was, now) {
				t.Errorf("before: %q\nafter: %q", was, now)
			}
			var parts []int
			if err := conn.QueryRow(t.Context(), "SELECT array_agg(parts ORDER BY number) FROM revisions").Scan(&parts); err != nil || !slices.Equal(parts, []int{4, 0, 0}) {
				t.Errorf("the revisions have %v parts, %v; want 4 in the first alone", parts, err)
			}
			// The last step may be undone, and done again.
			if err := migrations.DownTo(t.Context(), url, before); err != nil {
				t.Fatal(err)
			}
			if now := rows(); !slices.Equal(was, now) {
				t.Errorf("before: %q\nafter the way back: %q", was, now)
			}
			if _, err := migrations.Up(t.Context(), url); err != nil {
				t.Fatal(err)
			}
			service := plain(t, pgtest.Login(t, url, migrations.ServiceRole))
			var dampers int
			if _, err := service.Exec(t.Context(), "SELECT set_config('midstroke.key', encode(sha256('a key'), 'hex'), false)"); err != nil {
				t.Fatal(err)
			}
			if err := service.QueryRow(t.Context(), "SELECT count(*) FROM dampers").Scan(&dampers); err != nil || dampers != 1 {
				t.Errorf("the service sees %d dampers by the key, %v", dampers, err)
			}
		})
	}
}

// contentsOf gives the rows of what was there before step 8, without the columns
// that came later.
func contentsOf(t *testing.T, conn *pgx.Conn) []string {
	t.Helper()
	rows, err := conn.Query(t.Context(), `
		SELECT 'shop ' || s::text FROM shops s UNION ALL SELECT 'catalogue ' || c::text FROM catalogs c UNION ALL SELECT 'key ' || (to_jsonb(k) - 'keeps_quotes')::text FROM keys k
		UNION ALL SELECT 'damper ' || (to_jsonb(d) - ARRAY['reservoir', 'force_table', 'gas_included', 'gas_force_n', 'test_temperature_c'])::text FROM dampers d UNION ALL SELECT 'adapter ' || a::text FROM adapters a
		UNION ALL SELECT 'revision ' || (catalog_id, number, state, published_at, created_at, identity, note)::text FROM revisions
		ORDER BY 1`)
	if err != nil {
		t.Fatal(err)
	}
	all, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil || len(all) != 8 {
		t.Fatalf("%d rows, %v: %q", len(all), err, all)
	}
	return all
}

func plain(t *testing.T, url string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = conn.Close(t.Context()) })
	return conn
}

// TestRightsLetTheTwoRolesIn runs what "midstroke rights" prints, before and after
// the tables are made, and again.
func TestRightsLetTheTwoRolesIn(t *testing.T) {
	t.Parallel()
	admin := pgtest.EmptyForSuperuser(t)
	conn := connect(t, admin)
	for _, when := range []string{"before the tables", "after the tables", "again"} {
		if _, err := conn.Exec(t.Context(), migrations.Rights); err != nil {
			t.Fatalf("%s: %v", when, err)
		}
		if _, err := migrations.Up(t.Context(), admin); err != nil {
			t.Fatalf("%s: %v", when, err)
		}
	}
	rows, err := conn.Query(t.Context(), `
		SELECT rolname FROM pg_roles
		WHERE rolname IN ($1, $2) AND rolcanlogin AND NOT (rolsuper OR rolbypassrls OR rolcreaterole OR rolcreatedb OR rolreplication)
		  AND has_table_privilege(oid, 'dampers', 'SELECT') AND NOT has_table_privilege(oid, 'keys', 'INSERT')
		  AND NOT has_schema_privilege(oid, 'public', 'CREATE')
		ORDER BY rolname`, migrations.ServiceRole, migrations.KeeperRole)
	if err != nil {
		t.Fatal(err)
	}
	if in, err := pgx.CollectRows(rows, pgx.RowTo[string]); err != nil || len(in) != 2 {
		t.Errorf("with the right rights: %q, %v", in, err)
	}
}

func TestOnlyTheOwnerChangesTables(t *testing.T) {
	t.Parallel()
	url := pgtest.EmptyForSuperuser(t)
	// As it is from Postgres 15 on, and as Rights makes it.
	if _, err := connect(t, url).Exec(t.Context(), "REVOKE CREATE ON SCHEMA public FROM PUBLIC"); err != nil {
		t.Fatal(err)
	}
	as := pgtest.Login(t, url, migrations.ServiceRole)
	newest, err := migrations.Newest(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	const last = 7 // before the roles have any rights
	before := stepBefore(t, newest)
	for _, c := range []struct{ step, have int64 }{{0, 0}, {last, -1}, {max(last+1, before), before}} {
		if c.have == last {
			continue // there is no later step yet
		}
		if c.step > 0 {
			if err := migrations.UpTo(t.Context(), url, c.step); err != nil {
				t.Fatal(err)
			}
		}
		var notOwner *migrations.OwnerError
		if _, err := migrations.Up(t.Context(), as); !errors.As(err, &notOwner) || notOwner.Have != c.have || notOwner.Need != newest ||
			!strings.Contains(err.Error(), "midstroke migrate") || !strings.HasPrefix(notOwner.Role, "midstroke_test_login_") {
			t.Errorf("at step %d: %v", c.step, err)
		}
	}
	if _, err := migrations.Up(t.Context(), url); err != nil {
		t.Fatal(err)
	}
	if applied, err := migrations.Up(t.Context(), as); err != nil || len(applied) != 0 {
		t.Errorf("with nothing to apply: %v, %v", applied, err)
	}
}

// stepBefore is the number of the step before another one, by the names of the files.
func stepBefore(t *testing.T, step int64) (before int64) {
	t.Helper()
	files, err := filepath.Glob("*.sql")
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		n, err := strconv.ParseInt(file[:5], 10, 64)
		if err != nil {
			t.Fatal(err)
		}
		if n < step {
			before = max(before, n)
		}
	}
	return before
}

func TestTablesOfANewerProgramAreRefused(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	conn := connect(t, url)
	if _, err := conn.Exec(t.Context(), "INSERT INTO goose_db_version (version_id, is_applied) VALUES (990, true)"); err != nil {
		t.Fatal(err)
	}
	_, upErr := migrations.Up(t.Context(), url)
	_, pendingErr := migrations.Pending(t.Context(), url)
	newest, err := migrations.Newest(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	for what, err := range map[string]error{"Up": upErr, "Pending": pendingErr} {
		var newer *migrations.NewerError
		if !errors.As(err, &newer) || newer.Have != 990 || newer.Known != newest || !strings.Contains(err.Error(), "990") {
			t.Errorf("%s: %v", what, err)
		}
	}
}
