package postgres_test

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"midstroke/internal/catalog"
	"midstroke/internal/jobs"
	"midstroke/internal/postgres"
	"midstroke/internal/postgres/pgtest"
	"midstroke/internal/quote"
	"midstroke/internal/shop"
	"midstroke/internal/webhook"
	"midstroke/migrations"
)

// nobodysTables hold nothing of any shop's.
var nobodysTables = []string{"goose_db_version", "river_leader", "river_queue"}

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

// neighbours are two shops that have rows in every table.
type neighbours struct {
	north, south       int64 // their numbers
	northKey, southKey shop.Key
}

func twoShops(t *testing.T, s *postgres.Store) (two neighbours) {
	t.Helper()
	for name, key := range map[string]*shop.Key{"north": &two.northKey, "south": &two.southKey} {
		_, *key = createKey(t, s, name, shop.Admin)
		if _, err := s.Publish(t.Context(), name, contents(t, 5), "a test's"); err != nil {
			t.Fatal(err)
		}
	}
	keys, err := s.Keys(t.Context(), "")
	if err != nil || len(keys) != 2 {
		t.Fatalf("%d keys, %v", len(keys), err)
	}
	two.north, two.south = keys[0].ShopID, keys[1].ShopID
	for name, k := range map[string]shop.Key{"north": keys[0], "south": keys[1]} {
		ctx := shop.WithKey(t.Context(), k.Hash)
		r, err := s.Draft(ctx, shop.Place{Catalog: name}, shop.PartsOf(contents(t, 1)), "", "a test", nil)
		if err == nil {
			err = s.Discard(ctx, shop.Place{Catalog: name}, r.Number, func(shop.Revision) error { return nil })
		}
		if err != nil {
			t.Fatal(err)
		}
		if kept, err := s.Claim(ctx, shop.NewClaim(k.ShopID, name, [32]byte{}), time.Minute); err != nil || kept != nil {
			t.Fatal(kept, err)
		}
		hook := webhook.Webhook{ID: webhook.NewID(), URL: "https://till.example/", Events: webhook.EventTypes(), Active: true, Secret: webhook.NewSecret()}
		if err := s.AddWebhook(ctx, k.ShopID, &hook); err != nil {
			t.Fatal(err)
		}
		keepTwoAndEraseOne(t, s, k)
		keepBatch(t, s, k)
		if _, err := s.PutStock(ctx, k.ShopID, []quote.StockLine{{Code: "d1", Location: "main", Quantity: 3}}, false); err != nil {
			t.Fatal(err)
		}
	}
	if err := pgx.BeginFunc(t.Context(), s.Working(), func(tx pgx.Tx) error {
		return jobs.Insert(t.Context(), tx, chore{jobs.Of{Shop: two.north}}, chore{jobs.Of{Shop: two.south}})
	}); err != nil {
		t.Fatal(err)
	}
	return two
}

// chore is a job.
type chore struct{ jobs.Of }

func (chore) Kind() string { return "chore" }

// mark gives a condition for the rows of a table that are a shop's.
func mark(table string, owner int64) string {
	switch table {
	case "shops":
		return fmt.Sprintf("id = %d", owner)
	case "catalogs", "keys", "kept_answers", "quotes", "erased_quotes", "stock", "stock_versions", "webhooks", "webhook_deliveries", "batch_jobs", "batch_pieces":
		return fmt.Sprintf("shop_id = %d", owner)
	case "river_job":
		return fmt.Sprintf("args ->> 'shop' = '%d'", owner)
	}
	// Each shop has one catalogue, and it was made right after the shop.
	return fmt.Sprintf("catalog_id = %d", owner)
}

// TestTheOwnerSeesWhatItAskedFor goes past the code, as the role that owns the
// tables. It says itself which shop it wants.
func TestTheOwnerSeesWhatItAskedFor(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	two := twoShops(t, open(t, url))
	conn := connect(t, url)
	as := func(whose string) { set(t, conn, "midstroke.shop", whose) }
	for _, nobody := range []string{"", "0", "-1", "north", "'*'", "1 OR true"} {
		as(nobody)
		seesNothing(t, conn)
	}
	as(fmt.Sprint(two.north))
	seesOneShopAlone(t, conn, two)
}

