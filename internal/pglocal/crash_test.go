//go:build unix

package pglocal_test

import (
	"context"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/pglocal"
	"midstroke/internal/postgres/pgtest"
)

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
		// On such systems the next start stops it.
		srv := start(t, dir)
		waitGone(t, pid)
		kept(t, srv.URL())
		return
	}
	waitGone(t, pid)
	kept(t, start(t, dir).URL())
}

// A supervisor restarts the process at once, while the killed one's server may
// still be stopping.
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
	// As after a restart of the machine, the number in the pid file belongs to
	// another program of the same user.
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

// On systems whose kernel doesn't stop a child with its parent, a server may be
// left behind. Here the test starts one itself.
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

// adminURL is the address for the superuser.
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
