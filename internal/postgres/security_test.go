package postgres_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/catalog"
	"midstroke/internal/postgres"
	"midstroke/internal/postgres/pgtest"
	"midstroke/internal/shop"
	"midstroke/migrations"
)

// nobodysTables hold nothing of any shop's.
var nobodysTables = []string{"goose_db_version"}

// shopTables lists every table of the schema but those that are nobody's.
func shopTables(t *testing.T, conn *pgx.Conn) []string {
	t.Helper()
	rows, err := conn.Query(t.Context(), "SELECT relname FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p') AND relname <> ALL ($1) ORDER BY relname", nobodysTables)
	if err != nil {
		t.Fatal(err)
	}
	names, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil || len(names) < 9 {
		t.Fatalf("tables %q, %v", names, err)
	}
	return names
}

// TestEveryTableHasItsPolicy fails for a new table that forgets it.
func TestEveryTableHasItsPolicy(t *testing.T) {
	t.Parallel()
	conn := connect(t, pgtest.NewDatabase(t))
	for _, table := range shopTables(t, conn) {
		var enabled, forced bool
		var policies int
		err := conn.QueryRow(t.Context(), `
			SELECT relrowsecurity, relforcerowsecurity, (SELECT count(*) FROM pg_policy WHERE polrelid = c.oid)
			FROM pg_class c WHERE relnamespace = 'public'::regnamespace AND relname = $1`, table).Scan(&enabled, &forced, &policies)
		if err != nil || !enabled || !forced || policies == 0 {
			t.Errorf("%s: row-level security enabled %v, forced %v, %d policies, %v", table, enabled, forced, policies, err)
		}
	}
}

// twoShops fills every table for two shops and gives their numbers.
func twoShops(t *testing.T, s *postgres.Store) (north, south int64) {
	t.Helper()
	for _, name := range []string{"north", "south"} {
		createKey(t, s, name, shop.Admin)
		if _, err := s.Publish(t.Context(), name, contents(t, 5), "a test's"); err != nil {
			t.Fatal(err)
		}
	}
	keys, err := s.Keys(t.Context(), "")
	if err != nil || len(keys) != 2 {
		t.Fatalf("%d keys, %v", len(keys), err)
	}
	return keys[0].ShopID, keys[1].ShopID
}

// mark gives the column by which rows of a table are told to be a shop's, and
// the values of that column that are.
func mark(table string, owner int64) string {
	switch table {
	case "shops":
		return fmt.Sprintf("id = %d", owner)
	case "catalogs", "keys":
		return fmt.Sprintf("shop_id = %d", owner)
	}
	// The catalogues were made in the order of their shops.
	return fmt.Sprintf("catalog_id = %d", owner)
}

// TestPlainSQLSeesOneShopAlone goes past the code, as the service's role.
func TestPlainSQLSeesOneShopAlone(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	north, south := twoShops(t, open(t, url))
	conn := connect(t, url)
	seesOneShopAlone(t, conn, north, south)
}

