//go:build unix

package pglocal_test

import (
	"bufio"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"net/url"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/pglocal"
	"midstroke/internal/postgres/pgtest"
)

// holdEnv makes this test binary start a server in the named folder and hold
// it until its standard input ends, as a service would.
const holdEnv = "PGLOCAL_TEST_HOLD"

func TestMain(m *testing.M) {
	if dir := os.Getenv(holdEnv); dir != "" {
		os.Exit(hold(dir))
	}
	parent, err := os.MkdirTemp("", "pglocal-test-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	flag.Parse()
	if pglocal.Installed(context.Background()) != nil {
		// The tests then say what is missing, or skip; an example can't.
		_ = flag.Set("test.skip", "^Example") // the flag is there
	}
	prototype = sync.OnceValues(func() (string, error) { return makePrototype(parent) })
	code := m.Run()
	_ = os.RemoveAll(parent)
	os.Exit(code)
}

func hold(dir string) int {
	if dir == "default" {
		dir = ""
	}
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGTERM)
	defer stop()
	srv, err := pglocal.Start(ctx, pglocal.Config{Dir: dir})
	if err != nil {
		fmt.Println("error", err)
		return 1
	}
	fmt.Println("ready", srv.URL())
	_, _ = io.Copy(io.Discard, os.Stdin)
	if err := srv.Stop(context.Background()); err != nil {
		fmt.Println("error", err)
		return 1
	}
	return 0
}

// holder is another process that holds a folder.
type holder struct {
	cmd   *exec.Cmd
	stdin io.WriteCloser
	url   string
}

func holdElsewhere(t *testing.T, cmd *exec.Cmd, dir string) *holder {
	t.Helper()
	pgtest.NeedPrograms(t)
	cmd.Env = append(cmd.Environ(), holdEnv+"="+dir)
	cmd.Stderr = os.Stderr
	stdin, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	stdout, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
	})
	line, err := bufio.NewReader(stdout).ReadString('\n')
	word, rest, _ := strings.Cut(strings.TrimSpace(line), " ")
	if err != nil || word != "ready" {
		t.Fatalf("the other process didn't start its server: %q %v", line, err)
	}
	return &holder{cmd: cmd, stdin: stdin, url: rest}
}

// folder gives a fresh folder that any user can enter, which t.TempDir's
// parent doesn't let them.
func folder(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "pglocal-test-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	if err := os.Chmod(dir, 0o711); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(dir, "data")
}

// prototype gives a data folder whose cluster has been made, for copying:
// making one takes a second.
var prototype func() (string, error)

func makePrototype(parent string) (string, error) {
	if err := os.Chmod(parent, 0o711); err != nil {
		return "", err
	}
	dir := filepath.Join(parent, "data")
	srv, err := pglocal.Start(context.Background(), pglocal.Config{Dir: dir})
	if err != nil {
		return "", err
	}
	return dir, srv.Stop(context.Background())
}

// usedFolder gives a data folder that has been used before.
func usedFolder(t *testing.T) string {
	t.Helper()
	dir := folder(t)
	fill(t, dir)
	return dir
}

// fill copies the prototype to dir.
func fill(t *testing.T, dir string) {
	t.Helper()
	pgtest.NeedPrograms(t)
	made, err := prototype()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(filepath.Dir(dir), 0o755); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("cp", "-Rp", made, dir).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
}

func start(t *testing.T, dir string) *pglocal.Server {
	t.Helper()
	pgtest.NeedPrograms(t)
	srv, err := pglocal.Start(t.Context(), pglocal.Config{Dir: dir})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = srv.Stop(context.Background()) })
	return srv
}

func stop(t *testing.T, srv *pglocal.Server) {
	t.Helper()
	if err := srv.Stop(t.Context()); err != nil {
		t.Fatal(err)
	}
}

func query[T any](t *testing.T, url, sql string) T {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	var v T
	if err := conn.QueryRow(t.Context(), sql).Scan(&v); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
	return v
}

// keep writes a row that must be there later.
func keep(t *testing.T, url string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	if _, err := conn.Exec(t.Context(), "CREATE TABLE kept (n int); INSERT INTO kept VALUES (41), (1)"); err != nil {
		t.Fatal(err)
	}
}

func kept(t *testing.T, url string) {
	t.Helper()
	if got := query[int](t, url, "SELECT sum(n)::int FROM kept"); got != 42 {
		t.Errorf("the rows written before add up to %d, want 42", got)
	}
}

func postmaster(t *testing.T, dir string) int {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join(dir, "cluster", "postmaster.pid"))
	if err != nil {
		t.Fatal(err)
	}
	first, _, _ := strings.Cut(string(raw), "\n")
	pid, err := strconv.Atoi(first)
	if err != nil {
		t.Fatal(err)
	}
	return pid
}

