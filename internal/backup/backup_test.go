package backup_test

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/backup"
	"midstroke/internal/postgres/pgtest"
	"midstroke/migrations"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

// anything is a table that no code knows, with rows that text may stumble over.
const anything = `
	CREATE TABLE anything (
		id bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY, parent bigint REFERENCES anything, shop_id bigint NOT NULL REFERENCES shops,
		raw bytea, doc jsonb, words text[], at timestamptz, exact numeric, approx double precision, span interval,
		twice bigint GENERATED ALWAYS AS (id * 2) STORED, "odd ""name" text
	);
	ALTER TABLE anything ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
	CREATE POLICY of_the_shop ON anything USING ((SELECT shops_in_view()) IN ('*', shop_id::text));
	CREATE FUNCTION refuse() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN RAISE EXCEPTION ''no''; END';`

const rows = `
	INSERT INTO shops (name) VALUES ('north'), ('south');
	INSERT INTO anything (parent, shop_id, raw, doc, words, at, exact, approx, span, "odd ""name")
	SELECT 3 - n, s.id, '\x00ff0a', '{"a": "\t\\N"}', ARRAY['', NULL, E'a\\b"c\n'], '2030-01-02 03:04:05.678901+02', 12345678901234567890.123, 0.1::float8 + 0.2, '1 day 2:03', E'\\.\n\t'
	FROM shops s, generate_series(1, 2) n WHERE s.name = 'south'`

func exec(t *testing.T, url, sql string) {
	t.Helper()
	conn := connect(t, url)
	defer conn.Close(t.Context())
	if _, err := conn.Exec(t.Context(), sql); err != nil {
		t.Fatal(err)
	}
}

func connect(t *testing.T, url string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := conn.Exec(t.Context(), "SET midstroke.shop = '*'"); err != nil {
		t.Fatal(err)
	}
	return conn
}

// everything gives the rows of a table as texts, sorted.
func everything(t *testing.T, url, table string) []string {
	t.Helper()
	conn := connect(t, url)
	defer conn.Close(t.Context())
	rows, _ := conn.Query(t.Context(), "SELECT r::text FROM "+table+" r ORDER BY 1")
	all, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func write(t *testing.T, url string) []byte {
	t.Helper()
	var file bytes.Buffer
	if _, err := backup.Write(t.Context(), url, &file, "v0.0.0-test"); err != nil {
		t.Fatal(err)
	}
	return file.Bytes()
}

func restore(t *testing.T, url string, file []byte) error {
	t.Helper()
	_, err := backup.Restore(t.Context(), url, bytes.NewReader(file), int64(len(file)))
	return err
}

// TestATableThatNoCodeKnowsIsRestored backs a database up whose tables and columns
// are in no list, and fills another from it.
func TestATableThatNoCodeKnowsIsRestored(t *testing.T) {
	t.Parallel()
	from, to := pgtest.NewDatabase(t), pgtest.NewDatabase(t)
	exec(t, from, anything+rows)
	exec(t, to, anything+"CREATE TRIGGER refuse BEFORE INSERT ON anything FOR EACH ROW EXECUTE FUNCTION refuse()")
	if err := restore(t, to, write(t, from)); err != nil {
		t.Fatal(err)
	}
	for _, table := range []string{"shops", "anything"} {
		want := everything(t, from, table)
		if got := everything(t, to, table); len(want) != 2 || !slices.Equal(got, want) {
			t.Errorf("%s has\n%q, want\n%q", table, got, want)
		}
	}
	conn := connect(t, to)
	defer conn.Close(t.Context())
	var next int64
	var forced bool
	if err := conn.QueryRow(t.Context(), `SELECT nextval('anything_id_seq'), relforcerowsecurity FROM pg_class WHERE relname = 'anything'`).Scan(&next, &forced); err != nil || next != 3 || !forced {
		t.Errorf("the next number is %d (%v), want 3; row-level security is forced: %v", next, err, forced)
	}
	if _, err := conn.Exec(t.Context(), "INSERT INTO anything (shop_id) SELECT id FROM shops"); err == nil || !strings.Contains(err.Error(), "no") {
		t.Errorf("the trigger rests after the restore: %v", err)
	}
}

// TestABackupIsCompleteOrFails hides rows from the tables' owner, to whom the
// policies mean something.
func TestABackupIsCompleteOrFails(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	exec(t, url, anything+rows+"; DROP POLICY of_the_shop ON anything; CREATE POLICY narrow ON anything USING (id = 1)")
	var file bytes.Buffer
	_, err := backup.Write(t.Context(), url, &file, "test")
	if err == nil || !strings.Contains(err.Error(), "1 of the 2 rows of anything") {
		t.Errorf("a backup without a row that a policy hides: %v", err)
	}
	service, _ := pgtest.ServiceLogins(t, url)
	if _, err := backup.Write(t.Context(), service, io.Discard, "test"); err == nil {
		t.Error("a role that owns nothing made a backup")
	}
	if _, err := backup.Write(t.Context(), pgtest.Empty(t), io.Discard, "test"); err == nil || !strings.Contains(err.Error(), "nothing to back up") {
		t.Errorf("a backup of nothing: %v", err)
	}
}

// TestABadFileIsToldAndNothingIsWritten tries files that aren't whole backups, and a
// database that has something.
func TestABadFileIsToldAndNothingIsWritten(t *testing.T) {
	t.Parallel()
	from := pgtest.NewDatabase(t)
	exec(t, from, "INSERT INTO shops (name) VALUES ('north')")
	good := write(t, from)
	empty := pgtest.Empty(t)
	for name, c := range map[string]struct {
		file []byte
		says string
	}{
		"nothing":          {nil, "cut short"},
		"half":             {good[:len(good)/2], "cut short"},
		"all but a byte":   {good[:len(good)-1], "cut short"},
		"other zip":        {rewritten(t, good, func(name string, _ []byte) []byte { return nil }), "isn't a backup"},
		"a byte elsewhere": {flipped(good), "damaged"},
		"a table less": {rewritten(t, good, func(name string, b []byte) []byte {
			if name == "tables/shops" {
				return nil
			}
			return b
		}), "lacks the table shops"},
		"newer form": {changed(t, good, func(c map[string]any) { c["format"] = 99 }), "form 99"},
		"newer step": {changed(t, good, func(c map[string]any) { c["step"] = 9999 }), "step 9999"},
		"a row less": {changed(t, good, func(c map[string]any) {
			for _, table := range c["tables"].([]any) {
				if table := table.(map[string]any); table["name"] == "shops" {
					table["rows"] = 2
				}
			}
		}), "1 rows in the file"},
	} {
		err := restore(t, empty, c.file)
		if err == nil || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), "written") {
			t.Errorf("%s: %v, want %q", name, err, c.says)
		}
	}
	if err := restore(t, empty, good); err != nil {
		t.Fatalf("the good file after the bad ones: %v", err)
	}
	var not *backup.NotEmptyError
	if err := restore(t, empty, good); !errors.As(err, &not) || not.Shops != 1 {
		t.Errorf("a restore onto a database that isn't empty: %v", err)
	}
	if got := everything(t, empty, "shops"); len(got) != 1 {
		t.Errorf("afterwards it has the shops %q", got)
	}
}

