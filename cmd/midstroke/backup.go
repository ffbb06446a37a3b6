package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"

	"midstroke/internal/backup"
)

type backupCommand struct {
	File     string        `arg:"" help:"File to write, such as midstroke.backup. A file that exists is left as it is."`
	Database databaseFlags `embed:""`
	LogLevel slog.Level    `name:"log-level" env:"MIDSTROKE_LOG_LEVEL" default:"warn" help:"Lowest level that is logged: debug, info, warn or error."`
}

// Run writes the backup under another name and renames it when it is complete.
func (b *backupCommand) Run(ctx context.Context, c console) (err error) {
	if _, err := os.Lstat(b.File); err == nil {
		return fmt.Errorf("%s exists already, and nothing was written", b.File)
	} else if !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("no backup was made: %w", err)
	}
	if b.Database.DatabaseURL == "" {
		if started, err := b.Database.everStarted(); err != nil {
			return err
		} else if !started {
			return errors.New("no private Postgres was ever started in the data folder (--data-dir), and no database is named (--database-url), so there is nothing to back up")
		}
	}
	db, err := b.Database.open(ctx, newLog(c.err, b.LogLevel))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.close()) }()
	part, err := os.CreateTemp(filepath.Dir(b.File), filepath.Base(b.File)+".part-*") // only its owner can read it
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, part.Close(), os.Remove(part.Name()))
		}
	}()
	contents, err := backup.Write(ctx, db.url, part, versionText())
	if err != nil {
		return fmt.Errorf("no backup was made: %w", err)
	}
	if err := part.Sync(); err != nil {
		return fmt.Errorf("no backup was made: %w", err)
	}
	if err := os.Link(part.Name(), b.File); err != nil { // unlike a rename, this replaces nothing
		return err
	}
	_, err = fmt.Fprintf(c.out, "Wrote %s: %d rows of %d tables.\n", b.File, contents.Rows(), len(contents.Tables))
	return errors.Join(err, part.Close(), os.Remove(part.Name()))
}

type restoreCommand struct {
	File     string        `arg:"" help:"Backup to restore."`
	Database databaseFlags `embed:""`
	LogLevel slog.Level    `name:"log-level" env:"MIDSTROKE_LOG_LEVEL" default:"warn" help:"Lowest level that is logged: debug, info, warn or error."`
}

// Run fills an empty database from a backup.
func (r *restoreCommand) Run(ctx context.Context, c console) (err error) {
	file, err := os.Open(r.File)
	if err != nil {
		return err
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		return err
	}
	// A bad file is told before a private Postgres is set up for it.
	if err := backup.Check(file, info.Size()); err != nil {
		return fmt.Errorf("%s: %w", r.File, err)
	}
	db, err := r.Database.open(ctx, newLog(c.err, r.LogLevel))
	if err != nil {
		return err
	}
	defer func() {
		var kept *backup.NotEmptyError // somebody else has filled it meanwhile
		if errors.As(err, &kept) {
			err = errors.Join(err, db.close())
		} else {
			err = db.closeOrDiscard(err)
		}
	}()
	contents, err := backup.Restore(ctx, db.url, file, info.Size())
	if err != nil {
		return fmt.Errorf("%s: %w", r.File, err)
	}
	_, err = fmt.Fprintf(c.out, "Restored %d rows of %d tables, as they were at %s.\n", contents.Rows(), len(contents.Tables), contents.MadeAt.Format("2006-01-02 15:04 MST"))
	return err
}
