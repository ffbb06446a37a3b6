package speed_test

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/postgres"
	"midstroke/internal/postgres/pgtest"
	"midstroke/internal/shop"
	"midstroke/internal/unit"
	"midstroke/testdata/demo"
)

// The shops of the table, each with a catalogue of its own name.
const (
	small = "small"
	large = "large"
)

// dampersOf is how many dampers the catalogues have. A trial run may have fewer in
// the large one.
var dampersOf = map[string]int{small: 10_000, large: setting("MIDSTROKE_SPEED_DAMPERS", 1_000_000)}

// shopsBeside is how many further shops there are.
var shopsBeside = setting("MIDSTROKE_SPEED_SHOPS", 10_000)

func setting(name string, otherwise int) int {
	if n, err := strconv.Atoi(os.Getenv(name)); err == nil {
		return n
	}
	return otherwise
}

// stage is a database with all shops.
type stage struct {
	*testing.T
	binary string
	url    string
	conn   *pgx.Conn // of the tables' owner, who sees all rows
	keys   map[string]string
	// imported and copied are how long the large catalogue took, with all checks and
	// by a bare COPY of the same rows.
	imported, copied time.Duration
}

func newStage(t *testing.T) *stage {
	t.Helper()
	s := &stage{T: t, binary: build(t), url: pgtest.NewDatabase(t), keys: map[string]string{}}
	s.connect()
	store, err := postgres.Open(t.Context(), s.url)
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	for _, name := range []string{small, large} {
		took := s.addCatalog(store, name)
		if name == large {
			s.imported = took
		}
	}
	s.copyBare()
	s.addShops()
	s.exec("ANALYZE")
	return s
}

// connect opens the stage's own connection.
func (s *stage) connect() {
	s.Helper()
	var err error
	if s.conn, err = pgx.Connect(s.Context(), s.url); err != nil {
		s.Fatal(err)
	}
	s.Cleanup(func() { _ = s.conn.Close(context.Background()) })
	s.exec("SET midstroke.shop = '*'")
}

// addCatalog imports a shop's catalogue and makes its key. It says how long the import
// took.
func (s *stage) addCatalog(store *postgres.Store, name string) time.Duration {
	s.Helper()
	took := s.importCatalog(name, dampersOf[name])
	text, key := shop.NewKey(shop.Server)
	key.Shop = name
	if err := store.CreateKey(s.Context(), key); err != nil {
		s.Fatal(err)
	}
	s.keys[name] = text
	return took
}

func (s *stage) exec(sql string, args ...any) {
	s.Helper()
	if _, err := s.conn.Exec(s.Context(), sql, args...); err != nil {
		s.Fatalf("%s: %v", sql, err)
	}
}

// importCatalog imports a catalogue from CSV by the program, and says how long
// that took.
func (s *stage) importCatalog(name string, dampers int) time.Duration {
	s.Helper()
	dir := s.TempDir()
	if err := demo.WriteFiles(dir, demo.Generate(1, dampers), unit.Millimetres); err != nil {
		s.Fatal(err)
	}
	begun := time.Now()
	out, err := exec.Command(s.binary, "import", dir, "--catalog", name, "--database-url", s.url).CombinedOutput()
	if err != nil {
		s.Fatalf("import: %v\n%s", err, out)
	}
	return time.Since(begun)
}

// copyBare copies the rows of the large catalogue into a table that is made alike.
func (s *stage) copyBare() {
	s.Helper()
	file, err := os.Create(filepath.Join(s.TempDir(), "rows"))
	if err != nil {
		s.Fatal(err)
	}
	defer file.Close()
	ctx := s.Context()
	const rows = "COPY (SELECT d.* FROM dampers d JOIN catalogs c ON c.id = d.catalog_id WHERE c.name = '" + large + "' ORDER BY d.code) TO STDOUT"
	if _, err := s.conn.PgConn().CopyTo(ctx, file, rows); err != nil {
		s.Fatal(err)
	}
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		s.Fatal(err)
	}
	s.exec("CREATE TABLE bare (LIKE dampers INCLUDING ALL)")
	begun := time.Now()
	if _, err := s.conn.PgConn().CopyFrom(ctx, file, "COPY bare FROM STDIN"); err != nil {
		s.Fatal(err)
	}
	s.copied = time.Since(begun)
	s.exec("DROP TABLE bare")
}

