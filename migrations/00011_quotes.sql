-- Quotes: chosen fits that a shop keeps.

-- +goose Up

-- Whether a widget's key may keep quotes. Other keys may.
ALTER TABLE keys ADD COLUMN keeps_quotes boolean NOT NULL DEFAULT false;

CREATE TABLE quotes (
    id            uuid PRIMARY KEY, -- version 7, so that later ones sort behind earlier ones
    shop_id       bigint NOT NULL REFERENCES shops ON DELETE CASCADE,
    state         text NOT NULL CHECK (state IN ('kept', 'ordered', 'fitted', 'cancelled')),
    reference     text NOT NULL,
    remark        text NOT NULL,
    catalog       text NOT NULL,
    revision      integer NOT NULL,
    dampers       text[] NOT NULL,
    codes         text[] NOT NULL, -- of every part, for the search
    total         json NOT NULL,
    content       bytea NOT NULL,  -- JSON that never changes
    history       json NOT NULL,
    created_at    timestamptz NOT NULL,
    created_by    text NOT NULL,
    changed_at    timestamptz NOT NULL,
    sheet         text,            -- the secret of the link that needs no key
    sheet_expires timestamptz,
    repeat_key    text COLLATE "C" NOT NULL, -- under which kept_answers has the first answer
    CHECK ((sheet IS NULL) = (sheet_expires IS NULL))
);
CREATE INDEX ON quotes (shop_id, id);
CREATE INDEX ON quotes USING gin (codes);
CREATE INDEX ON quotes (changed_at);
CREATE UNIQUE INDEX ON quotes (sheet) WHERE sheet IS NOT NULL;

-- What stays of a quote that was erased.
CREATE TABLE erased_quotes (
    id        uuid PRIMARY KEY,
    shop_id   bigint NOT NULL REFERENCES shops ON DELETE CASCADE,
    erased_at timestamptz NOT NULL DEFAULT now(),
    erased_by text NOT NULL -- the prefix of a key, or "retention"
);

CREATE POLICY of_the_shop ON quotes USING ((SELECT shops_in_view()) IN ('*', shop_id::text));
CREATE POLICY of_the_shop ON erased_quotes USING ((SELECT shops_in_view()) IN ('*', shop_id::text));

-- A request that comes with the link of a sheet sees that quote, and nothing else.
CREATE POLICY by_its_sheet ON quotes FOR SELECT
    USING (sheet = nullif(current_setting('midstroke.sheet', true), '') AND now() < sheet_expires);

ALTER TABLE quotes ENABLE ROW LEVEL SECURITY;
ALTER TABLE quotes FORCE ROW LEVEL SECURITY;
ALTER TABLE erased_quotes ENABLE ROW LEVEL SECURITY;
ALTER TABLE erased_quotes FORCE ROW LEVEL SECURITY;

SELECT grant_rights();

-- +goose Down

DROP TABLE quotes, erased_quotes;
ALTER TABLE keys DROP COLUMN keeps_quotes;
