package postgres

import (
	"context"
	"errors"
	"fmt"
	"math"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/catalog"
	"midstroke/internal/shop"
)

// Draft writes parts as the next revision of a catalogue. Nobody is answered from it
// until it is published. It is written whole or not at all. For a request that is
// carried out once, its answer is kept with the draft; once is nil for any other. It
// answers catalog.ErrNotFound where there is no such catalogue, and an error of the
// parts as it is.
func (s *Store) Draft(ctx context.Context, in shop.Place, parts shop.Parts, note, by string, once *shop.Once) (r shop.Revision, err error) {
	err = s.draftAsShop(ctx, in.Shop, func(tx pgx.Tx) error {
		rev, err := writeDraft(ctx, tx, in, parts, note, by)
		if err != nil {
			return err
		}
		r, err = describe(ctx, tx, rev.catalog, rev.number)
		if err != nil || once == nil {
			return err
		}
		return keep(ctx, tx, once.Claim, once.Answer(&r))
	})
	return r, err
}

// writeDraft makes a draft within a transaction.
func writeDraft(ctx context.Context, tx pgx.Tx, in shop.Place, parts shop.Parts, note, by string) (rev revision, err error) {
	rev.tx = tx
	rev.catalog, err = findCatalog(ctx, tx, in, "")
	if err != nil {
		return rev, err
	}
	// Drafts of a catalogue are written one after the other, so that their numbers
	// have no gaps. The catalogue's own row isn't locked: a draft may take minutes, and
	// publishing another revision must not wait for it.
	if _, err := tx.Exec(ctx, "SELECT pg_advisory_xact_lock($1, $2)", draftLock, int32(rev.catalog%math.MaxInt32)); err != nil {
		return rev, fmt.Errorf("wait for another draft of %s: %w", in.Catalog, err)
	}
	l := &parts.Limits
	err = tx.QueryRow(ctx, `
		INSERT INTO revisions (catalog_id, number, currency,
		                       sleeve_gap_least, sleeve_gap_most, bolt_gap_least, bolt_gap_most, left_over_most,
		                       note, created_by, based_on)
		SELECT c.id, greatest((SELECT max(number) FROM revisions r WHERE r.catalog_id = c.id), (SELECT number FROM discarded_drafts d WHERE d.catalog_id = c.id), 0) + 1,
		       nullif($2, ''), $3, $4, $5, $6, $7, $8, $9, c.current
		FROM catalogs c WHERE c.id = $1
		RETURNING number`,
		rev.catalog, parts.Currency,
		int64(l.SleeveGapLeast), int64(l.SleeveGapMost), int64(l.BoltGapLeast), int64(l.BoltGapMost), int64(l.LeftOverMost),
		note, by).
		Scan(&rev.number)
	if err != nil {
		return rev, fmt.Errorf("draft %s: %w", in.Catalog, err)
	}
	if err := withinQuota(ctx, rev, shop.Quota{Revisions: parts.Quota.Revisions}); err != nil {
		return rev, err
	}
	if err := writeParts(ctx, rev, parts); err != nil {
		return rev, err
	}
	if parts.Checked != nil {
		if err := parts.Checked(); err != nil {
			return rev, err
		}
	}
	if parts.Quota == (shop.Quota{}) {
		return rev, nil
	}
	// Drafts of the shop's other catalogues may have been written meanwhile. From
	// here to the end of the transaction none is counted but this one.
	if _, err := tx.Exec(ctx, "SELECT pg_advisory_xact_lock($1, (shop_id % $2)::int) FROM catalogs WHERE id = $3", quotaLock, math.MaxInt32, rev.catalog); err != nil {
		return rev, fmt.Errorf("wait for another draft of the shop of %s: %w", in.Catalog, err)
	}
	return rev, withinQuota(ctx, rev, parts.Quota)
}

// withinQuota gives a *shop.QuotaError if a shop stores more than it may, including the
// new draft.
func withinQuota(ctx context.Context, rev revision, quota shop.Quota) error {
	if quota == (shop.Quota{}) {
		return nil
	}
	var revisions, parts int
	err := rev.tx.QueryRow(ctx, `
		SELECT count(*), coalesce(sum(parts), 0) FROM revisions r JOIN catalogs c ON c.id = r.catalog_id
		WHERE c.shop_id = (SELECT shop_id FROM catalogs WHERE id = $1)`, rev.catalog).Scan(&revisions, &parts)
	switch {
	case err != nil:
		return fmt.Errorf("count what the shop stores: %w", err)
	case quota.Revisions > 0 && revisions > quota.Revisions:
		return &shop.QuotaError{Of: shop.QuotaOfRevisions, Stored: revisions - 1, Most: quota.Revisions}
	case quota.Parts > 0 && parts > quota.Parts:
		return &shop.QuotaError{Of: shop.QuotaOfParts, Stored: parts, Most: quota.Parts}
	}
	return nil
}