func waitGone(t *testing.T, pid int) {
	t.Helper()
	for range 500 {
		if errors.Is(syscall.Kill(pid, 0), syscall.ESRCH) {
			return
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Fatalf("process %d is still there after 10 s", pid)
}

func TestServerKeepsItsDataBetweenRuns(t *testing.T) {
	// None of these is for the private server.
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

func TestKilledParentLeavesNoServer(t *testing.T) {
	t.Parallel()
	dir := usedFolder(t)
	h := holdElsewhere(t, exec.Command(os.Args[0]), dir)
	keep(t, h.url)
	pid := postmaster(t, dir)
	if err := h.cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = h.cmd.Wait()
	if runtime.GOOS != "linux" {
		// There the next start stops it.
		srv := start(t, dir)
		waitGone(t, pid)
		kept(t, srv.URL())
		return
	}
	waitGone(t, pid)
	kept(t, start(t, dir).URL())
}

// A supervisor restarts at once: the server of the killed process may still be
// on its way down.
func TestStartRightAfterAKill(t *testing.T) {
	t.Parallel()
	dir := usedFolder(t)
	h := holdElsewhere(t, exec.Command(os.Args[0]), dir)
	keep(t, h.url)
	if err := h.cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	kept(t, start(t, dir).URL())
}

func TestServerOutlivesTheThreadThatStartedIt(t *testing.T) {
	t.Parallel()
	pgtest.NeedPrograms(t)
	dir := usedFolder(t)
	started := make(chan *pglocal.Server, 1)
	go func() {
		runtime.LockOSThread() // and never unlocked: the thread ends with the goroutine
		srv, err := pglocal.Start(context.Background(), pglocal.Config{Dir: dir})
		if err != nil {
			t.Error(err)
		}
		started <- srv
	}()
	srv := <-started
	if srv == nil {
		t.FailNow()
	}
	defer stop(t, srv)
	time.Sleep(300 * time.Millisecond) // a shutdown takes 80 ms
	query[int](t, srv.URL(), "SELECT 1")
}

func TestServerIsFoundAgainAfterACrash(t *testing.T) {
	t.Parallel()
	dir := usedFolder(t)
	srv := start(t, dir)
	keep(t, srv.URL())
	if err := syscall.Kill(postmaster(t, dir), syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	select {
	case <-srv.Done():
	case <-time.After(10 * time.Second):
		t.Fatal("Done stays open after the server was killed")
	}
	if err := srv.Stop(t.Context()); err == nil {
		t.Error("Stop doesn't say that the server had ended by itself")
	}
	// As after a restart of the machine: the number in the pid file now
	// belongs to a program of the same user that is no server.
	sleeper := exec.Command("sleep", "60")
	sleeper.SysProcAttr = asOwnerOf(t, filepath.Join(dir, "cluster"))
	if err := sleeper.Start(); err != nil {
		t.Fatal(err)
	}
	defer func() { _ = sleeper.Process.Kill(); _ = sleeper.Wait() }()
	pidFile := filepath.Join(dir, "cluster", "postmaster.pid")
	raw, err := os.ReadFile(pidFile)
	if err != nil {
		t.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(raw), "\n")
	if err := os.WriteFile(pidFile, []byte(strconv.Itoa(sleeper.Process.Pid)+"\n"+rest), 0o600); err != nil {
		t.Fatal(err)
	}
	kept(t, start(t, dir).URL())
}

// On systems whose kernel doesn't stop a child with its parent, a server may
// be left behind: here one that the test itself started.
func TestStartStopsAServerLeftBehind(t *testing.T) {
	t.Parallel()
	dir := usedFolder(t)
	srv := start(t, dir)
	keep(t, srv.URL())
	cluster := filepath.Join(dir, "cluster")
	u, err := url.Parse(srv.URL())
	if err != nil {
		t.Fatal(err)
	}
	programs := filepath.Dir(query[string](t, adminURL(*u), "SELECT setting FROM pg_config() WHERE name = 'BINDIR'") + "/x")
	stop(t, srv)

	orphan := exec.Command(filepath.Join(programs, "postgres"), "-D", cluster, "-k", filepath.Join(dir, "run"), "-c", "listen_addresses=")
	orphan.Dir = cluster
	orphan.SysProcAttr = asOwnerOf(t, cluster)
	if err := orphan.Start(); err != nil {
		t.Fatal(err)
	}
	ended := make(chan struct{})
	go func() {
		_ = orphan.Wait()
		close(ended)
	}()
	for range 500 { // until it serves
		if conn, err := pgx.Connect(t.Context(), srv.URL()); err == nil {
			_ = conn.Close(t.Context())
			break
		}
		time.Sleep(10 * time.Millisecond)
	}
	again := start(t, dir)
	select {
	case <-ended:
	case <-time.After(10 * time.Second):
		t.Fatal("the server that was left behind still runs")
	}
	kept(t, again.URL())
}

// adminURL is the superuser's way in.
func adminURL(u url.URL) string {
	u.User = url.User("postgres")
	u.Path = "/postgres"
	return u.String()
}

func asOwnerOf(t *testing.T, path string) *syscall.SysProcAttr {
	t.Helper()
	if os.Geteuid() != 0 {
		return nil
	}
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	st := info.Sys().(*syscall.Stat_t)
	return &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: st.Uid, Gid: st.Gid}}
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
	// Its place is then not in memory but where this test looks.
	t.Setenv("TMPDIR", os.TempDir())
	// Left behind by a test that was killed some time ago.
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
