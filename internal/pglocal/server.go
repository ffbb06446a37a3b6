//go:build unix

package pglocal

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"
)

// Server is a private Postgres that runs as a child of this process.
type Server struct {
	dir     string
	socket  string
	lock    *lock
	child   *child
	log     *slog.Logger
	cleanup func() // after the server has ended and before the lock goes; may be nil

	stop    sync.Once
	stopErr error
}

// options is what sets a throw-away server apart from one that keeps data.
type options struct {
	account  account
	initdb   []string // more arguments for initdb
	settings []string // more name=value settings for the server
	role     string   // more attributes for the application's role
}

// Start starts the private Postgres of cfg.Dir, making the data on first use,
// and comes back when it answers. ctx bounds the start alone; the server runs
// until Stop or the end of this process.
//
// The errors that a person can act on are *BusyError where another process
// holds the folder and *MissingError where the programs (of the version that
// wrote the data) are missing; nothing is changed by either.
func Start(ctx context.Context, cfg Config) (*Server, error) {
	dir, err := makeDir(cfg.Dir)
	if err != nil {
		return nil, err
	}
	log := cfg.Log
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	acct, err := chooseAccount(filepath.Join(dir, clusterName))
	if err != nil {
		return nil, err
	}
	return start(ctx, dir, log, options{account: acct})
}

// Installed says whether there are programs that Start could set a new server
// up with; where there are none it answers a *MissingError.
func Installed(ctx context.Context) error {
	acct, err := chooseAccount("")
	if err != nil {
		return err
	}
	_, err = choose(findInstallations(ctx, acct, os.Getenv("PATH"), folders()), 0, "")
	return err
}

// start is Start on a folder that is there.
func start(ctx context.Context, dir string, log *slog.Logger, opt options) (_ *Server, err error) {
	held, err := acquire(dir, 10)
	if err != nil {
		return nil, err
	}
	s := &Server{dir: dir, lock: held, log: log}
	defer func() {
		if err != nil {
			if s.socket != "" {
				dropSocketFolder(s.socket)
			}
			held.release()
		}
	}()
	dropSocketFolder(held.read().socket)
	if err := held.write(record{pid: os.Getpid()}); err != nil {
		return nil, err
	}

	cluster := filepath.Join(dir, clusterName)
	major, err := clusterMajor(cluster)
	if err != nil {
		return nil, err
	}
	found := findInstallations(ctx, opt.account, os.Getenv("PATH"), folders())
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	programs, err := choose(found, major, dir)
	if err != nil {
		return nil, err
	}
	if major == 0 {
		log.Info("a private Postgres is being set up", "dir", dir, "version", programs.version, "user", opt.account.name)
		if err := initialise(ctx, dir, programs, opt); err != nil {
			return nil, err
		}
	} else if err := settle(ctx, cluster, log); err != nil {
		return nil, err
	}

	if s.socket, err = socketFolder(dir, opt.account); err != nil {
		return nil, err
	}
	if err := s.launch(ctx, programs, cluster, opt); err != nil {
		return nil, err
	}
	if err := held.write(record{pid: os.Getpid(), socket: s.socket}); err != nil {
		_ = s.end(ctx) // the error that matters is the first
		return nil, err
	}
	log.Info("the private Postgres is ready", "dir", dir, "version", programs.version, "pid", s.child.cmd.Process.Pid)
	return s, nil
}

// initialise makes the cluster beside its place and moves it there when it is
// whole, so that one that is found is never half made.
func initialise(ctx context.Context, dir string, programs installation, opt options) error {
	half := filepath.Join(dir, unfinished)
	// Left by a process that was killed while it did this: initdb's files,
	// which never held anyone's data.
	if err := os.RemoveAll(half); err != nil {
		return err
	}
	if err := opt.account.folder(half); err != nil {
		return err
	}
	// The account must get there; starting a program in the folder tries it.
	if _, err := opt.account.command(half, filepath.Join(programs.dir, "postgres"), "--version").output(ctx); err != nil {
		if errors.Is(err, fs.ErrPermission) {
			return fmt.Errorf("the data folder %s can't be reached by the user %s, whom Postgres runs as: choose one that every user can enter, or let others through its parents: %w", dir, opt.account.name, err)
		}
		return err
	}
	args := append([]string{
		"--pgdata=" + half,
		"--username=" + adminRole,
		// One order of text everywhere: the order of its bytes.
		"--encoding=UTF8", "--no-locale",
		// Nobody but the folder's owner gets to the socket.
		"--auth-local=trust", "--auth-host=reject",
	}, opt.initdb...)
	if _, err := opt.account.command(half, filepath.Join(programs.dir, "initdb"), args...).output(ctx); err != nil {
		return fmt.Errorf("set up the data: %w", err)
	}
	return os.Rename(half, filepath.Join(dir, clusterName))
}

