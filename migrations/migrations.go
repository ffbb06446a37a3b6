// Package migrations brings a database's schema up to what this program
// works with. Each step is one SQL file with its way back; a step that was
// released is never changed.
package migrations

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"
)

//go:embed *.sql
var files embed.FS

// OldestMajor is the oldest major version of Postgres that the steps, and all
// other SQL of this program, are written for.
const OldestMajor = 14

// TooOldError says that a server's Postgres is older than OldestMajor.
type TooOldError struct {
	Version string // as the server gives it: "13.22 (Debian 13.22-0+deb11u1)"
}

func (e *TooOldError) Error() string {
	return fmt.Sprintf("the database server is Postgres %s, and %d is the oldest that is used", e.Version, OldestMajor)
}

// Up applies what hasn't been applied yet to the database at url and gives
// the names of the files that were. Several processes may call it at once:
// one does the work, the others wait for it, up to two minutes.
func Up(ctx context.Context, url string) (applied []string, err error) {
	err = with(ctx, url, func(p *goose.Provider) error {
		results, err := p.Up(ctx)
		var partial *goose.PartialError
		if errors.As(err, &partial) {
			results = partial.Applied
		}
		for _, r := range results {
			applied = append(applied, r.Source.Path)
		}
		return err
	})
	return applied, err
}

// Pending says whether there is something that Up would apply.
func Pending(ctx context.Context, url string) (pending bool, err error) {
	err = with(ctx, url, func(p *goose.Provider) error {
		pending, err = p.HasPending(ctx)
		return err
	})
	return pending, err
}

// with calls do with the steps and the database at url.
func with(ctx context.Context, url string, do func(*goose.Provider) error) (err error) {
	cfg, err := pgx.ParseConfig(url)
	if err != nil {
		return err
	}
	// A step works on every shop's rows, which the policies of their tables let
	// nobody see who doesn't say so.
	db := stdlib.OpenDB(*cfg, stdlib.OptionAfterConnect(func(ctx context.Context, conn *pgx.Conn) error {
		_, err := conn.Exec(ctx, "SET midstroke.shop = '*'")
		return err
	}))
	defer func() { err = errors.Join(err, db.Close()) }()
	if err := checkVersion(ctx, db); err != nil {
		return err
	}
	// goose looks for the lock every 5 s unless told otherwise.
	locker, err := lock.NewPostgresSessionLocker(lock.WithLockTimeout(1, 120))
	if err != nil {
		return err
	}
	p, err := goose.NewProvider(goose.DialectPostgres, db, files, goose.WithSessionLocker(locker))
	if err != nil {
		return err
	}
	return do(p)
}

func checkVersion(ctx context.Context, db *sql.DB) error {
	var number int
	var version string
	const query = "SELECT current_setting('server_version_num')::int, current_setting('server_version')"
	if err := db.QueryRowContext(ctx, query).Scan(&number, &version); err != nil {
		return err
	}
	if number < OldestMajor*10_000 {
		return &TooOldError{Version: version}
	}
	return nil
}
