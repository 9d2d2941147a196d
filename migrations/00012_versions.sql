-- +goose Up

-- A version of everything that is edited or deleted, one more at each change, so that of two
-- who change the same thing the later one is told what the other has made of it.
ALTER TABLE rig ADD COLUMN version integer NOT NULL DEFAULT 1 CONSTRAINT rig_version_counts_from_one CHECK (version >= 1);
ALTER TABLE claim ADD COLUMN version integer NOT NULL DEFAULT 1 CONSTRAINT claim_version_counts_from_one CHECK (version >= 1);
ALTER TABLE bench_pull ADD COLUMN version integer NOT NULL DEFAULT 1 CONSTRAINT bench_pull_version_counts_from_one CHECK (version >= 1);
ALTER TABLE trial ADD COLUMN version integer NOT NULL DEFAULT 1 CONSTRAINT trial_version_counts_from_one CHECK (version >= 1);
ALTER TABLE trial_unit ADD COLUMN version integer NOT NULL DEFAULT 1 CONSTRAINT trial_unit_version_counts_from_one CHECK (version >= 1);
COMMENT ON COLUMN trial.version IS 'of the name, the notes and the end; units have versions of their own';

CREATE INDEX session_by_logging ON session (outfit_id, logged_at DESC, day DESC, id DESC);

-- A session is in the journal or among the deleted, never both. The writers see to it; these
-- are for whatever else may write. Each looks at a whole statement, so that a bulk copy pays
-- for one question and not for one a row.
DELETE FROM deleted_session d USING session s WHERE s.outfit_id = d.outfit_id AND s.id = d.session_id;
-- +goose StatementBegin
CREATE FUNCTION keep_live_sessions_undeleted() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF EXISTS (SELECT FROM added a JOIN deleted_session d ON d.outfit_id = a.outfit_id AND d.session_id = a.id) THEN
        RAISE EXCEPTION 'a session is in the journal and deleted at once' USING ERRCODE = 'check_violation', CONSTRAINT = 'session_live_or_deleted';
    END IF;
    RETURN NULL;
END
$$;
CREATE FUNCTION keep_deleted_sessions_dead() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF EXISTS (SELECT FROM added a JOIN session s ON s.outfit_id = a.outfit_id AND s.id = a.session_id) THEN
        RAISE EXCEPTION 'a session is in the journal and deleted at once' USING ERRCODE = 'check_violation', CONSTRAINT = 'session_live_or_deleted';
    END IF;
    RETURN NULL;
END
$$;
-- +goose StatementEnd
CREATE TRIGGER session_live_or_deleted AFTER INSERT ON session REFERENCING NEW TABLE AS added FOR EACH STATEMENT EXECUTE FUNCTION keep_live_sessions_undeleted();
CREATE TRIGGER session_live_or_deleted AFTER INSERT ON deleted_session REFERENCING NEW TABLE AS added FOR EACH STATEMENT EXECUTE FUNCTION keep_deleted_sessions_dead();

-- +goose Down
DROP TRIGGER session_live_or_deleted ON deleted_session;
DROP TRIGGER session_live_or_deleted ON session;
DROP FUNCTION keep_deleted_sessions_dead(), keep_live_sessions_undeleted();
DROP INDEX session_by_logging;
ALTER TABLE trial_unit DROP COLUMN version;
ALTER TABLE trial DROP COLUMN version;
ALTER TABLE bench_pull DROP COLUMN version;
ALTER TABLE claim DROP COLUMN version;
ALTER TABLE rig DROP COLUMN version;
