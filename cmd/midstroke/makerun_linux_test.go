package main_test

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"golang.org/x/sys/unix"
)

// terminal is the near side of a pseudo-terminal: what a person sees and types.
type terminal struct {
	near *os.File
	mu   sync.Mutex
	seen bytes.Buffer
}

// newTerminal gives a terminal and its far side, which a program takes.
func newTerminal(t *testing.T) (_ *terminal, far *os.File) {
	t.Helper()
	near, err := os.OpenFile("/dev/ptmx", os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Fatal(err)
	}
	raw, err := near.SyscallConn()
	if err != nil {
		t.Fatal(err)
	}
	var number int
	var unlocked, named error
	if err := raw.Control(func(fd uintptr) {
		unlocked = unix.IoctlSetPointerInt(int(fd), unix.TIOCSPTLCK, 0)
		number, named = unix.IoctlGetInt(int(fd), unix.TIOCGPTN)
	}); errors.Join(err, unlocked, named) != nil {
		t.Fatal(errors.Join(err, unlocked, named))
	}
	far, err = os.OpenFile(fmt.Sprintf("/dev/pts/%d", number), os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Fatal(err)
	}
	screen := &terminal{near: near}
	go func() {
		buffer := make([]byte, 4096)
		for {
			n, err := near.Read(buffer)
			screen.mu.Lock()
			screen.seen.Write(buffer[:n])
			screen.mu.Unlock()
			if err != nil {
				return
			}
		}
	}()
	return screen, far
}

func (s *terminal) text() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.seen.String()
}

// running is a "make run" in a terminal of its own.
type running struct {
	screen            *terminal
	make              *exec.Cmd
	ended             chan error
	service, database int // numbers of processes
}

// makeRun starts "make run" and waits until the service answers.
func makeRun(t *testing.T) *running {
	t.Helper()
	dir := usedDataDir(t)
	var service int
	screen, far := newTerminal(t)
	cmd := exec.Command("make", "run")
	cmd.Dir = "../.."
	cmd.Env = append(command().Env, "MIDSTROKE_LISTEN=127.0.0.1:0", "MIDSTROKE_DATA_DIR="+dir, "MIDSTROKE_STOP_DELAY=100ms", "MAKEFLAGS=")
	cmd.Stdin, cmd.Stdout, cmd.Stderr = far, far, far
	cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	_ = far.Close() // make has its own
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	t.Cleanup(func() {
		_ = cmd.Process.Kill() // of one that a failed test left
		if service != 0 {
			_ = syscall.Kill(service, syscall.SIGKILL)
		}
		if t.Failed() {
			t.Logf("the terminal shows:\n%s", screen.text())
		}
	})
	within(t, 3*time.Minute, "an answer from make run", func() bool { return strings.Contains(screen.text(), "The contract: ") })
	raw, err := os.ReadFile(filepath.Join(dir, "lock"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := fmt.Sscanf(string(raw), "pid %d", &service); err != nil {
		t.Fatal(err)
	}
	return &running{screen, cmd, ended, service, postmaster(t, dir)}
}

// TestMakeRunLeavesNothing ends "make run" in each of the ways that a terminal has.
// Afterwards neither the service nor its Postgres runs.
func TestMakeRunLeavesNothing(t *testing.T) {
	t.Parallel()
	// Under nohup the tests ignore SIGHUP, and what they start would, too. A handler isn't
	// handed on.
	signal.Notify(make(chan os.Signal, 1), syscall.SIGHUP)
	build := exec.Command("make", "build") // once, and not in each of the runs at the same time
	build.Dir = "../.."
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("make build: %v\n%s", err, out)
	}
	for _, c := range []struct {
		name string
		end  func(*running) error
		// byCtrlC is an end that is no error for make.
		byCtrlC bool
	}{
		{"Ctrl-C", func(r *running) error { _, err := r.screen.near.WriteString("\x03"); return err }, true},
		{"kill -TERM of make", func(r *running) error { return r.make.Process.Signal(syscall.SIGTERM) }, false},
		{"closed terminal", func(r *running) error { return r.screen.near.Close() }, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			r := makeRun(t)
			if err := c.end(r); err != nil {
				t.Fatal(err)
			}
			select {
			case err := <-r.ended:
				if c.byCtrlC && err != nil {
					t.Errorf("make ends with %v, want success", err)
				}
			case <-time.After(30 * time.Second):
				t.Error("make runs on after 30 s")
			}
			within(t, 10*time.Second, "the end of the service and of its Postgres", func() bool { return !alive(r.service) && !alive(r.database) })
		})
	}
}
