//go:build unix

package main

import (
	"errors"
	"os"
	"os/signal"
	"syscall"

	"golang.org/x/sys/unix"
)

// takeTerminal puts this process into a process group of its own and gives that
// group the terminal. Ctrl-C then stops this process and not make, which would
// end with an error. giveBack returns the terminal. Without a terminal, and in the
// background, nothing changes.
func takeTerminal() (giveBack func()) {
	giveBack = func() {}
	terminal, err := unix.Open("/dev/tty", unix.O_RDWR|unix.O_CLOEXEC, 0)
	if err != nil {
		return giveBack // there is none
	}
	before, err := unix.IoctlGetInt(terminal, unix.TIOCGPGRP)
	if err != nil || before != unix.Getpgrp() || before == os.Getpid() {
		_ = unix.Close(terminal) // nothing was written to it
		return giveBack
	}
	// SIGTTOU would stop a process in the background that gives the terminal to
	// somebody. Ctrl-Z would stop this process without its shell's knowledge, and
	// the terminal would be lost.
	signal.Ignore(syscall.SIGTTOU, syscall.SIGTSTP)
	if unix.Setpgid(0, 0) != nil {
		return giveBack
	}
	give := func(group int) { _ = unix.IoctlSetPointerInt(terminal, unix.TIOCSPGRP, group) } // fails where the terminal is gone
	give(os.Getpid())
	go hangUpWith(terminal)
	return func() { give(before) }
}

// hangUpWith ends this process as a closed terminal does, once the terminal is
// closed. The kernel tells only the session's leader, which may be make.
func hangUpWith(terminal int) {
	for {
		_, err := unix.Poll([]unix.PollFd{{Fd: int32(terminal)}}, -1)
		if err == nil {
			_ = unix.Kill(os.Getpid(), unix.SIGHUP) // this process exists
		}
		if !errors.Is(err, unix.EINTR) {
			return
		}
	}
}