// writeParts writes the parts of a revision and how many there are.
func writeParts(ctx context.Context, rev revision, parts shop.Parts) error {
	var n shop.Counts
	var err error
	if n.Dampers, err = tableOf(catalog.DamperTable()).write(ctx, rev, parts.Dampers); err != nil {
		return err
	}
	if n.Sleeves, err = tableOf(catalog.SleeveTable()).write(ctx, rev, parts.Sleeves); err != nil {
		return err
	}
	if n.Spacers, err = tableOf(catalog.SpacerTable()).write(ctx, rev, parts.Spacers); err != nil {
		return err
	}
	if n.Adapters, err = tableOf(catalog.AdapterTable()).write(ctx, rev, parts.Adapters); err != nil {
		return err
	}
	_, err = rev.tx.Exec(ctx, "UPDATE revisions SET damper_count = $3, sleeve_count = $4, spacer_count = $5, adapter_count = $6 WHERE catalog_id = $1 AND number = $2",
		rev.catalog, rev.number, n.Dampers, n.Sleeves, n.Spacers, n.Adapters)
	if err != nil {
		return fmt.Errorf("count the parts of revision %d: %w", rev.number, err)
	}
	return nil
}

// draftLock and quotaLock are the classes of advisory locks.
const (
	draftLock int32 = 0x6d696473
	quotaLock int32 = 0x6d696474
)

// findCatalog gives a catalogue's number, or catalog.ErrNotFound. lock is what
// SELECT is to lock its row by, or "".
func findCatalog(ctx context.Context, tx pgx.Tx, in shop.Place, lock string) (id int64, err error) {
	err = tx.QueryRow(ctx, "SELECT id FROM catalogs WHERE name = $1 AND ($2 = 0 OR shop_id = $2) "+lock, in.Catalog, in.Shop).Scan(&id)
	if errors.Is(err, pgx.ErrNoRows) {
		return 0, fmt.Errorf("%w: %s", catalog.ErrNotFound, in.Catalog)
	}
	if err != nil {
		return 0, fmt.Errorf("find %s: %w", in.Catalog, err)
	}
	return id, nil
}

// toRelease locks a catalogue's row against others that would make another revision
// the current one, but not against those that only refer to the row.
const toRelease = "FOR NO KEY UPDATE"

const revisionColumns = `c.name, r.number, r.identity::text, r.state = 'published', coalesce(c.current, 0), coalesce(r.based_on, 0), r.note, r.created_at, r.created_by,
	r.used_at, ` + countColumns

// countColumns are read into shop.Counts.
const countColumns = `r.damper_count, r.sleeve_count, r.spacer_count, r.adapter_count`

// scanRevision reads a row of revisionColumns.
func scanRevision(row pgx.CollectableRow) (r shop.Revision, err error) {
	err = row.Scan(&r.Catalog, &r.Number, &r.Identity, &r.Published, &r.Current, &r.BasedOn, &r.Note, &r.Created, &r.CreatedBy,
		&r.Used, &r.Counts.Dampers, &r.Counts.Sleeves, &r.Counts.Spacers, &r.Counts.Adapters)
	return r, err
}

// describe reads what is known of one revision.
func describe(ctx context.Context, tx pgx.Tx, id int64, number int) (r shop.Revision, err error) {
	rows, err := tx.Query(ctx, "SELECT "+revisionColumns+" FROM revisions r JOIN catalogs c ON c.id = r.catalog_id WHERE c.id = $1 AND r.number = $2", id, number)
	if err == nil {
		r, err = pgx.CollectExactlyOneRow(rows, scanRevision)
	}
	if errors.Is(err, pgx.ErrNoRows) {
		return r, fmt.Errorf("%w: revision %d", catalog.ErrNotFound, number)
	}
	if err != nil {
		return r, fmt.Errorf("read revision %d: %w", number, err)
	}
	return r, publications(ctx, tx, id, []*shop.Revision{&r})
}

// publications reads when each of some revisions of a catalogue was made the current
// one.
func publications(ctx context.Context, tx pgx.Tx, id int64, of []*shop.Revision) error {
	byNumber := map[int]*shop.Revision{}
	numbers := make([]int, len(of))
	for i, r := range of {
		byNumber[r.Number], numbers[i] = r, r.Number
	}
	rows, err := tx.Query(ctx, "SELECT revision, action, coalesce(replaced, 0), by, at FROM publications WHERE catalog_id = $1 AND revision = ANY ($2) ORDER BY id", id, numbers)
	if err != nil {
		return fmt.Errorf("read publications: %w", err)
	}
	var number int
	var action string
	var p shop.Publication
	_, err = pgx.ForEachRow(rows, []any{&number, &action, &p.Replaced, &p.By, &p.At}, func() error {
		var ok bool
		if p.Action, ok = shop.Actions.Parse(action); !ok {
			return fmt.Errorf("an action is %q", action)
		}
		r := byNumber[number]
		r.Publications = append(r.Publications, p)
		return nil
	})
	if err != nil {
		return fmt.Errorf("read publications: %w", err)
	}
	return nil
}

