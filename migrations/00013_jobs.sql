-- Jobs: work in the background that outlives the request and the process that asked
-- for it. The tables are those of River (riverqueue/river), as its own migrations 2 to 8
-- make them, without those that it doesn't use with Postgres. A test compares them.

-- +goose Up

CREATE TYPE river_job_state AS ENUM ('available', 'cancelled', 'completed', 'discarded', 'pending', 'retryable', 'running', 'scheduled');

CREATE TABLE river_job (
    id            bigserial PRIMARY KEY,
    state         river_job_state NOT NULL DEFAULT 'available',
    attempt       smallint NOT NULL DEFAULT 0,
    max_attempts  smallint NOT NULL DEFAULT 25,
    attempted_at  timestamptz,
    created_at    timestamptz NOT NULL DEFAULT now(),
    finalized_at  timestamptz,
    scheduled_at  timestamptz NOT NULL DEFAULT now(),
    priority      smallint NOT NULL DEFAULT 1,
    args          jsonb NOT NULL, -- "shop" is the number of the shop that it works for
    attempted_by  text[],
    errors        jsonb[],
    kind          text NOT NULL,
    metadata      jsonb NOT NULL DEFAULT '{}',
    queue         text NOT NULL DEFAULT 'default',
    tags          varchar(255)[] NOT NULL DEFAULT '{}',
    unique_key    bytea,
    unique_states bit(8),
    CONSTRAINT finalized_or_finalized_at_null CHECK (
        (finalized_at IS NULL AND state NOT IN ('cancelled', 'completed', 'discarded')) OR
        (finalized_at IS NOT NULL AND state IN ('cancelled', 'completed', 'discarded'))),
    CONSTRAINT max_attempts_is_positive CHECK (max_attempts > 0),
    CONSTRAINT priority_in_range CHECK (priority >= 1 AND priority <= 4),
    CONSTRAINT queue_length CHECK (char_length(queue) > 0 AND char_length(queue) < 128),
    CONSTRAINT kind_length CHECK (char_length(kind) > 0 AND char_length(kind) < 128)
);

-- +goose StatementBegin
CREATE FUNCTION river_job_state_in_bitmask(bitmask bit(8), state river_job_state) RETURNS boolean
LANGUAGE sql IMMUTABLE AS $$
    SELECT CASE state
        WHEN 'available' THEN get_bit(bitmask, 7)
        WHEN 'cancelled' THEN get_bit(bitmask, 6)
        WHEN 'completed' THEN get_bit(bitmask, 5)
        WHEN 'discarded' THEN get_bit(bitmask, 4)
        WHEN 'pending'   THEN get_bit(bitmask, 3)
        WHEN 'retryable' THEN get_bit(bitmask, 2)
        WHEN 'running'   THEN get_bit(bitmask, 1)
        WHEN 'scheduled' THEN get_bit(bitmask, 0)
        ELSE 0
    END = 1;
$$;
-- +goose StatementEnd

-- River has one index over the state. A condition on an enum can't be looked up in an
-- index of a table with policies, since its operator isn't leakproof; a condition that
-- the whole index has can.
CREATE INDEX river_job_available ON river_job (queue, priority, scheduled_at, id) WHERE state = 'available';
CREATE INDEX river_job_waiting ON river_job (scheduled_at) WHERE state IN ('retryable', 'scheduled');
CREATE INDEX river_job_running ON river_job (id) WHERE state = 'running';
CREATE INDEX river_job_finalized ON river_job (finalized_at) WHERE finalized_at IS NOT NULL;
CREATE UNIQUE INDEX river_job_unique_idx ON river_job (unique_key)
    WHERE unique_key IS NOT NULL AND unique_states IS NOT NULL AND river_job_state_in_bitmask(unique_states, state);

-- Which of the processes does what one of them has to do for all.
CREATE UNLOGGED TABLE river_leader (
    elected_at timestamptz NOT NULL,
    expires_at timestamptz NOT NULL,
    leader_id  text NOT NULL,
    name       text PRIMARY KEY DEFAULT 'default',
    CONSTRAINT name_length CHECK (name = 'default'),
    CONSTRAINT leader_id_length CHECK (char_length(leader_id) > 0 AND char_length(leader_id) < 128)
);

CREATE TABLE river_queue (
    name       text PRIMARY KEY NOT NULL,
    created_at timestamptz NOT NULL DEFAULT now(),
    metadata   jsonb NOT NULL DEFAULT '{}'::jsonb,
    paused_at  timestamptz,
    updated_at timestamptz NOT NULL DEFAULT CURRENT_TIMESTAMP
);

-- A request puts jobs in for its own shop, and sees no others. The keeper works on all.
CREATE POLICY of_the_shop ON river_job USING ((SELECT shops_in_view()) IN ('*', args ->> 'shop'));
CREATE POLICY of_the_keeper ON river_leader USING ((SELECT keeps_all_shops()));
CREATE POLICY of_the_keeper ON river_queue USING ((SELECT keeps_all_shops()));

