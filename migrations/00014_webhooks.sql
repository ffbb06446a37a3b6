-- Webhooks: where shops want to be told of events, and what they were sent.

-- +goose Up

CREATE TABLE webhooks (
    id          uuid PRIMARY KEY, -- version 7, so that later ones sort behind earlier ones
    shop_id     bigint NOT NULL REFERENCES shops ON DELETE CASCADE,
    url         text NOT NULL,
    events      text[] NOT NULL CHECK (cardinality(events) > 0),
    description text NOT NULL,
    active      boolean NOT NULL,
    secret      bytea NOT NULL CHECK (octet_length(secret) BETWEEN 24 AND 64), -- that events are signed by
    created_at  timestamptz NOT NULL DEFAULT now(),
    created_by  text NOT NULL
);
CREATE INDEX ON webhooks (shop_id);

CREATE TABLE webhook_deliveries (
    id         uuid PRIMARY KEY, -- version 7; the webhook-id of the message
    shop_id    bigint NOT NULL REFERENCES shops ON DELETE CASCADE,
    webhook_id uuid NOT NULL REFERENCES webhooks ON DELETE CASCADE,
    event      text NOT NULL,
    body       bytea NOT NULL, -- as it is signed and sent
    state      text NOT NULL DEFAULT 'waiting' CHECK (state IN ('waiting', 'delivered', 'failed')),
    attempts   integer NOT NULL DEFAULT 0,
    created_at timestamptz NOT NULL DEFAULT now(),
    next_at    timestamptz,
    -- The last attempt.
    tried_at   timestamptz,
    took_ms    integer,
    status     integer,
    fault      text, -- a code; NULL where it didn't fail
    detail     text,
    CHECK ((tried_at IS NULL) = (took_ms IS NULL))
);
CREATE INDEX ON webhook_deliveries (webhook_id, id);
CREATE INDEX ON webhook_deliveries (created_at);

CREATE POLICY of_the_shop ON webhooks USING ((SELECT shops_in_view()) IN ('*', shop_id::text));
CREATE POLICY of_the_shop ON webhook_deliveries USING ((SELECT shops_in_view()) IN ('*', shop_id::text));

ALTER TABLE webhooks ENABLE ROW LEVEL SECURITY;
ALTER TABLE webhooks FORCE ROW LEVEL SECURITY;
ALTER TABLE webhook_deliveries ENABLE ROW LEVEL SECURITY;
ALTER TABLE webhook_deliveries FORCE ROW LEVEL SECURITY;

SELECT grant_rights();

-- +goose Down

DROP TABLE webhook_deliveries, webhooks;
