package postgres

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"iter"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgtype"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// A table says how rows of one kind of part stand in the database. The two
// halves of each column, writing and reading, stand side by side, so that
// neither is forgotten.
type table[T any] struct {
	name    string
	columns []column[T]
}

// A column is one column of a table.
type column[T any] struct {
	name string
	// value is what is written for a part, nil for NULL.
	value func(*T) any
	// read keeps in a part what comes back: the value as Postgres sends it in
	// its binary format, nil for NULL. Millions of values go this way, and each
	// is looked at once.
	read func(*T, []byte) error
}

// write copies parts into the table as those of one revision. They go by way
// of a table of this session's own: COPY doesn't write where there is row-level
// security.
func (t table[T]) write(ctx context.Context, in revision, parts iter.Seq2[T, error]) error {
	if parts == nil {
		return nil
	}
	names := make([]string, len(t.columns))
	for i, c := range t.columns {
		names[i] = c.name
	}
	columns := strings.Join(names, ", ")
	staged := "incoming_" + t.name
	_, err := in.tx.Exec(ctx, "CREATE TEMP TABLE "+staged+" ON COMMIT DROP AS SELECT "+columns+" FROM "+t.name+" WITH NO DATA")
	if err != nil {
		return fmt.Errorf("write %s: %w", t.name, err)
	}
	next, stop := iter.Pull2(parts)
	defer stop()
	var failed error               // of the parts, to be told as it is
	row := make([]any, len(names)) // pgx encodes a row before it asks for the next
	_, err = in.tx.CopyFrom(ctx, pgx.Identifier{staged}, names, pgx.CopyFromFunc(func() ([]any, error) {
		part, err, ok := next()
		if !ok {
			return nil, nil
		}
		if err != nil {
			failed = err
			return nil, err
		}
		for j, c := range t.columns {
			row[j] = c.value(&part)
		}
		return row, nil
	}))
	if failed != nil {
		return failed
	}
	if err == nil {
		_, err = in.tx.Exec(ctx, "INSERT INTO "+t.name+" (catalog_id, revision, "+columns+") SELECT $1, $2, "+columns+" FROM "+staged, in.catalog, in.number)
	}
	if err == nil {
		_, err = in.tx.Exec(ctx, "DROP TABLE "+staged)
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", t.name, err)
	}
	return nil
}

// chunk is how many parts are gathered at a time, since how many there are is
// known only at the end.
const chunk = 4096

// all reads every part of one revision, by code.
func (t table[T]) all(ctx context.Context, in revision) ([]T, error) {
	names := make([]string, len(t.columns))
	for i, c := range t.columns {
		names[i] = c.name
	}
	rows, err := in.tx.Query(ctx,
		"SELECT "+strings.Join(names, ", ")+" FROM "+t.name+" WHERE catalog_id = $1 AND revision = $2 ORDER BY code",
		in.catalog, in.number)
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", t.name, err)
	}
	defer rows.Close()
	for i, f := range rows.FieldDescriptions() {
		if f.Format != pgx.BinaryFormatCode && f.DataTypeOID != pgtype.TextOID {
			return nil, fmt.Errorf("read %s: column %s doesn't come in binary", t.name, names[i])
		}
	}
	var chunks [][]T
	parts := make([]T, 0, chunk)
	for rows.Next() {
		if len(parts) == chunk {
			chunks = append(chunks, parts)
			parts = make([]T, 0, chunk)
		}
		var blank T
		parts = append(parts, blank)
		part := &parts[len(parts)-1]
		for i, raw := range rows.RawValues() {
			if err := t.columns[i].read(part, raw); err != nil {
				return nil, fmt.Errorf("read %s: column %s: %w", t.name, names[i], err)
			}
		}
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("read %s: %w", t.name, err)
	}
	if len(chunks) == 0 && len(parts) == 0 {
		return nil, nil
	}
	return slices.Concat(append(chunks, parts)...), nil
}

var errWidth = errors.New("a value is not as wide as its type")

// wholeNumber reads a bigint.
func wholeNumber(raw []byte) (int64, error) {
	if len(raw) != 8 {
		return 0, errWidth
	}
	return int64(binary.BigEndian.Uint64(raw)), nil
}

// yesOrNo reads a boolean.
func yesOrNo(raw []byte) (bool, error) {
	if len(raw) != 1 {
		return false, errWidth
	}
	return raw[0] != 0, nil
}

// textColumn is a text that is always there.
func textColumn[T any](name string, field func(*T) *string) column[T] {
	return column[T]{
		name:  name,
		value: func(t *T) any { return *field(t) },
		read: func(t *T, raw []byte) error {
			*field(t) = string(raw)
			return nil
		},
	}
}

