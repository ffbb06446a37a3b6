// Package pgtest gives every test a Postgres database of its own.
//
// The server is the one that TEST_DATABASE_URL names; else a throw-away one
// from the Postgres programs on this machine; else one in a container. Where
// none can be had, tests fail and say what to install or set: none is skipped
// for want of a database.
//
// A package that uses it ends its server with
//
//	func TestMain(m *testing.M) { pgtest.Main(m) }
package pgtest

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"midstroke/internal/pglocal"
	"midstroke/migrations"
)

const (
	testPrefix     = "midstroke_test_"
	templatePrefix = "midstroke_template_"
	// stamp leads each name's random part, so that what a killed run left
	// behind can be told by its age.
	stamp = "20060102150405"
	// leftBehind is the age at which a database is no running test's any more.
	leftBehind = 24 * time.Hour
	// patience bounds each step that isn't a test's own work.
	patience = 2 * time.Minute
)

// shared is the one server of this test binary, found when a test first asks
// for a database: one server for each test would take a second each.
var shared = struct {
	sync.Mutex
	asked bool
	home  *home
	err   error
}{}

// home is the server with what all tests share on it.
type home struct {
	server   *server
	template func() (string, error)
}

// DataDir gives the path of a folder for a private Postgres, which can make it. The
// folders of testing.T can be reached only by the user of the test, and Postgres may run
// as another one.
func DataDir(t testing.TB) string {
	t.Helper()
	parent, err := os.MkdirTemp("", "midstroke-test")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(parent) })
	if err := os.Chmod(parent, 0o755); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(parent, "data")
}

// Main runs the tests of a package and ends what NewDatabase and Empty
// started for them, and what the package itself started. It doesn't return.
func Main(m *testing.M, also ...func()) {
	code := m.Run()
	for _, end := range also {
		end()
	}
	if err := stop(); err != nil {
		fmt.Fprintln(os.Stderr, "pgtest:", err)
		code = max(code, 1)
	}
	os.Exit(code)
}

func stop() error {
	shared.Lock()
	defer shared.Unlock()
	if shared.home == nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	err := shared.home.server.stop(ctx)
	shared.asked, shared.home = false, nil
	return err
}

// NewDatabase gives the URL of a fresh database with every migration applied.
// It is dropped when the test ends, whoever is still connected. The role that
// the URL logs in as owns the database and is no superuser, whatever the
// server.
func NewDatabase(tb testing.TB) string {
	tb.Helper()
	h := need(tb)
	template, err := h.template()
	if err != nil {
		tb.Fatalf("pgtest: make the template of all test databases: %v", err)
	}
	return h.create(tb, "TEMPLATE "+template)
}

// Empty is NewDatabase without the migrations.
func Empty(tb testing.TB) string {
	tb.Helper()
	return need(tb).create(tb, "TEMPLATE template0")
}

// EmptyForSuperuser is Empty with a URL that logs in as a superuser, as many a
// service does. It skips the test where the server that TEST_DATABASE_URL names
// has none for it.
func EmptyForSuperuser(tb testing.TB) string {
	tb.Helper()
	h := need(tb)
	if h.server.admin == "" {
		tb.Skip("pgtest: the role of TEST_DATABASE_URL is no superuser")
	}
	u, err := url.Parse(h.create(tb, "TEMPLATE template0"))
	if err != nil {
		tb.Fatal(err)
	}
	admin, err := url.Parse(h.server.admin)
	if err != nil {
		tb.Fatal(err)
	}
	admin.Path = u.Path
	return admin.String()
}

// Login gives a URL of the same database for a new login role that has the rights
// of another role and no more. The role goes when the test ends. It skips the test
// where EmptyForSuperuser does.
func Login(tb testing.TB, database, role string) string {
	tb.Helper()
	h := need(tb)
	if h.server.admin == "" {
		tb.Skip("pgtest: the role of TEST_DATABASE_URL is no superuser")
	}
	u, err := url.Parse(database)
	if err != nil {
		tb.Fatal(err)
	}
	name, password := fmt.Sprintf("%slogin_%08x", testPrefix, rand.Uint32()), fmt.Sprintf("%016x", rand.Uint64())
	if err := run(tb.Context(), h.server.admin, "CREATE ROLE "+name+" LOGIN PASSWORD '"+password+"' IN ROLE "+role); err != nil {
		tb.Fatalf("pgtest: %v", err)
	}
	tb.Cleanup(func() {
		// A connection that was closed a moment ago may still be clearing up its
		// temporary tables, which are the role's.
		var err error
		for begun := time.Now(); time.Since(begun) < patience; time.Sleep(50 * time.Millisecond) {
			if err = run(context.Background(), h.server.admin, "DROP ROLE "+name); err == nil {
				return
			}
		}
		tb.Errorf("pgtest: %v", err)
	})
	query := u.Query()
	query.Del("role")
	u.RawQuery, u.User = query.Encode(), url.UserPassword(name, password)
	return u.String()
}

