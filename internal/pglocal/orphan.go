//go:build unix

package pglocal

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// settle waits for, or stops, a server of cluster that a killed process left
// behind, and takes away a pid file that would keep Postgres from starting.
// The caller holds the folder's lock, so no server of it is anyone's.
func settle(ctx context.Context, cluster string, log *slog.Logger) error {
	pidFile := filepath.Join(cluster, "postmaster.pid")
	pid, ok := readPID(pidFile)
	if !ok {
		return nil
	}
	if serves(pid, cluster) {
		log.Info("a Postgres that an earlier process left behind is being stopped", "pid", pid)
		if err := stopOrphan(ctx, pid, cluster); err != nil {
			return err
		}
	}
	// Workers of a killed server may take a moment to see that it is gone.
	for anyServes(cluster) {
		if err := sleep(ctx, 20*time.Millisecond); err != nil {
			return fmt.Errorf("wait for the earlier Postgres of %s to end: %w", cluster, err)
		}
	}
	// Postgres clears away a pid file whose process is gone. It can't know
	// whether a process that now has the number is a server (after a restart
	// of the machine it is often something else), and refuses to start; here
	// it is known that none is.
	if pid, ok := readPID(pidFile); ok && running(pid) {
		log.Info("a pid file that an earlier Postgres left behind is removed: its number is another program's now", "pid", pid)
		return os.Remove(pidFile)
	}
	return nil
}

// stopOrphan asks the server to stop, less and less kindly. What it had
// committed is safe however it ends.
func stopOrphan(ctx context.Context, pid int, cluster string) error {
	for _, sig := range []syscall.Signal{syscall.SIGINT, syscall.SIGQUIT, syscall.SIGKILL} {
		if err := syscall.Kill(pid, sig); err != nil && running(pid) {
			return fmt.Errorf("stop the earlier Postgres of %s (process %d): %w", cluster, pid, err)
		}
		for range 500 {
			if !serves(pid, cluster) {
				return nil
			}
			if err := sleep(ctx, 20*time.Millisecond); err != nil {
				return fmt.Errorf("wait for the earlier Postgres of %s (process %d) to stop: %w", cluster, pid, err)
			}
		}
	}
	return fmt.Errorf("the earlier Postgres of %s (process %d) doesn't stop", cluster, pid)
}

// readPID reads the first line of a postmaster.pid.
func readPID(path string) (int, bool) {
	raw, err := os.ReadFile(path)
	if err != nil {
		return 0, false
	}
	first, _, _ := strings.Cut(string(raw), "\n")
	pid, err := strconv.Atoi(strings.TrimSpace(first))
	return pid, err == nil && pid > 1
}

func sleep(ctx context.Context, d time.Duration) error {
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-time.After(d):
		return nil
	}
}
