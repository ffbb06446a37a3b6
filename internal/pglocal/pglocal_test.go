//go:build unix

package pglocal_test

import (
	"context"
	"errors"
	"log/slog"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"midstroke/internal/pglocal"
	"midstroke/internal/postgres/pgtest"
)

func TestServerKeepsItsDataBetweenRuns(t *testing.T) {
	// The private server must ignore all of these.
	t.Setenv("PGPORT", "1")
	t.Setenv("PGDATA", "/nowhere")
	t.Setenv("PGHOST", "192.0.2.1")
	t.Setenv("PGOPTIONS", "-c search_path=nowhere")
	dir := folder(t)
	srv := start(t, dir)
	t.Setenv("PGOPTIONS", "") // but it is for this test's client

	if got := query[string](t, srv.URL(), "SHOW listen_addresses"); got != "" {
		t.Errorf("the server listens on TCP: %q", got)
	}
	if query[bool](t, srv.URL(), "SELECT rolsuper FROM pg_roles WHERE rolname = current_user") {
		t.Error("the application's role is a superuser")
	}
	if got := query[string](t, srv.URL(), "SELECT datcollate FROM pg_database WHERE datname = current_database()"); got != "C" {
		t.Errorf("text is ordered by %q, want C", got)
	}
	keep(t, srv.URL())
	pid := postmaster(t, dir)
	stop(t, srv)
	waitGone(t, pid)
	select {
	case <-srv.Done():
	default:
		t.Error("Done is open after Stop")
	}
	stop(t, srv) // once more does no harm

	kept(t, start(t, dir).URL())
}

func TestSecondStartNamesTheHolder(t *testing.T) {
	t.Parallel()
	dir := usedFolder(t)
	h := holdElsewhere(t, exec.Command(os.Args[0]), dir)

	_, err := pglocal.Start(t.Context(), pglocal.Config{Dir: dir})
	var busy *pglocal.BusyError
	if !errors.As(err, &busy) {
		t.Fatalf("the second start answers %v, want a BusyError", err)
	}
	if busy.PID != h.cmd.Process.Pid {
		t.Errorf("it names process %d, want %d", busy.PID, h.cmd.Process.Pid)
	}
	if !strings.Contains(err.Error(), strconv.Itoa(h.cmd.Process.Pid)) || !strings.Contains(err.Error(), dir) {
		t.Errorf("%q doesn't name the process and the folder", err)
	}
	query[int](t, h.url, "SELECT 1") // the first goes on
}

func TestAttach(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	none := func(when string) {
		t.Helper()
		if url, err := pglocal.Attach(t.Context(), dir); !errors.Is(err, pglocal.ErrNotRunning) {
			t.Errorf("%s: Attach gives %q, %v, want ErrNotRunning", when, url, err)
		}
	}
	none("no folder yet")
	fill(t, dir)
	none("before the start")
	h := holdElsewhere(t, exec.Command(os.Args[0]), dir)
	got, err := pglocal.Attach(t.Context(), dir)
	if err != nil || got != h.url {
		t.Fatalf("Attach gives %q, %v, want %q", got, err, h.url)
	}
	query[int](t, got, "SELECT 1")
	if err := h.stdin.Close(); err != nil {
		t.Fatal(err)
	}
	if err := h.cmd.Wait(); err != nil {
		t.Fatal(err)
	}
	none("after the stop")
}

// Whoever can open the lock file can lock it, and keep its owner from starting.
func TestOthersCanNotReadTheLock(t *testing.T) {
	t.Parallel()
	dir := usedFolder(t)
	lock := filepath.Join(dir, "lock")
	if err := os.Chmod(lock, 0o644); err != nil { // as older versions left it
		t.Fatal(err)
	}
	start(t, dir)
	if info, err := os.Stat(lock); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the lock file has mode %v, %v, want 600", info.Mode(), err)
	}
	fresh := folder(t)
	start(t, fresh)
	if info, err := os.Stat(filepath.Join(fresh, "lock")); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("a new lock file has mode %v, %v, want 600", info.Mode(), err)
	}
}

func TestLoginsOwnNothing(t *testing.T) {
	t.Parallel()
	pgtest.NeedPrograms(t)
	dir := usedFolder(t)
	srv, err := pglocal.Start(t.Context(), pglocal.Config{Dir: dir, Logins: []string{"reader", "writer"}})
	if err != nil {
		t.Fatal(err)
	}
	defer stop(t, srv)
	for _, role := range []string{"reader", "writer"} {
		if got := query[string](t, srv.LoginURL(role), "SELECT current_user::text FROM pg_roles WHERE rolname = current_user AND NOT (rolsuper OR rolbypassrls OR rolcreatedb OR rolcreaterole)"); got != role {
			t.Errorf("logged in as %q, want %q", got, role)
		}
	}
}

func TestLongPath(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(folder(t), strings.Repeat("a-long-name-", 10), strings.Repeat("and-another-", 10))
	fill(t, dir)
	h := holdElsewhere(t, exec.Command(os.Args[0]), dir)
	keep(t, h.url)
	first := socketFolder(t, h.url)
	info, err := os.Stat(first)
	if err != nil {
		t.Fatal(err)
	}
	if got := info.Mode().Perm(); got != 0o700 {
		t.Errorf("the socket's folder has mode %o, want 700", got)
	}
	if err := h.cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = h.cmd.Wait()

	srv := start(t, dir)
	kept(t, srv.URL())
	second := socketFolder(t, srv.URL())
	if _, err := os.Stat(first); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the socket's folder of the killed process is still there: %v", err)
	}
	stop(t, srv)
	if _, err := os.Stat(second); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the socket's folder is still there after Stop: %v", err)
	}
}

