package postgres

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgtype"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// A table says how parts of one kind are stored, by the fields of its kind. It is for
// one reader at a time.
type table[T any] struct {
	name    string
	blank   T
	columns []column[T]
}

// A column is one column of a table. The two halves of it, writing and reading,
// stand side by side, so that neither is forgotten.
type column[T any] struct {
	name string
	// append appends a part's value as COPY takes it: its length, and the value in
	// Postgres' binary format. read sets in a part, which is blank, a value in that
	// format; NULL leaves the part as it is. Millions of values go each way.
	append func([]byte, *T) []byte
	read   func(*T, []byte) error
}

// tableOf is the table of a kind of part.
func tableOf[T any](kind *catalog.Table[T]) table[T] {
	t := table[T]{name: kind.Name, blank: kind.Blank}
	for i := range kind.Fields {
		if f := &kind.Fields[i]; f.Stored() {
			t.columns = append(t.columns, columnsOf(f)...)
		}
	}
	return t
}

// columnsOf are the columns of one field: one, or one a word where a field holds
// several.
func columnsOf[T any](f *catalog.Field[T]) []column[T] {
	one := func(write func([]byte, *T) []byte, read func(*T, []byte) error) []column[T] {
		return []column[T]{{f.Name, write, read}}
	}
	switch f.Kind {
	case catalog.KindText:
		return one(func(b []byte, t *T) []byte { return appendText(b, *f.Text(t)) }, func(t *T, raw []byte) error {
			*f.Text(t) = string(raw)
			return nil
		})
	case catalog.KindLength, catalog.KindSigned:
		return one(func(b []byte, t *T) []byte {
			if l := *f.Length(t); l != 0 || f.Zero == catalog.ZeroCounts {
				return appendEight(b, uint64(l))
			}
			return appendNull(b)
		}, func(t *T, raw []byte) error { return wholeNumber((*int64)(f.Length(t)), raw) })
	case catalog.KindMoney:
		return one(func(b []byte, t *T) []byte {
			if p := *f.Price(t); p != mount.NoPrice {
				return appendEight(b, uint64(p))
			}
			return appendNull(b)
		}, func(t *T, raw []byte) error { return wholeNumber((*int64)(f.Price(t)), raw) })
	case catalog.KindYesNo:
		return one(func(b []byte, t *T) []byte { return appendYesNo(b, *f.YesNo(t)) }, func(t *T, raw []byte) error { return yesOrNo(f.YesNo(t), raw) })
	case catalog.KindOneOf:
		return one(func(b []byte, t *T) []byte { return appendTextOrNull(b, f.Word(t)) }, func(t *T, raw []byte) error {
			if !f.Choose(t, string(raw)) {
				return fmt.Errorf("%q is not known", raw)
			}
			return nil
		})
	case catalog.KindListOf:
		return wordColumns(f)
	case catalog.KindThread:
		return one(func(b []byte, t *T) []byte { return appendTextOrNull(b, f.Thread(t).String()) }, func(t *T, raw []byte) error {
			bolt, err := mount.ParseBolt(string(raw), unit.Unset)
			if err != nil || !bolt.Threaded() {
				return fmt.Errorf("%q is not known", raw)
			}
			*f.Thread(t) = bolt.Thread
			return nil
		})
	case catalog.KindNumber:
		return one(func(b []byte, t *T) []byte {
			if n, known := f.Number(t); known {
				return appendEight(b, math.Float64bits(n))
			}
			return appendNull(b)
		}, func(t *T, raw []byte) error {
			if len(raw) != 8 {
				return errWidth
			}
			f.SetNumber(t, math.Float64frombits(binary.BigEndian.Uint64(raw)))
			return nil
		})
	case catalog.KindForces:
		var tables catalog.ForcesReader
		return one(func(b []byte, t *T) []byte { return appendTextOrNull(b, f.Forces(t).Text()) }, func(t *T, raw []byte) error {
			forces, unread, ok := tables.Read(raw)
			if !ok {
				return fmt.Errorf("%q is not known", unread)
			}
			f.Forces(t).SetCurvesOf(forces)
			return nil
		})
	}
	panic("postgres: no column for the field " + f.Name)
}

// wordColumns are the columns of a set of words: whether each of them is in it.
func wordColumns[T any](f *catalog.Field[T]) []column[T] {
	var columns []column[T]
	for i, word := range f.Words {
		columns = append(columns, column[T]{
			name:   f.Name + "_" + word,
			append: func(b []byte, t *T) []byte { return appendYesNo(b, *f.Set(t)&(1<<i) != 0) },
			read: func(t *T, raw []byte) error {
				var in bool
				err := yesOrNo(&in, raw)
				if in {
					*f.Set(t) |= 1 << i
				}
				return err
			},
		})
	}
	return columns
}

func (t table[T]) names() []string {
	names := make([]string, len(t.columns))
	for i, c := range t.columns {
		names[i] = c.name
	}
	return names
}

// quoted lists columns as SQL, of which some are named as its own words are.
func quoted(names []string) string {
	all := make([]string, len(names))
	for i, name := range names {
		all[i] = pgx.Identifier{name}.Sanitize()
	}
	return strings.Join(all, ", ")
}

// all reads every part of one revision, by code. count is how many there are, so
// that a large revision is never held twice.
func (t table[T]) all(ctx context.Context, in revision, count int) ([]T, error) {
	names := t.names()
	rows, err := in.tx.Query(ctx,
		"SELECT "+quoted(names)+" FROM "+t.name+" WHERE catalog_id = $1 AND revision = $2 ORDER BY code",
		in.catalog, in.number)
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", t.name, err)
	}
	defer rows.Close()
	if err := t.binary(rows, 1); err != nil {
		return nil, err
	}
	var parts []T
	if count > 0 {
		parts = make([]T, 0, count)
	}
	for rows.Next() {
		parts = append(parts, t.blank)
		if err := t.read(&parts[len(parts)-1], rows.RawValues()); err != nil {
			return nil, err
		}
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("read %s: %w", t.name, err)
	}
	return parts, nil
}

// binary checks that all columns, which come so many times, come as they are read.
func (t table[T]) binary(rows pgx.Rows, times int) error {
	fields := rows.FieldDescriptions()
	if len(fields) != times*len(t.columns) {
		return fmt.Errorf("read %s: %d columns come", t.name, len(fields))
	}
	for i, f := range fields {
		if f.Format != pgx.BinaryFormatCode && f.DataTypeOID != pgtype.TextOID {
			return fmt.Errorf("read %s: column %s doesn't come in binary", t.name, t.columns[i%len(t.columns)].name)
		}
	}
	return nil
}

// read sets the columns of a part, which is blank.
func (t table[T]) read(part *T, values [][]byte) error {
	for i, raw := range values {
		if raw == nil {
			continue
		}
		if err := t.columns[i].read(part, raw); err != nil {
			return fmt.Errorf("read %s: column %s: %w", t.name, t.columns[i].name, err)
		}
	}
	return nil
}

var errWidth = errors.New("a value is not as wide as its type")

// wholeNumber reads a bigint.
func wholeNumber(to *int64, raw []byte) error {
	if len(raw) != 8 {
		return errWidth
	}
	*to = int64(binary.BigEndian.Uint64(raw))
	return nil
}

// yesOrNo reads a boolean.
func yesOrNo(to *bool, raw []byte) error {
	if len(raw) != 1 {
		return errWidth
	}
	*to = raw[0] != 0
	return nil
}
