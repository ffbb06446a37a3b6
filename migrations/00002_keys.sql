-- Keys by which a shop's software is let in.
--
-- A key itself is never kept: only its SHA-256, by which it is found again,
-- and the prefix by which people talk about it.

-- +goose Up

CREATE TABLE keys (
    id           bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    shop_id      bigint NOT NULL REFERENCES shops ON DELETE CASCADE,
    use          text NOT NULL CHECK (use IN ('widget', 'server', 'admin')),
    prefix       text COLLATE "C" NOT NULL UNIQUE CHECK (prefix ~ '^[0-9a-z]{8}$'),
    hash         bytea NOT NULL UNIQUE CHECK (octet_length(hash) = 32),
    -- Web origins (RFC 6454) whose pages may use it; a widget's alone.
    origins      text[] NOT NULL DEFAULT '{}',
    created_at   timestamptz NOT NULL DEFAULT now(),
    expires_at   timestamptz, -- NULL: never
    revoked_at   timestamptz,
    last_used_at timestamptz, -- to within a minute
    CHECK ((use = 'widget') = (cardinality(origins) > 0))
);
CREATE INDEX ON keys (shop_id);

-- Whoever listens on keys_changed reads the keys anew. When a key was last
-- used is no such change. A shop's catalogues are read along with its keys.

-- +goose StatementBegin
CREATE FUNCTION tell_keys_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM pg_notify('keys_changed', '');
    RETURN NULL;
END
$$;
-- +goose StatementEnd

CREATE TRIGGER tell_changed AFTER INSERT OR DELETE OR UPDATE OF use, hash, origins, expires_at, revoked_at ON keys
    FOR EACH STATEMENT EXECUTE FUNCTION tell_keys_changed();
CREATE TRIGGER tell_keys_changed AFTER INSERT OR DELETE OR UPDATE OF shop_id, name ON catalogs
    FOR EACH STATEMENT EXECUTE FUNCTION tell_keys_changed();

-- +goose Down

DROP TABLE keys;
DROP TRIGGER tell_keys_changed ON catalogs;
DROP FUNCTION tell_keys_changed;
