-- Catalogues in immutable, numbered revisions.
--
-- Lengths are whole nanometres, as they are in the calculation: 1/64 in and
-- 1 µm are both whole numbers of them, so nothing is ever rounded on its way
-- in or out. A length that isn't known is NULL. Prices are whole hundredths
-- of the revision's currency.

-- +goose Up

-- Up to 10 m, the longest that any request may name.
CREATE DOMAIN length_nm AS bigint CHECK (VALUE > 0 AND VALUE <= 10000000000);
CREATE DOMAIN length_or_nought_nm AS bigint CHECK (VALUE >= 0 AND VALUE <= 10000000000);
CREATE DOMAIN signed_length_nm AS bigint CHECK (VALUE BETWEEN -10000000000 AND 10000000000);
-- Bytes in order and not words: every Postgres sorts codes as the service does.
CREATE DOMAIN part_code AS text COLLATE "C" CHECK (VALUE <> '' AND VALUE = btrim(VALUE) AND VALUE !~ '[[:cntrl:]]');
CREATE DOMAIN price_hundredths AS bigint CHECK (VALUE >= 0);

CREATE TABLE shops (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name       text COLLATE "C" NOT NULL UNIQUE CHECK (name <> ''),
    created_at timestamptz NOT NULL DEFAULT now()
);

-- Requests name a catalogue by its name alone, so names are unique over all
-- shops.
CREATE TABLE catalogs (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    shop_id    bigint NOT NULL REFERENCES shops ON DELETE RESTRICT,
    name       text COLLATE "C" NOT NULL UNIQUE CHECK (name <> ''),
    created_at timestamptz NOT NULL DEFAULT now()
);
CREATE INDEX ON catalogs (shop_id);

-- What decides an answer stands in the revision, so that the same request on
-- the same revision is answered alike for ever: the currency and the limits
-- within which parts go together, too. Their defaults are common practice, no
-- source.
CREATE TABLE revisions (
    catalog_id       bigint NOT NULL REFERENCES catalogs ON DELETE CASCADE,
    number           integer NOT NULL CHECK (number > 0),
    state            text NOT NULL DEFAULT 'draft' CHECK (state IN ('draft', 'published')),
    currency         text CHECK (currency ~ '^[A-Z]{3}$'), -- ISO 4217; NULL where no part has a price
    -- Diametral, as hole less part: bushing on sleeve and sleeve on sleeve,
    sleeve_gap_least length_or_nought_nm NOT NULL DEFAULT 0,
    sleeve_gap_most  length_or_nought_nm NOT NULL DEFAULT 300000,
    -- sleeve or bushing on bolt;
    bolt_gap_least   length_or_nought_nm NOT NULL DEFAULT 50000,
    bolt_gap_most    length_or_nought_nm NOT NULL DEFAULT 600000,
    -- and along the bolt what a bracket may close by being drawn in.
    left_over_most   length_or_nought_nm NOT NULL DEFAULT 500000,
    note             text NOT NULL DEFAULT '',
    created_at       timestamptz NOT NULL DEFAULT now(),
    published_at     timestamptz,
    PRIMARY KEY (catalog_id, number),
    CHECK ((state = 'published') = (published_at IS NOT NULL)),
    CHECK (sleeve_gap_least <= sleeve_gap_most),
    CHECK (bolt_gap_least <= bolt_gap_most)
);
CREATE INDEX revisions_newest ON revisions (catalog_id, number DESC) WHERE state = 'published';

-- end_has_its_own says whether an end has only what ends of its style have.
CREATE FUNCTION end_has_its_own(
    style text, bore bigint, bore_is text, width bigint,
    thread text, usable_length bigint, spigot bigint,
    hole_spacing bigint, slot bigint, hole bigint
) RETURNS boolean
LANGUAGE sql IMMUTABLE PARALLEL SAFE
RETURN CASE style
    WHEN 'eye' THEN num_nonnulls(thread, usable_length, spigot, hole_spacing, slot, hole) = 0
        AND (bore IS NULL) = (bore_is IS NULL)
    WHEN 'stud' THEN num_nonnulls(bore, bore_is, width, hole_spacing, slot, hole) = 0
    WHEN 'bar_pin' THEN num_nonnulls(bore, bore_is, width, thread, usable_length, spigot) = 0
    ELSE false
END;