// Describe reads what is known of one revision, a draft or published. A draft counts
// as used by it. It answers catalog.ErrNotFound where there is none.
func (s *Store) Describe(ctx context.Context, in shop.Place, number int) (r shop.Revision, err error) {
	err = s.readAsShop(ctx, in.Shop, func(tx pgx.Tx) error {
		id, err := findCatalog(ctx, tx, in, "")
		if err != nil {
			return err
		}
		r, err = describe(ctx, tx, id, number)
		return err
	})
	if err == nil {
		err = s.noteUse(ctx, in, &r)
	}
	return r, err
}

// Revisions lists a catalogue's revisions, the last first: at most limit of those whose
// numbers are less than below, or of all if below is 0.
func (s *Store) Revisions(ctx context.Context, in shop.Place, below, limit int) (list []shop.Revision, err error) {
	err = s.readAsShop(ctx, in.Shop, func(tx pgx.Tx) error {
		id, err := findCatalog(ctx, tx, in, "")
		if err != nil {
			return err
		}
		rows, err := tx.Query(ctx, "SELECT "+revisionColumns+` FROM revisions r JOIN catalogs c ON c.id = r.catalog_id
			WHERE c.id = $1 AND ($2 = 0 OR r.number < $2) ORDER BY r.number DESC LIMIT $3`, id, below, limit)
		if err != nil {
			return fmt.Errorf("list revisions of %s: %w", in.Catalog, err)
		}
		list, err = pgx.CollectRows(rows, scanRevision)
		if err != nil {
			return fmt.Errorf("list revisions of %s: %w", in.Catalog, err)
		}
		pointers := make([]*shop.Revision, len(list))
		for i := range list {
			pointers[i] = &list[i]
		}
		return publications(ctx, tx, id, pointers)
	})
	return list, err
}

// Release makes a revision the one that the catalogue is answered from:
// Publish for a draft, RollBack for one that was published before. Two calls at the
// same time run one after the other. agree gets the revision in its present state, and
// may refuse with an error. The error is a *shop.ConflictError if the revision's state
// doesn't allow the action, and catalog.ErrNotFound if there is no such revision. With
// an error nothing is changed. Watchers are told; that of this store knows of the
// revision when Release returns.
func (s *Store) Release(ctx context.Context, in shop.Place, number int, action shop.Action, by string, agree func(shop.Revision) error) (r shop.Revision, err error) {
	err = s.changeAsShop(ctx, in.Shop, func(tx pgx.Tx) error {
		id, err := findCatalog(ctx, tx, in, toRelease)
		if err != nil {
			return err
		}
		if r, err = describe(ctx, tx, id, number); err != nil {
			return err
		}
		if err := agree(r); err != nil {
			return err
		}
		if err := release(ctx, tx, id, r, action, by); err != nil {
			return err
		}
		r, err = describe(ctx, tx, id, number)
		return err
	})
	if err == nil {
		s.tellNow(ctx)
	}
	return r, err
}

func release(ctx context.Context, tx pgx.Tx, id int64, r shop.Revision, action shop.Action, by string) error {
	var do string
	switch {
	case action == shop.Publish && r.Published:
		return &shop.ConflictError{Reason: shop.PublishedAlready, Revision: r.Number}
	case action == shop.RollBack && !r.Published:
		return &shop.ConflictError{Reason: shop.NotPublished, Revision: r.Number}
	case action == shop.RollBack && r.Current == r.Number:
		return &shop.ConflictError{Reason: shop.CurrentAlready, Revision: r.Number}
	case action == shop.Publish:
		// The trigger of the table points to it.
		do = "UPDATE revisions SET state = 'published', published_at = now() WHERE catalog_id = $1 AND number = $2"
	default:
		do = "UPDATE catalogs SET current = $2 WHERE id = $1"
	}
	done, err := tx.Exec(ctx, do, id, r.Number)
	if err != nil {
		return fmt.Errorf("make revision %d current: %w", r.Number, err)
	}
	if done.RowsAffected() == 0 { // the draft was deleted this moment
		return fmt.Errorf("%w: revision %d", catalog.ErrNotFound, r.Number)
	}
	var owner int64
	err = tx.QueryRow(ctx, `INSERT INTO publications (catalog_id, revision, action, replaced, by) VALUES ($1, $2, $3, nullif($4, 0), $5)
		RETURNING (SELECT shop_id FROM catalogs WHERE id = $1)`, id, r.Number, action.String(), r.Current, by).Scan(&owner)
	if err != nil {
		return fmt.Errorf("note who made revision %d current: %w", r.Number, err)
	}
	return tellOf(ctx, tx, owner, publishedEvent(r.Catalog, r.Number, action))
}
