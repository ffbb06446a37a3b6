//go:build unix

package pglocal

import (
	"context"
	"log/slog"
	"os"
	"path/filepath"
	"time"
)

const throwAway = "midstroke-throwaway-"

// Temporary starts a Postgres for tests: in a folder of its own that Stop
// removes, as fast as can be (nothing is ever made safe against a crash of
// the machine), with a role that may create databases. Folders that killed
// tests left behind are removed on the way.
func Temporary(ctx context.Context, log *slog.Logger) (*Server, error) {
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	dir, err := throwAwayDir(throwAway)
	if err != nil {
		return nil, err
	}
	sweep(ctx, filepath.Dir(dir), log)
	remove := func() {
		if err := os.RemoveAll(dir); err != nil {
			log.Warn("a throw-away Postgres couldn't be removed", "dir", dir, "err", err)
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

// throwAwayDir makes a folder whose name begins with prefix: in memory where
// there is enough for it, since a database is a few hundred small files and a
// disk can take ten times as long to make one; else where TMPDIR says.
func throwAwayDir(prefix string) (string, error) {
	const (
		memory = "/dev/shm"
		enough = 2 << 30
	)
	if os.Getenv("TMPDIR") == "" && freeBytes(memory) >= enough {
		if dir, err := os.MkdirTemp(memory, prefix); err == nil {
			return dir, nil
		} // not for every user to write to, after all
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
			// Tests run side by side, each with a pool or two.
			"max_connections=200",
		},
	})
}

// sweep removes the throw-away folders of processes that are gone. Only this
// user's own are tried; whoever holds one still holds its lock.
func sweep(ctx context.Context, parent string, log *slog.Logger) {
	dirs, _ := filepath.Glob(filepath.Join(parent, throwAway+"*")) // the pattern is good
	for _, dir := range dirs {
		info, err := os.Lstat(dir)
		// A young one may be another process's that hasn't its lock yet.
		if err != nil || !info.IsDir() || ownerOf(info) != os.Geteuid() || time.Since(info.ModTime()) < time.Minute {
			continue
		}
		held, err := acquire(dir, 1)
		if err != nil {
			continue
		}
		if err := settle(ctx, filepath.Join(dir, clusterName), log); err == nil {
			dropSocketFolder(held.read().socket)
			_ = os.RemoveAll(dir) // tried again next time
		}
		held.release()
	}
}