// TestTheKeepersRoleSeesWhatItAskedFor: the keeper sees every shop, or the one that
// it asked for, and it makes neither shops nor keys.
func TestTheKeepersRoleSeesWhatItAskedFor(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	two := twoShops(t, open(t, url))
	conn := connect(t, pgtest.Login(t, url, migrations.KeeperRole))
	for _, table := range shopTables(t, conn) {
		if count(t, conn, table, mark(table, two.south)) == 0 {
			t.Errorf("%s: the keeper doesn't see every shop", table)
		}
	}
	for _, sql := range []string{
		"INSERT INTO shops (name) VALUES ('third')",
		"INSERT INTO keys (shop_id, use, prefix, hash) SELECT shop_id, 'admin', 'aaaaaaaa', sha256('x') FROM keys LIMIT 1",
		"UPDATE keys SET revoked_at = NULL",
		"UPDATE keys SET shop_id = 1",
		"DELETE FROM keys",
		"ALTER TABLE keys DISABLE ROW LEVEL SECURITY",
		"DROP TABLE keys",
	} {
		if _, err := conn.Exec(t.Context(), sql); !refused(err) {
			t.Errorf("the keeper: %s: %v", sql, err)
		}
	}
	set(t, conn, "midstroke.shop", fmt.Sprint(two.north))
	seesOneShopAlone(t, conn, two)
}

// TestTheServicesRoleSeesTheKeysShopAlone tries to get from a request of one shop
// to the rows of another, by SQL and with the service's own rights.
func TestTheServicesRoleSeesTheKeysShopAlone(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	two := twoShops(t, open(t, url))
	conn, owner := plain(t, pgtest.Login(t, url, migrations.ServiceRole)), connect(t, url)
	triesEverything(t, conn, owner, two)
}

// triesEverything is for a connection with the service's rights. owner sees every
// shop.
func triesEverything(t *testing.T, conn, owner *pgx.Conn, two neighbours) {
	t.Helper()
	for _, table := range shopTables(t, owner) {
		if count(t, owner, table, mark(table, two.north)) == 0 || count(t, owner, table, mark(table, two.south)) == 0 {
			t.Fatalf("%s is empty, which proves nothing", table)
		}
	}
	var owned int
	if err := conn.QueryRow(t.Context(), "SELECT count(*) FROM pg_class WHERE relowner = current_user::regrole").Scan(&owned); err != nil || owned != 0 {
		t.Errorf("the service's role owns %d things, %v", owned, err)
	}
	key := func(k shop.Key) string { return hex.EncodeToString(k.Hash[:]) }
	var wrong [32]byte
	for _, nobody := range []string{"", "*", "north", fmt.Sprint(two.north), hex.EncodeToString(wrong[:]), key(two.northKey)[:63], key(two.northKey) + "0", "' OR true --", `\x` + key(two.northKey)} {
		set(t, conn, "midstroke.key", nobody)
		seesNothing(t, conn)
	}
	set(t, conn, "midstroke.key", key(two.northKey))
	for _, whose := range []string{"", "*", fmt.Sprint(two.south), fmt.Sprint(two.north)} {
		set(t, conn, "midstroke.shop", whose)
		seesOneShopAlone(t, conn, two)
	}
	for _, sql := range []string{
		"SET ROLE " + migrations.KeeperRole, "SET ROLE postgres", "SET ROLE midstroke_test", "SET SESSION AUTHORIZATION postgres",
		"RESET ROLE", "SET ROLE NONE", "RESET SESSION AUTHORIZATION", // allowed, and of no use
		"ALTER TABLE dampers DISABLE ROW LEVEL SECURITY", "ALTER TABLE dampers NO FORCE ROW LEVEL SECURITY", "ALTER TABLE dampers OWNER TO CURRENT_USER",
		"DROP POLICY of_the_shop ON dampers", "CREATE POLICY all_of_it ON dampers USING (true)", "ALTER POLICY of_the_shop ON dampers USING (true)",
		"CREATE OR REPLACE FUNCTION shops_in_view() RETURNS text LANGUAGE sql RETURN '*'", "CREATE OR REPLACE FUNCTION keeps_all_shops() RETURNS boolean LANGUAGE sql RETURN true",
		"CREATE TRIGGER spy AFTER INSERT ON dampers EXECUTE FUNCTION tell_keys_changed()", "GRANT " + migrations.KeeperRole + " TO CURRENT_USER",
		"ALTER ROLE CURRENT_USER BYPASSRLS", "ALTER ROLE CURRENT_USER SUPERUSER", "ALTER ROLE CURRENT_USER SET row_security = off",
		"CREATE TEMP TABLE keys (hash bytea, shop_id bigint, revoked_at timestamptz, expires_at timestamptz)",
		"INSERT INTO pg_temp.keys SELECT '\\x" + key(two.southKey) + "', " + fmt.Sprint(two.south),
		"CREATE TEMP TABLE catalogs AS SELECT id FROM generate_series(1, 9) id",
		"SET search_path = pg_temp, public",
		"UPDATE public.keys SET shop_id = " + fmt.Sprint(two.south), "COPY public.dampers TO PROGRAM 'cat'", "SELECT pg_read_file('postgresql.conf')",
		"SELECT lo_import('/etc/passwd')", "CREATE VIEW everything AS SELECT * FROM public.dampers", "CREATE EXTENSION dblink",
	} {
		_, _ = conn.Exec(t.Context(), sql) // most are refused
	}
	for _, sql := range []string{"DROP TABLE IF EXISTS pg_temp.keys, pg_temp.catalogs", "RESET search_path"} {
		exec(t, conn, sql)
	}
	seesOneShopAlone(t, conn, two)
	set(t, conn, "row_security", "off")
	for _, table := range shopTables(t, conn) {
		var n int
		if err := conn.QueryRow(t.Context(), "SELECT count(*) FROM "+table).Scan(&n); !refused(err) {
			t.Errorf("%s with row_security off: %d rows, %v", table, n, err)
		}
	}
	set(t, conn, "row_security", "on")
	seesNoTracesInCatalogs(t, conn)
	exec(t, owner, "UPDATE keys SET revoked_at = now() WHERE prefix = '"+two.northKey.Prefix+"'")
	seesNothing(t, conn)
}