func socketFolder(t *testing.T, address string) string {
	t.Helper()
	u, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	dir := u.Query().Get("host")
	if len(dir)+len("/.s.PGSQL.5432") >= 100 {
		t.Errorf("the socket's path in %s is too long", dir)
	}
	return dir
}

func TestDataOfAnotherVersionIsRefused(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		wrote string
		major int
		says  string
	}{
		{"99\n", 99, "written by Postgres 99"},    // newer than what is installed
		{"13\n", 13, "14 is the oldest"},          // older than what is used
		{"9.6\n", 9, "14 is the oldest"},          // numbered as Postgres did before 10
		{"fifteen\n", 0, "doesn't say which ver"}, // damaged
	} {
		dir := folder(t)
		cluster := filepath.Join(dir, "cluster")
		if err := os.MkdirAll(cluster, 0o700); err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(cluster, "PG_VERSION")
		if err := os.WriteFile(file, []byte(c.wrote), 0o600); err != nil {
			t.Fatal(err)
		}
		_, err := pglocal.Start(t.Context(), pglocal.Config{Dir: dir})
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q: %v, want %q in it", c.wrote, err, c.says)
		}
		var missing *pglocal.MissingError
		if c.major != 0 && (!errors.As(err, &missing) || missing.Major != c.major) {
			t.Errorf("%q: %#v, want a MissingError of %d", c.wrote, err, c.major)
		}
		if raw, err := os.ReadFile(file); err != nil || string(raw) != c.wrote {
			t.Errorf("%q: the data was touched: %q, %v", c.wrote, raw, err)
		}
	}
}

func TestFolderOfSomethingElseIsLeftAlone(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	if err := os.MkdirAll(filepath.Join(dir, "cluster"), 0o755); err != nil {
		t.Fatal(err)
	}
	letter := filepath.Join(dir, "cluster", "letter.txt")
	if err := os.WriteFile(letter, []byte("dear"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := pglocal.Start(t.Context(), pglocal.Config{Dir: dir}); err == nil || !strings.Contains(err.Error(), "holds no Postgres data") {
		t.Errorf("Start answers %v", err)
	}
	if _, err := os.Stat(letter); err != nil {
		t.Error(err)
	}
}

func TestSetUpThatWasBrokenOffIsBegunAgain(t *testing.T) {
	t.Parallel()
	pgtest.NeedPrograms(t)
	dir := folder(t)
	ctx, cancel := context.WithCancel(t.Context())
	go func() {
		for range 1000 { // until initdb is at work
			if files, _ := os.ReadDir(filepath.Join(dir, pglocal.Unfinished)); len(files) > 3 {
				break
			}
			time.Sleep(2 * time.Millisecond)
		}
		cancel()
	}()
	if _, err := pglocal.Start(ctx, pglocal.Config{Dir: dir}); !errors.Is(err, context.Canceled) {
		t.Fatalf("the broken-off start answers %v", err)
	}
	if _, err := os.Stat(filepath.Join(dir, "cluster")); !errors.Is(err, os.ErrNotExist) {
		t.Fatalf("a half-made cluster stands in its place: %v", err)
	}
	query[int](t, start(t, dir).URL(), "SELECT 1")
}

func TestServerThatCannotStartSaysWhy(t *testing.T) {
	t.Parallel()
	dir := usedFolder(t)
	conf := filepath.Join(dir, "cluster", "postgresql.conf")
	f, err := os.OpenFile(conf, os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.WriteString("no_such_setting = on\n"); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	_, err = pglocal.Start(t.Context(), pglocal.Config{Dir: dir})
	if err == nil || !strings.Contains(err.Error(), "no_such_setting") {
		t.Errorf("Start answers %v, want the server's own words", err)
	}
}

func TestTemporary(t *testing.T) {
	pgtest.NeedPrograms(t)
	// Then its folder isn't in memory but where this test looks.
	t.Setenv("TMPDIR", os.TempDir())
	// A test that was killed some time ago left this.
	left, err := os.MkdirTemp("", "midstroke-throwaway-")
	if err != nil {
		t.Fatal(err)
	}
	defer os.RemoveAll(left)
	hourAgo := time.Now().Add(-time.Hour)
	if err := os.Chtimes(left, hourAgo, hourAgo); err != nil {
		t.Fatal(err)
	}

	srv, err := pglocal.Temporary(t.Context(), slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(left); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("what a killed test left is still there: %v", err)
	}
	dir := filepath.Dir(socketFolder(t, srv.URL()))
	if got := query[string](t, srv.URL(), "SHOW fsync"); got != "off" {
		t.Errorf("fsync is %s", got)
	}
	if !query[bool](t, srv.URL(), "SELECT rolcreatedb FROM pg_roles WHERE rolname = current_user") {
		t.Error("the role may not create databases")
	}
	stop(t, srv)
	if _, err := os.Stat(dir); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the folder is still there after Stop: %v", err)
	}
}

func BenchmarkWarmStart(b *testing.B) {
	pgtest.NeedPrograms(b)
	dir, err := prototype()
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		srv, err := pglocal.Start(b.Context(), pglocal.Config{Dir: dir})
		if err != nil {
			b.Fatal(err)
		}
		if err := srv.Stop(b.Context()); err != nil {
			b.Fatal(err)
		}
	}
}
