// Package pglocal runs a private Postgres, for a service without a named database
// and for tests. It is a child process that listens on a unix socket and keeps its
// data in a folder.
//
// A folder given to [Start] holds:
//
//	lock          locked (flock) by the process that called Start; has its pid and the socket's folder
//	cluster/      the data, as made by initdb; only Server.Discard deletes it
//	run/          the socket, unless its path would be too long
//	postgres.log  the server's log
//
// The server never listens on TCP and belongs to one process. It ends when that
// process ends, whether by a clean stop, a crash or kill -9. The next Start finds
// everything that was committed.
package pglocal

import (
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"runtime"
	"strings"
)

// OldestMajor is the oldest major version of Postgres that is used.
const OldestMajor = 14

// Config says where a private Postgres keeps its data.
type Config struct {
	// Dir is the folder for everything. It is made if it doesn't exist. Defaults
	// to DefaultDir.
	Dir string
	// Logins are roles that can log in to the application's database beside its
	// owner. They are made with no rights of their own. LoginURL gives their URLs.
	Logins []string
	// Log gets messages about what takes time. Defaults to none.
	Log *slog.Logger
}

// ErrNotRunning is Attach's error if no process holds the folder.
var ErrNotRunning = errors.New("no private Postgres is running for this data folder")

// BusyError says that another process holds the data folder.
type BusyError struct {
	Dir string
	PID int // 0 if it isn't known
}

func (e *BusyError) Error() string {
	who := "another midstroke"
	if e.PID != 0 {
		who = fmt.Sprintf("another midstroke (process %d)", e.PID)
	}
	return fmt.Sprintf("the data folder %s is in use by %s: stop that one first, or choose another data folder for this one", e.Dir, who)
}

// FullError says that Postgres can't start since the disk of its data is full.
type FullError struct {
	Dir  string
	Free uint64 // bytes that its user can still write
	Room uint64 // bytes that are enough
	Err  error
}

func (e *FullError) Error() string {
	return fmt.Sprintf("the disk of the data folder %s is full (%d kB are free), and Postgres can't start without room for its own files: "+
		"delete or move other files on that disk until at least %d MB are free, or enlarge it, and start again; nothing is lost, so delete nothing in the folder itself: %v",
		e.Dir, e.Free>>10, e.Room>>20, e.Err)
}

// Unwrap gives what went wrong.
func (e *FullError) Unwrap() error { return e.Err }

// MissingError says that no usable Postgres server programs were found.
type MissingError struct {
	// Major is the version that the data needs, 0 if any version from OldestMajor
	// on is good.
	Major int
	// Dir is the data folder if Major isn't 0.
	Dir string
	// Found are the installations that were found but can't be used, such as
	// "Postgres 13.4 in /usr/lib/postgresql/13/bin".
	Found []string
}

func (e *MissingError) Error() string {
	found := ""
	if len(e.Found) > 0 {
		found = " (there is " + strings.Join(e.Found, ", ") + ")"
	}
	switch {
	case e.Major == 0:
		return fmt.Sprintf("no Postgres server programs (postgres and initdb, version %d or newer) were found%s: install them (%s), or name a Postgres of your own in DATABASE_URL",
			OldestMajor, found, install(0))
	case e.Major < OldestMajor:
		return fmt.Sprintf("the data in %s was written by Postgres %d, and %d is the oldest that can be used: convert the data with pg_upgrade, or name another folder with --data-dir (MIDSTROKE_DATA_DIR); nothing was changed",
			e.Dir, e.Major, OldestMajor)
	}
	return fmt.Sprintf("the data in %s was written by Postgres %d, whose server programs were not found%s: install that version (%s) and go on with it, or carry the data over: with that version installed run midstroke backup FILE, move the folder away, and run midstroke restore FILE; nothing was changed",
		e.Dir, e.Major, found, install(e.Major))
}

// install gives the command that installs Postgres's server programs of a major
// version; if that is 0, of the version that the system chooses.
func install(major int) string {
	switch {
	case runtime.GOOS == "darwin":
		if major == 0 {
			major = 17
		}
		return fmt.Sprintf("brew install postgresql@%d", major)
	case major == 0:
		return "Debian, Ubuntu: apt-get install postgresql; Fedora: dnf install postgresql-server"
	}
	return fmt.Sprintf("Debian, Ubuntu: apt-get install postgresql-%d; Fedora: dnf install postgresql%d-server", major, major)
}

// DefaultDir is the folder that is used if none is named. For root it is
// /var/lib/midstroke: Postgres doesn't run as root, and its user can't reach root's
// home. For anyone else it is the folder midstroke in the system's place for users'
// data (XDG_DATA_HOME, ~/.local/share, on macOS ~/Library/Application Support).
func DefaultDir() (string, error) {
	if runtime.GOOS != "windows" && os.Geteuid() == 0 {
		return "/var/lib/midstroke", nil
	}
	if dir := os.Getenv("XDG_DATA_HOME"); filepath.IsAbs(dir) {
		return filepath.Join(dir, "midstroke"), nil
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "", fmt.Errorf("no folder for the data could be chosen (%w): name one with --data-dir (MIDSTROKE_DATA_DIR)", err)
	}
	switch runtime.GOOS {
	case "darwin":
		return filepath.Join(home, "Library", "Application Support", "midstroke"), nil
	case "windows":
		return filepath.Join(home, "AppData", "Local", "midstroke"), nil
	}
	return filepath.Join(home, ".local", "share", "midstroke"), nil
}
