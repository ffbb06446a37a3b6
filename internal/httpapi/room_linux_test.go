package httpapi_test

import (
	"errors"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// TestAFullUploadFolder uploads to a disk that is full, of blocks and of files.
func TestAFullUploadFolder(t *testing.T) {
	disk := filepath.Join(t.TempDir(), "disk")
	if err := os.Mkdir(disk, 0o755); err != nil {
		t.Fatal(err)
	}
	// The folder itself takes one of its files.
	err := syscall.Mount("tmpfs", disk, "tmpfs", 0, "size=64k,nr_inodes=2")
	if errors.Is(err, syscall.EPERM) || errors.Is(err, syscall.EACCES) {
		t.Skip("only root may mount a small disk")
	}
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := syscall.Unmount(disk, 0); err != nil {
			t.Error(err)
		}
	}()
	s, _ := newStoredShops(t) // before TMPDIR, for its database may lie there
	t.Setenv("TMPDIR", disk)
	full := func(body string) {
		t.Helper()
		s.log.Reset()
		a := s.do(t, http.MethodPost, "/v1/catalogs/north/revisions", body, "Authorization", "Bearer "+s.text["north admin"], "Content-Type", "text/csv")
		p := refused(t, a, http.StatusInsufficientStorage)
		if p.Code != "upload_folder_full" || !strings.HasSuffix(p.Type, "#no-room") || a.header.Get("Retry-After") == "" {
			t.Errorf("%+v", p)
		}
		if log := s.log.String(); !strings.Contains(log, "no space left") || !strings.Contains(log, disk) {
			t.Errorf("the log doesn't say why: %s", log)
		}
		if strings.Contains(string(a.body), disk) {
			t.Errorf("the caller is told of the folder: %s", a.body)
		}
	}
	full(strings.Repeat("x", 100_000))
	last := filepath.Join(disk, "last")
	if err := os.WriteFile(last, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	full("x")
	if err := os.Remove(last); err != nil {
		t.Fatal(err)
	}
	a := s.do(t, http.MethodPost, "/v1/catalogs/north/revisions", aDamper, "Authorization", "Bearer "+s.text["north admin"], "Content-Type", "text/csv")
	if a.status != http.StatusCreated {
		t.Errorf("with room again: %d %s", a.status, a.body)
	}
}
