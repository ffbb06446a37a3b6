-- Drafts that can be deleted, the counts of a revision's parts, and answers that
-- are kept for requests that are sent again.

-- +goose Up

-- The greatest number of a draft that was deleted. It is never given to another
-- draft: an instance may still hold the parts of the old one in memory.
CREATE TABLE discarded_drafts (
    catalog_id bigint PRIMARY KEY REFERENCES catalogs ON DELETE CASCADE,
    number     integer NOT NULL
);
CREATE POLICY of_the_shop ON discarded_drafts USING (catalog_id = ANY ((SELECT catalogs_in_view())::bigint[]));

ALTER TABLE revisions
    ADD COLUMN damper_count  integer NOT NULL DEFAULT 0,
    ADD COLUMN sleeve_count  integer NOT NULL DEFAULT 0,
    ADD COLUMN spacer_count  integer NOT NULL DEFAULT 0,
    ADD COLUMN adapter_count integer NOT NULL DEFAULT 0,
    -- When a draft was last drafted, read or compared, to within a day.
    ADD COLUMN used_at timestamptz NOT NULL DEFAULT now(),
    DROP COLUMN parts;

-- The triggers would refuse to change a published revision, and would point the
-- catalogue to it.
ALTER TABLE revisions DISABLE TRIGGER USER;
UPDATE revisions r SET
    damper_count  = (SELECT count(*) FROM dampers p WHERE p.catalog_id = r.catalog_id AND p.revision = r.number),
    sleeve_count  = (SELECT count(*) FROM sleeves p WHERE p.catalog_id = r.catalog_id AND p.revision = r.number),
    spacer_count  = (SELECT count(*) FROM spacers p WHERE p.catalog_id = r.catalog_id AND p.revision = r.number),
    adapter_count = (SELECT count(*) FROM adapters p WHERE p.catalog_id = r.catalog_id AND p.revision = r.number);
ALTER TABLE revisions ENABLE TRIGGER USER;
ALTER TABLE revisions ADD COLUMN parts integer GENERATED ALWAYS AS (damper_count + sleeve_count + spacer_count + adapter_count) STORED;

CREATE INDEX unused_drafts ON revisions (used_at) WHERE state = 'draft';

-- A request with an Idempotency-Key and its answer. Until there is one the request
-- is being carried out, by whoever holds the claim and for as long as that lasts.
CREATE TABLE kept_answers (
    shop_id       bigint NOT NULL REFERENCES shops ON DELETE CASCADE,
    key           text COLLATE "C" NOT NULL CHECK (key <> '' AND length(key) <= 255),
    fingerprint   bytea NOT NULL CHECK (octet_length(fingerprint) = 32), -- SHA-256 of the request
    claim         uuid NOT NULL,
    claimed_until timestamptz NOT NULL,
    status        integer,
    header        jsonb,
    body          bytea,
    created_at    timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (shop_id, key),
    CHECK (num_nonnulls(status, header, body) IN (0, 3))
);
CREATE INDEX ON kept_answers (created_at);

CREATE POLICY of_the_shop ON kept_answers USING (shop_in_view(shop_id));

ALTER TABLE discarded_drafts ENABLE ROW LEVEL SECURITY;
ALTER TABLE discarded_drafts FORCE ROW LEVEL SECURITY;
ALTER TABLE kept_answers ENABLE ROW LEVEL SECURITY;
ALTER TABLE kept_answers FORCE ROW LEVEL SECURITY;

SELECT grant_rights();

-- +goose Down

DROP TABLE kept_answers, discarded_drafts;
DROP INDEX unused_drafts;
ALTER TABLE revisions DROP COLUMN parts;
ALTER TABLE revisions ADD COLUMN parts integer NOT NULL DEFAULT 0 CHECK (parts >= 0);
ALTER TABLE revisions DISABLE TRIGGER USER;
UPDATE revisions SET parts = damper_count + sleeve_count + spacer_count + adapter_count;
ALTER TABLE revisions ENABLE TRIGGER USER;
ALTER TABLE revisions
    DROP COLUMN damper_count, DROP COLUMN sleeve_count, DROP COLUMN spacer_count, DROP COLUMN adapter_count,
    DROP COLUMN used_at;
