// Package backup writes everything that a database keeps for midstroke to one file,
// and makes a database of such a file.
//
// A backup is a zip archive. tables/NAME has a table's rows in Postgres's text
// format of COPY. contents.json, the last entry, names the tables with their columns
// and how many rows each has. The tables are whatever the database has, so a new
// migration needs nothing here. The tables' definitions aren't in the file: they come
// from the migrations, up to the step that contents.json names.
//
// A backup is complete or fails. It is read in one snapshot, while services work. The
// owner of the tables sees rows only through their policies, so each table is counted
// past its policies as well.
package backup

import (
	"archive/zip"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"midstroke/migrations"
)

// format is the version of the file's form.
const format = 1

const (
	contentsName = "contents.json"
	tablesFolder = "tables/"
)

// Contents says what a backup holds.
type Contents struct {
	Format   int       `json:"format"`
	Program  string    `json:"program"`  // version of the program that wrote it
	Postgres string    `json:"postgres"` // version of the server that it comes from
	Step     int64     `json:"step"`     // number of the last migration
	MadeAt   time.Time `json:"made_at"`
	Tables   []Table   `json:"tables"` // each after those that it refers to
	// Sequences have the numbers that were given last.
	Sequences []Sequence `json:"sequences"`
}

// Table is one table of a backup.
type Table struct {
	Name    string   `json:"name"`
	Columns []string `json:"columns"`
	Rows    int64    `json:"rows"`

	refersTo []string
}

// Sequence is a sequence of numbers with its state.
type Sequence struct {
	Name   string `json:"name"`
	Last   int64  `json:"last"`
	Called bool   `json:"called"`
}

// Rows is how many rows a backup has in all.
func (c *Contents) Rows() (n int64) {
	for i := range c.Tables {
		n += c.Tables[i].Rows
	}
	return n
}

// Write writes a backup of the database at url, as the owner of its tables. program
// is the version to note in it.
func Write(ctx context.Context, url string, w io.Writer, program string) (*Contents, error) {
	step, err := migrations.Step(ctx, url)
	if err != nil {
		return nil, err
	}
	if step == 0 {
		return nil, errors.New("the database has no tables of midstroke, so there is nothing to back up")
	}
	conn, err := connect(ctx, url)
	if err != nil {
		return nil, err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	tx, err := conn.BeginTx(ctx, pgx.TxOptions{IsoLevel: pgx.RepeatableRead})
	if err != nil {
		return nil, err
	}
	defer func() { _ = tx.Rollback(context.WithoutCancel(ctx)) }() // nothing was changed
	c := &Contents{Format: format, Program: program, Step: step, MadeAt: time.Now().UTC().Truncate(time.Second)}
	if err := c.look(ctx, tx); err != nil {
		return nil, err
	}
	archive := zip.NewWriter(w)
	for i := range c.Tables {
		if err := c.Tables[i].write(ctx, tx, archive); err != nil {
			return nil, fmt.Errorf("back up %s: %w", c.Tables[i].Name, err)
		}
	}
	for i := range c.Tables {
		if err := c.Tables[i].checkWhole(ctx, tx); err != nil {
			return nil, err
		}
	}
	out, err := archive.Create(contentsName)
	if err == nil {
		err = json.NewEncoder(out).Encode(c)
	}
	return c, errors.Join(err, archive.Close())
}

// connect connects as somebody who asks for the rows of every shop. Values are written
// in the same way by every server.
func connect(ctx context.Context, url string) (*pgx.Conn, error) {
	cfg, err := pgx.ParseConfig(url)
	if err != nil {
		return nil, err
	}
	for name, value := range map[string]string{
		"midstroke.shop": "*", "client_encoding": "UTF8", "datestyle": "ISO", "intervalstyle": "postgres", "timezone": "UTC",
		"extra_float_digits": "1", "bytea_output": "hex", "statement_timeout": "0", "idle_in_transaction_session_timeout": "0",
	} {
		cfg.RuntimeParams[name] = value
	}
	return pgx.ConnectConfig(ctx, cfg)
}

// home is the schema of the program's tables.
const home = "(SELECT relnamespace FROM pg_class WHERE oid = 'shops'::regclass)"

// look finds what there is to back up.
func (c *Contents) look(ctx context.Context, tx pgx.Tx) error {
	if err := tx.QueryRow(ctx, "SELECT current_setting('server_version')").Scan(&c.Postgres); err != nil {
		return err
	}
	rows, _ := tx.Query(ctx, `SELECT relname,
			(SELECT array_agg(attname::text ORDER BY attnum) FROM pg_attribute
				WHERE attrelid = t.oid AND attnum > 0 AND NOT attisdropped AND attgenerated = ''),
			(SELECT coalesce(array_agg(confrelid::regclass::text), '{}') FROM pg_constraint
				WHERE conrelid = t.oid AND contype = 'f' AND confrelid <> t.oid)
		FROM pg_class t
		WHERE relnamespace = `+home+` AND relkind IN ('r', 'p') AND NOT relispartition AND relname <> 'goose_db_version'
		ORDER BY relname`)
	found, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (t Table, err error) {
		return t, row.Scan(&t.Name, &t.Columns, &t.refersTo)
	})
	if err != nil {
		return err
	}
	if c.Tables, err = inOrder(found); err != nil {
		return err
	}
	rows, _ = tx.Query(ctx, "SELECT relname FROM pg_class WHERE relkind = 'S' AND relnamespace = "+home+" ORDER BY relname")
	names, err := pgx.CollectRows(rows, pgx.RowTo[string])
	for _, name := range names {
		s := Sequence{Name: name}
		if err := tx.QueryRow(ctx, "SELECT last_value, is_called FROM "+quoted(name)).Scan(&s.Last, &s.Called); err != nil {
			return err
		}
		c.Sequences = append(c.Sequences, s)
	}
	return err
}

