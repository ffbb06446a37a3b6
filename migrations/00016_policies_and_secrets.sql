-- Policies that cost less, answers to quotes that are stored once, and secrets of
-- webhooks that can be changed.

-- +goose Up

-- Postgres plans a function in SQL anew in every statement that calls it, and most
-- statements call these several times. In PL/pgSQL a connection plans it once. Names
-- are looked up when it runs, so that each says where it is: a temporary table or
-- another search path must not take the place of ours.

-- +goose StatementBegin
DO $do$
DECLARE
    home regnamespace := (SELECT relnamespace FROM pg_class WHERE oid = 'shops'::regclass);
BEGIN
    EXECUTE format($sql$
        CREATE OR REPLACE FUNCTION keeps_all_shops() RETURNS boolean LANGUAGE plpgsql STABLE PARALLEL SAFE AS $$
        BEGIN
            RETURN pg_catalog.pg_has_role((
                    SELECT relowner FROM pg_catalog.pg_class WHERE oid OPERATOR(pg_catalog.=) '%1$s.shops'::pg_catalog.regclass), 'USAGE')
                OR EXISTS (
                    SELECT FROM pg_catalog.pg_roles
                    WHERE rolname OPERATOR(pg_catalog.=) 'midstroke_keeper' AND pg_catalog.pg_has_role(oid, 'USAGE'));
        END
        $$$sql$, home);
    EXECUTE $sql$
        CREATE OR REPLACE FUNCTION presented_key() RETURNS bytea LANGUAGE plpgsql STABLE PARALLEL SAFE AS $$
        BEGIN
            RETURN CASE WHEN pg_catalog.current_setting('midstroke.key', true) OPERATOR(pg_catalog.~) '^[0-9a-f]{64}$'
                THEN pg_catalog.decode(pg_catalog.current_setting('midstroke.key', true), 'hex') END;
        END
        $$$sql$;
    EXECUTE format($sql$
        CREATE OR REPLACE FUNCTION shop_of_key() RETURNS bigint LANGUAGE plpgsql STABLE PARALLEL SAFE AS $$
        BEGIN
            RETURN (SELECT shop_id FROM %1$s.keys WHERE hash OPERATOR(pg_catalog.=) %1$s.presented_key());
        END
        $$$sql$, home);
    EXECUTE format($sql$
        CREATE OR REPLACE FUNCTION shops_in_view() RETURNS text LANGUAGE plpgsql STABLE PARALLEL SAFE AS $$
        BEGIN
            IF %1$s.keeps_all_shops() THEN
                RETURN pg_catalog.current_setting('midstroke.shop', true);
            END IF;
            RETURN %1$s.shop_of_key()::pg_catalog.text;
        END
        $$$sql$, home);
END
$do$;
-- +goose StatementEnd

DROP POLICY of_the_shop ON kept_answers;
CREATE POLICY of_the_shop ON kept_answers USING ((SELECT shops_in_view()) IN ('*', shop_id::text));
DROP FUNCTION shop_in_view;

-- Contents are of some kilobytes. LZ4, where Postgres has it, compresses them in a tenth
-- of the time that its own method takes, and they stay in the row up to its limit.
ALTER TABLE quotes SET (toast_tuple_target = 8160);

-- +goose StatementBegin
DO $$
BEGIN
    ALTER TABLE quotes ALTER COLUMN content SET COMPRESSION lz4;
EXCEPTION WHEN feature_not_supported THEN
    NULL;
END
$$;
-- +goose StatementEnd

-- The answer to a request for a quote has the content of the quote in it, which isn't
-- stored twice: body lacks it, and quote_at is how many bytes come before it.
ALTER TABLE kept_answers
    ADD COLUMN quote_id uuid,
    ADD COLUMN quote_at integer;

-- Secrets that were replaced. Each signs events beside the new one until its time.
ALTER TABLE webhooks
    ADD COLUMN former_secrets bytea[] NOT NULL DEFAULT '{}',
    ADD COLUMN former_until timestamptz[] NOT NULL DEFAULT '{}',
    ADD CHECK (cardinality(former_secrets) = cardinality(former_until));

-- +goose Down

ALTER TABLE webhooks DROP COLUMN former_secrets, DROP COLUMN former_until;

-- Answers without their quote can't be told any more.
DELETE FROM kept_answers WHERE quote_id IS NOT NULL;
ALTER TABLE kept_answers DROP COLUMN quote_id, DROP COLUMN quote_at;

ALTER TABLE quotes RESET (toast_tuple_target);
ALTER TABLE quotes ALTER COLUMN content SET COMPRESSION default;

CREATE OR REPLACE FUNCTION keeps_all_shops() RETURNS boolean
LANGUAGE sql STABLE PARALLEL SAFE
RETURN pg_has_role((SELECT relowner FROM pg_class WHERE oid = 'shops'::regclass), 'USAGE')
    OR EXISTS (SELECT FROM pg_roles WHERE rolname = 'midstroke_keeper' AND pg_has_role(oid, 'USAGE'));

CREATE OR REPLACE FUNCTION presented_key() RETURNS bytea
LANGUAGE sql STABLE PARALLEL SAFE
RETURN CASE WHEN current_setting('midstroke.key', true) ~ '^[0-9a-f]{64}$'
    THEN decode(current_setting('midstroke.key', true), 'hex') END;

CREATE OR REPLACE FUNCTION shop_of_key() RETURNS bigint
LANGUAGE sql STABLE PARALLEL SAFE
RETURN (SELECT shop_id FROM keys WHERE hash = presented_key());

CREATE OR REPLACE FUNCTION shops_in_view() RETURNS text
LANGUAGE sql STABLE PARALLEL SAFE
RETURN CASE WHEN keeps_all_shops() THEN current_setting('midstroke.shop', true) ELSE shop_of_key()::text END;

CREATE FUNCTION shop_in_view(shop bigint) RETURNS boolean
LANGUAGE sql STABLE PARALLEL SAFE
RETURN shops_in_view() IN ('*', shop::text);
DROP POLICY of_the_shop ON kept_answers;
CREATE POLICY of_the_shop ON kept_answers USING (shop_in_view(shop_id));
