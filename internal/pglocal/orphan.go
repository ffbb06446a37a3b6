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

// clearOrphan stops a server of cluster that a killed process left behind, and
// removes a pid file that would keep Postgres from starting. The caller holds the
// folder's lock, so nobody else uses such a server.
func clearOrphan(ctx context.Context, cluster string, log *slog.Logger) error {
	pidFile := filepath.Join(cluster, "postmaster.pid")
	pid, ok := readPID(pidFile)
	if !ok {
		return nil
	}
	if serves(pid, cluster) {
		log.Info("stopping a Postgres that an earlier process left behind", "pid", pid)
		if err := stopOrphan(ctx, pid, cluster); err != nil {
			return err
		}
	}
	// The workers of a killed server may take a moment to notice its end.
	for anyServes(cluster) {
		if err := sleep(ctx, 20*time.Millisecond); err != nil {
			return fmt.Errorf("wait for the earlier Postgres of %s to end: %w", cluster, err)
		}
	}
	// Postgres removes a pid file itself if no process has the number. If one has,
	// it can't tell whether that is a server and refuses to start. After a restart
	// of the machine it is often another program. Here it is known to be one.
	if pid, ok := readPID(pidFile); ok && running(pid) {
		log.Info("removing the pid file of an earlier Postgres, whose number another program has now", "pid", pid)
		return os.Remove(pidFile)
	}
	return nil
}

// stopOrphan tells the server to stop, with a stronger signal each time. Committed
// data is safe in any case.
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
