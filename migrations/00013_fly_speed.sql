-- +goose Up
-- How fast the current ran where the fly was fished, in m/s.
ALTER TABLE stint ADD COLUMN fly_speed_ms double precision CONSTRAINT stint_fly_speed_possible CHECK (fly_speed_ms BETWEEN 0 AND 15);

-- +goose Down
ALTER TABLE stint DROP COLUMN fly_speed_ms;
