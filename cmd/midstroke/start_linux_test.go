package main_test

import (
	"context"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"midstroke/internal/postgres/pgtest"
)

// TestAStartThatFailsSaysWhatToDo starts the service, and a command that looks for a
// running one first, where they can't start. The service has answered nothing, so that it
// doesn't wait for a balancer.
func TestAStartThatFailsSaysWhatToDo(t *testing.T) {
	t.Parallel()
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer taken.Close()
	closed := filepath.Join(filepath.Dir(pgtest.DataDir(t)), "closed")
	if err := os.Mkdir(closed, 0o700); err != nil {
		t.Fatal(err)
	}
	if os.Geteuid() != 0 {
		if err := os.Chmod(closed, 0); err != nil {
			t.Fatal(err)
		}
	}
	file := filepath.Join(filepath.Dir(closed), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name string
		args []string
		home string
		says []string
	}{
		{"port in use", []string{"serve", "--listen", taken.Addr().String()}, "/tmp", []string{taken.Addr().String(), "address already in use", "--listen"}},
		{"no home", []string{"serve", "--listen", "127.0.0.1:0"}, "", []string{"HOME", "--data-dir"}},
		{"closed parent", []string{"serve", "--listen", "127.0.0.1:0", "--data-dir", filepath.Join(closed, "data")}, "/tmp", []string{closed, "permission denied", "--data-dir"}},
		{"a file as parent", []string{"serve", "--listen", "127.0.0.1:0", "--data-dir", filepath.Join(file, "data")}, "/tmp", []string{file, "--data-dir"}},
		{"keys below a closed parent", []string{"key", "list", "--data-dir", filepath.Join(closed, "data")}, "/tmp", []string{"can't be reached", closed, "permission denied", "--data-dir"}},
		{"no home for keys", []string{"key", "list"}, "", []string{"HOME", "--data-dir"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			prepared := command(c.args...)
			if c.args[0] == "serve" {
				prepared = command(append(c.args, "--stop-delay", "1h")...)
			}
			ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
			defer cancel()
			cmd := exec.CommandContext(ctx, prepared.Path, prepared.Args[1:]...)
			cmd.Dir = "/"
			cmd.Env = slices.DeleteFunc(prepared.Env, func(s string) bool { return strings.HasPrefix(s, "HOME=") || strings.HasPrefix(s, "XDG_") })
			if c.home != "" {
				cmd.Env = append(cmd.Env, "HOME="+c.home)
			}
			if os.Geteuid() == 0 { // who has a folder without a home
				cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
			}
			out, err := cmd.CombinedOutput()
			if code := cmd.ProcessState.ExitCode(); code != 1 {
				t.Errorf("it ends with %v, want exit code 1", err)
			}
			for _, want := range c.says {
				if !strings.Contains(string(out), want) {
					t.Errorf("it doesn't say %q:\n%s", want, out)
				}
			}
		})
	}
}