CREATE TABLE dampers (
    catalog_id          bigint NOT NULL,
    revision            integer NOT NULL,
    code                part_code NOT NULL,
    description         text NOT NULL DEFAULT '',
    construction        text NOT NULL CHECK (construction IN ('twin_tube', 'monotube')),
    gas                 boolean NOT NULL DEFAULT false,
    adjusts_compression boolean NOT NULL DEFAULT false,
    adjusts_rebound     boolean NOT NULL DEFAULT false,
    adjusts_ride_height boolean NOT NULL DEFAULT false,
    -- Between the two ends' reference points.
    compressed          length_nm NOT NULL,
    extended            length_nm NOT NULL,
    length_tolerance    length_or_nought_nm NOT NULL DEFAULT 0,
    body_diameter       length_nm NOT NULL,
    upper_style         text NOT NULL,
    upper_bore          length_nm,
    upper_bore_is       text CHECK (upper_bore_is IN ('actual', 'nominal')),
    upper_width         length_nm,
    upper_thread        text CHECK (upper_thread <> ''),
    upper_usable_length length_nm,
    upper_spigot        length_nm,
    upper_hole_spacing  length_nm,
    upper_slot          length_nm,
    upper_hole          length_nm,
    lower_style         text NOT NULL,
    lower_bore          length_nm,
    lower_bore_is       text CHECK (lower_bore_is IN ('actual', 'nominal')),
    lower_width         length_nm,
    lower_thread        text CHECK (lower_thread <> ''),
    lower_usable_length length_nm,
    lower_spigot        length_nm,
    lower_hole_spacing  length_nm,
    lower_slot          length_nm,
    lower_hole          length_nm,
    invertible          boolean NOT NULL DEFAULT false,
    in_stock            boolean NOT NULL DEFAULT false,
    price               price_hundredths,
    PRIMARY KEY (catalog_id, revision, code),
    FOREIGN KEY (catalog_id, revision) REFERENCES revisions ON DELETE CASCADE,
    CHECK (extended > compressed),
    -- Longer when short than when long is no damper.
    CHECK (2 * length_tolerance < extended - compressed),
    CHECK (end_has_its_own(upper_style, upper_bore, upper_bore_is, upper_width, upper_thread,
        upper_usable_length, upper_spigot, upper_hole_spacing, upper_slot, upper_hole)),
    CHECK (end_has_its_own(lower_style, lower_bore, lower_bore_is, lower_width, lower_thread,
        lower_usable_length, lower_spigot, lower_hole_spacing, lower_slot, lower_hole))
);

CREATE TABLE sleeves (
    catalog_id     bigint NOT NULL,
    revision       integer NOT NULL,
    code           part_code NOT NULL,
    description    text NOT NULL DEFAULT '',
    outer_diameter length_nm NOT NULL,
    bore           length_nm NOT NULL,
    bore_is        text NOT NULL CHECK (bore_is IN ('actual', 'nominal')),
    length         length_nm NOT NULL,
    in_stock       boolean NOT NULL DEFAULT false,
    price          price_hundredths,
    PRIMARY KEY (catalog_id, revision, code),
    FOREIGN KEY (catalog_id, revision) REFERENCES revisions ON DELETE CASCADE,
    CHECK (outer_diameter > bore)
);

CREATE TABLE spacers (
    catalog_id  bigint NOT NULL,
    revision    integer NOT NULL,
    code        part_code NOT NULL,
    description text NOT NULL DEFAULT '',
    bore        length_nm NOT NULL,
    thickness   length_nm NOT NULL,
    in_stock    boolean NOT NULL DEFAULT false,
    price       price_hundredths,
    PRIMARY KEY (catalog_id, revision, code),
    FOREIGN KEY (catalog_id, revision) REFERENCES revisions ON DELETE CASCADE
);

