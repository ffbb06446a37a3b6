package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"time"

	"github.com/jackc/pgx/v5/pgconn"

	"midstroke/internal/catalog"
	"midstroke/internal/pglocal"
	"midstroke/internal/postgres"
	"midstroke/internal/shop"
	"midstroke/migrations"
	"midstroke/testdata/demo"
)

// demoCatalog is the catalogue that everyone may use without a key.
const demoCatalog = "demo"

// databaseFlags say which database keeps the catalogues.
type databaseFlags struct {
	DataDir     string `name:"data-dir" env:"MIDSTROKE_DATA_DIR" placeholder:"DIR" help:"Folder of the private Postgres, which is used when no database is named. Default: a folder of the user's own."`
	DatabaseURL string `name:"database-url" env:"DATABASE_URL" placeholder:"URL" help:"Postgres (14 or newer) that keeps the catalogues."`
}

// How long the private Postgres may take to save everything when it is stopped,
// and how long where it doesn't answer, so that there is nothing to wait for.
const (
	stopTimeout   = 20 * time.Second
	frozenTimeout = 100 * time.Millisecond
)

// database is a Postgres that a command works with.
type database struct {
	// url is for the role that the command works as: the owner of the tables,
	// unless the database's URL names another role.
	url string
	// service and keeper are for the two roles that serve works as.
	service, keeper string
	// gone is closed when a private Postgres has ended by itself. It is nil for
	// a named database, whose end shows only in its connections.
	gone <-chan struct{}
	// stop stops the private Postgres if this process started it, else it is nil.
	stop func(context.Context) error
	// discard stops the private Postgres and removes its data. It is nil unless this
	// process has set the data up.
	discard func(context.Context) error
}

// open gives the named database. Without one it gives the private Postgres that
// another process runs, or else starts it.
func (f *databaseFlags) open(ctx context.Context, log *slog.Logger) (*database, error) {
	if f.DatabaseURL != "" {
		if _, err := pgconn.ParseConfig(f.DatabaseURL); err != nil {
			return nil, fmt.Errorf("--database-url (DATABASE_URL): %w", err)
		}
		return &database{url: f.DatabaseURL, service: f.DatabaseURL, keeper: f.DatabaseURL}, nil
	}
	url, err := pglocal.Attach(ctx, f.DataDir)
	switch {
	case err == nil:
		return &database{url: url, service: url, keeper: url}, nil
	case !errors.Is(err, pglocal.ErrNotRunning):
		return nil, err
	}
	return f.start(ctx, log)
}

// start starts the private Postgres.
func (f *databaseFlags) start(ctx context.Context, log *slog.Logger) (*database, error) {
	server, err := pglocal.Start(ctx, pglocal.Config{Dir: f.DataDir, Logins: []string{migrations.ServiceRole, migrations.KeeperRole}, Log: log})
	if err != nil {
		return nil, err
	}
	db := &database{
		url: server.URL(), service: server.LoginURL(migrations.ServiceRole), keeper: server.LoginURL(migrations.KeeperRole),
		gone: server.Done(), stop: server.Stop,
	}
	if server.New() {
		db.discard = server.Discard
	}
	return db, nil
}

// close stops the private Postgres if this process started it.
func (d *database) close() error { return d.closeWithin(stopTimeout) }

func (d *database) closeWithin(most time.Duration) error {
	if d.stop == nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(context.Background(), most)
	defer cancel()
	return d.stop(ctx)
}

// closeOrDiscard is close for a command that is of no use unless it succeeds. Where err
// says that it failed, data that were set up for it are removed.
func (d *database) closeOrDiscard(err error) error {
	if err == nil || d.discard == nil {
		return errors.Join(err, d.close())
	}
	ctx, cancel := context.WithTimeout(context.Background(), stopTimeout)
	defer cancel()
	return errors.Join(err, d.discard(ctx))
}