// ServiceLogins gives URLs of the same database for the two roles that the service
// works as. Where Login would skip the test, both are the database's own.
func ServiceLogins(tb testing.TB, database string) (service, keeper string) {
	tb.Helper()
	if need(tb).server.admin == "" {
		return database, database
	}
	return Login(tb, database, migrations.ServiceRole), Login(tb, database, migrations.KeeperRole)
}

// NeedPrograms is for tests of the private Postgres itself, for which nothing
// will do but Postgres's programs on this machine. It passes where they are
// there. Where they aren't, it skips the test if the other tests have their
// database from elsewhere, and else fails it.
func NeedPrograms(tb testing.TB) {
	tb.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	err := pglocal.Installed(ctx)
	var missing *pglocal.MissingError
	switch {
	case err == nil:
	case errors.As(err, &missing) && (os.Getenv("TEST_DATABASE_URL") != "" || engine(ctx) == nil):
		tb.Skipf("pgtest: a private Postgres can't be tried here: %v", err)
	default:
		tb.Fatalf("pgtest: %v", err)
	}
}

// need gives the server of this test binary or ends the test.
func need(tb testing.TB) *home {
	tb.Helper()
	shared.Lock()
	defer shared.Unlock()
	if !shared.asked {
		shared.asked = true
		// A container's program may have to be compiled first, and its image to come.
		ctx, cancel := context.WithTimeout(context.Background(), 2*patience)
		defer cancel()
		shared.home, shared.err = open(ctx)
	}
	if shared.err != nil {
		tb.Fatalf("pgtest: %v", shared.err)
	}
	return shared.home
}

func open(ctx context.Context) (*home, error) {
	srv, err := find(ctx, os.Getenv("TEST_DATABASE_URL"), local, container)
	if err != nil {
		return nil, err
	}
	h := &home{server: srv}
	h.template = sync.OnceValues(func() (string, error) { return makeTemplate(h.server) })
	return h, nil
}

// create makes a database that goes when the test ends.
func (h *home) create(tb testing.TB, how string) string {
	tb.Helper()
	name := testPrefix + time.Now().UTC().Format(stamp) + fmt.Sprintf("_%08x", rand.Uint32())
	if err := h.server.exec("CREATE DATABASE " + name + " " + h.server.owner() + " " + how); err != nil {
		tb.Fatalf("pgtest: %v", err)
	}
	tb.Cleanup(func() {
		if err := h.server.drop(name); err != nil {
			tb.Errorf("pgtest: %v", err)
		}
	})
	return h.server.database(name)
}

// drop drops a database, whoever is connected to it. The server's own upkeep
// may be just then, which only a superuser may end, and which is soon over.
func (s *server) drop(name string) error {
	const insufficientPrivilege = "42501"
	for until := time.Now().Add(patience); ; time.Sleep(50 * time.Millisecond) {
		err := s.exec("DROP DATABASE IF EXISTS " + name + " WITH (FORCE)")
		var told *pgconn.PgError
		if !errors.As(err, &told) || told.Code != insufficientPrivilege || time.Now().After(until) {
			return err
		}
	}
}

// exec runs one statement on the server, outside any test's database.
func (s *server) exec(sql string) error {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	return run(ctx, s.url, sql)
}

func run(ctx context.Context, url, sql string) error {
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	if _, err := conn.Exec(ctx, sql); err != nil {
		return fmt.Errorf("%s: %w", sql, err)
	}
	return nil
}

// owner is the clause that gives a new database to the tests' role.
func (s *server) owner() string {
	if s.role == "" {
		return ""
	}
	return "OWNER " + s.role
}

// database is the URL of one database on the server, as the tests' role.
func (s *server) database(name string) string {
	u, err := url.Parse(s.url)
	if err != nil { // it was connected to
		panic(err)
	}
	u.Path = "/" + name
	if s.role != "" {
		query := u.Query()
		query.Set("role", s.role)
		u.RawQuery = query.Encode()
	}
	return u.String()
}

// age tells how old the database of that name is, by the stamp in it.
func age(name string) (time.Duration, bool) {
	rest, ok := strings.CutPrefix(name, testPrefix)
	if !ok {
		rest, ok = strings.CutPrefix(name, templatePrefix)
	}
	if !ok || len(rest) < len(stamp) {
		return 0, false
	}
	made, err := time.Parse(stamp, rest[:len(stamp)])
	return time.Since(made), err == nil
}
