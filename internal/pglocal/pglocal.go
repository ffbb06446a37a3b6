// Package pglocal runs a private Postgres: a child process on a unix socket
// in a folder of its own, for the start without settings and for tests.
//
// A folder given to [Start] is laid out so:
//
//	lock          held (flock) by the process that Start ran in; says its pid and the socket's folder
//	cluster/      the data, as initdb made it; never deleted by this package
//	run/          the socket, unless its path would be too long for one
//	postgres.log  what the server said
//
// The server never listens on TCP, belongs to one process, and goes when that
// process goes, by whatever means: a clean stop, a crash or kill -9. What it
// had committed is found again by the next Start.
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

// Config says where a private Postgres lives.
type Config struct {
	// Dir is the folder that everything stands in; it is made where it is
	// missing. Defaults to DefaultDir.
	Dir string
	// Log is told what a person who waits would like to know. Defaults to
	// silence.
	Log *slog.Logger
}

// ErrNotRunning is what Attach answers where no process holds the folder.
var ErrNotRunning = errors.New("no private Postgres is running for this data folder")

// BusyError says that another process holds the data folder.
type BusyError struct {
	Dir string
	PID int // 0 where it isn't known
}

func (e *BusyError) Error() string {
	who := "another midstroke"
	if e.PID != 0 {
		who = fmt.Sprintf("another midstroke (process %d)", e.PID)
	}
	return fmt.Sprintf("the data folder %s is in use by %s: stop that one first, or choose another data folder for this one", e.Dir, who)
}

// MissingError says that no Postgres server programs were found that can be
// used.
type MissingError struct {
	// Major is the version that the data folder asks for, 0 where any from
	// OldestMajor on would do.
	Major int
	// Dir is the data folder where Major isn't 0.
	Dir string
	// Found are the installations that were found and can't be used, as
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
		return fmt.Sprintf("the data in %s was written by Postgres %d, and %d is the oldest that is used: bring the data over with pg_upgrade, or choose another data folder; nothing was changed",
			e.Dir, e.Major, OldestMajor)
	}
	return fmt.Sprintf("the data in %s was written by Postgres %d, whose server programs were not found%s: install that version (%s), bring the data over with pg_upgrade, or choose another data folder; nothing was changed",
		e.Dir, e.Major, found, install(e.Major))
}

// install gives the command that installs Postgres's server programs, of the
// given major version or, where that is 0, of the system's own choice.
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

// DefaultDir is the folder that is used where none is named: for root
// /var/lib/midstroke, since Postgres doesn't run as root and the user that it
// runs as can't reach root's home; for anyone else the system's place for
// users' data (XDG_DATA_HOME, ~/.local/share, on macOS ~/Library/Application
// Support), in midstroke.
func DefaultDir() (string, error) {
	if runtime.GOOS != "windows" && os.Geteuid() == 0 {
		return "/var/lib/midstroke", nil
	}
	if dir := os.Getenv("XDG_DATA_HOME"); filepath.IsAbs(dir) {
		return filepath.Join(dir, "midstroke"), nil
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "", fmt.Errorf("no folder for the data could be chosen (%w): name one", err)
	}
	switch runtime.GOOS {
	case "darwin":
		return filepath.Join(home, "Library", "Application Support", "midstroke"), nil
	case "windows":
		return filepath.Join(home, "AppData", "Local", "midstroke"), nil
	}
	return filepath.Join(home, ".local", "share", "midstroke"), nil
}
