-- Requests work as a role that owns nothing. It sees the shop of the key that a
-- request came with, and can't choose another.
--
-- midstroke_service  works for requests. It says which key a request came with
--                    (midstroke.key, the SHA-256 in hex). Whose rows it sees
--                    follows from the table of keys.
-- midstroke_keeper   works for the service itself: it loads catalogues, reads
--                    keys and removes what is too old. It says whose rows it
--                    wants (midstroke.shop: a shop's number, or * for all).
-- the owner          changes tables, and makes shops and keys from the command
--                    line. It says whose rows it wants, too.
--
-- Roles belong to the whole server, so an ordinary owner can't make them:
-- "midstroke rights" prints what a superuser has to do. Where the two roles are
-- missing, the owner does everything.

-- +goose Up

CREATE FUNCTION keeps_all_shops() RETURNS boolean
LANGUAGE sql STABLE PARALLEL SAFE
RETURN pg_has_role((SELECT relowner FROM pg_class WHERE oid = 'shops'::regclass), 'USAGE')
    OR EXISTS (SELECT FROM pg_roles WHERE rolname = 'midstroke_keeper' AND pg_has_role(oid, 'USAGE'));

CREATE FUNCTION presented_key() RETURNS bytea
LANGUAGE sql STABLE PARALLEL SAFE
RETURN CASE WHEN current_setting('midstroke.key', true) ~ '^[0-9a-f]{64}$'
    THEN decode(current_setting('midstroke.key', true), 'hex') END;

-- NULL where the policy of keys doesn't show the key.
CREATE FUNCTION shop_of_key() RETURNS bigint
LANGUAGE sql STABLE PARALLEL SAFE
RETURN (SELECT shop_id FROM keys WHERE hash = presented_key());

-- A shop's number, * for all, NULL for none.
CREATE FUNCTION shops_in_view() RETURNS text
LANGUAGE sql STABLE PARALLEL SAFE
RETURN CASE WHEN keeps_all_shops() THEN current_setting('midstroke.shop', true) ELSE shop_of_key()::text END;

CREATE OR REPLACE FUNCTION shop_in_view(shop bigint) RETURNS boolean
LANGUAGE sql STABLE PARALLEL SAFE
RETURN shops_in_view() IN ('*', shop::text);

-- A sub-select is asked once a statement, and not once a row.
DROP POLICY of_the_shop ON shops;
DROP POLICY of_the_shop ON catalogs;
DROP POLICY of_the_shop ON keys;
CREATE POLICY of_the_shop ON shops USING ((SELECT shops_in_view()) IN ('*', id::text));
CREATE POLICY of_the_shop ON catalogs USING ((SELECT shops_in_view()) IN ('*', shop_id::text));
-- A request sees the key that it came with, as long as that is valid. This decides
-- which shop's rows it sees elsewhere.
CREATE POLICY of_the_shop ON keys USING (
    hash = (SELECT presented_key()) AND revoked_at IS NULL AND (expires_at IS NULL OR now() < expires_at)
    OR (SELECT keeps_all_shops()) AND current_setting('midstroke.shop', true) IN ('*', shop_id::text));

-- A temporary table of the same name must not take the place of ours.

-- +goose StatementBegin
DO $$
BEGIN
    EXECUTE format('ALTER FUNCTION keep_published_parts() SET search_path = %I, pg_temp', current_schema());
    EXECUTE format('ALTER FUNCTION point_to_published() SET search_path = %I, pg_temp', current_schema());
END
$$;
-- +goose StatementEnd

-- Everyone may listen, so nothing of a shop is said.

-- +goose StatementBegin
CREATE OR REPLACE FUNCTION tell_revision_published() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM pg_notify('revision_published', '');
    RETURN NULL;
END
$$;
-- +goose StatementEnd

-- How many parts a revision has, so that what a shop stores needn't be counted.
ALTER TABLE revisions ADD COLUMN parts integer NOT NULL DEFAULT 0 CHECK (parts >= 0);
ALTER TABLE revisions DISABLE TRIGGER USER;
UPDATE revisions r SET parts =
      (SELECT count(*) FROM dampers p WHERE (p.catalog_id, p.revision) = (r.catalog_id, r.number))
    + (SELECT count(*) FROM sleeves p WHERE (p.catalog_id, p.revision) = (r.catalog_id, r.number))
    + (SELECT count(*) FROM spacers p WHERE (p.catalog_id, p.revision) = (r.catalog_id, r.number))
    + (SELECT count(*) FROM adapters p WHERE (p.catalog_id, p.revision) = (r.catalog_id, r.number));
ALTER TABLE revisions ENABLE TRIGGER USER;

-- grant_rights gives the two roles what they need, where they exist. It may be
-- called again. A table that a later migration makes is open to both roles, by
-- its policies alone.

-- +goose StatementBegin
CREATE FUNCTION grant_rights() RETURNS void LANGUAGE plpgsql AS $$
DECLARE
    ours record;
    home regnamespace := (SELECT relnamespace FROM pg_class WHERE oid = 'shops'::regclass);
    owner regrole := (SELECT relowner FROM pg_class WHERE oid = 'shops'::regclass);
    who text;
    may text;
BEGIN
    FOREACH who IN ARRAY ARRAY['midstroke_service', 'midstroke_keeper'] LOOP
        CONTINUE WHEN NOT EXISTS (SELECT FROM pg_roles WHERE rolname = who);
        EXECUTE format('GRANT USAGE ON SCHEMA %s TO %I', home, who);
        FOR ours IN
            SELECT oid::regclass AS called, relname FROM pg_class
            WHERE relnamespace = home AND relkind IN ('r', 'p') AND (relrowsecurity OR relname = 'goose_db_version')
        LOOP
            may := CASE
                WHEN ours.relname IN ('shops', 'goose_db_version') THEN 'SELECT'
                WHEN ours.relname = 'catalogs' THEN 'SELECT, UPDATE' -- to lock a row is to update it
                WHEN ours.relname = 'keys' AND who = 'midstroke_service' THEN 'SELECT (shop_id, hash, revoked_at, expires_at)'
                WHEN ours.relname = 'keys' THEN 'SELECT, UPDATE (last_used_at)'
                WHEN ours.relname = 'publications' THEN 'SELECT, INSERT'
                ELSE 'SELECT, INSERT, UPDATE, DELETE'
            END;
            EXECUTE format('REVOKE ALL ON %s FROM %I', ours.called, who);
            EXECUTE format('GRANT %s ON %s TO %I', may, ours.called, who);
        END LOOP;
        EXECUTE format('ALTER DEFAULT PRIVILEGES FOR ROLE %s IN SCHEMA %s GRANT SELECT, INSERT, UPDATE, DELETE ON TABLES TO %I', owner, home, who);
    END LOOP;
END
$$;
-- +goose StatementEnd

-- An owner to whom policies mean nothing works as one of the two roles.

-- +goose StatementBegin
DO $$
BEGIN
    IF (SELECT rolsuper OR rolbypassrls FROM pg_roles WHERE rolname = current_user) THEN
        BEGIN
            CREATE ROLE midstroke_keeper NOLOGIN NOSUPERUSER NOBYPASSRLS;
        EXCEPTION WHEN duplicate_object OR unique_violation THEN
            NULL; -- for another database of the same server
        END;
        IF NOT (SELECT rolsuper FROM pg_roles WHERE rolname = current_user) THEN
            GRANT midstroke_keeper TO CURRENT_USER;
        END IF;
    END IF;
END
$$;
-- +goose StatementEnd

SELECT grant_rights();

-- +goose Down

-- The roles stay: other databases of the server may use them.

-- +goose StatementBegin
DO $$
DECLARE
    who text;
    home regnamespace := (SELECT relnamespace FROM pg_class WHERE oid = 'shops'::regclass);
    owner regrole := (SELECT relowner FROM pg_class WHERE oid = 'shops'::regclass);
BEGIN
    FOREACH who IN ARRAY ARRAY['midstroke_service', 'midstroke_keeper'] LOOP
        CONTINUE WHEN NOT EXISTS (SELECT FROM pg_roles WHERE rolname = who);
        EXECUTE format('ALTER DEFAULT PRIVILEGES FOR ROLE %s IN SCHEMA %s REVOKE ALL ON TABLES FROM %I', owner, home, who);
        EXECUTE format('REVOKE ALL ON ALL TABLES IN SCHEMA %s FROM %I', home, who);
        EXECUTE format('REVOKE ALL ON SCHEMA %s FROM %I', home, who);
    END LOOP;
    IF EXISTS (SELECT FROM pg_roles WHERE rolname = 'midstroke_service') AND
        (SELECT rolsuper OR rolbypassrls FROM pg_roles WHERE rolname = current_user) THEN
        GRANT SELECT, INSERT, UPDATE, DELETE ON shops, catalogs, keys, revisions, publications, dampers, sleeves, spacers, adapters TO midstroke_service;
    END IF;
END
$$;
-- +goose StatementEnd

DROP FUNCTION grant_rights;
ALTER TABLE revisions DROP COLUMN parts;

-- +goose StatementBegin
CREATE OR REPLACE FUNCTION tell_revision_published() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM pg_notify('revision_published', NEW.id || ' ' || NEW.current);
    RETURN NULL;
END
$$;
-- +goose StatementEnd

ALTER FUNCTION keep_published_parts() RESET search_path;
ALTER FUNCTION point_to_published() RESET search_path;

DROP POLICY of_the_shop ON keys;
DROP POLICY of_the_shop ON catalogs;
DROP POLICY of_the_shop ON shops;
CREATE OR REPLACE FUNCTION shop_in_view(shop bigint) RETURNS boolean
LANGUAGE sql STABLE PARALLEL SAFE
RETURN current_setting('midstroke.shop', true) IN ('*', shop::text);
CREATE POLICY of_the_shop ON shops USING (shop_in_view(id));
CREATE POLICY of_the_shop ON catalogs USING (shop_in_view(shop_id));
CREATE POLICY of_the_shop ON keys USING (shop_in_view(shop_id));
DROP FUNCTION shops_in_view;
DROP FUNCTION shop_of_key;
DROP FUNCTION presented_key;
DROP FUNCTION keeps_all_shops;
