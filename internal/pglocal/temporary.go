//go:build unix

package pglocal

import (
	"context"
	"log/slog"
	"os"
	"path/filepath"
	"time"
)

const temporaryPrefix = "midstroke-throwaway-"

// Temporary starts a Postgres for tests. It has a folder of its own, which Stop
// removes, and its role may create databases. It is as fast as possible, since
// nothing has to survive a crash of the machine. Temporary also removes folders
// that killed tests left behind.
func Temporary(ctx context.Context, log *slog.Logger) (*Server, error) {
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	dir, err := temporaryDir(temporaryPrefix)
	if err != nil {
		return nil, err
	}
	sweep(ctx, filepath.Dir(dir), log)
	remove := func() {
		if err := os.RemoveAll(dir); err != nil {
			log.Warn("a temporary Postgres couldn't be removed", "dir", dir, "err", err)
		}
	}
	s, err := startTemporary(ctx, dir, log)
	if err != nil {
		remove()
		return nil, err
	}
	s.cleanup = remove
	return s, nil
}

// temporaryDir makes a folder whose name begins with prefix. The folder is in memory
// if there is enough of it, since a database has hundreds of small files, which can
// take ten times as long on a disk. Otherwise it is where TMPDIR says.
func temporaryDir(prefix string) (string, error) {
	const (
		memory = "/dev/shm"
		enough = 2 << 30
	)
	if free, _ := freeBytes(memory); os.Getenv("TMPDIR") == "" && free >= enough {
		if dir, err := os.MkdirTemp(memory, prefix); err == nil {
			return dir, nil
		} // this user may not write there
	}
	return os.MkdirTemp("", prefix)
}

func startTemporary(ctx context.Context, dir string, log *slog.Logger) (*Server, error) {
	acct, err := chooseAccount(filepath.Join(dir, clusterName))
	if err != nil {
		return nil, err
	}
	if acct.become {
		if err := os.Chmod(dir, 0o711); err != nil {
			return nil, err
		}
	}
	if dir, err = resolve(dir); err != nil {
		return nil, err
	}
	return start(ctx, dir, log, options{
		account: acct,
		initdb:  []string{"--no-sync"},
		role:    "CREATEDB",
		settings: []string{
			"fsync=off", "synchronous_commit=off", "full_page_writes=off",
			"wal_level=minimal", "max_wal_senders=0",
			"max_wal_size=4GB", "checkpoint_timeout=1h",
			"autovacuum=off",
			"shared_buffers=64MB",
			// Tests run in parallel, each with one or two pools.
			"max_connections=200",
		},
	})
}

// sweep removes the temporary folders of processes that have ended. It tries only
// this user's folders. A process that uses one holds its lock.
func sweep(ctx context.Context, parent string, log *slog.Logger) {
	dirs, _ := filepath.Glob(filepath.Join(parent, temporaryPrefix+"*")) // the pattern is good
	for _, dir := range dirs {
		info, err := os.Lstat(dir)
		// A new one may belong to a process that hasn't locked it yet.
		if err != nil || !info.IsDir() || ownerOf(info) != os.Geteuid() || time.Since(info.ModTime()) < time.Minute {
			continue
		}
		held, err := acquire(dir, 1)
		if err != nil {
			continue
		}
		if err := clearOrphan(ctx, filepath.Join(dir, clusterName), log); err == nil {
			dropSocketFolder(held.read().socket)
			_ = os.RemoveAll(dir) // the next sweep tries again
		}
		held.release()
	}
}
