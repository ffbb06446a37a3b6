//go:build unix

package pglocal_test

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"sync/atomic"
	"testing"

	"midstroke/internal/pglocal"
)

func discard(t *testing.T, srv *pglocal.Server) {
	t.Helper()
	if err := srv.Discard(t.Context()); err != nil {
		t.Fatal(err)
	}
}

func TestDiscardRemovesWhatStartMade(t *testing.T) {
	t.Parallel()
	top := folder(t)
	srv := start(t, filepath.Join(top, "in", "here"))
	if !srv.New() {
		t.Error("new data don't count as new")
	}
	discard(t, srv)
	if _, err := os.Lstat(top); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("%s is left: %v", top, err)
	}
	stop(t, srv) // once more does no harm
}

func TestDiscardLeavesWhatOthersMade(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	if err := os.Mkdir(dir, 0o711); err != nil {
		t.Fatal(err)
	}
	theirs := filepath.Join(dir, "theirs")
	if err := os.WriteFile(theirs, []byte("text"), 0o600); err != nil {
		t.Fatal(err)
	}
	discard(t, start(t, dir))
	left, err := os.ReadDir(dir)
	if err != nil || len(left) != 1 || left[0].Name() != "theirs" {
		t.Errorf("the folder has %v (%v), want only theirs", left, err)
	}

	used := usedFolder(t)
	srv := start(t, used)
	if srv.New() {
		t.Error("data of an earlier start count as new")
	}
	keep(t, srv.URL())
	discard(t, srv)
	kept(t, start(t, used).URL())
}

// TestOneHoldsTheLockAlthoughItIsRemoved takes the lock, removes its file and releases
// it, many times at once. Whoever waited for a removed file must not go on with it.
func TestOneHoldsTheLockAlthoughItIsRemoved(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	var holders atomic.Int32
	var all sync.WaitGroup
	for range 4 {
		all.Go(func() {
			for range 100 {
				release, err := pglocal.HoldLock(dir)
				if err != nil {
					t.Error(err)
					return
				}
				if n := holders.Add(1); n != 1 {
					t.Errorf("%d hold the lock", n)
				}
				runtime.Gosched()
				holders.Add(-1)
				if err := os.Remove(filepath.Join(dir, "lock")); err != nil {
					t.Error(err)
				}
				release()
			}
		})
	}
	all.Wait()
}
