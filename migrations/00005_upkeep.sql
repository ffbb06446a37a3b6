-- Since a catalogue points to what it is answered from, nothing looks for the
-- last published number any more.
--
-- And a role that may make others isn't, from Postgres 16 on, let work as them
-- unless it is said so.

-- +goose Up

DROP INDEX revisions_newest;

-- +goose StatementBegin
DO $$
BEGIN
    IF EXISTS (SELECT FROM pg_roles WHERE rolname = current_user AND rolbypassrls AND NOT rolsuper)
        AND EXISTS (SELECT FROM pg_roles WHERE rolname = 'midstroke_service') THEN
        GRANT midstroke_service TO CURRENT_USER;
    END IF;
END
$$;
-- +goose StatementEnd

-- +goose Down

CREATE INDEX revisions_newest ON revisions (catalog_id, number DESC) WHERE state = 'published';
