package postgres

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/catalog"
	"midstroke/internal/shop"
)

// mostDrafts is how many drafts of a catalogue are listed by number.
const mostDrafts = 100

// Drafts gives the catalogues of a shop by name, each with the numbers of its
// drafts, the last first.
func (s *Store) Drafts(ctx context.Context, shopID int64) (drafts map[string][]int, err error) {
	err = s.readAsShop(ctx, shopID, func(tx pgx.Tx) error {
		rows, err := tx.Query(ctx, `
			SELECT c.name, ARRAY(SELECT r.number FROM revisions r WHERE r.catalog_id = c.id AND r.state = 'draft' ORDER BY r.number DESC LIMIT $2)
			FROM catalogs c WHERE c.shop_id = $1`, shopID, mostDrafts)
		if err != nil {
			return err
		}
		drafts = map[string][]int{}
		var name string
		var numbers []int
		_, err = pgx.ForEachRow(rows, []any{&name, &numbers}, func() error {
			drafts[name] = append([]int{}, numbers...)
			return nil
		})
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("list drafts: %w", err)
	}
	return drafts, nil
}

// Discard deletes a draft or a published revision. agree sees the revision as it is
// at that very moment, and its error leaves all as it was. It gives a
// *shop.ConflictError for the revision that answers come from, and
// catalog.ErrNotFound where there is none.
func (s *Store) Discard(ctx context.Context, in shop.Place, number int, agree func(shop.Revision) error) error {
	return s.draftAsShop(ctx, in.Shop, func(tx pgx.Tx) error { return discard(ctx, tx, in, number, agree) })
}

func discard(ctx context.Context, tx pgx.Tx, in shop.Place, number int, agree func(shop.Revision) error) error {
	// Whoever publishes it or goes back to it waits.
	id, err := findCatalog(ctx, tx, in, toRelease)
	if err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, "SELECT FROM revisions WHERE catalog_id = $1 AND number = $2 FOR UPDATE", id, number); err != nil {
		return fmt.Errorf("lock draft %d of %s: %w", number, in.Catalog, err)
	}
	r, err := describe(ctx, tx, id, number)
	if err != nil {
		return err
	}
	if err := agree(r); err != nil {
		return err
	}
	if r.Current == number {
		return &shop.ConflictError{Reason: shop.CurrentStays, Revision: number}
	}
	_, err = tx.Exec(ctx, `
		INSERT INTO discarded_drafts (catalog_id, number) VALUES ($1, $2)
		ON CONFLICT (catalog_id) DO UPDATE SET number = greatest(discarded_drafts.number, excluded.number)`, id, number)
	if err == nil {
		_, err = tx.Exec(ctx, "DELETE FROM revisions WHERE catalog_id = $1 AND number = $2", id, number)
	}
	if err != nil {
		return fmt.Errorf("delete draft %d of %s: %w", number, in.Catalog, err)
	}
	return nil
}

// errUsed says that a revision was used since it was found.
var errUsed = errors.New("the revision was used meanwhile")

// DiscardUnused deletes the drafts of all shops that were last used before a time,
// and says which.
func (s *Store) DiscardUnused(ctx context.Context, before time.Time) ([]shop.Numbered, error) {
	return s.discardAll(ctx, func(r shop.Revision) bool { return !r.Published && r.Used.Before(before) }, `
		SELECT c.shop_id, c.name, r.number FROM revisions r JOIN catalogs c ON c.id = r.catalog_id
		WHERE r.state = 'draft' AND r.used_at < $1`, before)
}

// DiscardOld deletes the published revisions of all shops of which there are newer
// ones, as many as are to be kept of each catalogue, and says which. The revision
// that answers come from stays.
func (s *Store) DiscardOld(ctx context.Context, keep int) ([]shop.Numbered, error) {
	return s.discardAll(ctx, func(r shop.Revision) bool { return r.Published && r.Current != r.Number }, `
		SELECT shop_id, name, number FROM (
			SELECT c.shop_id, c.name, r.number, c.current, row_number() OVER (PARTITION BY c.id ORDER BY r.number DESC) AS place
			FROM revisions r JOIN catalogs c ON c.id = r.catalog_id WHERE r.state = 'published') placed
		WHERE place > $1 AND number <> current ORDER BY name, number`, keep)
}

// discardAll deletes the revisions that a query finds, each for which still holds
// what it was found by.
func (s *Store) discardAll(ctx context.Context, still func(shop.Revision) bool, query string, arg any) (discarded []shop.Numbered, _ error) {
	var found []shop.Numbered
	err := s.changeAsKeeper(ctx, func(tx pgx.Tx) error {
		rows, err := tx.Query(ctx, query, arg)
		if err != nil {
			return err
		}
		found, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (n shop.Numbered, err error) {
			err = row.Scan(&n.Shop, &n.Catalog, &n.Number)
			return n, err
		})
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("find revisions to delete: %w", err)
	}
	for _, n := range found {
		err := s.changeAsKeeper(ctx, func(tx pgx.Tx) error {
			return discard(ctx, tx, n.Place, n.Number, func(r shop.Revision) error {
				if !still(r) {
					return errUsed
				}
				return nil
			})
		})
		var conflict *shop.ConflictError
		switch {
		case err == nil:
			discarded = append(discarded, n)
		case errors.Is(err, errUsed), errors.Is(err, catalog.ErrNotFound), errors.As(err, &conflict):
			// Somebody read, deleted, published or went back to it.
		default:
			return discarded, err
		}
	}
	return discarded, nil
}

// usedEvery is how finely uses of a draft are told apart.
const usedEvery = 24 * time.Hour

// noteUse writes down that a draft was used.
func (s *Store) noteUse(ctx context.Context, in shop.Place, r *shop.Revision) error {
	if r.Published || time.Since(r.Used) < usedEvery {
		return nil
	}
	return s.changeAsShop(ctx, in.Shop, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, `
			UPDATE revisions r SET used_at = now() FROM catalogs c
			WHERE c.id = r.catalog_id AND c.name = $1 AND r.number = $2 AND r.state = 'draft'`, in.Catalog, r.Number)
		return err
	})
}
