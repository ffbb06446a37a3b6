package migrations_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"midstroke/internal/postgres/pgtest"
	"midstroke/migrations"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

func connect(t *testing.T, url string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err == nil {
		_, err = conn.Exec(t.Context(), "SET midstroke.shop = '*'") // every shop's rows
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = conn.Close(context.Background()) })
	return conn
}

func steps(t *testing.T) []string {
	t.Helper()
	names, err := filepath.Glob("*.sql")
	if err != nil || len(names) == 0 {
		t.Fatalf("there are no steps: %v", err)
	}
	return names
}

func TestUpAppliesEachStepOnce(t *testing.T) {
	t.Parallel()
	url := pgtest.Empty(t)
	if pending, err := migrations.Pending(t.Context(), url); err != nil || !pending {
		t.Errorf("an empty database has steps pending: %v, %v", pending, err)
	}
	applied, err := migrations.Up(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	if want := steps(t); !slices.Equal(applied, want) {
		t.Errorf("applied %v, want %v", applied, want)
	}
	if applied, err := migrations.Up(t.Context(), url); err != nil || len(applied) != 0 {
		t.Errorf("the second time applied %v, %v", applied, err)
	}
	if pending, err := migrations.Pending(t.Context(), url); err != nil || pending {
		t.Errorf("steps pending after Up: %v, %v", pending, err)
	}
}

// Several instances start at once.
func TestUpTakesTurns(t *testing.T) {
	t.Parallel()
	url := pgtest.Empty(t)
	var (
		all sync.WaitGroup
		mu  sync.Mutex
		sum []string
	)
	for range 4 {
		all.Go(func() {
			applied, err := migrations.Up(t.Context(), url)
			if err != nil {
				t.Error(err)
			}
			mu.Lock()
			defer mu.Unlock()
			sum = append(sum, applied...)
		})
	}
	all.Wait()
	if want := steps(t); !slices.Equal(sum, want) {
		t.Errorf("together they applied %v, want %v", sum, want)
	}
}

func TestDownLeavesNothing(t *testing.T) {
	t.Parallel()
	url := pgtest.Empty(t)
	conn := connect(t, url)
	objects := func() (names []string) {
		t.Helper()
		rows, err := conn.Query(t.Context(), `
			SELECT 'relation ' || relname FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relname NOT LIKE 'goose_%'
			UNION ALL SELECT 'function ' || proname FROM pg_proc WHERE pronamespace = 'public'::regnamespace
			UNION ALL SELECT 'type ' || typname FROM pg_type WHERE typnamespace = 'public'::regnamespace AND typname NOT LIKE '%goose_%'`)
		if err != nil {
			t.Fatal(err)
		}
		names, err = pgx.CollectRows(rows, pgx.RowTo[string])
		if err != nil {
			t.Fatal(err)
		}
		return names
	}
	if _, err := migrations.Up(t.Context(), url); err != nil {
		t.Fatal(err)
	}
	if len(objects()) == 0 {
		t.Fatal("Up made nothing that this test sees")
	}
	if err := migrations.Down(t.Context(), url); err != nil {
		t.Fatal(err)
	}
	if left := objects(); len(left) != 0 {
		t.Errorf("Down left %v", left)
	}
	if _, err := migrations.Up(t.Context(), url); err != nil {
		t.Errorf("Up after Down: %v", err)
	}
}

func TestEveryStepHasItsWayBack(t *testing.T) {
	for _, name := range steps(t) {
		raw, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, down, ok := strings.Cut(string(raw), "-- +goose Down"); !ok || strings.TrimSpace(down) == "" {
			t.Errorf("%s has no way back", name)
		}
	}
}

// code gives the SQLSTATE of err.
func code(err error) string {
	var pg *pgconn.PgError
	if errors.As(err, &pg) {
		return pg.Code
	}
	return ""
}

const (
	checkViolation    = "23514"
	notNullViolation  = "23502"
	uniqueViolation   = "23505"
	restrictViolation = "23001"
)

// draft makes catalogue 1 with revision 1, a draft with one part of
// each kind, and an empty draft 2.
const draft = `
	INSERT INTO shops (name) VALUES ('corner garage');
	INSERT INTO catalogs (shop_id, name) SELECT id, 'own' FROM shops;
	INSERT INTO revisions (catalog_id, number) VALUES (1, 1), (1, 2);
	INSERT INTO dampers (catalog_id, revision, code, construction, compressed, extended, body_diameter, upper_style, lower_style)
		VALUES (1, 1, 'd1', 'monotube', 300000000, 460000000, 50000000, 'eye', 'stud');
	INSERT INTO sleeves (catalog_id, revision, code, "outer", bore, bore_is, length) VALUES (1, 1, 's1', 15900000, 12100000, 'actual', 31000000);
	INSERT INTO spacers (catalog_id, revision, code, bore, thickness) VALUES (1, 1, 'p1', 12100000, 500000);
	INSERT INTO adapters (catalog_id, revision, code, from_style, to_style, adds_length) VALUES (1, 1, 'a1', 'stud', 'eye', -20000000);
`

func TestPartsThatCannotBeAreRefused(t *testing.T) {
	t.Parallel()
	conn := connect(t, pgtest.NewDatabase(t))
	if _, err := conn.Exec(t.Context(), draft); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ what, set, want string }{
		{"extended equal to compressed", "dampers SET extended = compressed", checkViolation},
		{"no compressed length", "dampers SET compressed = NULL", notNullViolation},
		{"compressed of zero", "dampers SET compressed = 0", checkViolation},
		{"extended beyond 10 m", "dampers SET extended = 10000000001", checkViolation},
		{"tolerance of half the stroke", "dampers SET length_tolerance = 80000000", checkViolation},
		{"negative tolerance", "dampers SET length_tolerance = -1", checkViolation},
		{"unknown construction", "dampers SET construction = 'rubber'", checkViolation},
		{"unknown style", "dampers SET lower_style = 'hook'", checkViolation},
		{"style outside the method", "dampers SET lower_style = 'fork'", checkViolation},
		{"eye with a thread", "dampers SET upper_thread = 'M12x1.75'", checkViolation},
		{"eye with a bore that is neither true nor nominal", "dampers SET upper_bore = 16000000", checkViolation},
		{"nominal without a bore", "dampers SET upper_bore_is = 'nominal'", checkViolation},
		{"stud with a bore", "dampers SET lower_bore = 16000000, lower_bore_is = 'actual'", checkViolation},
		{"stud with a slot", "dampers SET lower_slot = 5000000", checkViolation},
		{"negative price", "dampers SET price = -1", checkViolation},
		{"blank code", "dampers SET code = ''", checkViolation},
		{"code with a tab", "dampers SET code = E'd\t1'", checkViolation},
		{"code with a blank behind", "dampers SET code = 'd1 '", checkViolation},
		{"sleeve without a wall", "sleeves SET bore = \"outer\"", checkViolation},
		{"sleeve of unknown bore", "sleeves SET bore_is = 'guessed'", checkViolation},
		{"spacer of no thickness", "spacers SET thickness = 0", checkViolation},
		{"adapter beyond 10 m", "adapters SET adds_length = -10000000001", checkViolation},
		{"adapter of a bar pin with a spigot", "adapters SET to_style = 'bar_pin', to_spigot = 20000000", checkViolation},
		{"currency in words", "revisions SET currency = 'dollars'", checkViolation},
		{"limits the wrong way round", "revisions SET bolt_gap_least = 700000", checkViolation},
		{"published at no time", "revisions SET state = 'published'", checkViolation},
		{"one number twice", "revisions SET number = 2 WHERE number = 1", uniqueViolation},
	} {
		if _, err := conn.Exec(t.Context(), "UPDATE "+c.set); code(err) != c.want {
			t.Errorf("%s: %v, want SQLSTATE %s", c.what, err, c.want)
		}
	}
	for _, good := range []string{
		"dampers SET length_tolerance = 79999999", // just under half of the stroke, 160 mm
		"dampers SET upper_bore = 19050000, upper_bore_is = 'nominal', upper_width = 38100000",
		"dampers SET lower_thread = '1/2-13 UNC', lower_usable_length = 60000000, lower_spigot = 20000000",
		"dampers SET lower_style = 'bar_pin', lower_thread = NULL, lower_usable_length = NULL, lower_spigot = NULL, lower_hole_spacing = 60000000, lower_slot = 8000000, lower_hole = 11000000",
	} {
		if _, err := conn.Exec(t.Context(), "UPDATE "+good); err != nil {
			t.Errorf("%s: %v", good, err)
		}
	}
}

