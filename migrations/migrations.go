// Package migrations brings a database's schema to the state that this program
// needs. Each step is an SQL file that can also be undone. A released step never
// changes.
package migrations

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"
)

//go:embed *.sql
var files embed.FS

// OldestMajor is the oldest major version of Postgres that the program's SQL works
// with.
const OldestMajor = 14

// TooOldError says that a server's Postgres is older than OldestMajor.
type TooOldError struct {
	Version string // as the server writes it, such as "13.22 (Debian 13.22-0+deb11u1)"
}

func (e *TooOldError) Error() string {
	return fmt.Sprintf("the database server is Postgres %s, and %d is the oldest that can be used", e.Version, OldestMajor)
}

// Up applies the missing steps to the database at url and gives the names of their
// files. Several processes may call it at once: one does the work, and the others
// wait for it up to two minutes. A role that doesn't own the tables may call it as
// well, and gets an *OwnerError if there is something to apply. Tables that a newer
// program has changed are a *NewerError.
func Up(ctx context.Context, url string) (applied []string, err error) {
	var have int64
	err = with(ctx, url, func(p *goose.Provider, db *sql.DB) error {
		need := newest(p)
		if have, err = reached(ctx, db); denied(err) {
			return &OwnerError{role(ctx, db), -1, need}
		}
		if err != nil || have == need {
			return err
		}
		if have > need {
			return &NewerError{have, need}
		}
		results, err := p.Up(ctx)
		var partial *goose.PartialError
		if errors.As(err, &partial) {
			results = partial.Applied
		}
		for _, r := range results {
			applied = append(applied, r.Source.Path)
		}
		if denied(err) && len(applied) == 0 {
			return &OwnerError{role(ctx, db), have, need}
		}
		return err
	})
	return applied, err
}

// UpTo applies the steps up to one. One that this program doesn't know is a
// *NewerError.
func UpTo(ctx context.Context, url string, step int64) error {
	return with(ctx, url, func(p *goose.Provider, _ *sql.DB) error {
		if known := newest(p); step > known {
			return &NewerError{step, known}
		}
		_, err := p.UpTo(ctx, step)
		return err
	})
}

// Step gives the number of the last step that was applied to a database, 0 for none.
func Step(ctx context.Context, url string) (number int64, err error) {
	err = with(ctx, url, func(_ *goose.Provider, db *sql.DB) error {
		number, err = reached(ctx, db)
		return err
	})
	return number, err
}

// Pending says whether there are steps for Up to apply.
func Pending(ctx context.Context, url string) (pending bool, err error) {
	err = with(ctx, url, func(p *goose.Provider, db *sql.DB) error {
		have, err := reached(ctx, db)
		need := newest(p)
		switch {
		case denied(err):
			return &OwnerError{role(ctx, db), -1, need}
		case have > need:
			return &NewerError{have, need}
		}
		pending = have < need
		return err
	})
	return pending, err
}

// Known is the number of the last step that this program knows.
func Known() (number int64, err error) {
	names, err := fs.Glob(files, "*.sql")
	if err != nil {
		return 0, err
	}
	return goose.NumericComponent(names[len(names)-1]) // they are sorted
}

// newest is the number of the last step that p knows.
func newest(p *goose.Provider) int64 {
	all := p.ListSources()
	return all[len(all)-1].Version
}

// reached gives the number of the last step that was applied, 0 for none.
func reached(ctx context.Context, db *sql.DB) (number int64, err error) {
	var there bool
	err = db.QueryRowContext(ctx, "SELECT to_regclass('goose_db_version') IS NOT NULL").Scan(&there)
	if err == nil && there {
		err = db.QueryRowContext(ctx, "SELECT coalesce(max(version_id), 0) FROM goose_db_version WHERE is_applied").Scan(&number)
	}
	return number, err
}

// role gives the name of the role that a connection works as.
func role(ctx context.Context, db *sql.DB) (name string) {
	if err := db.QueryRowContext(ctx, "SELECT current_user").Scan(&name); err != nil {
		return "of this connection"
	}
	return name
}

// with calls do with the steps for the database at url.
func with(ctx context.Context, url string, do func(*goose.Provider, *sql.DB) error) (err error) {
	cfg, err := pgx.ParseConfig(url)
	if err != nil {
		return err
	}
	// A step works on the rows of every shop. The tables' policies show them only
	// to a connection with this setting.
	db := stdlib.OpenDB(*cfg, stdlib.OptionAfterConnect(func(ctx context.Context, conn *pgx.Conn) error {
		_, err := conn.Exec(ctx, "SET midstroke.shop = '*'")
		return err
	}))
	defer func() { err = errors.Join(err, db.Close()) }()
	if err := checkVersion(ctx, db); err != nil {
		return err
	}
	// By default goose looks for the lock only every 5 s.
	locker, err := lock.NewPostgresSessionLocker(lock.WithLockTimeout(1, 120))
	if err != nil {
		return err
	}
	p, err := goose.NewProvider(goose.DialectPostgres, db, files, goose.WithSessionLocker(locker))
	if err != nil {
		return err
	}
	return do(p, db)
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
