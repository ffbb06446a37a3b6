package postgres

import (
	"context"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/catalog"
	"midstroke/internal/shop"
)

// Compare tells what changed from one revision of a catalogue to another, drafts
// among them. Postgres walks the two side by side and sends what differs, so that
// neither is held here, however large they are. It answers catalog.ErrNotFound where
// one isn't there.
func (s *Store) Compare(ctx context.Context, in shop.Place, from, to int) (*catalog.Changes, error) {
	c := &catalog.Changes{Catalog: in.Catalog}
	err := s.readAsKeeper(ctx, in.Shop, func(tx pgx.Tx) (err error) {
		var before, after revision
		if before, c.From, err = findSide(ctx, tx, in, from); err != nil {
			return err
		}
		if after, c.To, err = findSide(ctx, tx, in, to); err != nil {
			return err
		}
		if err := tableOf(catalog.DamperTable()).compare(ctx, before, after, &c.Dampers); err != nil {
			return err
		}
		if err := tableOf(catalog.SleeveTable()).compare(ctx, before, after, &c.Sleeves); err != nil {
			return err
		}
		if err := tableOf(catalog.SpacerTable()).compare(ctx, before, after, &c.Spacers); err != nil {
			return err
		}
		return tableOf(catalog.AdapterTable()).compare(ctx, before, after, &c.Adapters)
	})
	if err != nil {
		return nil, err
	}
	return c, nil
}

// findSide finds a revision with its settings.
func findSide(ctx context.Context, tx pgx.Tx, in shop.Place, number int) (revision, catalog.Side, error) {
	side := catalog.Side{Revision: number}
	rev, err := findRevision(ctx, tx, in, number, true, &side.Settings)
	return rev, side, err
}

// compare adds what differs between two revisions of one catalogue, by code.
func (t table[T]) compare(ctx context.Context, before, after revision, to *catalog.Difference[T]) error {
	of := func(side string) string {
		all := strings.Split(quoted(t.names()), ", ")
		for i := range all {
			all[i] = side + "." + all[i]
		}
		return strings.Join(all, ", ")
	}
	one := func(parameter int) string {
		return fmt.Sprintf("(SELECT %s FROM %s WHERE catalog_id = $1 AND revision = $%d)", quoted(t.names()), t.name, parameter)
	}
	rows, err := before.tx.Query(ctx, fmt.Sprintf(
		"SELECT %s, %s FROM %s b FULL JOIN %s a ON a.code = b.code WHERE ROW(%s) IS DISTINCT FROM ROW(%s) ORDER BY coalesce(b.code, a.code)",
		of("b"), of("a"), one(2), one(3), of("b"), of("a")), before.catalog, before.number, after.number)
	if err != nil {
		return fmt.Errorf("compare %s: %w", t.name, err)
	}
	defer rows.Close()
	if err := t.binary(rows, 2); err != nil {
		return err
	}
	width := len(t.columns)
	for rows.Next() {
		values := rows.RawValues()
		was, err := t.part(values[:width])
		if err != nil {
			return err
		}
		is, err := t.part(values[width:])
		if err != nil {
			return err
		}
		to.Add(was, is)
	}
	if err := rows.Err(); err != nil {
		return fmt.Errorf("compare %s: %w", t.name, err)
	}
	return nil
}

// part reads a part of its own, nil where all of its columns are NULL.
func (t table[T]) part(values [][]byte) (*T, error) {
	for _, raw := range values {
		if raw != nil {
			part := t.blank
			return &part, t.read(&part, values)
		}
	}
	return nil, nil
}
