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
	cleanup func() // called after the server has ended and before the lock is released; may be nil

	isNew bool     // Start has set up the data
	made  []string // folders that Start has made, each before its parent

	stop    sync.Once
	stopErr error
}

// options are the differences between a temporary server and one that keeps data.
type options struct {
	account  account
	initdb   []string // further arguments of initdb
	settings []string // further name=value settings of the server
	role     string   // further attributes of the application's role
	logins   []string // further roles that can log in
	made     []string // folders that were missing, each before its parent
}

// Start starts the private Postgres of cfg.Dir and returns when it answers. The
// first start sets up the data. ctx limits only the start; the server runs until
// Stop or the end of this process.
//
// Two errors are for people to act on: *BusyError if another process holds the
// folder, and *MissingError if the server programs (of the version that wrote the
// data) are missing. Neither changes anything.
func Start(ctx context.Context, cfg Config) (*Server, error) {
	dir, made, err := makeDir(cfg.Dir)
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
	return start(ctx, dir, log, options{account: acct, logins: cfg.Logins, made: made})
}

// Installed fails with a *MissingError if there are no programs with which Start
// could set up a new server.
func Installed(ctx context.Context) error {
	acct, err := chooseAccount("")
	if err != nil {
		return err
	}
	_, err = choose(findInstallations(ctx, acct, os.Getenv("PATH"), folders()), 0, "")
	return err
}

// start is Start for a folder that exists.
func start(ctx context.Context, dir string, log *slog.Logger, opt options) (_ *Server, err error) {
	held, err := acquire(dir, 10)
	if err != nil {
		return nil, err
	}
	s := &Server{dir: dir, lock: held, log: log, made: opt.made}
	defer func() {
		if err != nil {
			if s.socket != "" {
				dropSocketFolder(s.socket)
			}
			if !s.isNew && len(s.made) > 0 {
				_ = s.removeFolder() // the error that matters is the first
			}
			held.release()
		}
	}()
	dropSocketFolder(held.read().socket)
	if err := held.write(record{pid: os.Getpid()}); err != nil {
		return nil, orFull(dir, roomToStart, err)
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
		log.Info("setting up a private Postgres", "dir", dir, "version", programs.version, "user", opt.account.name)
		if err := initialise(ctx, dir, programs, opt); err != nil {
			return nil, orFull(dir, roomToSetUp, err)
		}
		s.isNew = true
	} else if err := clearOrphan(ctx, cluster, log); err != nil {
		return nil, err
	}

	if s.socket, err = socketFolder(dir, opt.account); err != nil {
		return nil, err
	}
	if err := s.launch(ctx, programs, cluster, opt); err != nil {
		return nil, orFull(dir, roomToStart, err)
	}
	if err := held.write(record{pid: os.Getpid(), socket: s.socket}); err != nil {
		_ = s.end(ctx) // the error that matters is the first
		return nil, err
	}
	log.Info("the private Postgres is ready", "dir", dir, "version", programs.version, "pid", s.child.cmd.Process.Pid)
	return s, nil
}

