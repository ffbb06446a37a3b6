package backup

import (
	"archive/zip"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"github.com/jackc/pgx/v5"

	"midstroke/migrations"
)

// A FileError says that a file can't be restored.
type FileError struct{ Why string }

func (e *FileError) Error() string { return e.Why + "; nothing was written" }

// NotEmptyError says that a database already keeps something.
type NotEmptyError struct{ Shops int64 }

func (e *NotEmptyError) Error() string {
	shops := "1 shop"
	if e.Shops != 1 {
		shops = fmt.Sprintf("%d shops", e.Shops)
	}
	return fmt.Sprintf("the database isn't empty: it has %s. Nothing was written; restore into a new database (--database-url), or into a data folder that doesn't exist yet (--data-dir)", shops)
}

// Restore fills the database at url, which must be empty, from a backup, and brings its
// tables up to date. url is that of the owner of the database. The whole file is
// read once before anything is written, and all rows are written or none.
func Restore(ctx context.Context, url string, file io.ReaderAt, size int64) (*Contents, error) {
	archive, c, err := open(file, size)
	if err != nil {
		return nil, err
	}
	if err := checkEmpty(ctx, url, c.Step); err != nil {
		return nil, err
	}
	if err := migrations.UpTo(ctx, url, c.Step); err != nil {
		return nil, err
	}
	if err := load(ctx, url, archive, c); err != nil {
		return nil, fmt.Errorf("restore: %w; no row was written", err)
	}
	_, err = migrations.Up(ctx, url)
	return c, err
}

// Check says whether a file is a backup that can be read to its end by this program.
func Check(file io.ReaderAt, size int64) error {
	_, _, err := open(file, size)
	return err
}

// open reads a backup to its end, so that one that is cut short or damaged is known
// before anything is done with it.
func open(file io.ReaderAt, size int64) (*zip.Reader, *Contents, error) {
	broken := func(why string, args ...any) (*zip.Reader, *Contents, error) {
		return nil, nil, &FileError{fmt.Sprintf(why, args...)}
	}
	known, err := migrations.Known()
	if err != nil {
		return nil, nil, err
	}
	archive, err := zip.NewReader(file, size)
	if err != nil {
		return broken("the file isn't a backup, or is cut short: %v", err)
	}
	raw, err := archive.Open(contentsName)
	if err != nil {
		return broken("the file isn't a backup of midstroke: it has no %s", contentsName)
	}
	defer raw.Close()
	c := new(Contents)
	switch err := json.NewDecoder(raw).Decode(c); {
	case err != nil:
		return broken("%s of the backup can't be read: %v", contentsName, err)
	case c.Format > format:
		return broken("the backup has form %d (program %s), and this program knows forms up to %d: restore it with that program or a newer one", c.Format, c.Program, format)
	case c.Format < 1 || c.Step < 1:
		return broken("%s of the backup names no form or no step", contentsName)
	case c.Step > known:
		return broken("the backup is of step %d (program %s), and this program knows steps up to %d: restore it with that program or a newer one", c.Step, c.Program, known)
	}
	for i := range c.Tables {
		rows, err := archive.Open(tablesFolder + c.Tables[i].Name)
		if err != nil {
			return broken("the backup lacks the table %s", c.Tables[i].Name)
		}
		_, err = io.Copy(io.Discard, rows) // compares the sum at the end
		if err := errors.Join(err, rows.Close()); err != nil {
			return broken("the table %s of the backup is damaged: %v", c.Tables[i].Name, err)
		}
	}
	return archive, c, nil
}

// checkEmpty fails where the database keeps anything, or has tables of a later step
// than the backup's.
func checkEmpty(ctx context.Context, url string, step int64) error {
	have, err := migrations.Step(ctx, url)
	if err != nil || have == 0 {
		return err
	}
	conn, err := connect(ctx, url)
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var shops int64
	err = pgx.BeginFunc(ctx, conn, func(tx pgx.Tx) error {
		shops, err = (&Table{Name: "shops"}).countAll(ctx, tx)
		return err
	})
	switch {
	case err != nil:
		return err
	case shops > 0 || have > step:
		return &NotEmptyError{shops}
	}
	return nil
}

// load fills the tables, in one transaction.
func load(ctx context.Context, url string, archive *zip.Reader, c *Contents) error {
	conn, err := connect(ctx, url)
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	return pgx.BeginFunc(ctx, conn, func(tx pgx.Tx) error {
		// What migrations have put into tables is in the backup as well.
		names := make([]string, len(c.Tables))
		for i := range c.Tables {
			names[i] = c.Tables[i].Name
		}
		if _, err := tx.Exec(ctx, "TRUNCATE "+list(names)); err != nil {
			return err
		}
		for i := range c.Tables {
			if err := c.Tables[i].load(ctx, tx, archive); err != nil {
				return fmt.Errorf("the table %s: %w", c.Tables[i].Name, err)
			}
		}
		for _, s := range c.Sequences {
			if _, err := tx.Exec(ctx, "SELECT setval($1::regclass, $2, $3)", quoted(s.Name), s.Last, s.Called); err != nil {
				return fmt.Errorf("the sequence %s: %w", s.Name, err)
			}
		}
		return nil
	})
}

// load fills a table. Its triggers and policies are for those who work with it, so
// they rest meanwhile.
func (t *Table) load(ctx context.Context, tx pgx.Tx, archive *zip.Reader) (err error) {
	var forced bool
	if err := tx.QueryRow(ctx, "SELECT relforcerowsecurity FROM pg_class WHERE oid = $1::regclass", quoted(t.Name)).Scan(&forced); err != nil {
		return err
	}
	before, after := "ALTER TABLE "+quoted(t.Name)+" DISABLE TRIGGER USER", "ALTER TABLE "+quoted(t.Name)+" ENABLE TRIGGER USER"
	if forced {
		before, after = before+", NO FORCE ROW LEVEL SECURITY", after+", FORCE ROW LEVEL SECURITY"
	}
	if _, err := tx.Exec(ctx, before); err != nil {
		return err
	}
	rows, err := archive.Open(tablesFolder + t.Name)
	if err != nil {
		return err
	}
	defer rows.Close()
	tag, err := tx.Conn().PgConn().CopyFrom(ctx, rows, "COPY "+quoted(t.Name)+" ("+list(t.Columns)+") FROM STDIN")
	if err != nil {
		return err
	}
	if n := tag.RowsAffected(); n != t.Rows {
		return fmt.Errorf("%d rows in the file, and %d were counted when it was written", n, t.Rows)
	}
	_, err = tx.Exec(ctx, after)
	return err
}
