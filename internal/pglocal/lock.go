//go:build unix

package pglocal

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// lock is one process's lock on a data folder. The kernel releases it when the
// process ends, in whatever way. Only a process that holds the lock removes the file,
// with all other data. Another one may have opened that file just before, so acquire
// looks whether the file that it has locked is still in its place.
type lock struct{ file *os.File }

// record is the content of the lock file, a word and a value per line.
type record struct {
	pid    int    // of the process that holds the lock
	socket string // the socket's folder, "" while the server isn't ready
}

// acquire takes the lock of dir, or fails with a *BusyError after so many tries, 20
// ms apart. More than one try is needed because Attach takes the lock for a moment
// to see whether it is free, and because a killed process may take a moment to end.
func acquire(dir string, tries int) (*lock, error) {
	var pid int
	for try := range tries {
		if try > 0 {
			time.Sleep(20 * time.Millisecond)
		}
		f, err := openLock(dir)
		if err != nil {
			return nil, err
		}
		err = flock(f, syscall.LOCK_EX)
		if err == nil && inPlace(f) {
			return &lock{f}, nil
		}
		pid = readRecord(f).pid
		_ = f.Close()
		if err != nil && !errors.Is(err, syscall.EWOULDBLOCK) {
			return nil, fmt.Errorf("lock %s: %w", lockPath(dir), err)
		}
	}
	return nil, &BusyError{Dir: dir, PID: pid}
}

// openLock opens the lock file of dir, and makes it if it is missing.
func openLock(dir string) (*os.File, error) {
	// Links aren't followed: as root this writes into a folder that may belong to
	// another user.
	f, err := os.OpenFile(lockPath(dir), os.O_RDWR|os.O_CREATE|syscall.O_NOFOLLOW, lockMode)
	if err != nil {
		if errors.Is(err, os.ErrPermission) {
			return nil, closedFolder(dir, err)
		}
		return nil, err
	}
	// Older versions let everyone read it.
	if err := f.Chmod(lockMode); err != nil {
		_ = f.Close()
		return nil, fmt.Errorf("close the lock of %s to other users: %w", dir, err)
	}
	return f, nil
}

// inPlace says whether a lock file hasn't been removed since it was opened.
func inPlace(f *os.File) bool {
	opened, err := f.Stat()
	if err != nil {
		return false
	}
	there, err := os.Lstat(f.Name())
	return err == nil && os.SameFile(opened, there)
}

// closedFolder says why this user can't open the lock of dir.
func closedFolder(dir string, err error) error {
	const cure = "name another with --data-dir (MIDSTROKE_DATA_DIR)"
	if _, reach := os.Stat(dir); errors.Is(reach, os.ErrPermission) {
		return fmt.Errorf("the data folder can't be reached: %w; %s", reach, cure)
	}
	return fmt.Errorf("the data folder %s belongs to another user: %w; %s", dir, err, cure)
}

// lockMode keeps others from reading the lock file: whoever can open it can lock it,
// and so keep its owner from starting.
const lockMode = 0o600

func lockPath(dir string) string { return filepath.Join(dir, "lock") }

func flock(f *os.File, how int) error {
	for {
		err := syscall.Flock(int(f.Fd()), how|syscall.LOCK_NB)
		if !errors.Is(err, syscall.EINTR) {
			return err
		}
	}
}

// read gives the record of the last process that held the lock.
func (l *lock) read() record { return readRecord(l.file) }

// recordSize is the size of a lock file that was written once. It never shrinks, so
// that a record needs no further room on a disk that is full.
const recordSize = 512

// write records who holds the lock.
func (l *lock) write(r record) error {
	text := ""
	if r.pid != 0 {
		text = fmt.Sprintf("pid %d\n", r.pid)
	}
	if r.socket != "" {
		text += fmt.Sprintf("socket %s\n", r.socket)
	}
	text += strings.Repeat(" ", max(0, recordSize-1-len(text))) + "\n"
	_, err := l.file.WriteAt([]byte(text), 0)
	return err
}

// release clears the record and releases the lock.
func (l *lock) release() {
	_ = l.write(record{}) // an old record does no harm once the lock is released
	_ = l.file.Close()
}

func readRecord(f *os.File) record {
	var r record
	raw := make([]byte, 4096)
	n, _ := f.ReadAt(raw, 0) // usually io.EOF; an empty file gives an empty record
	for line := range strings.Lines(string(raw[:n])) {
		value, whole := strings.CutSuffix(line, "\n")
		key, value, _ := strings.Cut(value, " ")
		switch {
		case !whole: // it is just being written
		case key == "pid":
			r.pid, _ = strconv.Atoi(value)
		case key == "socket":
			r.socket = value
		}
	}
	return r
}

// Attach gives the URL of the server that another process of this user runs for
// dir; root finds those of all users. It waits while that server is starting. The
// error is ErrNotRunning if there is no such server. Dir defaults to DefaultDir.
func Attach(ctx context.Context, dir string) (string, error) {
	dir, err := resolve(dir)
	if err != nil {
		return "", err
	}
	for {
		switch r, held, err := peek(dir); {
		case err != nil:
			return "", err
		case !held:
			return "", ErrNotRunning
		case r.socket != "":
			return address(r.socket, appRole, appDatabase), nil
		}
		select {
		case <-ctx.Done():
			return "", fmt.Errorf("wait for the private Postgres of %s to start: %w", dir, ctx.Err())
		case <-time.After(50 * time.Millisecond):
		}
	}
}

// peek reads the lock file of dir and says whether the lock is held.
func peek(dir string) (r record, held bool, err error) {
	f, err := os.OpenFile(lockPath(dir), os.O_RDONLY|syscall.O_NOFOLLOW, 0)
	if errors.Is(err, os.ErrNotExist) {
		return record{}, false, nil
	}
	if errors.Is(err, os.ErrPermission) {
		return record{}, false, closedFolder(dir, err)
	}
	if err != nil {
		return record{}, false, err
	}
	defer f.Close()
	switch err := flock(f, syscall.LOCK_SH); {
	case err == nil:
		return record{}, false, nil
	case !errors.Is(err, syscall.EWOULDBLOCK):
		return record{}, false, fmt.Errorf("lock %s: %w", f.Name(), err)
	}
	return readRecord(f), true, nil
}