ALTER TABLE river_job ENABLE ROW LEVEL SECURITY;
ALTER TABLE river_job FORCE ROW LEVEL SECURITY;
ALTER TABLE river_leader ENABLE ROW LEVEL SECURITY;
ALTER TABLE river_leader FORCE ROW LEVEL SECURITY;
ALTER TABLE river_queue ENABLE ROW LEVEL SECURITY;
ALTER TABLE river_queue FORCE ROW LEVEL SECURITY;

-- The rights of before, and those to the jobs.

-- +goose StatementBegin
CREATE OR REPLACE FUNCTION grant_rights() RETURNS void LANGUAGE plpgsql AS $$
DECLARE
    ours record;
    home regnamespace := (SELECT relnamespace FROM pg_class WHERE oid = 'shops'::regclass);
    owner regrole := (SELECT relowner FROM pg_class WHERE oid = 'shops'::regclass);
    who text;
    may text;
BEGIN
    FOREACH who IN ARRAY ARRAY['midstroke_service', 'midstroke_keeper'] LOOP
        CONTINUE WHEN NOT EXISTS (SELECT FROM pg_roles WHERE rolname = who);
        EXECUTE format('GRANT USAGE ON SCHEMA %s TO %I', home, who);
        FOR ours IN
            SELECT oid::regclass AS called, relname FROM pg_class
            WHERE relnamespace = home AND relkind IN ('r', 'p') AND (relrowsecurity OR relname = 'goose_db_version')
        LOOP
            may := CASE
                WHEN ours.relname IN ('shops', 'goose_db_version') THEN 'SELECT'
                WHEN ours.relname = 'catalogs' THEN 'SELECT, UPDATE' -- to lock a row is to update it
                WHEN ours.relname = 'keys' AND who = 'midstroke_service' THEN 'SELECT (shop_id, hash, revoked_at, expires_at)'
                WHEN ours.relname = 'keys' THEN 'SELECT, UPDATE (last_used_at)'
                WHEN ours.relname = 'publications' THEN 'SELECT, INSERT'
                WHEN ours.relname = 'river_job' AND who = 'midstroke_service' THEN 'SELECT, INSERT, UPDATE'
                WHEN ours.relname IN ('river_leader', 'river_queue') AND who = 'midstroke_service' THEN NULL
                ELSE 'SELECT, INSERT, UPDATE, DELETE'
            END;
            EXECUTE format('REVOKE ALL ON %s FROM %I', ours.called, who);
            CONTINUE WHEN may IS NULL;
            EXECUTE format('GRANT %s ON %s TO %I', may, ours.called, who);
        END LOOP;
        EXECUTE format('GRANT USAGE ON SEQUENCE %s.river_job_id_seq TO %I', home, who);
        EXECUTE format('ALTER DEFAULT PRIVILEGES FOR ROLE %s IN SCHEMA %s GRANT SELECT, INSERT, UPDATE, DELETE ON TABLES TO %I', owner, home, who);
    END LOOP;
END
$$;
-- +goose StatementEnd

SELECT grant_rights();

-- +goose Down

DROP TABLE river_job, river_leader, river_queue;
DROP FUNCTION river_job_state_in_bitmask;
DROP TYPE river_job_state;

-- +goose StatementBegin
CREATE OR REPLACE FUNCTION grant_rights() RETURNS void LANGUAGE plpgsql AS $$
DECLARE
    ours record;
    home regnamespace := (SELECT relnamespace FROM pg_class WHERE oid = 'shops'::regclass);
    owner regrole := (SELECT relowner FROM pg_class WHERE oid = 'shops'::regclass);
    who text;
    may text;
BEGIN
    FOREACH who IN ARRAY ARRAY['midstroke_service', 'midstroke_keeper'] LOOP
        CONTINUE WHEN NOT EXISTS (SELECT FROM pg_roles WHERE rolname = who);
        EXECUTE format('GRANT USAGE ON SCHEMA %s TO %I', home, who);
        FOR ours IN
            SELECT oid::regclass AS called, relname FROM pg_class
            WHERE relnamespace = home AND relkind IN ('r', 'p') AND (relrowsecurity OR relname = 'goose_db_version')
        LOOP
            may := CASE
                WHEN ours.relname IN ('shops', 'goose_db_version') THEN 'SELECT'
                WHEN ours.relname = 'catalogs' THEN 'SELECT, UPDATE' -- to lock a row is to update it
                WHEN ours.relname = 'keys' AND who = 'midstroke_service' THEN 'SELECT (shop_id, hash, revoked_at, expires_at)'
                WHEN ours.relname = 'keys' THEN 'SELECT, UPDATE (last_used_at)'
                WHEN ours.relname = 'publications' THEN 'SELECT, INSERT'
                ELSE 'SELECT, INSERT, UPDATE, DELETE'
            END;
            EXECUTE format('REVOKE ALL ON %s FROM %I', ours.called, who);
            EXECUTE format('GRANT %s ON %s TO %I', may, ours.called, who);
        END LOOP;
        EXECUTE format('ALTER DEFAULT PRIVILEGES FOR ROLE %s IN SCHEMA %s GRANT SELECT, INSERT, UPDATE, DELETE ON TABLES TO %I', owner, home, who);
    END LOOP;
END
$$;
-- +goose StatementEnd
