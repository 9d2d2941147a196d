-- +goose Up

-- A step is one deed of a person, kept with what it takes to take it back: for 30 days, as the deleted are.
CREATE TABLE step (
    outfit_id uuid NOT NULL REFERENCES outfit,
    id        uuid NOT NULL,
    at        timestamptz NOT NULL DEFAULT clock_timestamp(),
    role      text NOT NULL CONSTRAINT step_role_known CHECK (role IN ('owner', 'guide', 'client')),
    person_id uuid,
    of_angler uuid DEFAULT client_at_work(),
    kind      text NOT NULL CONSTRAINT step_kind_known CHECK (kind IN ('log', 'edit', 'delete', 'restore', 'import', 'rename', 'merge')),
    what      text NOT NULL DEFAULT '',
    about     uuid,
    content   jsonb NOT NULL DEFAULT '{}',
    undone_at timestamptz,
    PRIMARY KEY (outfit_id, id)
);
CREATE INDEX step_by_time ON step (outfit_id, at);
COMMENT ON COLUMN step.person_id IS 'whose step it is; null: of who works at the machine that keeps the journal';
COMMENT ON COLUMN step.of_angler IS 'the client whose step it is; null: the outfit''s';
COMMENT ON COLUMN step.what IS 'a sentence; empty where it follows from the sessions, so that nobody''s name is kept in it';
COMMENT ON COLUMN step.about IS 'what was renamed, or what something was merged into';
COMMENT ON COLUMN step.content IS 'what it added, moved and took out beside sessions';
COMMENT ON COLUMN step.undone_at IS 'null: it stands';

-- The sessions that a step wrote: which version, and what was there before.
CREATE TABLE step_session (
    outfit_id  uuid NOT NULL,
    step_id    uuid NOT NULL,
    session_id uuid NOT NULL,
    version    integer NOT NULL,
    before     jsonb,
    gone_at    timestamptz,
    of_angler  uuid DEFAULT client_at_work(),
    PRIMARY KEY (outfit_id, step_id, session_id),
    FOREIGN KEY (outfit_id, step_id) REFERENCES step ON DELETE CASCADE
);
COMMENT ON COLUMN step_session.version IS 'the version that the session has as this step wrote it: a later one once a step after it was taken back';
COMMENT ON COLUMN step_session.before IS 'null: it was not in the journal';
COMMENT ON COLUMN step_session.gone_at IS 'since when that which was before was deleted; null: it was not';

-- Another name of something: what it was called before, or what was merged into it. Of several of one name the latest holds.
CREATE TABLE alias (
    outfit_id uuid NOT NULL REFERENCES outfit,
    id        uuid NOT NULL,
    kind      text NOT NULL CONSTRAINT alias_kind_known CHECK (kind IN ('angler', 'water', 'beat', 'rig', 'knot')),
    name      text NOT NULL CONSTRAINT alias_has_a_name CHECK (btrim(name) <> ''),
    water_id  uuid,
    of        uuid,
    knot      text NOT NULL DEFAULT '',
    was       uuid,
    step_id   uuid,
    at        timestamptz NOT NULL DEFAULT clock_timestamp(),
    PRIMARY KEY (outfit_id, id),
    CONSTRAINT alias_of_something CHECK ((kind = 'knot') = (of IS NULL) AND (kind = 'knot') = (btrim(knot) <> '')),
    CONSTRAINT alias_of_a_beat CHECK ((kind = 'beat') = (water_id IS NOT NULL))
);
CREATE INDEX alias_by_name ON alias (outfit_id, kind, lower(name));
CREATE INDEX alias_by_former_id ON alias (outfit_id, was) WHERE was IS NOT NULL;
COMMENT ON COLUMN alias.was IS 'the id of what was merged; phones may still send it';
COMMENT ON COLUMN alias.step_id IS 'the step that made it, which takes it back';

-- What was chosen for sheets of the same headers.
CREATE TABLE reading (
    outfit_id uuid NOT NULL REFERENCES outfit,
    headers   bytea NOT NULL,
    rules     jsonb NOT NULL,
    at        timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (outfit_id, headers)
);
COMMENT ON COLUMN reading.headers IS 'SHA-256 of the headers';

ALTER TABLE session_change DROP CONSTRAINT session_change_known,
    ADD CONSTRAINT session_change_known CHECK (what IN ('logged', 'changed', 'deleted', 'restored', 'imported', 'merged', 'taken back'));

-- Aliases are looked up past policies: a client's phone may send the id of a water that the outfit has merged meanwhile.
-- Names are told to nobody who is a client.
-- +goose StatementBegin
CREATE FUNCTION merged_into(asked uuid[]) RETURNS TABLE (former uuid, present uuid) LANGUAGE plpgsql STABLE SECURITY DEFINER AS $$
BEGIN
    RETURN QUERY SELECT DISTINCT ON (a.was) a.was, a.of FROM public.alias a WHERE a.outfit_id = public.outfit_at_work() AND a.was = ANY (asked) ORDER BY a.was, a.at DESC;
