-- Policies that cost less still: whose rows may be seen is found out without a query
-- for those who keep all shops, and with one query for a request's key.

-- +goose Up

-- Whoever has the rights of the tables' owner has every grant option on them, also on
-- what is granted to nobody, such as TRUNCATE. Postgres answers that from its caches.
-- Functions in SQL without a sub-select become a part of the statement that calls them.

-- +goose StatementBegin
DO $do$
DECLARE
    home regnamespace := (SELECT relnamespace FROM pg_class WHERE oid = 'shops'::regclass);
BEGIN
    EXECUTE format($sql$
        CREATE OR REPLACE FUNCTION keeps_all_shops() RETURNS boolean LANGUAGE sql STABLE PARALLEL SAFE
        RETURN pg_catalog.has_table_privilege('%1$s.shops'::pg_catalog.regclass::pg_catalog.oid, 'TRUNCATE WITH GRANT OPTION')
            OR coalesce(pg_catalog.pg_has_role(pg_catalog.to_regrole('midstroke_keeper')::pg_catalog.oid, 'USAGE'), false)
        $sql$, home);
    EXECUTE format($sql$
        CREATE OR REPLACE FUNCTION shops_in_view() RETURNS text LANGUAGE sql STABLE PARALLEL SAFE
        RETURN CASE WHEN %1$s.keeps_all_shops() THEN pg_catalog.current_setting('midstroke.shop', true)
            ELSE %1$s.shop_of_key()::pg_catalog.text END
        $sql$, home);
END
$do$;
-- +goose StatementEnd

-- +goose Down

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
