package postgres

import (
	"context"
	"fmt"
	"iter"
	"strings"

	"github.com/jackc/pgx/v5"

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
	// value is what is written for a part.
	value func(*T) any
	// read is what is selected: the column itself, or 0 or "" in place of
	// NULL.
	read string
	// target is where that is scanned to: into the part itself, or into a
	// text that keep then understands.
	target func(*T) any
	keep   func(*T, string) error
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

// all reads every part of one revision, by code.
func (t table[T]) all(ctx context.Context, in revision) ([]T, error) {
	selected := make([]string, len(t.columns))
	for i, c := range t.columns {
		selected[i] = c.read
	}
	rows, err := in.tx.Query(ctx,
		"SELECT "+strings.Join(selected, ", ")+" FROM "+t.name+" WHERE catalog_id = $1 AND revision = $2 ORDER BY code",
		in.catalog, in.number)
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", t.name, err)
	}
	defer rows.Close()
	var (
		parts   []T
		part    T
		blank   T
		targets = make([]any, len(t.columns))
		texts   = make([]string, len(t.columns))
	)
	for i, c := range t.columns {
		if c.keep != nil {
			targets[i] = &texts[i]
		} else {
			targets[i] = c.target(&part)
		}
	}
	for rows.Next() {
		part = blank
		if err := rows.Scan(targets...); err != nil {
			return nil, fmt.Errorf("read %s: %w", t.name, err)
		}
		for i, c := range t.columns {
			if c.keep == nil {
				continue
			}
			if err := c.keep(&part, texts[i]); err != nil {
				return nil, fmt.Errorf("read %s: column %s: %w", t.name, c.name, err)
			}
		}
		parts = append(parts, part)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("read %s: %w", t.name, err)
	}
	return parts, nil
}

// textColumn is a text that is always there.
func textColumn[T any](name string, field func(*T) *string) column[T] {
	return column[T]{
		name: name, read: name,
		value:  func(t *T) any { return *field(t) },
		target: func(t *T) any { return field(t) },
	}
}

// yesColumn is a yes or no.
func yesColumn[T any](name string, field func(*T) *bool) column[T] {
	return column[T]{
		name: name, read: name,
		value:  func(t *T) any { return *field(t) },
		target: func(t *T) any { return field(t) },
	}
}

// lengthColumn is a length that is always there, nought included.
func lengthColumn[T any](name string, field func(*T) *unit.Length) column[T] {
	return column[T]{
		name: name, read: name,
		value:  func(t *T) any { return int64(*field(t)) },
		target: func(t *T) any { return (*int64)(field(t)) },
	}
}

// knownColumn is a length that may not be known: 0 here, NULL there.
func knownColumn[T any](name string, field func(*T) *unit.Length) column[T] {
	return column[T]{
		name: name, read: "coalesce(" + name + ", 0)",
		value: func(t *T) any {
			if l := *field(t); l != 0 {
				return int64(l)
			}
			return nil
		},
		target: func(t *T) any { return (*int64)(field(t)) },
	}
}

// priceColumn is a price: mount.NoPrice here, NULL there.
func priceColumn[T any](field func(*T) *mount.Price) column[T] {
	return column[T]{
		name: "price", read: fmt.Sprintf("coalesce(price, %d)", mount.NoPrice),
		value: func(t *T) any {
			if p := *field(t); p != mount.NoPrice {
				return int64(p)
			}
			return nil
		},
		target: func(t *T) any { return (*int64)(field(t)) },
	}
}

// termColumn is one of a few terms, written as their String gives them; ""
// here is NULL there.
func termColumn[T any](name string, term func(*T) string, keep func(*T, string) bool) column[T] {
	return column[T]{
		name: name, read: "coalesce(" + name + ", '')",
		value: func(t *T) any {
			if text := term(t); text != "" {
				return text
			}
			return nil
		},
		keep: func(t *T, text string) error {
			if text != "" && !keep(t, text) {
				return fmt.Errorf("%q is not known", text)
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
		name: name, read: name + "::text",
		value: func(d *catalog.Damper) any { return d.Adjusters.Has(bit) },
		keep: func(d *catalog.Damper, text string) error {
			if text == "true" {
				d.Adjusters |= bit
			}
			return nil
		},
	}
}
