-- Drafts, publication and the way back.
--
-- What a catalogue is answered from is the revision that it points to, and not
-- simply the last of its numbers: to go back to an earlier revision is to point
-- to that one, and moves no parts.

-- +goose Up

-- Not a foreign key: while a catalogue is deleted its revisions go first.
ALTER TABLE catalogs ADD COLUMN current integer;
UPDATE catalogs c SET current = (SELECT max(number) FROM revisions r WHERE r.catalog_id = c.id AND r.state = 'published');

ALTER TABLE revisions
    ADD COLUMN based_on   integer, -- what was current when it was drafted
    ADD COLUMN created_by text NOT NULL DEFAULT '';

-- Who made which revision the current one, and when.
CREATE TABLE publications (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    catalog_id bigint NOT NULL,
    revision   integer NOT NULL,
    action     text NOT NULL CHECK (action IN ('publish', 'roll_back')),
    replaced   integer, -- what was current before; NULL for nothing
    by         text NOT NULL,
    at         timestamptz NOT NULL DEFAULT clock_timestamp(),
    FOREIGN KEY (catalog_id, revision) REFERENCES revisions ON DELETE CASCADE
);
CREATE INDEX ON publications (catalog_id, revision);

-- Whoever publishes a revision, by whatever means, points to it.

-- +goose StatementBegin
CREATE FUNCTION point_to_published() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    UPDATE catalogs SET current = NEW.number WHERE id = NEW.catalog_id;
    RETURN NULL;
END
$$;
-- +goose StatementEnd

CREATE TRIGGER point_to_published AFTER INSERT OR UPDATE ON revisions
    FOR EACH ROW WHEN (NEW.state = 'published') EXECUTE FUNCTION point_to_published();

DROP TRIGGER tell_published ON revisions;

-- +goose StatementBegin
CREATE OR REPLACE FUNCTION tell_revision_published() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM pg_notify('revision_published', NEW.id || ' ' || NEW.current);
    RETURN NULL;
END
$$;
-- +goose StatementEnd

CREATE TRIGGER tell_published AFTER UPDATE OF current ON catalogs
    FOR EACH ROW WHEN (NEW.current IS NOT NULL) EXECUTE FUNCTION tell_revision_published();

-- +goose Down

DROP TRIGGER tell_published ON catalogs;
DROP TRIGGER point_to_published ON revisions;
DROP FUNCTION point_to_published;
DROP TABLE publications;
ALTER TABLE revisions DROP COLUMN based_on, DROP COLUMN created_by;
ALTER TABLE catalogs DROP COLUMN current;

-- +goose StatementBegin
CREATE OR REPLACE FUNCTION tell_revision_published() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM pg_notify('revision_published', NEW.catalog_id || ' ' || NEW.number);
    RETURN NULL;
END
$$;
-- +goose StatementEnd

CREATE TRIGGER tell_published AFTER INSERT OR UPDATE ON revisions
    FOR EACH ROW WHEN (NEW.state = 'published') EXECUTE FUNCTION tell_revision_published();
