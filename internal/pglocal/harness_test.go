//go:build unix

package pglocal_test

import (
	"bufio"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
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
	parent, err := pglocal.TemporaryDir("pglocal-test-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	flag.Parse()
	if pglocal.Installed(context.Background()) != nil {
		// Tests tell what is missing, or skip; an example can't.
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

// holder is another process that holds a folder's lock.
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

// folder gives a new folder that every user can enter. The parent of t.TempDir's
// lets no other user in.
func folder(t *testing.T) string {
	t.Helper()
	dir, err := pglocal.TemporaryDir("pglocal-test-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		// The server of a killed holder may still be stopping, and write.
		for range 250 {
			if err = os.RemoveAll(dir); err == nil {
				return
			}
			time.Sleep(20 * time.Millisecond)
		}
		t.Error(err)
	})
	if err := os.Chmod(dir, 0o711); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(dir, "data")
}

// prototype gives a data folder with a cluster, to be copied. Making one takes a
// second.
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

// keep writes a row that must still exist later.
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
