-- A revision is known by more than its number: a database that is restored to
-- an earlier state may publish the same number again with other parts. Whoever
-- holds the revision in memory sees by its identity that it is another one.

-- +goose Up

ALTER TABLE revisions ADD COLUMN identity uuid NOT NULL DEFAULT gen_random_uuid();

-- +goose Down

ALTER TABLE revisions DROP COLUMN identity;
