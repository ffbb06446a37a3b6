package postgres

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgtype/zeronull"

	"midstroke/internal/shop"
)

// ErrNoKey says that no key has that prefix.
var ErrNoKey = errors.New("no key has this prefix")

// querier is a connection, a pool or a transaction.
type querier interface {
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
}

// CreateKey writes down a key for k.Shop, which is made where there is none,
// with a catalogue of the same name where the shop has no other.
func (s *Store) CreateKey(ctx context.Context, k shop.Key) error {
	err := s.changeAsOwner(ctx, func(tx pgx.Tx) (err error) {
		if k.Shop, err = knownShop(ctx, tx, k.Shop); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, "INSERT INTO shops (name) VALUES ($1) ON CONFLICT (name) DO NOTHING", k.Shop); err != nil {
			return err
		}
		var catalogs int
		err = tx.QueryRow(ctx, "SELECT s.id, (SELECT count(*) FROM catalogs c WHERE c.shop_id = s.id) FROM shops s WHERE s.name = $1 FOR UPDATE", k.Shop).
			Scan(&k.ShopID, &catalogs)
		if err != nil {
			return err
		}
		if catalogs == 0 {
			made, err := tx.Exec(ctx, "INSERT INTO catalogs (shop_id, name) VALUES ($1, $2) ON CONFLICT (name) DO NOTHING", k.ShopID, k.Shop)
			if err != nil {
				return err
			}
			if made.RowsAffected() == 0 {
				return fmt.Errorf("the shop has no catalogue yet, and one of its name is another shop's; import one for it first")
			}
		}
		_, err = tx.Exec(ctx, "INSERT INTO keys (shop_id, use, prefix, hash, origins, expires_at, keeps_quotes) VALUES ($1, $2, $3, $4, $5, $6, $7)",
			k.ShopID, k.Use.String(), k.Prefix, k.Hash[:], append([]string{}, k.Origins...), zeronull.Timestamptz(k.Expires), k.KeepsQuotes)
		return err
	})
	if err != nil {
		return fmt.Errorf("create a key for %s: %w", k.Shop, err)
	}
	s.tellNow(ctx)
	return nil
}

// knownShop gives the name of the shop that a name means, or the name itself where
// there is none (see shop.KnownName). Nobody else makes a shop until the end of the
// transaction.
func knownShop(ctx context.Context, tx pgx.Tx, name string) (string, error) {
	if _, err := tx.Exec(ctx, "LOCK TABLE shops IN SHARE ROW EXCLUSIVE MODE"); err != nil {
		return "", fmt.Errorf("wait for others that make shops: %w", err)
	}
	names, err := shopNames(ctx, tx)
	if err != nil {
		return "", err
	}
	return shop.KnownName(name, names)
}

func shopNames(ctx context.Context, tx pgx.Tx) ([]string, error) {
	rows, err := tx.Query(ctx, "SELECT name FROM shops ORDER BY id")
	if err != nil {
		return nil, fmt.Errorf("read the names of shops: %w", err)
	}
	names, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return nil, fmt.Errorf("read the names of shops: %w", err)
	}
	return names, nil
}

// Keys lists the keys of a shop, or of all shops where the name is "", the
// revoked and the expired ones among them.
func (s *Store) Keys(ctx context.Context, shopName string) (keys []shop.Key, err error) {
	err = s.changeAsKeeper(ctx, func(tx pgx.Tx) error {
		if shopName != "" {
			names, err := shopNames(ctx, tx)
			if err != nil {
				return err
			}
			if shopName, err = shop.KnownName(shopName, names); err != nil {
				return err
			}
		}
		keys, err = readKeys(ctx, tx, shopName)
		return err
	})
	return keys, err
}

// FindKey gives the key of that hash, nil where there is none.
func (s *Store) FindKey(ctx context.Context, hash [sha256.Size]byte) (key *shop.Key, err error) {
	err = s.changeAsKeeper(ctx, func(tx pgx.Tx) error {
		keys, err := selectKeys(ctx, tx, "k.hash = $1", hash[:])
		if len(keys) == 1 {
			key = &keys[0]
		}
		return err
	})
	return key, err
}

func readKeys(ctx context.Context, from querier, shopName string) ([]shop.Key, error) {
	return selectKeys(ctx, from, "$1 = '' OR s.name = $1", shopName)
}

// selectKeys reads the keys for which a condition of one argument holds.
func selectKeys(ctx context.Context, from querier, where string, arg any) ([]shop.Key, error) {
	rows, err := from.Query(ctx, `
		SELECT k.id, k.shop_id, s.name,
		       coalesce((SELECT c.name FROM catalogs c WHERE c.shop_id = k.shop_id ORDER BY c.current IS NULL, c.id LIMIT 1), ''),
		       k.use, k.prefix, k.hash, k.origins, k.created_at, k.expires_at, k.revoked_at, k.last_used_at, k.keeps_quotes
		FROM keys k JOIN shops s ON s.id = k.shop_id
		WHERE `+where+`
		ORDER BY s.name, k.id`, arg)
	if err != nil {
		return nil, fmt.Errorf("read keys: %w", err)
	}
	keys, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (k shop.Key, err error) {
		var use string
		var hash []byte
		err = row.Scan(&k.ID, &k.ShopID, &k.Shop, &k.Catalog, &use, &k.Prefix, &hash, &k.Origins, &k.Created,
			(*zeronull.Timestamptz)(&k.Expires), (*zeronull.Timestamptz)(&k.Revoked), (*zeronull.Timestamptz)(&k.LastUsed), &k.KeepsQuotes)
		if err != nil {
			return k, err
		}
		var ok bool
		if k.Use, ok = shop.Uses.Parse(use); !ok || len(hash) != sha256.Size {
			return k, fmt.Errorf("key %s is for %q, by a hash of %d bytes", k.Prefix, use, len(hash))
		}
		copy(k.Hash[:], hash)
		return k, nil
	})
	if err != nil {
		return nil, fmt.Errorf("read keys: %w", err)
	}
	return keys, nil
}

// RevokeKey ends a key for good, at once; revoking it again changes nothing.
// It answers ErrNoKey where there is none of that prefix.
func (s *Store) RevokeKey(ctx context.Context, prefix string) error {
	err := s.changeAsOwner(ctx, func(tx pgx.Tx) error {
		done, err := tx.Exec(ctx, "UPDATE keys SET revoked_at = coalesce(revoked_at, now()) WHERE prefix = $1", prefix)
		if err != nil {
			return fmt.Errorf("revoke key %s: %w", prefix, err)
		}
		if done.RowsAffected() == 0 {
			return fmt.Errorf("%w: %s", ErrNoKey, prefix)
		}
		return nil
	})
	if err == nil {
		s.tellNow(ctx)
	}
	return err
}

// NoteUsed writes down when keys were last used, by id.
func (s *Store) NoteUsed(ctx context.Context, used map[int64]time.Time) error {
	if len(used) == 0 {
		return nil
	}
	// In order, so that two instances at it don't wait for each other's rows.
	ids := slices.Sorted(maps.Keys(used))
	times := make([]time.Time, len(ids))
	for i, id := range ids {
		times[i] = used[id]
	}
	return s.changeAsKeeper(ctx, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, `
		UPDATE keys k SET last_used_at = u.at
		FROM (SELECT * FROM unnest($1::bigint[], $2::timestamptz[]) AS u (id, at) ORDER BY id) u
		WHERE k.id = u.id AND (k.last_used_at IS NULL OR k.last_used_at < u.at)`, ids, times)
		if err != nil {
			return fmt.Errorf("note when keys were used: %w", err)
		}
		return nil
	})
}