END
$$;
CREATE FUNCTION alias_of(asked_kind text, asked text, on_water uuid) RETURNS uuid LANGUAGE plpgsql STABLE SECURITY DEFINER AS $$
BEGIN
    RETURN (SELECT a.of FROM public.alias a WHERE public.client_at_work() IS NULL AND a.outfit_id = public.outfit_at_work() AND a.kind = asked_kind
        AND lower(a.name) = lower(asked) AND a.water_id IS NOT DISTINCT FROM on_water ORDER BY a.at DESC LIMIT 1);
END
$$;
-- A session that goes back gets a new version, which every step that had left it so is told: also those of others, which a client
-- does not see. So undo after undo goes back step by step.
CREATE FUNCTION steps_follow(asked uuid[], was integer[], present integer[]) RETURNS void LANGUAGE plpgsql SECURITY DEFINER AS $$
BEGIN
    UPDATE public.step_session x SET version = f.present FROM unnest(asked, was, present) AS f (session_id, was, present)
    WHERE x.outfit_id = public.outfit_at_work() AND x.session_id = f.session_id AND x.version = f.was AND (public.client_at_work() IS NULL
        OR EXISTS (SELECT FROM public.session s WHERE s.outfit_id = x.outfit_id AND s.id = x.session_id AND s.angler_id = public.client_at_work())
        OR EXISTS (SELECT FROM public.deleted_session d WHERE d.outfit_id = x.outfit_id AND d.session_id = x.session_id AND d.angler_id = ANY (public.own_anglers())));
END
$$;
-- The angler that a client is, and those who were merged into that one.
CREATE FUNCTION own_anglers() RETURNS uuid[] LANGUAGE plpgsql STABLE SECURITY DEFINER AS $$
BEGIN
    RETURN public.client_at_work() || ARRAY(SELECT a.was FROM public.alias a WHERE a.outfit_id = public.outfit_at_work() AND a.of = public.client_at_work() AND a.kind = 'angler' AND a.was IS NOT NULL);
END
$$;
-- +goose StatementEnd

-- What a fished rig is called, and what its knots are called, may be corrected, by a transaction that says so; how it is
-- tied may not. The same holds for the arms of a trial.
-- +goose StatementBegin
CREATE FUNCTION corrects_names() RETURNS boolean LANGUAGE sql STABLE RETURN coalesce(current_setting('rigtally.corrects', true), '') = 'names';
CREATE OR REPLACE FUNCTION keep_fished_rigs() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
    fished uuid := CASE TG_TABLE_NAME WHEN 'rig' THEN to_jsonb(OLD) ->> 'id' ELSE to_jsonb(OLD) ->> 'rig_id' END;
    called text[] := CASE TG_TABLE_NAME WHEN 'rig' THEN ARRAY['name', 'of_angler', 'version', 'changed'] ELSE ARRAY['junction', 'junction_name'] END;
BEGIN
    IF TG_OP = 'UPDATE' AND OLD.outfit_id = outfit_at_work() AND corrects_names() AND to_jsonb(OLD) - called = to_jsonb(NEW) - called THEN
        RETURN NEW;
    END IF;
    IF OLD.outfit_id IS DISTINCT FROM outfit_at_work() OR EXISTS (SELECT FROM stint WHERE stint.outfit_id = OLD.outfit_id AND stint.rig_id = fished) THEN
        RAISE EXCEPTION 'a rig that has been fished never changes' USING ERRCODE = 'check_violation', CONSTRAINT = 'rig_fished_never_changes', HINT = 'rigtally.outfit must name the outfit';
    END IF;
    RETURN CASE TG_OP WHEN 'DELETE' THEN OLD ELSE NEW END;
END
$$;
CREATE OR REPLACE FUNCTION keep_trial_plans() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF (OLD.outcome, OLD.factor, OLD.unit, OLD.block, OLD.worth, OLD.most_hours, OLD.seed, OLD.order_cut, OLD.commitment, OLD.planned_at)
        IS DISTINCT FROM (NEW.outcome, NEW.factor, NEW.unit, NEW.block, NEW.worth, NEW.most_hours, NEW.seed, NEW.order_cut, NEW.commitment, NEW.planned_at)
        OR NOT corrects_names() AND (OLD.a_rig_id, OLD.a_level, OLD.b_rig_id, OLD.b_level) IS DISTINCT FROM (NEW.a_rig_id, NEW.a_level, NEW.b_rig_id, NEW.b_level) THEN
        RAISE EXCEPTION 'the plan of a trial never changes' USING ERRCODE = 'check_violation', CONSTRAINT = 'trial_plan_never_changes';
    END IF;
    RETURN NEW;
END
$$;
DO $$
DECLARE
    named text;
