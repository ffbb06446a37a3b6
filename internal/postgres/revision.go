package postgres

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/catalog"
	"midstroke/internal/shop"
)

// revision is one revision of a catalogue, as one transaction sees it.
type revision struct {
	tx      pgx.Tx
	catalog int64
	number  int
	counts  shop.Counts
}

// Newest reads the revision that the catalogue of that name is answered from.
// It answers catalog.ErrNotFound where there is none.
func (s *Store) Newest(ctx context.Context, name string) (*catalog.Snapshot, error) {
	return s.snapshot(ctx, shop.Place{Catalog: name}, 0, false)
}

// Revision reads the published revision of that number. It answers
// catalog.ErrNotFound where there is none.
func (s *Store) Revision(ctx context.Context, in shop.Place, number int) (*catalog.Snapshot, error) {
	if number < 1 {
		return nil, fmt.Errorf("%w: %s, revision %d", catalog.ErrNotFound, in.Catalog, number)
	}
	return s.snapshot(ctx, in, number, false)
}

// Drafted is Revision for drafts as well, which only those may see who are to
// judge them.
func (s *Store) Drafted(ctx context.Context, in shop.Place, number int) (*catalog.Snapshot, error) {
	if number < 1 {
		return nil, fmt.Errorf("%w: %s, revision %d", catalog.ErrNotFound, in.Catalog, number)
	}
	return s.snapshot(ctx, in, number, true)
}

// snapshot reads one revision; number 0 stands for the current one.
func (s *Store) snapshot(ctx context.Context, in shop.Place, number int, drafts bool) (*catalog.Snapshot, error) {
	var contents catalog.Contents
	err := s.readAsKeeper(ctx, in.Shop, func(tx pgx.Tx) error {
		var settings catalog.Settings
		rev, err := findRevision(ctx, tx, in, number, drafts, &settings)
		if err != nil {
			return err
		}
		number = rev.number
		contents.Currency, contents.Limits = settings.Currency, settings.Limits
		if contents.Dampers, err = tableOf(catalog.DamperTable()).all(ctx, rev, rev.counts.Dampers); err != nil {
			return err
		}
		if contents.Sleeves, err = tableOf(catalog.SleeveTable()).all(ctx, rev, rev.counts.Sleeves); err != nil {
			return err
		}
		if contents.Spacers, err = tableOf(catalog.SpacerTable()).all(ctx, rev, rev.counts.Spacers); err != nil {
			return err
		}
		contents.Adapters, err = tableOf(catalog.AdapterTable()).all(ctx, rev, rev.counts.Adapters)
		return err
	})
	if err != nil {
		return nil, err
	}
	return catalog.NewSnapshot(in.Catalog, number, contents), nil
}

// findRevision finds a revision with its settings; number 0 stands for the current
// one.
func findRevision(ctx context.Context, tx pgx.Tx, in shop.Place, number int, drafts bool, settings *catalog.Settings) (revision, error) {
	rev, l := revision{tx: tx}, &settings.Limits
	err := tx.QueryRow(ctx, `
		SELECT r.catalog_id, r.number, coalesce(r.currency, ''),
		       r.sleeve_gap_least, r.sleeve_gap_most, r.bolt_gap_least, r.bolt_gap_most, r.left_over_most,
		       r.damper_count, r.sleeve_count, r.spacer_count, r.adapter_count
		FROM revisions r JOIN catalogs c ON c.id = r.catalog_id
		WHERE c.name = $1 AND ($2 = 0 OR c.shop_id = $2) AND (r.state = 'published' OR $4)
		  AND r.number = coalesce(nullif($3, 0), c.current)`, in.Catalog, in.Shop, number, drafts).
		Scan(&rev.catalog, &rev.number, &settings.Currency,
			(*int64)(&l.SleeveGapLeast), (*int64)(&l.SleeveGapMost), (*int64)(&l.BoltGapLeast), (*int64)(&l.BoltGapMost), (*int64)(&l.LeftOverMost),
			&rev.counts.Dampers, &rev.counts.Sleeves, &rev.counts.Spacers, &rev.counts.Adapters)
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		return rev, fmt.Errorf("%w: %s", catalog.ErrNotFound, described(in.Catalog, number))
	case err != nil:
		return rev, fmt.Errorf("read %s: %w", described(in.Catalog, number), err)
	}
	return rev, nil
}

