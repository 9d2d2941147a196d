-- +goose Up
-- A fly change may cost no tag, which is known and not the same as a cut that
-- was not noted.
ALTER TABLE event
    DROP CONSTRAINT event_cut_possible,
    ADD CONSTRAINT event_cut_possible CHECK (cut_mm >= 0 AND cut_mm <= 2000);

-- +goose Down
UPDATE event SET cut_mm = NULL WHERE cut_mm = 0;
ALTER TABLE event
    DROP CONSTRAINT event_cut_possible,
    ADD CONSTRAINT event_cut_possible CHECK (cut_mm > 0 AND cut_mm <= 2000);
