-- Files of requests that are answered in the background, and their answers.

-- +goose Up

CREATE TABLE batch_jobs (
    id          uuid PRIMARY KEY, -- version 7
    shop_id     bigint NOT NULL REFERENCES shops ON DELETE CASCADE,
    state       text NOT NULL CHECK (state IN ('waiting', 'running', 'done', 'failed')),
    print       bytea NOT NULL,   -- of the request, so that the same file is one job
    file        text NOT NULL,
    media       text NOT NULL,
    size        bigint NOT NULL,
    asked       json NOT NULL,
    catalog     text NOT NULL,
    owner_id    bigint NOT NULL,  -- the shop of the catalogue, which may be the demo's
    revision    integer NOT NULL,
    rows        integer NOT NULL,
    progress    json NOT NULL,
    result_size bigint NOT NULL DEFAULT 0,
    problem     text NOT NULL DEFAULT '',
    claim       uuid,             -- of the attempt that may add to the answer
    began_at    timestamptz,
    began_rows  integer NOT NULL DEFAULT 0,
    created_at  timestamptz NOT NULL,
    changed_at  timestamptz NOT NULL,
    finished_at timestamptz,
    expires_at  timestamptz,
    CHECK ((finished_at IS NOT NULL) = (state IN ('done', 'failed')))
);
CREATE INDEX ON batch_jobs (shop_id, print);
CREATE INDEX ON batch_jobs (expires_at) WHERE expires_at IS NOT NULL;

-- The bytes of files and of answers, which Postgres compresses.
CREATE TABLE batch_pieces (
    job_id    uuid NOT NULL REFERENCES batch_jobs ON DELETE CASCADE,
    shop_id   bigint NOT NULL REFERENCES shops ON DELETE CASCADE,
    is_answer boolean NOT NULL,
    starts_at bigint NOT NULL,
    content   bytea NOT NULL,
    PRIMARY KEY (job_id, is_answer, starts_at)
);

CREATE POLICY of_the_shop ON batch_jobs USING ((SELECT shops_in_view()) IN ('*', shop_id::text));
CREATE POLICY of_the_shop ON batch_pieces USING ((SELECT shops_in_view()) IN ('*', shop_id::text));

ALTER TABLE batch_jobs ENABLE ROW LEVEL SECURITY;
ALTER TABLE batch_jobs FORCE ROW LEVEL SECURITY;
ALTER TABLE batch_pieces ENABLE ROW LEVEL SECURITY;
ALTER TABLE batch_pieces FORCE ROW LEVEL SECURITY;

SELECT grant_rights();

-- +goose Down

DROP TABLE batch_pieces, batch_jobs;
