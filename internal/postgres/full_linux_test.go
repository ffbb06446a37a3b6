package postgres_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"midstroke/internal/pglocal"
	"midstroke/internal/postgres"
	"midstroke/internal/postgres/pgtest"
	"midstroke/internal/shop"
	"midstroke/migrations"
)

// TestAFullDatabase drafts on a disk without room: the error says so, nothing is
// half there, and reading goes on.
func TestAFullDatabase(t *testing.T) {
	t.Parallel()
	pgtest.NeedPrograms(t)
	disk, err := os.MkdirTemp("", "midstroke-disk")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(disk) })
	err = syscall.Mount("tmpfs", disk, "tmpfs", 0, "mode=0755,size=200m")
	if errors.Is(err, syscall.EPERM) || errors.Is(err, syscall.EACCES) {
		t.Skip("only root may mount a small disk")
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = syscall.Unmount(disk, syscall.MNT_DETACH) })
	srv, err := pglocal.Start(t.Context(), pglocal.Config{Dir: filepath.Join(disk, "data")})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = srv.Stop(context.Background()) })
	if _, err := migrations.Up(t.Context(), srv.URL()); err != nil {
		t.Fatal(err)
	}
	s, err := postgres.Open(t.Context(), srv.URL())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	if err := s.EnsureCatalog(t.Context(), "corner garage", "own"); err != nil {
		t.Fatal(err)
	}
	publish(t, s, contents(t, 100))
	var st syscall.Statfs_t
	if err := syscall.Statfs(disk, &st); err != nil {
		t.Fatal(err)
	}
	ballast := filepath.Join(disk, "ballast")
	if err := os.WriteFile(ballast, make([]byte, int64(st.Bavail)*st.Bsize-(512<<10)), 0o600); err != nil {
		t.Fatal(err)
	}
	in := shop.Place{Catalog: "own"}
	large := contents(t, 20_000) // some 3 MB
	if _, err := s.Draft(t.Context(), in, shop.PartsOf(large), "", "a test", nil); !errors.Is(err, shop.ErrFull) {
		t.Errorf("a draft on a full disk: %v", err)
	}
	if list, err := s.Revisions(t.Context(), in, 0, 10); err != nil || len(list) != 1 {
		t.Errorf("%d revisions, %v", len(list), err)
	}
	if snapshot, err := s.Newest(t.Context(), "own"); err != nil || len(snapshot.Dampers()) != 100 {
		t.Errorf("what was there is read as %v, %v", snapshot, err)
	}
	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Draft(t.Context(), in, shop.PartsOf(large), "", "a test", nil); err != nil {
		t.Errorf("with room again: %v", err)
	}
}