func seesOneShopAlone(t *testing.T, conn *pgx.Conn, north, south int64) {
	t.Helper()
	as := func(whose string) {
		t.Helper()
		if _, err := conn.Exec(t.Context(), "SELECT set_config('midstroke.shop', $1, false)", whose); err != nil {
			t.Fatal(err)
		}
	}
	count := func(table, where string) (n int) {
		t.Helper()
		if err := conn.QueryRow(t.Context(), "SELECT count(*) FROM "+table+" WHERE "+where).Scan(&n); err != nil {
			t.Fatal(err)
		}
		return n
	}
	for _, table := range shopTables(t, conn) {
		as("*")
		if count(table, mark(table, north)) == 0 || count(table, mark(table, south)) == 0 {
			t.Fatalf("%s is empty, which proves nothing", table)
		}
		for _, nobody := range []string{"", "0", "-1", "north", "'*'", "1 OR true"} {
			if as(nobody); count(table, "true") != 0 {
				t.Errorf("%s: rows are seen by %q", table, nobody)
			}
		}
		as(fmt.Sprint(north))
		if own, all := count(table, mark(table, north)), count(table, "true"); own == 0 || own != all {
			t.Errorf("%s: north sees %d rows, of which %d are its own", table, all, own)
		}
		for _, sql := range []string{"DELETE FROM " + table + " WHERE " + mark(table, south), "UPDATE " + table + " SET " + strings.Split(mark(table, south), " ")[0] + " = DEFAULT WHERE " + mark(table, south)} {
			// Identity columns can be set to their default alone; those that
			// have none can't be null, which no row comes to.
			if done, err := conn.Exec(t.Context(), sql); err != nil || done.RowsAffected() != 0 {
				t.Errorf("as north: %s: %v, %v", sql, done, err)
			}
		}
	}
	// Nothing is written into the other's, either.
	as(fmt.Sprint(north))
	for _, sql := range []string{
		fmt.Sprintf("INSERT INTO catalogs (shop_id, name) VALUES (%d, 'third')", south),
		fmt.Sprintf("INSERT INTO revisions (catalog_id, number) VALUES (%d, 9)", south),
		fmt.Sprintf("INSERT INTO spacers (catalog_id, revision, code, bore, thickness) VALUES (%d, 1, 'x', 1, 1)", south),
		fmt.Sprintf("UPDATE catalogs SET shop_id = %d", south),
		"INSERT INTO shops (name) VALUES ('third')",
	} {
		if _, err := conn.Exec(t.Context(), sql); err == nil || !strings.Contains(err.Error(), "row-level security") {
			t.Errorf("as north: %s: %v", sql, err)
		}
	}
}

// TestASuperusersServiceSeesNoMore: where the service logs in as one to whom
// policies mean nothing, it works as another.
func TestASuperusersServiceSeesNoMore(t *testing.T) {
	t.Parallel()
	url := pgtest.EmptyForSuperuser(t)
	if _, err := migrations.Up(t.Context(), url); err != nil {
		t.Fatal(err)
	}
	s := open(t, url)
	north, south := twoShops(t, s)
	told, _ := watch(t, s, postgres.Watcher{})
	expect(t, told, "north 1")
	expect(t, told, "south 1")
	conn := connect(t, url)
	var super bool
	if err := conn.QueryRow(t.Context(), "SELECT rolsuper FROM pg_roles WHERE rolname = current_user").Scan(&super); err != nil || !super {
		t.Fatalf("logged in as a superuser: %v, %v", super, err)
	}
	if _, err := conn.Exec(t.Context(), "SET ROLE midstroke_service"); err != nil {
		t.Fatal(err)
	}
	seesOneShopAlone(t, conn, north, south)
}

// TestTheStoreKeepsShopsApart asks for each other's by every method.
func TestTheStoreKeepsShopsApart(t *testing.T) {
	t.Parallel()
	s, _ := withCatalog(t)
	north, south := twoShops(t, s)
	theirs := shop.Place{Shop: north, Catalog: "south"}
	ctx := t.Context()
	agree := func(shop.Revision) error { return nil }
	for name, do := range map[string]func() error{
		"Revision":  func() error { _, err := s.Revision(ctx, theirs, 1); return err },
		"Drafted":   func() error { _, err := s.Drafted(ctx, theirs, 1); return err },
		"Describe":  func() error { _, err := s.Describe(ctx, theirs, 1); return err },
		"Revisions": func() error { _, err := s.Revisions(ctx, theirs, 0, 10); return err },
		"Draft":     func() error { _, err := s.Draft(ctx, theirs, shop.PartsOf(contents(t, 1)), "", "north"); return err },
		"Publish":   func() error { _, err := s.Release(ctx, theirs, 1, shop.Publish, "north", agree); return err },
		"RollBack":  func() error { _, err := s.Release(ctx, theirs, 1, shop.RollBack, "north", agree); return err },
	} {
		if err := do(); err == nil || !strings.Contains(err.Error(), catalog.ErrNotFound.Error()) {
			t.Errorf("%s of another shop's: %v", name, err)
		}
	}
	list, err := s.Revisions(ctx, shop.Place{Shop: south, Catalog: "south"}, 0, 10)
	if err != nil || len(list) != 1 || slices.ContainsFunc(list[0].Publications, func(p shop.Publication) bool { return p.By == "north" }) {
		t.Errorf("%+v, %v", list, err)
	}
}