-- An adapter mates with the damper's end "from" and shows the vehicle "to".
CREATE TABLE adapters (
    catalog_id         bigint NOT NULL,
    revision           integer NOT NULL,
    code               part_code NOT NULL,
    description        text NOT NULL DEFAULT '',
    from_style         text NOT NULL,
    from_bore          length_nm,
    from_bore_is       text CHECK (from_bore_is IN ('actual', 'nominal')),
    from_width         length_nm,
    from_thread        text CHECK (from_thread <> ''),
    from_usable_length length_nm,
    from_spigot        length_nm,
    from_hole_spacing  length_nm,
    from_slot          length_nm,
    from_hole          length_nm,
    to_style           text NOT NULL,
    to_bore            length_nm,
    to_bore_is         text CHECK (to_bore_is IN ('actual', 'nominal')),
    to_width           length_nm,
    to_thread          text CHECK (to_thread <> ''),
    to_usable_length   length_nm,
    to_spigot          length_nm,
    to_hole_spacing    length_nm,
    to_slot            length_nm,
    to_hole            length_nm,
    adds_length        signed_length_nm NOT NULL,
    in_stock           boolean NOT NULL DEFAULT false,
    price              price_hundredths,
    PRIMARY KEY (catalog_id, revision, code),
    FOREIGN KEY (catalog_id, revision) REFERENCES revisions ON DELETE CASCADE,
    CHECK (end_has_its_own(from_style, from_bore, from_bore_is, from_width, from_thread,
        from_usable_length, from_spigot, from_hole_spacing, from_slot, from_hole)),
    CHECK (end_has_its_own(to_style, to_bore, to_bore_is, to_width, to_thread,
        to_usable_length, to_spigot, to_hole_spacing, to_slot, to_hole))
);

-- A published revision never changes; it may only go as a whole, by way of
-- its row in revisions, and takes its parts along.

-- +goose StatementBegin
CREATE FUNCTION keep_published_revision() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'revision % of catalogue % is published and never changes', OLD.number, OLD.catalog_id
        USING ERRCODE = 'restrict_violation', HINT = 'publish a new revision';
END
$$;
-- +goose StatementEnd

CREATE TRIGGER keep_published BEFORE UPDATE ON revisions
    FOR EACH ROW WHEN (OLD.state = 'published') EXECUTE FUNCTION keep_published_revision();

-- Once a statement and not once a row, since catalogues are written by the
-- hundred thousand rows. While a revision is deleted as a whole its row is
-- gone before its parts are, so they go freely.

-- +goose StatementBegin
CREATE FUNCTION keep_published_parts() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF EXISTS (
        SELECT FROM revisions r
        WHERE r.state = 'published'
          AND (r.catalog_id, r.number) IN (SELECT t.catalog_id, t.revision FROM touched t)
    ) THEN
        RAISE EXCEPTION 'a published revision never changes, and % touches the % of one', TG_OP, TG_TABLE_NAME
            USING ERRCODE = 'restrict_violation', HINT = 'publish a new revision';
    END IF;
    RETURN NULL;
END
$$;
-- +goose StatementEnd

-- A trigger sees one set of touched rows, so an update takes two.

-- +goose StatementBegin
DO $$
DECLARE
    part text;
BEGIN
    FOREACH part IN ARRAY ARRAY['dampers', 'sleeves', 'spacers', 'adapters'] LOOP
        EXECUTE format('CREATE TRIGGER keep_published_insert AFTER INSERT ON %I REFERENCING NEW TABLE AS touched EXECUTE FUNCTION keep_published_parts()', part);
        EXECUTE format('CREATE TRIGGER keep_published_delete AFTER DELETE ON %I REFERENCING OLD TABLE AS touched EXECUTE FUNCTION keep_published_parts()', part);
        EXECUTE format('CREATE TRIGGER keep_published_update_of AFTER UPDATE ON %I REFERENCING OLD TABLE AS touched EXECUTE FUNCTION keep_published_parts()', part);
        EXECUTE format('CREATE TRIGGER keep_published_update_to AFTER UPDATE ON %I REFERENCING NEW TABLE AS touched EXECUTE FUNCTION keep_published_parts()', part);
    END LOOP;
END
$$;
-- +goose StatementEnd

-- Whoever listens on revision_published hears of each as it is committed, by
-- whatever means it was published.

-- +goose StatementBegin
CREATE FUNCTION tell_revision_published() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM pg_notify('revision_published', NEW.catalog_id || ' ' || NEW.number);
    RETURN NULL;
END
$$;
-- +goose StatementEnd

CREATE TRIGGER tell_published AFTER INSERT OR UPDATE ON revisions
    FOR EACH ROW WHEN (NEW.state = 'published') EXECUTE FUNCTION tell_revision_published();

-- +goose Down

DROP TABLE adapters, spacers, sleeves, dampers, revisions, catalogs, shops;
DROP FUNCTION tell_revision_published, keep_published_parts, keep_published_revision, end_has_its_own;
DROP DOMAIN price_hundredths, part_code, signed_length_nm, length_or_nought_nm, length_nm;