// addShops makes the further shops. Each has a published catalogue of one damper:
// what a start loads doesn't depend on how large they are.
func (s *stage) addShops() {
	s.Helper()
	s.exec("INSERT INTO shops (name) SELECT 'beside ' || n FROM generate_series(1, $1) n", shopsBeside)
	s.exec("INSERT INTO catalogs (shop_id, name) SELECT id, name FROM shops WHERE name LIKE 'beside %'")
	s.exec("INSERT INTO revisions (catalog_id, number, damper_count) SELECT id, 1, 1 FROM catalogs WHERE name LIKE 'beside %'")
	var columns string
	if err := s.conn.QueryRow(s.Context(), `SELECT string_agg(quote_ident(attname), ', ') FROM pg_attribute
		WHERE attrelid = 'dampers'::regclass AND attnum > 0 AND NOT attisdropped AND attname NOT IN ('catalog_id', 'revision')`).Scan(&columns); err != nil {
		s.Fatal(err)
	}
	s.exec(fmt.Sprintf(`INSERT INTO dampers (catalog_id, revision, %s)
		SELECT c.id, 1, %s FROM catalogs c, (SELECT d.* FROM dampers d JOIN catalogs o ON o.id = d.catalog_id AND o.name = '%s' LIMIT 1) d
		WHERE c.name LIKE 'beside %%'`, columns, columns, small))
	s.exec("UPDATE revisions SET state = 'published', published_at = now() WHERE state = 'draft'")
}

// serve starts the service and says how long it took until a shop had an answer.
func (s *stage) serve(name string) (*process, time.Duration) {
	s.Helper()
	cmd := exec.Command(s.binary, "serve", "--listen", "127.0.0.1:0", "--database-url", s.url)
	for _, setting := range os.Environ() {
		if !strings.HasPrefix(setting, "MIDSTROKE_") && !strings.HasPrefix(setting, "DATABASE_URL=") && !strings.HasPrefix(setting, "PG") {
			cmd.Env = append(cmd.Env, setting)
		}
	}
	log, err := os.Create(filepath.Join(s.TempDir(), "log"))
	if err != nil {
		s.Fatal(err)
	}
	s.Cleanup(func() { _ = log.Close() })
	cmd.Stderr = log
	begun := time.Now()
	p := startProcess(s.T, cmd)
	s.ask(p, name, mix()[0])
	return p, time.Since(begun)
}

// ask sends one request, and again while its catalogue is still being loaded.
func (s *stage) ask(p *process, name, body string) {
	s.Helper()
	for begun := time.Now(); ; time.Sleep(50 * time.Millisecond) {
		r, err := http.NewRequest(http.MethodPost, p.url+"/v1/fits", strings.NewReader(body))
		if err != nil {
			s.Fatal(err)
		}
		r.Header.Set("Content-Type", "application/json")
		r.Header.Set("Authorization", "Bearer "+s.keys[name])
		res, err := http.DefaultClient.Do(r)
		if err != nil {
			s.Fatal(err)
		}
		answer, err := io.ReadAll(res.Body)
		res.Body.Close()
		switch {
		case err == nil && res.StatusCode == http.StatusOK:
			return
		case err != nil || res.StatusCode != http.StatusServiceUnavailable || time.Since(begun) > 5*time.Minute:
			s.Fatalf("%s, %v: %.500s", res.Status, err, answer)
		}
	}
}

// mix are a day's requests: two kinds of place in many sizes. Two of them never
// have the same reading and hardware, and each has a reference of its own when it
// is sent.
func mix() (all []string) {
	const stud = `{"units":"in","upper":{"style":"stud","measured_to":"frame_face","bushing_thickness":"3/8","washer_thickness":"1/16"},` +
		`"lower":{"style":"eye","bolt":%q,"opening":%q,"plate":"3/16","shear":"double"},"readings":[%q],"reading_tolerance":"1/16",` +
		`"condition":{"state":"loaded"},"suspension":"solid_axle","travel":{"basis":"rule"},"limits":{"mounting":"any","adapters":"any"},"top":10}`
	const eyes = `{"units":"in","upper":{"style":"eye","bolt":%[1]q,"opening":%[2]q},"lower":{"style":"eye","bolt":%[1]q,"opening":%[2]q},` +
		`"readings":[%[3]q],"suspension":"solid_axle"}`
	for _, reading := range []string{"14 1/8", "14 13/16", "15 1/2", "16 1/16", "16 5/8", "17 5/16", "17 3/4", "18 1/4"} {
		for _, bolt := range []string{"M10", "M12", "M14", "7/16 in", "1/2 in", "5/8 in"} {
			for _, opening := range []string{"1 3/8", "1 1/2", "1 5/8"} {
				for _, kind := range []string{stud, eyes} {
					all = append(all, fmt.Sprintf(kind, bolt, opening, reading))
				}
			}
		}
	}
	return all
}

// ownReference is what an example calls itself.
var ownReference = regexp.MustCompile(`"reference": *"[^"]*",`)

// examples are the requests that callers are shown, without their references.
func examples(t *testing.T) (names, bodies []string) {
	t.Helper()
	paths, err := filepath.Glob("../../testdata/examples/*.json")
	if err != nil || len(paths) == 0 {
		t.Fatal("no examples", err)
	}
	for _, path := range paths {
		body, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		names = append(names, strings.TrimSuffix(filepath.Base(path), ".json"))
		bodies = append(bodies, ownReference.ReplaceAllString(string(body), ""))
	}
	return names, bodies
}

// example is the request of that name.
func example(t *testing.T, name string) string {
	t.Helper()
	names, bodies := examples(t)
	i := slices.Index(names, name)
	if i < 0 {
		t.Fatalf("no example is called %s", name)
	}
	return bodies[i]
}
