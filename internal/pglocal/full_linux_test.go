package pglocal_test

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"midstroke/internal/pglocal"
	"midstroke/internal/postgres/pgtest"
)

// smallDisk gives a folder on a disk of its own. Only root may mount one.
func smallDisk(t *testing.T, size string) string {
	t.Helper()
	disk := filepath.Dir(folder(t))
	err := syscall.Mount("tmpfs", disk, "tmpfs", 0, "mode=0755,size="+size)
	if errors.Is(err, syscall.EPERM) || errors.Is(err, syscall.EACCES) {
		t.Skip("only root may mount a small disk")
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(disk, syscall.MNT_DETACH); err != nil {
			t.Error(err)
		}
	})
	return disk
}

// fillUp leaves so many bytes free. It gives what it wrote.
func fillUp(t *testing.T, disk string, free int64) (ballast string) {
	t.Helper()
	var st syscall.Statfs_t
	if err := syscall.Statfs(disk, &st); err != nil {
		t.Fatal(err)
	}
	ballast = filepath.Join(disk, "ballast")
	if err := os.WriteFile(ballast, make([]byte, int64(st.Bavail)*st.Bsize-free), 0o600); err != nil {
		t.Fatal(err)
	}
	return ballast
}

// TestAFullDisk: Postgres starts where it can, and otherwise the error says what to
// do. What was written is there again.
func TestAFullDisk(t *testing.T) {
	t.Parallel()
	pgtest.NeedPrograms(t)
	disk := smallDisk(t, "200m")
	dir := filepath.Join(disk, "data")
	srv := start(t, dir)
	keep(t, srv.URL())
	stop(t, srv)

	ballast := fillUp(t, disk, 0)
	_, err := pglocal.Start(t.Context(), pglocal.Config{Dir: dir})
	var full *pglocal.FullError
	if !errors.As(err, &full) || full.Dir != dir || full.Free != 0 || !strings.Contains(err.Error(), "is full (0 kB are free)") {
		t.Errorf("with nothing free: %v", err)
	}
	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	// A little room is enough for Postgres's own files, and for Attach to find it.
	fillUp(t, disk, 256<<10)
	h := holdElsewhere(t, exec.Command(os.Args[0]), dir)
	kept(t, h.url)
	if url, err := pglocal.Attach(t.Context(), dir); err != nil || url != h.url {
		t.Errorf("attached to %q, %v", url, err)
	}
}

// TestAFirstStartOnAFullDisk says so as well.
func TestAFirstStartOnAFullDisk(t *testing.T) {
	t.Parallel()
	pgtest.NeedPrograms(t)
	disk := smallDisk(t, "35m") // room to start, but not to set up: 48 MB by du
	_, err := pglocal.Start(t.Context(), pglocal.Config{Dir: filepath.Join(disk, "data")})
	var full *pglocal.FullError
	if !errors.As(err, &full) || !strings.Contains(err.Error(), "at least 64 MB") {
		t.Errorf("the first start answers %v", err)
	}
}