// seesNoTracesInCatalogs looks for values of the tables where Postgres keeps
// statistics of them, and for what other sessions were told.
func seesNoTracesInCatalogs(t *testing.T, conn *pgx.Conn) {
	t.Helper()
	for what, sql := range map[string]string{
		"statistics of values": "SELECT count(*) FROM pg_stats WHERE schemaname = 'public' AND tablename <> 'goose_db_version'",
		"queries with a key":   `SELECT count(*) FROM pg_stat_activity WHERE pid <> pg_backend_pid() AND query ~ '[0-9a-f]{64}'`,
	} {
		var n int
		if err := conn.QueryRow(t.Context(), sql).Scan(&n); err != nil || n != 0 {
			t.Errorf("%s: %d are seen, %v", what, n, err)
		}
	}
}

// plain is a connection that says nothing of whose rows it wants.
func plain(t *testing.T, url string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = conn.Close(context.Background()) })
	return conn
}

func set(t *testing.T, conn *pgx.Conn, name, value string) {
	t.Helper()
	if _, err := conn.Exec(t.Context(), "SELECT set_config($1, $2, false)", name, value); err != nil {
		t.Fatal(err)
	}
}

func count(t *testing.T, conn *pgx.Conn, table, where string) (n int) {
	t.Helper()
	if err := conn.QueryRow(t.Context(), "SELECT count(*) FROM public."+table+" WHERE "+where).Scan(&n); err != nil {
		t.Errorf("%s: %v", table, err)
	}
	return n
}

// refused says whether the server refused something for want of rights.
func refused(err error) bool {
	const insufficientPrivilege = "42501"
	var told *pgconn.PgError
	return errors.As(err, &told) && told.Code == insufficientPrivilege
}

func seesNothing(t *testing.T, conn *pgx.Conn) {
	t.Helper()
	for _, table := range shopTables(t, conn) {
		if n := count(t, conn, table, "true"); n != 0 {
			t.Errorf("%s: %d rows are seen", table, n)
		}
	}
}

