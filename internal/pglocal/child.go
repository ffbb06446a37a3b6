//go:build unix

package pglocal

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"strings"
	"syscall"
)

// child is a program that runs as an account's user.
type child struct {
	cmd  *exec.Cmd
	done chan struct{} // closed when it has ended
	err  error         // how it ended; read after done
}

// command makes a child that starts in dir. It doesn't inherit this process's
// environment: PGPORT, PGDATA and the like would change what Postgres does.
func (a account) command(dir, name string, args ...string) *child {
	cmd := exec.Command(name, args...)
	cmd.Dir = dir
	cmd.Env = []string{"PATH=/usr/local/bin:/usr/bin:/bin", "LC_ALL=C", "TZ=UTC"}
	cmd.SysProcAttr = &syscall.SysProcAttr{
		// Ctrl-C on the terminal is for this process alone. It stops its Postgres
		// when it no longer needs it.
		Setpgid: true,
	}
	if a.become {
		cmd.SysProcAttr.Credential = &syscall.Credential{Uid: uint32(a.uid), Gid: uint32(a.gid)}
	}
	tieToParent(cmd.SysProcAttr)
	return &child{cmd: cmd, done: make(chan struct{})}
}

// start runs c until it ends or this process does.
func (c *child) start() error {
	started := make(chan error)
	go func() {
		// The kernel sends the signal of tieToParent when the thread that started
		// the child ends. That may be long before the process ends, so this
		// keeps the thread until the child has ended.
		runtime.LockOSThread()
		defer runtime.UnlockOSThread()
		err := c.cmd.Start()
		started <- err
		if err == nil {
			c.err = c.cmd.Wait()
			close(c.done)
		}
	}()
	return <-started
}

// signal sends sig to c if it hasn't ended.
func (c *child) signal(sig syscall.Signal) {
	_ = c.cmd.Process.Signal(sig) // the only failure is that it has ended
}

// output runs c to its end and gives its standard output. The error includes its
// standard error.
func (c *child) output(ctx context.Context) (string, error) {
	var stdout, stderr bytes.Buffer
	c.cmd.Stdout, c.cmd.Stderr = &stdout, &stderr
	if err := c.start(); err != nil {
		return "", err
	}
	select {
	case <-c.done:
	case <-ctx.Done():
		_ = syscall.Kill(-c.cmd.Process.Pid, syscall.SIGKILL) // the whole group, as initdb has children
		<-c.done
		return "", ctx.Err()
	}
	if c.err != nil {
		var exit *exec.ExitError
		if errors.As(c.err, &exit) {
			return "", fmt.Errorf("%s: %w: %s", c.cmd.Path, c.err, strings.TrimSpace(stderr.String()))
		}
		return "", c.err
	}
	return stdout.String(), nil
}

// running says whether there is a process pid, of any user.
func running(pid int) bool {
	err := syscall.Kill(pid, 0)
	return err == nil || errors.Is(err, os.ErrPermission)
}