// initialise makes the cluster under another name and renames it when it is
// complete, so that the cluster is never incomplete.
func initialise(ctx context.Context, dir string, programs installation, opt options) (err error) {
	half := filepath.Join(dir, unfinished)
	// A process that was killed here left initdb's files, which never held data.
	if err := os.RemoveAll(half); err != nil {
		return err
	}
	if err := opt.account.folder(half); err != nil {
		return err
	}
	defer func() {
		if err != nil {
			_ = os.RemoveAll(half) // the error that matters is the first
		}
	}()
	// Starting a program in the folder shows whether the account can enter it.
	if _, err := opt.account.command(half, filepath.Join(programs.dir, "postgres"), "--version").output(ctx); err != nil {
		if errors.Is(err, fs.ErrPermission) {
			return fmt.Errorf("the data folder %s can't be reached by the user %s, as which Postgres runs: choose one that every user can enter, or give others access to its parent folders: %w", dir, opt.account.name, err)
		}
		return err
	}
	args := append([]string{
		"--pgdata=" + half,
		"--username=" + adminRole,
		// Text is ordered by its bytes, the same on every machine.
		"--encoding=UTF8", "--no-locale",
		// Only the folder's owner can reach the socket.
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
		"port=5432", // only a part of the socket's name
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
	// A file, since a pipe would break while a server outlives this process for
	// its last seconds.
	s.child.cmd.Stdout, s.child.cmd.Stderr = out, out
	if err := s.child.start(); err != nil {
		return fmt.Errorf("start Postgres: %w", err)
	}
	if err := s.prepare(ctx, opt); err != nil {
		ending, cancel := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
		defer cancel()
		_ = s.end(ending) // the error that matters is the first
		return fmt.Errorf("start Postgres: %w (%s says: %s)", err, out.Name(), logSince(out, info.Size()))
	}
	return nil
}

// prepare waits until the server answers, and makes the application's roles and
// database if they are missing. The roles are no superusers, so that the program also
// works with a Postgres that somebody else administers.
func (s *Server) prepare(ctx context.Context, opt options) error {
	conn, err := s.connect(ctx)
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	missing := func(exists, create string) error {
		var there bool
		err := conn.QueryRow(ctx, "SELECT EXISTS ("+exists+")").Scan(&there)
		if err == nil && !there {
			_, err = conn.Exec(ctx, create)
		}
		return err
	}
	role := func(name, attributes string) error {
		return missing("SELECT FROM pg_roles WHERE rolcanlogin AND rolname = '"+name+"'", "CREATE ROLE "+name+" LOGIN "+attributes)
	}
	if err := role(appRole, opt.role); err != nil {
		return err
	}
	for _, name := range opt.logins {
		if err := role(name, ""); err != nil {
			return err
		}
	}
	return missing("SELECT FROM pg_database WHERE datname = '"+appDatabase+"'", "CREATE DATABASE "+appDatabase+" OWNER "+appRole)
}

// connect connects as the superuser as soon as the server accepts it. A server that
// recovers from a crash may take a while. connect fails if the server has ended.
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

// LoginURL is the address of the application's database for one of Config.Logins.
func (s *Server) LoginURL(role string) string { return address(s.socket, role, appDatabase) }

// AdminURL is the address of the same database for the cluster's superuser. Only
// tests use it.
func (s *Server) AdminURL() string { return address(s.socket, adminRole, appDatabase) }

// Done is closed when the server has ended, by Stop or by itself.
func (s *Server) Done() <-chan struct{} { return s.child.done }

// Stop stops the server and releases the folder. The server cancels what is
// running, saves everything and ends. If it hasn't ended by the end of ctx it is
// forced to, and recovers at the next Start. Further calls give the result of the
// first one.
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

// New says whether Start has set up the data.
func (s *Server) New() bool { return s.isNew }

// Discard stops the server like Stop. If Start has set up the data, Discard removes
// them, and the folders that Start made for them.
func (s *Server) Discard(ctx context.Context) error {
	if !s.isNew {
		return s.Stop(ctx)
	}
	var removed error
	s.cleanup = func() { removed = s.remove() }
	return errors.Join(s.Stop(ctx), removed)
}

// remove removes what Start has made. It leaves what others have put into the folder.
func (s *Server) remove() error {
	for _, name := range []string{clusterName, runName} {
		if err := os.RemoveAll(filepath.Join(s.dir, name)); err != nil {
			return err
		}
	}
	return s.removeFolder()
}

// removeFolder removes the files beside the data, and the folders that Start has made.
func (s *Server) removeFolder() error {
	for _, path := range []string{filepath.Join(s.dir, logName), lockPath(s.dir)} {
		if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	for _, dir := range s.made {
		if err := os.Remove(dir); err != nil {
			break // somebody uses it
		}
	}
	return nil
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
	s.log.Warn("the private Postgres takes too long to stop and is forced to", "pid", s.child.cmd.Process.Pid)
	s.child.signal(syscall.SIGQUIT) // immediate shutdown
	select {
	case <-s.child.done:
	case <-time.After(time.Second): // it may be frozen
		// The whole group. Workers have groups of their own, but end when they
		// notice that the server has ended.
		_ = syscall.Kill(-s.child.cmd.Process.Pid, syscall.SIGKILL)
		<-s.child.done
	}
	return fmt.Errorf("the private Postgres was forced to stop: %w", ctx.Err())
}
