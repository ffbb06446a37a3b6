-- Nobody sees a neighbour's data, whatever a query forgets to say.
--
-- The service says at the beginning of each transaction whose rows it wants:
-- midstroke.shop is a shop's number, "*" for those who run the service, and
-- where it isn't set no row is seen at all. The policies hold for the tables'
-- owner, too. To superusers and to roles that bypass row-level security they
-- mean nothing, so a service that logs in as one works as the role
-- midstroke_service instead.

-- +goose Up

CREATE FUNCTION shop_in_view(shop bigint) RETURNS boolean
LANGUAGE sql STABLE PARALLEL SAFE
RETURN current_setting('midstroke.shop', true) IN ('*', shop::text);

-- catalogs_in_view is asked once a statement, and not once a row.
CREATE FUNCTION catalogs_in_view() RETURNS bigint[]
LANGUAGE sql STABLE PARALLEL SAFE
RETURN (SELECT coalesce(array_agg(id), '{}') FROM catalogs);

CREATE POLICY of_the_shop ON shops USING (shop_in_view(id));
CREATE POLICY of_the_shop ON catalogs USING (shop_in_view(shop_id));
CREATE POLICY of_the_shop ON keys USING (shop_in_view(shop_id));

-- +goose StatementBegin
DO $$
DECLARE
    t text;
BEGIN
    FOREACH t IN ARRAY ARRAY['revisions', 'publications', 'dampers', 'sleeves', 'spacers', 'adapters'] LOOP
        EXECUTE format('CREATE POLICY of_the_shop ON %I USING (catalog_id = ANY ((SELECT catalogs_in_view())::bigint[]))', t);
    END LOOP;
    FOREACH t IN ARRAY ARRAY['shops', 'catalogs', 'keys', 'revisions', 'publications', 'dampers', 'sleeves', 'spacers', 'adapters'] LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', t);
        EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', t);
    END LOOP;
    -- Where the role that owns the tables sees past the policies, and may make
    -- another that doesn't.
    IF (SELECT rolsuper OR rolbypassrls FROM pg_roles WHERE rolname = current_user) THEN
        BEGIN
            CREATE ROLE midstroke_service NOLOGIN NOSUPERUSER NOBYPASSRLS;
        EXCEPTION WHEN duplicate_object OR unique_violation THEN
            NULL; -- for another database of the same server
        END;
        FOREACH t IN ARRAY ARRAY['shops', 'catalogs', 'keys', 'revisions', 'publications', 'dampers', 'sleeves', 'spacers', 'adapters'] LOOP
            EXECUTE format('GRANT SELECT, INSERT, UPDATE, DELETE ON %I TO midstroke_service', t);
        END LOOP;
    END IF;
END
$$;
-- +goose StatementEnd

-- +goose Down

-- The role stays: other databases of the server may use it.

-- +goose StatementBegin
DO $$
DECLARE
    t text;
BEGIN
    FOREACH t IN ARRAY ARRAY['shops', 'catalogs', 'keys', 'revisions', 'publications', 'dampers', 'sleeves', 'spacers', 'adapters'] LOOP
        EXECUTE format('ALTER TABLE %I NO FORCE ROW LEVEL SECURITY', t);
        EXECUTE format('ALTER TABLE %I DISABLE ROW LEVEL SECURITY', t);
        EXECUTE format('DROP POLICY of_the_shop ON %I', t);
        IF EXISTS (SELECT FROM pg_roles WHERE rolname = 'midstroke_service') THEN
            EXECUTE format('REVOKE ALL ON %I FROM midstroke_service', t);
        END IF;
    END LOOP;
END
$$;
-- +goose StatementEnd

DROP FUNCTION catalogs_in_view;
DROP FUNCTION shop_in_view;
