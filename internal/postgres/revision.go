package postgres

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/catalog"
)

// revision is one revision of a catalogue, as one transaction sees it.
type revision struct {
	tx      pgx.Tx
	catalog int64
	number  int
}

// Newest reads the newest published revision of the catalogue of that name.
// It answers catalog.ErrNotFound where there is none.
func (s *Store) Newest(ctx context.Context, name string) (*catalog.Snapshot, error) {
	return s.snapshot(ctx, name, 0)
}

// Revision reads the published revision of that number. It answers
// catalog.ErrNotFound where there is none.
func (s *Store) Revision(ctx context.Context, name string, number int) (*catalog.Snapshot, error) {
	if number < 1 {
		return nil, fmt.Errorf("%w: %s, revision %d", catalog.ErrNotFound, name, number)
	}
	return s.snapshot(ctx, name, number)
}

// snapshot reads one revision; number 0 stands for the newest.
func (s *Store) snapshot(ctx context.Context, name string, number int) (*catalog.Snapshot, error) {
	var contents catalog.Contents
	err := s.reading(ctx, func(tx pgx.Tx) error {
		rev := revision{tx: tx}
		l := &contents.Limits
		err := tx.QueryRow(ctx, `
			SELECT r.catalog_id, r.number, coalesce(r.currency, ''),
			       r.sleeve_gap_least, r.sleeve_gap_most, r.bolt_gap_least, r.bolt_gap_most, r.left_over_most
			FROM revisions r JOIN catalogs c ON c.id = r.catalog_id
			WHERE c.name = $1 AND r.state = 'published' AND ($2 = 0 OR r.number = $2)
			ORDER BY r.number DESC LIMIT 1`, name, number).
			Scan(&rev.catalog, &rev.number, &contents.Currency,
				(*int64)(&l.SleeveGapLeast), (*int64)(&l.SleeveGapMost), (*int64)(&l.BoltGapLeast), (*int64)(&l.BoltGapMost), (*int64)(&l.LeftOverMost))
		if errors.Is(err, pgx.ErrNoRows) {
			return fmt.Errorf("%w: %s", catalog.ErrNotFound, described(name, number))
		}
		if err != nil {
			return fmt.Errorf("read %s: %w", described(name, number), err)
		}
		number = rev.number
		if contents.Dampers, err = dampers().all(ctx, rev); err != nil {
			return err
		}
		if contents.Sleeves, err = sleeves().all(ctx, rev); err != nil {
			return err
		}
		if contents.Spacers, err = spacers().all(ctx, rev); err != nil {
			return err
		}
		contents.Adapters, err = adapters().all(ctx, rev)
		return err
	})
	if err != nil {
		return nil, err
	}
	return catalog.NewSnapshot(name, number, contents), nil
}

func described(name string, number int) string {
	if number == 0 {
		return name
	}
	return fmt.Sprintf("%s, revision %d", name, number)
}

// EnsureCatalog makes the shop and the catalogue of these names where they
// aren't there yet. A catalogue that is another shop's is an error.
func (s *Store) EnsureCatalog(ctx context.Context, shop, name string) error {
	return pgx.BeginFunc(ctx, s.pool, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, "INSERT INTO shops (name) VALUES ($1) ON CONFLICT (name) DO NOTHING", shop); err != nil {
			return fmt.Errorf("make shop %s: %w", shop, err)
		}
		_, err := tx.Exec(ctx, "INSERT INTO catalogs (shop_id, name) SELECT id, $2 FROM shops WHERE name = $1 ON CONFLICT (name) DO NOTHING", shop, name)
		if err != nil {
			return fmt.Errorf("make catalogue %s: %w", name, err)
		}
		var owner string
		if err := tx.QueryRow(ctx, "SELECT s.name FROM catalogs c JOIN shops s ON s.id = c.shop_id WHERE c.name = $1", name).Scan(&owner); err != nil {
			return fmt.Errorf("make catalogue %s: %w", name, err)
		}
		if owner != shop {
			return fmt.Errorf("catalogue %s is another shop's", name)
		}
		return nil
	})
}

// Publish writes contents as the next revision of the catalogue and gives its
// number. It is all there, or nothing of it, and then whoever watches hears of
// it; two at once go one after the other. The codes of contents are unique
// within their kind. It answers catalog.ErrNotFound where there is no such
// catalogue.
func (s *Store) Publish(ctx context.Context, name string, contents catalog.Contents, note string) (int, error) {
	var rev revision
	err := pgx.BeginFunc(ctx, s.pool, func(tx pgx.Tx) error {
		rev.tx = tx
		// The lock on the catalogue's row makes the numbers one row.
		err := tx.QueryRow(ctx, "SELECT id FROM catalogs WHERE name = $1 FOR UPDATE", name).Scan(&rev.catalog)
		if errors.Is(err, pgx.ErrNoRows) {
			return fmt.Errorf("%w: %s", catalog.ErrNotFound, name)
		}
		if err != nil {
			return err
		}
		if rev.number, err = draft(ctx, rev, contents, note); err != nil {
			return err
		}
		if err := dampers().write(ctx, rev, contents.Dampers); err != nil {
			return err
		}
		if err := sleeves().write(ctx, rev, contents.Sleeves); err != nil {
			return err
		}
		if err := spacers().write(ctx, rev, contents.Spacers); err != nil {
			return err
		}
		if err := adapters().write(ctx, rev, contents.Adapters); err != nil {
			return err
		}
		_, err = tx.Exec(ctx, "UPDATE revisions SET state = 'published', published_at = now() WHERE catalog_id = $1 AND number = $2", rev.catalog, rev.number)
		return err
	})
	if err != nil {
		return 0, fmt.Errorf("publish %s: %w", name, err)
	}
	return rev.number, nil
}

// draft makes the row of the next revision.
func draft(ctx context.Context, rev revision, contents catalog.Contents, note string) (number int, err error) {
	l := contents.Limits
	err = rev.tx.QueryRow(ctx, `
		INSERT INTO revisions (catalog_id, number, currency,
		                       sleeve_gap_least, sleeve_gap_most, bolt_gap_least, bolt_gap_most, left_over_most, note)
		SELECT $1, coalesce(max(number), 0) + 1, nullif($2, ''), $3, $4, $5, $6, $7, $8
		FROM revisions WHERE catalog_id = $1
		RETURNING number`,
		rev.catalog, contents.Currency,
		int64(l.SleeveGapLeast), int64(l.SleeveGapMost), int64(l.BoltGapLeast), int64(l.BoltGapMost), int64(l.LeftOverMost), note).
		Scan(&number)
	return number, err
}

// newest gives each catalogue's newest published revision, by name.
func newest(ctx context.Context, from querier) ([]Release, error) {
	rows, err := from.Query(ctx, `
		SELECT c.shop_id, c.name, max(r.number) FROM revisions r JOIN catalogs c ON c.id = r.catalog_id
		WHERE r.state = 'published' GROUP BY c.shop_id, c.name ORDER BY c.name`)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[Release])
}