// launch starts the server and waits until it answers.
func (s *Server) launch(ctx context.Context, programs installation, cluster string, opt options) error {
	out, err := openLog(s.dir)
	if err != nil {
		return err
	}
	defer out.Close() // the child has its own
	info, err := out.Stat()
	if err != nil {
		return err
	}
	args := []string{"-D", cluster, "-k", s.socket}
	for _, setting := range append([]string{
		"port=5432", // no port, but a part of the socket's name
		"listen_addresses=",
		"unix_socket_permissions=0700",
		"logging_collector=off",
		"log_destination=stderr",
		"timezone=UTC",
		"log_timezone=UTC",
	}, opt.settings...) {
		args = append(args, "-c", setting)
	}
	s.child = opt.account.command(cluster, filepath.Join(programs.dir, "postgres"), args...)
	// A file and not a pipe: a pipe would break under a server that outlives
	// this process by its last seconds.
	s.child.cmd.Stdout, s.child.cmd.Stderr = out, out
	if err := s.child.start(); err != nil {
		return fmt.Errorf("start Postgres: %w", err)
	}
	if err := s.prepare(ctx, opt.role); err != nil {
		patience, cancel := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
		defer cancel()
		_ = s.end(patience) // the error that matters is the first
		return fmt.Errorf("start Postgres: %w (%s says: %s)", err, out.Name(), logSince(out, info.Size()))
	}
	return nil
}

// prepare waits until the server answers and makes the application's role and
// database where they are missing. The role is no superuser, so that what
// works here works on a Postgres that somebody else looks after.
func (s *Server) prepare(ctx context.Context, attributes string) error {
	conn, err := s.connect(ctx)
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	for _, want := range []struct{ exists, create string }{
		{"SELECT EXISTS (SELECT FROM pg_roles WHERE rolname = '" + appRole + "')", "CREATE ROLE " + appRole + " LOGIN " + attributes},
		{"SELECT EXISTS (SELECT FROM pg_database WHERE datname = '" + appDatabase + "')", "CREATE DATABASE " + appDatabase + " OWNER " + appRole},
	} {
		var exists bool
		if err := conn.QueryRow(ctx, want.exists).Scan(&exists); err != nil {
			return err
		}
		if !exists {
			if _, err := conn.Exec(ctx, want.create); err != nil {
				return err
			}
		}
	}
	return nil
}

// connect connects as the superuser as soon as the server lets it. A server
// that recovers from a crash may take its time; one that ended never will.
func (s *Server) connect(ctx context.Context) (*pgx.Conn, error) {
	for {
		conn, err := pgx.Connect(ctx, address(s.socket, adminRole, "postgres"))
		if err == nil {
			return conn, nil
		}
		select {
		case <-s.child.done:
			return nil, fmt.Errorf("it ended at once: %w", orEnded(s.child.err))
		case <-ctx.Done():
			return nil, errors.Join(ctx.Err(), err)
		case <-time.After(20 * time.Millisecond):
		}
	}
}

func orEnded(err error) error {
	if err == nil {
		return errors.New("without an error")
	}
	return err
}

// URL is the address of the application's database, as its owner.
func (s *Server) URL() string { return address(s.socket, appRole, appDatabase) }

// AdminURL is the address of the same database as the cluster's superuser, for
// tests of what is done for one. The service never uses it.
func (s *Server) AdminURL() string { return address(s.socket, adminRole, appDatabase) }

// Done is closed when the server has ended, by Stop or by itself.
func (s *Server) Done() <-chan struct{} { return s.child.done }

// Stop ends the server and lets the folder go. The server breaks off what is
// running, writes everything down and ends; where it hasn't by the end of ctx
// it is made to, and recovers at the next Start. Further calls answer as the
// first one did.
func (s *Server) Stop(ctx context.Context) error {
	s.stop.Do(func() {
		s.stopErr = s.end(ctx)
		dropSocketFolder(s.socket)
		if s.cleanup != nil {
			s.cleanup()
		}
		s.lock.release()
	})
	return s.stopErr
}

func (s *Server) end(ctx context.Context) error {
	select {
	case <-s.child.done:
		return fmt.Errorf("the private Postgres had ended before it was stopped: %w", orEnded(s.child.err))
	default:
	}
	s.child.signal(syscall.SIGINT) // fast shutdown
	select {
	case <-s.child.done:
		return s.child.err
	case <-ctx.Done():
	}
	s.log.Warn("the private Postgres takes too long to stop and is made to", "pid", s.child.cmd.Process.Pid)
	s.child.signal(syscall.SIGQUIT) // immediate shutdown
	select {
	case <-s.child.done:
	case <-time.After(5 * time.Second):
		// The whole group. Workers have groups of their own, but end when
		// they see that the server has.
		_ = syscall.Kill(-s.child.cmd.Process.Pid, syscall.SIGKILL)
		<-s.child.done
	}
	return fmt.Errorf("the private Postgres was made to stop: %w", ctx.Err())
}