// everStarted says whether a private Postgres was ever started in the folder.
func (f *databaseFlags) everStarted() (bool, error) {
	dir := f.DataDir
	if dir == "" {
		var err error
		if dir, err = pglocal.DefaultDir(); err != nil {
			return false, err
		}
	}
	_, err := os.Stat(filepath.Join(dir, "cluster"))
	if errors.Is(err, os.ErrNotExist) {
		return false, nil
	}
	return err == nil, err
}

// migrate brings the tables up to date.
func migrate(ctx context.Context, url string, log *slog.Logger) error {
	applied, err := migrations.Up(ctx, url)
	for _, name := range applied {
		log.Info("applied a migration", "file", name)
	}
	if err != nil {
		return fmt.Errorf("the database's tables could not be brought up to date: %w", err)
	}
	return nil
}

// ensureDemo publishes the demo catalogue unless it is there already.
func ensureDemo(ctx context.Context, store *postgres.Store, log *slog.Logger) error {
	_, err := store.Newest(ctx, demoCatalog)
	if !errors.Is(err, catalog.ErrNotFound) {
		return err
	}
	revision, err := publish(ctx, store, "", demoCatalog, shop.PartsOf(demo.Contents()), "the invented catalogue that comes with the program")
	if err != nil {
		return fmt.Errorf("the demo catalogue could not be loaded: %w", err)
	}
	log.Info("loaded the demo catalogue", "revision", revision)
	return nil
}

// publish makes parts the newest revision of a catalogue. A catalogue that
// doesn't exist yet is created for shopName, or if that is "" for a shop with the
// catalogue's own name.
func publish(ctx context.Context, store *postgres.Store, shopName, name string, parts shop.Parts, note string) (revision int, err error) {
	if shopName != "" {
		if err := store.EnsureCatalog(ctx, shopName, name); err != nil {
			return 0, err
		}
	}
	revision, err = store.PublishParts(ctx, name, parts, note)
	if !errors.Is(err, catalog.ErrNotFound) {
		return revision, err
	}
	if err := store.EnsureCatalog(ctx, name, name); err != nil {
		return 0, err
	}
	return store.PublishParts(ctx, name, parts, note)
}

type migrateCommand struct {
	Database databaseFlags `embed:""`
	LogLevel slog.Level    `name:"log-level" env:"MIDSTROKE_LOG_LEVEL" default:"info" help:"Lowest level that is logged: debug, info, warn or error."`
}

// Run applies the missing migrations and loads the demo catalogue, so that serve
// has nothing to make.
func (m *migrateCommand) Run(ctx context.Context, c console) (err error) {
	log := newLog(c.err, m.LogLevel)
	db, err := m.Database.open(ctx, log)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.close()) }()
	if err := migrate(ctx, db.url, log); err != nil {
		return err
	}
	store, err := postgres.Open(ctx, db.url)
	if err != nil {
		return err
	}
	defer store.Close()
	if err := ensureDemo(ctx, store, log); err != nil {
		return err
	}
	_, err = fmt.Fprintln(c.out, "The database's tables are up to date.")
	return err
}

type rightsCommand struct{}

// Run prints the statements.
func (rightsCommand) Run(c console) error {
	_, err := fmt.Fprint(c.out, migrations.Rights)
	return err
}

// storeFlags say which database a command works with.
type storeFlags struct {
	Database databaseFlags `embed:""`
	LogLevel slog.Level    `name:"log-level" env:"MIDSTROKE_LOG_LEVEL" default:"warn" help:"Lowest level that is logged: debug, info, warn or error."`
}

// with brings the tables up to date and calls do with the store.
func (f *storeFlags) with(ctx context.Context, c console, do func(*postgres.Store) error) (err error) {
	log := newLog(c.err, f.LogLevel)
	db, err := f.Database.open(ctx, log)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.close()) }()
	if err := migrate(ctx, db.url, log); err != nil {
		return err
	}
	store, err := postgres.Open(ctx, db.url)
	if err != nil {
		return err
	}
	defer store.Close()
	return do(store)
}
