-- +goose Up
-- What a caution needs to know: how fast the water ran where it was waded, and
-- whether there was a storm. Both are optional; storm is false when not noted.

ALTER TABLE session
    ADD COLUMN velocity_ms double precision CONSTRAINT session_velocity_possible CHECK (velocity_ms BETWEEN 0 AND 15),
    ADD COLUMN storm boolean NOT NULL DEFAULT false;

-- +goose Down
ALTER TABLE session DROP COLUMN storm, DROP COLUMN velocity_ms;