// yesColumn is a yes or no.
func yesColumn[T any](name string, field func(*T) *bool) column[T] {
	return column[T]{
		name:  name,
		value: func(t *T) any { return *field(t) },
		read: func(t *T, raw []byte) (err error) {
			*field(t), err = yesOrNo(raw)
			return err
		},
	}
}

// lengthColumn is a length that is always there, nought included.
func lengthColumn[T any](name string, field func(*T) *unit.Length) column[T] {
	return column[T]{
		name:  name,
		value: func(t *T) any { return int64(*field(t)) },
		read: func(t *T, raw []byte) error {
			n, err := wholeNumber(raw)
			*field(t) = unit.Length(n)
			return err
		},
	}
}

// knownColumn is a length that may not be known: 0 here, NULL there.
func knownColumn[T any](name string, field func(*T) *unit.Length) column[T] {
	c := lengthColumn(name, field)
	return column[T]{
		name: name,
		value: func(t *T) any {
			if l := *field(t); l != 0 {
				return int64(l)
			}
			return nil
		},
		read: func(t *T, raw []byte) error {
			if raw == nil {
				return nil
			}
			return c.read(t, raw)
		},
	}
}

// priceColumn is a price: mount.NoPrice here, NULL there.
func priceColumn[T any](field func(*T) *mount.Price) column[T] {
	return column[T]{
		name: "price",
		value: func(t *T) any {
			if p := *field(t); p != mount.NoPrice {
				return int64(p)
			}
			return nil
		},
		read: func(t *T, raw []byte) error {
			if raw == nil {
				*field(t) = mount.NoPrice
				return nil
			}
			n, err := wholeNumber(raw)
			*field(t) = mount.Price(n)
			return err
		},
	}
}

// termColumn is one of a few terms, written as their String gives them; ""
// here is NULL there.
func termColumn[T any](name string, term func(*T) string, keep func(*T, string) bool) column[T] {
	return column[T]{
		name: name,
		value: func(t *T) any {
			if text := term(t); text != "" {
				return text
			}
			return nil
		},
		read: func(t *T, raw []byte) error {
			if len(raw) > 0 && !keep(t, string(raw)) {
				return fmt.Errorf("%q is not known", raw)
			}
			return nil
		},
	}
}

// endColumns are the columns of one end, their names led by prefix.
func endColumns[T any](prefix string, end func(*T) *mount.End) []column[T] {
	known := func(name string, field func(*mount.End) *unit.Length) column[T] {
		return knownColumn(prefix+name, func(t *T) *unit.Length { return field(end(t)) })
	}
	return []column[T]{
		termColumn(prefix+"style",
			func(t *T) string { return end(t).Style.String() },
			func(t *T, text string) (ok bool) { end(t).Style, ok = mount.ParseStyle(text); return ok }),
		known("bore", func(e *mount.End) *unit.Length { return &e.Bore }),
		termColumn(prefix+"bore_is",
			func(t *T) string {
				if end(t).Bore == 0 {
					return "" // of what isn't known there is nothing to say
				}
				return end(t).BoreIs.String()
			},
			func(t *T, text string) (ok bool) { end(t).BoreIs, ok = mount.ParseBoreIs(text); return ok }),
		known("width", func(e *mount.End) *unit.Length { return &e.Width }),
		termColumn(prefix+"thread",
			func(t *T) string { return end(t).Thread.String() },
			func(t *T, text string) bool {
				bolt, err := mount.ParseBolt(text, unit.Unset)
				end(t).Thread = bolt.Thread
				return err == nil && bolt.Threaded()
			}),
		known("usable_length", func(e *mount.End) *unit.Length { return &e.UsableLength }),
		known("spigot", func(e *mount.End) *unit.Length { return &e.Spigot }),
		known("hole_spacing", func(e *mount.End) *unit.Length { return &e.HoleSpacing }),
		known("slot", func(e *mount.End) *unit.Length { return &e.Slot }),
		known("hole", func(e *mount.End) *unit.Length { return &e.Hole }),
	}
}

// adjusterColumn says whether one thing can be adjusted.
func adjusterColumn(name string, bit catalog.Adjusters) column[catalog.Damper] {
	return column[catalog.Damper]{
		name:  name,
		value: func(d *catalog.Damper) any { return d.Adjusters.Has(bit) },
		read: func(d *catalog.Damper, raw []byte) error {
			can, err := yesOrNo(raw)
			if can {
				d.Adjusters |= bit
			}
			return err
		},
	}
}
