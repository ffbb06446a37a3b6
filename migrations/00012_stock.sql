-- Stock: how many of each part a shop has, and where. It is apart from the revisions of
-- catalogues and moves with every sale.

-- +goose Up

CREATE TABLE stock (
    shop_id    bigint NOT NULL REFERENCES shops ON DELETE CASCADE,
    code       text COLLATE "C" NOT NULL,
    location   text COLLATE "C" NOT NULL,
    quantity   integer NOT NULL CHECK (quantity >= 0),
    low        integer CHECK (low >= 0), -- at or below which the shop wants to be told
    version    bigint NOT NULL,          -- of the stock, when the line last changed
    changed_at timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (shop_id, code, location)
);
CREATE INDEX ON stock (shop_id, version);

-- Each change of a shop's stock has a number. Whoever changes it holds the row until
-- its transaction ends, so that the changes of a shop come one after the other.
CREATE TABLE stock_versions (
    shop_id bigint PRIMARY KEY REFERENCES shops ON DELETE CASCADE,
    version bigint NOT NULL,
    epoch   bigint NOT NULL -- the version at which lines were last deleted
);

ALTER TABLE quotes
    ADD COLUMN needs json NOT NULL DEFAULT '[]', -- how many of each part
    ADD COLUMN taken json NOT NULL DEFAULT '[]'; -- what was taken from which location
ALTER TABLE quotes ALTER COLUMN needs DROP DEFAULT;

CREATE POLICY of_the_shop ON stock USING ((SELECT shops_in_view()) IN ('*', shop_id::text));
CREATE POLICY of_the_shop ON stock_versions USING ((SELECT shops_in_view()) IN ('*', shop_id::text));

ALTER TABLE stock ENABLE ROW LEVEL SECURITY;
ALTER TABLE stock FORCE ROW LEVEL SECURITY;
ALTER TABLE stock_versions ENABLE ROW LEVEL SECURITY;
ALTER TABLE stock_versions FORCE ROW LEVEL SECURITY;

SELECT grant_rights();

-- +goose Down

DROP TABLE stock, stock_versions;
ALTER TABLE quotes DROP COLUMN needs, DROP COLUMN taken;
