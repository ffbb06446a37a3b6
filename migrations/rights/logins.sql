-- Lets the service log in to this database as two roles that own nothing:
--
--   midstroke_service  for requests: DATABASE_URL of midstroke serve
--   midstroke_keeper   for the service's own work: MIDSTROKE_KEEPER_URL
--
-- Run it in the database of midstroke as a superuser:
--
--   midstroke rights | psql --single-transaction postgres://postgres@host/midstroke
--
-- and give the roles passwords (in psql: \password midstroke_service). It can be
-- run before the first "midstroke migrate" or at any later time, and again. The
-- role that owns the database runs "midstroke migrate", "key" and "import".

DO $$
DECLARE
    who text;
BEGIN
    FOREACH who IN ARRAY ARRAY['midstroke_service', 'midstroke_keeper'] LOOP
        IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = who) THEN
            EXECUTE format('CREATE ROLE %I', who);
        END IF;
        EXECUTE format('ALTER ROLE %I LOGIN NOSUPERUSER NOBYPASSRLS NOCREATEDB NOCREATEROLE NOREPLICATION', who);
        EXECUTE format('GRANT CONNECT, TEMPORARY ON DATABASE %I TO %I', current_database(), who);
    END LOOP;
    -- Before Postgres 15 everyone may make tables and functions here.
    REVOKE CREATE ON SCHEMA public FROM PUBLIC;
    EXECUTE format('GRANT CREATE ON SCHEMA public TO %I', (SELECT pg_get_userbyid(datdba) FROM pg_database WHERE datname = current_database()));
    IF to_regprocedure('grant_rights()') IS NOT NULL THEN
        PERFORM grant_rights();
    END IF;
END
$$;
