-- What is known of a damper's forces. The columns are NULL in dampers that were there
-- before, so none of their rows is written again.

-- +goose Up

ALTER TABLE dampers
    ADD COLUMN reservoir          text CHECK (reservoir IN ('none', 'attached', 'remote')),
    -- Forces over velocity in the form of files: "soft: 0.13 160/380; 0.39 290/690 | firm: …".
    ADD COLUMN force_table        text CHECK (force_table <> ''),
    ADD COLUMN gas_included       boolean NOT NULL DEFAULT false,
    ADD COLUMN gas_force_n        double precision CHECK (gas_force_n > 0 AND gas_force_n <= 5000),
    ADD COLUMN test_temperature_c double precision CHECK (test_temperature_c BETWEEN -60 AND 200);

-- +goose Down

ALTER TABLE dampers
    DROP COLUMN reservoir,
    DROP COLUMN force_table,
    DROP COLUMN gas_included,
    DROP COLUMN gas_force_n,
    DROP COLUMN test_temperature_c;