// seesOneShopAlone is for a connection that sees north.
func seesOneShopAlone(t *testing.T, conn *pgx.Conn, two neighbours) {
	t.Helper()
	for _, table := range shopTables(t, conn) {
		if own, all := count(t, conn, table, mark(table, two.north)), count(t, conn, table, "true"); own == 0 || own != all {
			t.Errorf("%s: north sees %d rows, of which %d are its own", table, all, own)
		}
		south := mark(table, two.south)
		for _, sql := range []string{"DELETE FROM " + table + " WHERE " + south, "UPDATE " + table + " SET " + strings.Split(south, " ")[0] + " = DEFAULT WHERE " + south} {
			// Identity columns can be set to their default alone; those that
			// have none can't be null, which no row comes to.
			if done, err := conn.Exec(t.Context(), sql); err != nil && !refused(err) || done.RowsAffected() != 0 {
				t.Errorf("as north: %s: %v, %v", sql, done, err)
			}
		}
	}
	// Nothing is written into the other's, either.
	for _, sql := range []string{
		fmt.Sprintf("INSERT INTO catalogs (shop_id, name) VALUES (%d, 'third')", two.south),
		fmt.Sprintf("INSERT INTO revisions (catalog_id, number) VALUES (%d, 9)", two.south),
		fmt.Sprintf("INSERT INTO spacers (catalog_id, revision, code, bore, thickness) VALUES (%d, 1, 'x', 1, 1)", two.south),
		fmt.Sprintf("UPDATE catalogs SET shop_id = %d", two.south),
		"INSERT INTO shops (name) VALUES ('third')",
	} {
		if _, err := conn.Exec(t.Context(), sql); !refused(err) {
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
	two := twoShops(t, s)
	told, _ := watch(t, s, postgres.Watcher{})
	expect(t, told, "north 1")
	expect(t, told, "south 1")
	conn := plain(t, url)
	var super bool
	if err := conn.QueryRow(t.Context(), "SELECT rolsuper FROM pg_roles WHERE rolname = current_user").Scan(&super); err != nil || !super {
		t.Fatalf("logged in as a superuser: %v, %v", super, err)
	}
	exec(t, conn, "SET ROLE "+migrations.KeeperRole)
	set(t, conn, "midstroke.shop", fmt.Sprint(two.north))
	seesOneShopAlone(t, conn, two)
	exec(t, conn, "SET ROLE "+migrations.ServiceRole)
	set(t, conn, "midstroke.key", hex.EncodeToString(two.northKey.Hash[:]))
	seesOneShopAlone(t, conn, two)
	// By the code: a request with a key sees its shop, one without sees none.
	mine := shop.Place{Shop: two.north, Catalog: "north"}
	if _, err := s.Describe(shop.WithKey(t.Context(), two.northKey.Hash), mine, 1); err != nil {
		t.Error(err)
	}
	if _, err := s.Describe(t.Context(), mine, 1); !errors.Is(err, catalog.ErrNotFound) {
		t.Errorf("without a key: %v", err)
	}
}

// TestTheStoreKeepsShopsApart asks for each other's by every method.
func TestTheStoreKeepsShopsApart(t *testing.T) {
	t.Parallel()
	s, _ := withCatalog(t)
	two := twoShops(t, s)
	theirs := shop.Place{Shop: two.north, Catalog: "south"}
	ctx := t.Context()
	agree := func(shop.Revision) error { return nil }
	for name, do := range map[string]func() error{
		"Revision":  func() error { _, err := s.Revision(ctx, theirs, 1); return err },
		"Drafted":   func() error { _, err := s.Drafted(ctx, theirs, 1); return err },
		"Describe":  func() error { _, err := s.Describe(ctx, theirs, 1); return err },
		"Revisions": func() error { _, err := s.Revisions(ctx, theirs, 0, 10); return err },
		"Draft": func() error {
			_, err := s.Draft(ctx, theirs, shop.PartsOf(contents(t, 1)), "", "north", nil)
			return err
		},
		"Publish": func() error { _, err := s.Release(ctx, theirs, 1, shop.Publish, "north", agree); return err },
		"Discard": func() error { return s.Discard(ctx, theirs, 1, agree) },
		"DraftOnce": func() error {
			_, err := s.Draft(ctx, theirs, shop.PartsOf(contents(t, 1)), "", "north", &shop.Once{})
			return err
		},
		"RollBack": func() error { _, err := s.Release(ctx, theirs, 1, shop.RollBack, "north", agree); return err },
	} {
		if err := do(); err == nil || !strings.Contains(err.Error(), catalog.ErrNotFound.Error()) {
			t.Errorf("%s of another shop's: %v", name, err)
		}
	}
	list, err := s.Revisions(ctx, shop.Place{Shop: two.south, Catalog: "south"}, 0, 10)
	if err != nil || len(list) != 1 || slices.ContainsFunc(list[0].Publications, func(p shop.Publication) bool { return p.By == "north" }) {
		t.Errorf("%+v, %v", list, err)
	}
}