// TestABackupOfAnOlderStepIsBroughtUpToDate restores what an older program wrote.
func TestABackupOfAnOlderStepIsBroughtUpToDate(t *testing.T) {
	t.Parallel()
	old, to := pgtest.Empty(t), pgtest.Empty(t)
	const step = 9
	if err := migrations.UpTo(t.Context(), old, step); err != nil {
		t.Fatal(err)
	}
	exec(t, old, "INSERT INTO shops (name) VALUES ('north')")
	if err := restore(t, to, write(t, old)); err != nil {
		t.Fatal(err)
	}
	if pending, err := migrations.Pending(t.Context(), to); err != nil || pending {
		t.Errorf("steps are missing after the restore: %v, %v", pending, err)
	}
	if got := everything(t, to, "shops"); len(got) != 1 {
		t.Errorf("it has the shops %q", got)
	}
}

// TestABackupWhileOthersWriteIsOneMoment writes pairs of shops while a backup is
// made. It has both of a pair or none.
func TestABackupWhileOthersWriteIsOneMoment(t *testing.T) {
	t.Parallel()
	from, to := pgtest.NewDatabase(t), pgtest.NewDatabase(t)
	exec(t, from, "CREATE TABLE zebras (shop_id bigint REFERENCES shops)")
	exec(t, to, "CREATE TABLE zebras (shop_id bigint REFERENCES shops)")
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	conn := connect(t, from)
	go func() {
		var err error
		for err == nil && ctx.Err() == nil {
			_, err = conn.Exec(t.Context(), "WITH made AS (INSERT INTO shops (name) VALUES (gen_random_uuid()) RETURNING id) INSERT INTO zebras SELECT id FROM made")
		}
		ended <- err
	}()
	file := write(t, from)
	stop()
	if err := <-ended; err != nil {
		t.Fatal(err)
	}
	if err := restore(t, to, file); err != nil {
		t.Fatal(err)
	}
	if shops, zebras := len(everything(t, to, "shops")), len(everything(t, to, "zebras")); shops != zebras {
		t.Errorf("%d shops and %d zebras", shops, zebras)
	}
}

// flipped changes a byte of the table of shops.
func flipped(file []byte) []byte {
	bad := bytes.Clone(file)
	bad[bytes.Index(bad, []byte("tables/shops"))+len("tables/shops")+4] ^= 0xff
	return bad
}

// rewritten makes an archive of the entries that change gives; nil leaves one out.
func rewritten(t *testing.T, file []byte, change func(name string, b []byte) []byte) []byte {
	t.Helper()
	in, err := zip.NewReader(bytes.NewReader(file), int64(len(file)))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range in.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		b, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		if b = change(f.Name, b); b == nil {
			continue
		}
		entry, err := w.Create(f.Name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := entry.Write(b); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// changed changes what the backup says of itself.
func changed(t *testing.T, file []byte, change func(map[string]any)) []byte {
	t.Helper()
	return rewritten(t, file, func(name string, b []byte) []byte {
		if name != "contents.json" {
			return append([]byte{}, b...) // an empty table isn't nil
		}
		var c map[string]any
		if err := json.Unmarshal(b, &c); err != nil {
			t.Fatal(err)
		}
		change(c)
		b, err := json.Marshal(c)
		if err != nil {
			t.Fatal(err)
		}
		return b
	})
}