BEGIN
    FOREACH named IN ARRAY ARRAY['step', 'step_session', 'alias', 'reading'] LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY', named);
        EXECUTE format('CREATE POLICY %I ON %I USING (outfit_id = outfit_at_work())', named || '_of_the_outfit', named);
    END LOOP;
END
$$;
-- +goose StatementEnd
CREATE POLICY step_own ON step AS RESTRICTIVE TO rigtally_as_client USING (of_angler = client_at_work());
CREATE POLICY step_session_own ON step_session AS RESTRICTIVE TO rigtally_as_client USING (of_angler = client_at_work());
CREATE POLICY alias_not_for_clients ON alias AS RESTRICTIVE TO rigtally_as_client USING (false);
CREATE POLICY reading_not_for_clients ON reading AS RESTRICTIVE TO rigtally_as_client USING (false);
CREATE POLICY beat_kept ON beat AS RESTRICTIVE FOR DELETE TO rigtally_as_client USING (of_angler = client_at_work());
DROP POLICY deleted_session_own ON deleted_session;
CREATE POLICY deleted_session_own ON deleted_session AS RESTRICTIVE TO rigtally_as_client USING (angler_id = ANY ((SELECT own_anglers())::uuid[]));
DROP POLICY session_change_own ON session_change;
CREATE POLICY session_change_own ON session_change AS RESTRICTIVE TO rigtally_as_client USING (angler_id = ANY ((SELECT own_anglers())::uuid[]));

GRANT SELECT, INSERT, UPDATE, DELETE ON step, step_session, alias, reading TO rigtally_as_owner, rigtally_as_guide;
GRANT SELECT, INSERT, DELETE ON step, step_session TO rigtally_as_client;
GRANT UPDATE (undone_at, content) ON step TO rigtally_as_client;
GRANT UPDATE (angler_id) ON share TO rigtally_as_owner, rigtally_as_guide;

-- +goose Down
REVOKE UPDATE (angler_id) ON share FROM rigtally_as_owner, rigtally_as_guide;
DROP POLICY session_change_own ON session_change;
CREATE POLICY session_change_own ON session_change AS RESTRICTIVE TO rigtally_as_client USING (angler_id = client_at_work());
DROP POLICY deleted_session_own ON deleted_session;
CREATE POLICY deleted_session_own ON deleted_session AS RESTRICTIVE TO rigtally_as_client USING (angler_id = client_at_work());
DROP POLICY beat_kept ON beat;
-- +goose StatementBegin
CREATE OR REPLACE FUNCTION keep_trial_plans() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF (OLD.outcome, OLD.factor, OLD.a_rig_id, OLD.a_level, OLD.b_rig_id, OLD.b_level, OLD.unit, OLD.block, OLD.worth, OLD.most_hours, OLD.seed, OLD.order_cut, OLD.commitment, OLD.planned_at)
        IS DISTINCT FROM (NEW.outcome, NEW.factor, NEW.a_rig_id, NEW.a_level, NEW.b_rig_id, NEW.b_level, NEW.unit, NEW.block, NEW.worth, NEW.most_hours, NEW.seed, NEW.order_cut, NEW.commitment, NEW.planned_at) THEN
        RAISE EXCEPTION 'the plan of a trial never changes' USING ERRCODE = 'check_violation', CONSTRAINT = 'trial_plan_never_changes';
    END IF;
    RETURN NEW;
END
$$;
CREATE OR REPLACE FUNCTION keep_fished_rigs() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
    fished uuid := CASE TG_TABLE_NAME WHEN 'rig' THEN to_jsonb(OLD) ->> 'id' ELSE to_jsonb(OLD) ->> 'rig_id' END;
BEGIN
    IF OLD.outfit_id IS DISTINCT FROM outfit_at_work() OR EXISTS (SELECT FROM stint WHERE stint.outfit_id = OLD.outfit_id AND stint.rig_id = fished) THEN
        RAISE EXCEPTION 'a rig that has been fished never changes' USING ERRCODE = 'check_violation', CONSTRAINT = 'rig_fished_never_changes', HINT = 'rigtally.outfit must name the outfit';
    END IF;
    RETURN CASE TG_OP WHEN 'DELETE' THEN OLD ELSE NEW END;
END
$$;
-- +goose StatementEnd
DROP FUNCTION corrects_names(), steps_follow(uuid[], integer[], integer[]), own_anglers(), alias_of(text, text, uuid), merged_into(uuid[]);
ALTER TABLE session_change NO FORCE ROW LEVEL SECURITY;
UPDATE session_change SET what = 'changed' WHERE what IN ('merged', 'taken back');
ALTER TABLE session_change FORCE ROW LEVEL SECURITY;
ALTER TABLE session_change DROP CONSTRAINT session_change_known,
    ADD CONSTRAINT session_change_known CHECK (what IN ('logged', 'changed', 'deleted', 'restored', 'imported'));
DROP TABLE reading, alias, step_session, step;
