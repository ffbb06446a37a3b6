package outage_test

import (
	"io/fs"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// diskFull fills the disk of Postgres, and uploads revisions until one can't be kept.
// Fits are answered all the same, and with room again the next upload is kept.
func diskFull(s *stage, r *result) {
	disk, back := s.toSmallDisk()
	defer back()
	v := s.serve()
	file := exported(v, quiet)
	l := start(s.T, v.checked(v.steady(quiet, 100, 16)))
	time.Sleep(500 * time.Millisecond)
	free := fill(s, disk)
	kept := 0
	for begun := time.Now(); ; kept++ {
		status, retry := v.upload(file)
		if status == http.StatusCreated && time.Since(begun) < 20*time.Second {
			continue
		}
		if status != http.StatusServiceUnavailable || retry == "" {
			s.Errorf("an upload to a full disk is answered by %d, Retry-After %q, after %d that were kept", status, retry, kept)
		}
		break
	}
	if s.gone() {
		broken := time.Now()
		s.until(4*showsWithin, "stale", v.stale)
		r.stale = time.Since(broken)
		s.within("to show that the database is gone", r.stale, showsWithin)
	}
	time.Sleep(lasts)
	free()
	healed := time.Now()
	if s.gone() {
		s.stopPostgres() // lets go of the folder
		s.startPostgres()
		healed = time.Now()
	}
	s.until(10*recoversAfter, "an upload that is kept", func() bool {
		r.recovered = time.Since(healed) // when it begins
		status, _ := v.upload(file)
		return status == http.StatusCreated
	})
	s.within("to recover", r.recovered, recoversAfter)
	s.until(recoversAfter, "fresh", func() bool { return !v.stale() })
	r.add(l.end(s.T))
	r.memory = v.memory(true)
	r.note("%d uploads kept before the disk was full", kept)
}

// toSmallDisk moves the stage to a disk that has little room, until back is called. It
// gives the folder of that disk.
func (s *stage) toSmallDisk() (disk string, back func()) {
	s.Helper()
	home := s.dir
	disk = home + "-disk"
	if err := os.Mkdir(disk, 0o755); err != nil {
		s.Fatal(err)
	}
	s.stopPostgres()
	const room = 64 << 20 // some segments of the write-ahead log
	size := "size=" + strconv.FormatInt(sizeOf(s, home)+room, 10) + ",mode=755"
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", size, "tmpfs", disk).CombinedOutput(); err != nil {
		_ = os.Remove(disk)
		s.startPostgres()
		s.Skipf("only who may mount can have a small disk: %v: %s", err, out)
	}
	s.dir = filepath.Join(disk, "data")
	s.copyFolder(home, s.dir)
	s.startPostgres()
	return disk, func() {
		s.stopPostgres()
		if out, err := exec.Command("umount", disk).CombinedOutput(); err != nil {
			s.Errorf("%v: %s", err, out)
		}
		_ = os.Remove(disk)
		s.dir = home
		s.startPostgres()
	}
}

// sizeOf is how many bytes the files of a folder take.
func sizeOf(s *stage, dir string) (bytes int64) {
	err := filepath.WalkDir(dir, func(_ string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := entry.Info()
		if err == nil && info.Mode().IsRegular() {
			bytes += (info.Size() + 4095) / 4096 * 4096
		}
		return err
	})
	if err != nil {
		s.Fatal(err)
	}
	return bytes
}

// fill takes all the room of a disk, until free is called.
func fill(s *stage, disk string) (free func()) {
	s.Helper()
	path := filepath.Join(disk, "filler")
	file, err := os.Create(path)
	if err != nil {
		s.Fatal(err)
	}
	defer file.Close()
	for piece := make([]byte, 1<<20); len(piece) > 0; {
		if _, err := file.Write(piece); err != nil {
			piece = piece[:len(piece)/2]
		}
	}
	return func() {
		if err := os.Remove(path); err != nil {
			s.Error(err)
		}
	}
}

// gone says whether Postgres has ended.
func (s *stage) gone() bool {
	select {
	case <-s.server.Done():
		return true
	default:
		return false
	}
}

// upload sends a revision, and tells the answer's status and when to try again.
func (v *service) upload(file []byte) (status int, retryAfter string) {
	v.Helper()
	r, err := http.NewRequest(http.MethodPost, v.url+listTarget(quiet), strings.NewReader(string(file)))
	if err != nil {
		v.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/zip")
	r.Header.Set("Authorization", "Bearer "+v.keys[quiet])
	res, err := patientClient.Do(r)
	if err != nil {
		v.Fatal(err)
	}
	_ = res.Body.Close()
	return res.StatusCode, res.Header.Get("Retry-After")
}
