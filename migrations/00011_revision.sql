-- +goose Up

-- How often the outfit's journal has been written. Every writer counts it up first, so that
-- the writers of one outfit come one after the other, and whoever keeps an answer knows
-- whether anything has changed since.
ALTER TABLE outfit ADD COLUMN revision bigint NOT NULL DEFAULT 0;
COMMENT ON COLUMN outfit.revision IS 'how often the journal has been written; locked by each writer';

-- The revision of the transaction under way, 0 outside the program.
-- +goose StatementBegin
CREATE FUNCTION revision_under_way() RETURNS bigint LANGUAGE sql STABLE
RETURN coalesce(nullif(current_setting('rigtally.revision', true), ''), '0')::bigint;
-- +goose StatementEnd

-- Rows of these say at which revision they were written, so that a reader that keeps them
-- reads again only what has changed. A session is never updated: it is taken out and put in anew, or
-- moves to deleted_session and back.
ALTER TABLE session ADD COLUMN changed bigint NOT NULL DEFAULT 0;
ALTER TABLE session ALTER COLUMN changed SET DEFAULT revision_under_way();
ALTER TABLE deleted_session ADD COLUMN changed bigint NOT NULL DEFAULT 0;
ALTER TABLE deleted_session ALTER COLUMN changed SET DEFAULT revision_under_way();
ALTER TABLE rig ADD COLUMN changed bigint NOT NULL DEFAULT 0;
ALTER TABLE rig ALTER COLUMN changed SET DEFAULT revision_under_way();
CREATE INDEX session_by_change ON session (outfit_id, changed);
CREATE INDEX deleted_session_by_change ON deleted_session (outfit_id, changed);
CREATE INDEX rig_by_change ON rig (outfit_id, changed);

-- +goose Down
ALTER TABLE rig DROP COLUMN changed;
ALTER TABLE deleted_session DROP COLUMN changed;
ALTER TABLE session DROP COLUMN changed;
DROP FUNCTION revision_under_way();
ALTER TABLE outfit DROP COLUMN revision;