func described(name string, number int) string {
	if number == 0 {
		return name
	}
	return fmt.Sprintf("%s, revision %d", name, number)
}

// EnsureCatalog makes the shop and the catalogue of these names where they
// aren't there yet. A catalogue that is another shop's is an error, and so is a
// *shop.LookAlikeError.
func (s *Store) EnsureCatalog(ctx context.Context, shopName, name string) error {
	return s.changeAsOwner(ctx, func(tx pgx.Tx) (err error) {
		if shopName, err = knownShop(ctx, tx, shopName); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, "INSERT INTO shops (name) VALUES ($1) ON CONFLICT (name) DO NOTHING", shopName); err != nil {
			return fmt.Errorf("make shop %s: %w", shopName, err)
		}
		_, err = tx.Exec(ctx, "INSERT INTO catalogs (shop_id, name) SELECT id, $2 FROM shops WHERE name = $1 ON CONFLICT (name) DO NOTHING", shopName, name)
		if err != nil {
			return fmt.Errorf("make catalogue %s: %w", name, err)
		}
		var owner string
		if err := tx.QueryRow(ctx, "SELECT s.name FROM catalogs c JOIN shops s ON s.id = c.shop_id WHERE c.name = $1", name).Scan(&owner); err != nil {
			return fmt.Errorf("make catalogue %s: %w", name, err)
		}
		if owner != shopName {
			return fmt.Errorf("catalogue %s is another shop's", name)
		}
		return nil
	})
}

// Publish writes contents as the next revision of the catalogue, makes it the
// one that is answered from, and gives its number. It is all there, or nothing
// of it, and then whoever watches hears of it; two at once go one after the
// other. The codes of contents are unique within their kind. It answers
// catalog.ErrNotFound where there is no such catalogue.
func (s *Store) Publish(ctx context.Context, name string, contents catalog.Contents, note string) (number int, err error) {
	return s.PublishParts(ctx, name, shop.PartsOf(contents), note)
}

// atHome is who publishes by way of the command line.
const atHome = "command line"

// PublishParts is Publish for parts that come one at a time.
func (s *Store) PublishParts(ctx context.Context, name string, parts shop.Parts, note string) (number int, err error) {
	err = s.changeAsOwner(ctx, func(tx pgx.Tx) error {
		rev, err := writeDraft(ctx, tx, shop.Place{Catalog: name}, parts, note, atHome)
		if err != nil {
			return err
		}
		if _, err := findCatalog(ctx, tx, shop.Place{Catalog: name}, toRelease); err != nil {
			return err
		}
		r, err := describe(ctx, tx, rev.catalog, rev.number)
		if err != nil {
			return err
		}
		number = r.Number
		return release(ctx, tx, rev.catalog, r, shop.Publish, atHome)
	})
	if err != nil {
		return 0, fmt.Errorf("publish %s: %w", name, err)
	}
	return number, nil
}

// published gives each catalogue's newest published revision, by name.
func published(ctx context.Context, from querier) ([]shop.Release, error) {
	rows, err := from.Query(ctx, `
		SELECT c.shop_id, c.name, r.number, r.identity::text, `+countColumns+`
		FROM catalogs c JOIN revisions r ON r.catalog_id = c.id AND r.number = c.current
		ORDER BY c.name`)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (r shop.Release, err error) {
		n := &r.Counts
		err = row.Scan(&r.Owner, &r.Catalog, &r.Revision, &r.Identity, &n.Dampers, &n.Sleeves, &n.Spacers, &n.Adapters)
		return r, err
	})
}