// inOrder puts each table after those that it refers to.
func inOrder(tables []Table) (sorted []Table, err error) {
	done := map[string]bool{}
	for len(sorted) < len(tables) {
		before := len(sorted)
	next:
		for _, t := range tables {
			if done[t.Name] {
				continue
			}
			for _, other := range t.refersTo {
				if !done[other] {
					continue next
				}
			}
			done[t.Name], sorted = true, append(sorted, t)
		}
		if len(sorted) == before {
			return nil, errors.New("tables refer to each other in a circle, so none can be restored first")
		}
	}
	return sorted, nil
}

// write copies the rows into an entry of their own.
func (t *Table) write(ctx context.Context, tx pgx.Tx, archive *zip.Writer) error {
	out, err := archive.Create(tablesFolder + t.Name)
	if err != nil {
		return err
	}
	tag, err := tx.Conn().PgConn().CopyTo(ctx, out, "COPY (SELECT "+list(t.Columns)+" FROM "+quoted(t.Name)+") TO STDOUT")
	t.Rows = tag.RowsAffected()
	return err
}

// How long a table may be waited for, and how often.
const (
	lockWait  = "2s"
	lockTries = 10
)

// checkWhole fails if policies hid rows. It counts the table without its policies,
// which takes a lock on it for as long as that lasts.
func (t *Table) checkWhole(ctx context.Context, tx pgx.Tx) (err error) {
	var all int64
	for range lockTries {
		if all, err = t.countAll(ctx, tx); !isBusy(err) {
			break
		}
	}
	switch {
	case err != nil:
		return fmt.Errorf("make sure that all of %s is in the backup: %w", t.Name, err)
	case all != t.Rows:
		return fmt.Errorf("policies show %d of the %d rows of %s to this role, so the backup would not be complete: make it as the role that owns the tables", t.Rows, all, t.Name)
	}
	return nil
}

// countAll counts the rows without policies. What it changes for that, it undoes.
func (t *Table) countAll(ctx context.Context, tx pgx.Tx) (n int64, err error) {
	save, err := tx.Begin(ctx)
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, save.Rollback(ctx)) }()
	if err := unforced(ctx, save, t.Name); err != nil {
		return 0, err
	}
	err = save.QueryRow(ctx, "SELECT count(*) FROM "+quoted(t.Name)).Scan(&n)
	return n, err
}

// unforced lets the owner of a table past its policies, and makes a query fail that
// policies would still take rows from.
func unforced(ctx context.Context, tx pgx.Tx, table string) error {
	_, err := tx.Exec(ctx, "SET LOCAL lock_timeout = '"+lockWait+"'; SET LOCAL row_security = off")
	if err != nil {
		return err
	}
	var forced bool
	const query = "SELECT relforcerowsecurity AND NOT (SELECT rolsuper OR rolbypassrls FROM pg_roles WHERE rolname = current_user) FROM pg_class WHERE oid = $1::regclass"
	if err := tx.QueryRow(ctx, query, quoted(table)).Scan(&forced); err != nil || !forced {
		return err
	}
	_, err = tx.Exec(ctx, "ALTER TABLE "+quoted(table)+" NO FORCE ROW LEVEL SECURITY")
	return err
}

func isBusy(err error) bool {
	const lockNotAvailable = "55P03"
	var told *pgconn.PgError
	return errors.As(err, &told) && told.Code == lockNotAvailable
}

func quoted(name string) string { return pgx.Identifier{name}.Sanitize() }

func list(names []string) (text string) {
	for i, name := range names {
		if i > 0 {
			text += ", "
		}
		text += quoted(name)
	}
	return text
}
