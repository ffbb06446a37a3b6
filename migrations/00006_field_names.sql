-- Columns are named as the fields are in files, lists and requests.

-- +goose Up

ALTER TABLE sleeves RENAME COLUMN outer_diameter TO "outer";
ALTER TABLE dampers RENAME COLUMN adjusts_compression TO adjusters_compression;
ALTER TABLE dampers RENAME COLUMN adjusts_rebound TO adjusters_rebound;
ALTER TABLE dampers RENAME COLUMN adjusts_ride_height TO adjusters_ride_height;

-- +goose Down

ALTER TABLE dampers RENAME COLUMN adjusters_ride_height TO adjusts_ride_height;
ALTER TABLE dampers RENAME COLUMN adjusters_rebound TO adjusts_rebound;
ALTER TABLE dampers RENAME COLUMN adjusters_compression TO adjusts_compression;
ALTER TABLE sleeves RENAME COLUMN "outer" TO outer_diameter;
