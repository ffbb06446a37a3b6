package main_test

import (
	"fmt"
	"os"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"midstroke/internal/postgres/pgtest"
)

// TestStoppedWhileStarting stops a service that is still making its tables. Its Postgres gets
// the time that it needs to save everything: a process of it is held for half a second, as
// slow disks hold it.
func TestStoppedWhileStarting(t *testing.T) {
	t.Parallel()
	var log journal
	cmd := command("serve", "--listen", "127.0.0.1:0", "--data-dir", pgtest.DataDir(t))
	cmd.Stderr = &log
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = cmd.Process.Kill() }) // of a test that failed
	ready := regexp.MustCompile(`the private Postgres is ready.*"pid":(\d+)`)
	within(t, time.Minute, "a private Postgres", func() bool { return ready.MatchString(log.String()) })
	pid := ready.FindStringSubmatch(log.String())[1]
	raw, err := os.ReadFile(fmt.Sprintf("/proc/%s/task/%s/children", pid, pid))
	if err != nil {
		t.Fatal(err)
	}
	held, err := strconv.Atoi(strings.Fields(string(raw))[0])
	if err != nil {
		t.Fatal(err)
	}
	if err := syscall.Kill(held, syscall.SIGSTOP); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = syscall.Kill(held, syscall.SIGCONT) }) // the same
	if err := cmd.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	time.Sleep(500 * time.Millisecond)
	_ = syscall.Kill(held, syscall.SIGCONT) // it has gone where Postgres was forced to stop
	if err := cmd.Wait(); err != nil || strings.Contains(log.String(), "forced to") {
		t.Errorf("%v; the log of serve:\n%s", err, log.String())
	}
}