func TestPublishedRevisionNeverChanges(t *testing.T) {
	t.Parallel()
	conn := connect(t, pgtest.NewDatabase(t))
	if _, err := conn.Exec(t.Context(), draft+"UPDATE revisions SET state = 'published', published_at = now() WHERE number = 1"); err != nil {
		t.Fatal(err)
	}
	for _, sql := range []string{
		"UPDATE revisions SET note = 'better' WHERE number = 1",
		"UPDATE revisions SET state = 'draft', published_at = NULL WHERE number = 1",
		"UPDATE dampers SET price = 1",
		"UPDATE sleeves SET revision = 2", // out of it
		"DELETE FROM spacers",
		"DELETE FROM adapters WHERE code = 'a1'",
		"INSERT INTO spacers (catalog_id, revision, code, bore, thickness) VALUES (1, 2, 'p1', 1, 1), (1, 1, 'p2', 1, 1)",
	} {
		if _, err := conn.Exec(t.Context(), sql); code(err) != restrictViolation {
			t.Errorf("%s: %v, want SQLSTATE %s", sql, err, restrictViolation)
		}
	}
	// Into it from a draft.
	if _, err := conn.Exec(t.Context(), "INSERT INTO spacers (catalog_id, revision, code, bore, thickness) VALUES (1, 2, 'p2', 1, 1)"); err != nil {
		t.Fatal(err)
	}
	if _, err := conn.Exec(t.Context(), "UPDATE spacers SET revision = 1 WHERE code = 'p2'"); code(err) != restrictViolation {
		t.Errorf("a part was moved into a published revision: %v", err)
	}
	// As a whole it may go, and takes its parts along.
	if _, err := conn.Exec(t.Context(), "DELETE FROM revisions WHERE number = 1"); err != nil {
		t.Fatal(err)
	}
	var left int
	const count = "SELECT (SELECT count(*) FROM dampers) + (SELECT count(*) FROM sleeves) + (SELECT count(*) FROM adapters)"
	if err := conn.QueryRow(t.Context(), count).Scan(&left); err != nil || left != 0 {
		t.Errorf("%d parts are left of a deleted revision, %v", left, err)
	}
}
