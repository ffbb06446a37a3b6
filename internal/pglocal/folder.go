//go:build unix

package pglocal

import (
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"syscall"
)

// The path of a unix socket may have 108 bytes on Linux and 104 on macOS, of which
// the last is a NUL.
const longestSocketPath = 100

const (
	socketName   = ".s.PGSQL.5432" // Postgres puts the port number into the name
	tempSocket   = "midstroke-run-"
	adminRole    = "postgres"
	appRole      = "midstroke"
	appDatabase  = "midstroke"
	largestLog   = 8 << 20
	clusterName  = "cluster"
	unfinished   = "cluster.unfinished"
	logName      = "postgres.log"
	runName      = "run"
	olderLogName = "postgres.log.1"
)

// resolve gives dir (by default DefaultDir) as an absolute path without links. It
// needn't exist yet.
func resolve(dir string) (string, error) {
	if dir == "" {
		var err error
		if dir, err = DefaultDir(); err != nil {
			return "", err
		}
	}
	dir, err := filepath.Abs(dir)
	if err != nil {
		return "", err
	}
	if real, err := filepath.EvalSymlinks(dir); err == nil {
		return real, nil
	}
	return dir, nil
}

// makeDir makes the data folder and gives its resolved path. It also gives the folders
// that were missing, each before its parent.
func makeDir(dir string) (_ string, made []string, err error) {
	dir, err = resolve(dir)
	if err != nil {
		return "", nil, err
	}
	for at := dir; ; at = filepath.Dir(at) {
		if _, err := os.Lstat(at); !errors.Is(err, fs.ErrNotExist) {
			break
		}
		made = append(made, at)
	}
	mode := os.FileMode(0o700)
	if os.Geteuid() == 0 {
		mode = 0o755 // the user that Postgres runs as must be able to enter
	}
	if err := os.MkdirAll(dir, mode); err != nil {
		return "", nil, fmt.Errorf("the data folder can't be made: %w; name another with --data-dir (MIDSTROKE_DATA_DIR)", err)
	}
	dir, err = resolve(dir)
	return dir, made, err
}

// socketFolder gives the folder for the socket: run in dir, or a private one with
// a shorter path if a socket's path in there would be too long.
func socketFolder(dir string, acct account) (string, error) {
	run := filepath.Join(dir, runName)
	if len(filepath.Join(run, socketName)) < longestSocketPath {
		return run, acct.folder(run)
	}
	for _, parent := range []string{os.TempDir(), "/tmp"} {
		// MkdirTemp adds at most ten digits.
		if len(filepath.Join(parent, tempSocket+"0123456789", socketName)) >= longestSocketPath {
			continue
		}
		run, err := os.MkdirTemp(parent, tempSocket) // 0700
		if err != nil {
			return "", err
		}
		return run, acct.own(run)
	}
	return "", fmt.Errorf("no folder for the socket: both %s and %s are too long or missing", dir, os.TempDir())
}

// dropSocketFolder removes a folder with a short path that socketFolder made, in
// this process or in one that was killed. It removes nothing else: no file that
// somebody else put there, and no folder with another name.
func dropSocketFolder(run string) {
	if !strings.HasPrefix(filepath.Base(run), tempSocket) {
		return
	}
	_ = os.Remove(filepath.Join(run, socketName))
	_ = os.Remove(filepath.Join(run, socketName+".lock"))
	_ = os.Remove(run)
}

// address is the URL of a database of the server whose socket is in run.
func address(run, role, database string) string {
	u := url.URL{
		Scheme: "postgres",
		User:   url.User(role),
		Path:   "/" + database,
		// The port is given so that PGPORT doesn't change it.
		RawQuery: url.Values{"host": {run}, "port": {"5432"}}.Encode(),
	}
	return u.String()
}

// openLog opens the server's log to append to it. A log that has grown large is
// renamed first.
func openLog(dir string) (*os.File, error) {
	path := filepath.Join(dir, logName)
	if info, err := os.Lstat(path); err == nil && info.Size() > largestLog {
		if err := os.Rename(path, filepath.Join(dir, olderLogName)); err != nil {
			return nil, err
		}
	}
	return os.OpenFile(path, os.O_CREATE|os.O_APPEND|os.O_RDWR|syscall.O_NOFOLLOW, 0o600)
}

// logSince gives what was written to f after it had the given size, at most the
// last 2 000 bytes.
func logSince(f *os.File, size int64) string {
	info, err := f.Stat()
	if err != nil {
		return ""
	}
	from := max(size, info.Size()-2_000)
	if from >= info.Size() {
		return ""
	}
	raw := make([]byte, info.Size()-from)
	n, _ := f.ReadAt(raw, from) // shows as much as can be read
	return strings.TrimSpace(string(raw[:n]))
}
