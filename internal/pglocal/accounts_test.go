//go:build unix

package pglocal_test

import (
	"errors"
	"io"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"midstroke/internal/pglocal"
	"midstroke/internal/postgres/pgtest"
)

func needRoot(t *testing.T) {
	t.Helper()
	if os.Geteuid() != 0 {
		t.Skip("only root can run as others")
	}
}

// ordinaryUser makes this test binary a command of the user nobody, whose home is a
// folder of its own.
func ordinaryUser(t *testing.T) (cmd *exec.Cmd, home string) {
	t.Helper()
	nobody, err := user.Lookup("nobody")
	if err != nil {
		t.Fatal(err)
	}
	uid, _ := strconv.Atoi(nobody.Uid)
	gid, _ := strconv.Atoi(nobody.Gid)
	home = folder(t)
	if err := os.Mkdir(home, 0o755); err != nil {
		t.Fatal(err)
	}
	// A test binary lies in a folder that only its builder can enter.
	binary := filepath.Join(filepath.Dir(home), "pglocal.test")
	in, err := os.Open(os.Args[0])
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	out, err := os.OpenFile(binary, os.O_CREATE|os.O_WRONLY, 0o755)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := io.Copy(out, in); err != nil {
		t.Fatal(err)
	}
	if err := out.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.Chown(home, uid, gid); err != nil {
		t.Fatal(err)
	}
	cmd = exec.Command(binary)
	cmd.Dir = home
	cmd.Env = []string{"HOME=" + home, "PATH=" + os.Getenv("PATH")}
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}}
	return cmd, home
}

func ownerOf(t *testing.T, path string) int {
	t.Helper()
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	return int(info.Sys().(*syscall.Stat_t).Uid)
}

func TestOrdinaryUserThenRoot(t *testing.T) {
	t.Parallel()
	needRoot(t)
	cmd, home := ordinaryUser(t)
	h := holdElsewhere(t, cmd, "default")
	dir := filepath.Join(home, ".local", "share", "midstroke")
	if got := filepath.Dir(socketFolder(t, h.url)); got != dir {
		t.Errorf("the default folder is %s, want %s", got, dir)
	}
	uid := ownerOf(t, home)
	if got := ownerOf(t, filepath.Join(dir, "cluster", "postmaster.pid")); got != uid {
		t.Errorf("the server runs as user %d, want %d", got, uid)
	}
	keep(t, h.url)
	if err := h.stdin.Close(); err != nil {
		t.Fatal(err)
	}
	if err := h.cmd.Wait(); err != nil {
		t.Fatal(err)
	}

	// Root goes on with it and runs Postgres as the same user.
	srv := start(t, dir)
	kept(t, srv.URL())
	if got := ownerOf(t, filepath.Join(dir, "cluster", "postmaster.pid")); got != uid {
		t.Errorf("under root the server runs as user %d, want %d", got, uid)
	}
}

func TestRootsServerIsNotRoots(t *testing.T) {
	t.Parallel()
	needRoot(t)
	dir := folder(t)
	start(t, dir)
	if got := ownerOf(t, filepath.Join(dir, "cluster", "postmaster.pid")); got == 0 {
		t.Error("the server runs as root")
	}
	if got := ownerOf(t, dir); got != 0 {
		t.Errorf("the data folder is user %d's, want root's", got)
	}
}

func TestFolderThatTheServerCannotReach(t *testing.T) {
	t.Parallel()
	needRoot(t)
	pgtest.NeedPrograms(t)
	parent := t.TempDir() // for root alone
	kept := filepath.Join(parent, "kept")
	if err := os.Mkdir(kept, 0o755); err != nil {
		t.Fatal(err)
	}
	for _, dir := range []string{filepath.Join(parent, "new", "data"), kept} {
		if _, err := pglocal.Start(t.Context(), pglocal.Config{Dir: dir}); err == nil || !strings.Contains(err.Error(), "can't be reached by the user") {
			t.Errorf("Start in %s answers %v", dir, err)
		}
	}
	if left, err := filepath.Glob(filepath.Join(parent, "*")); err != nil || !slices.Equal(left, []string{kept}) {
		t.Errorf("left behind: %v, %v", left, err)
	}
	if _, err := os.Lstat(filepath.Join(kept, pglocal.Unfinished)); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("initdb's folder: %v", err)
	}
}
