-- +goose Up

-- What keeps outfits, and people within one, apart. Whatever login the program uses, each of its transactions steps
-- down to one of these roles first (journal/pg/who.go). None can log in, owns anything or goes round a policy. Which
-- outfit, and of a client which angler, the transaction says by settings; one that has ended is an empty text.
-- +goose StatementBegin
DO $$
DECLARE
    named text;
BEGIN
    FOREACH named IN ARRAY ARRAY['rigtally_as_owner', 'rigtally_as_guide', 'rigtally_as_client', 'rigtally_as_reader', 'rigtally_at_door'] LOOP
        IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = named) THEN
            BEGIN
                EXECUTE format('CREATE ROLE %I NOLOGIN', named);
            EXCEPTION WHEN duplicate_object OR unique_violation THEN
                NULL; -- made meanwhile, for another journal of the same server
            END;
        END IF;
    END LOOP;
END
$$;
-- +goose StatementEnd

CREATE FUNCTION outfit_at_work() RETURNS uuid LANGUAGE sql STABLE RETURN nullif(current_setting('rigtally.outfit', true), '')::uuid;
CREATE FUNCTION client_at_work() RETURNS uuid LANGUAGE sql STABLE RETURN nullif(current_setting('rigtally.client', true), '')::uuid;

-- What a client has made is the client's own: names need be unlike only those that one may see.
ALTER TABLE water ADD COLUMN of_angler uuid DEFAULT client_at_work();
ALTER TABLE beat ADD COLUMN of_angler uuid DEFAULT client_at_work();
ALTER TABLE rig ADD COLUMN of_angler uuid DEFAULT client_at_work();
ALTER TABLE trial ADD COLUMN of_angler uuid DEFAULT client_at_work();
COMMENT ON COLUMN rig.of_angler IS 'the client who made it; null: the outfit';
DROP INDEX water_name_once, beat_name_once, rig_revision_once, trial_name_once;
CREATE UNIQUE INDEX water_name_once ON water (outfit_id, coalesce(of_angler, outfit_id), lower(name));
CREATE UNIQUE INDEX beat_name_once ON beat (outfit_id, water_id, coalesce(of_angler, outfit_id), lower(name));
CREATE UNIQUE INDEX rig_revision_once ON rig (outfit_id, coalesce(of_angler, outfit_id), lower(name), revision);
CREATE UNIQUE INDEX trial_name_once ON trial (outfit_id, coalesce(of_angler, outfit_id), lower(name));

ALTER TABLE deleted_session ADD COLUMN angler_id uuid;
UPDATE deleted_session SET angler_id = (content ->> 'angler_id')::uuid;
ALTER TABLE deleted_session ALTER COLUMN angler_id SET NOT NULL;
CREATE INDEX session_by_angler ON session (outfit_id, angler_id, day DESC);

-- Triggers look at all of the outfit at work, whoever writes: a client does not see who else fished a rig. Who writes
-- without saying which outfit is at work, a superuser too, is refused, since the triggers would see nothing.
-- +goose StatementBegin
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
CREATE OR REPLACE FUNCTION keep_fished_rigs_whole() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
    IF NEW.outfit_id IS DISTINCT FROM outfit_at_work() OR EXISTS (SELECT FROM stint WHERE stint.outfit_id = NEW.outfit_id AND stint.rig_id = NEW.rig_id) THEN
        RAISE EXCEPTION 'a rig that has been fished never changes' USING ERRCODE = 'check_violation', CONSTRAINT = 'rig_fished_never_changes', HINT = 'rigtally.outfit must name the outfit';
    END IF;
    RETURN NEW;
END
$$;
CREATE OR REPLACE FUNCTION keep_live_sessions_undeleted() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
    IF EXISTS (SELECT FROM added a WHERE a.outfit_id IS DISTINCT FROM outfit_at_work())
        OR EXISTS (SELECT FROM added a JOIN deleted_session d ON d.outfit_id = a.outfit_id AND d.session_id = a.id) THEN
        RAISE EXCEPTION 'a session is in the journal and deleted at once' USING ERRCODE = 'check_violation', CONSTRAINT = 'session_live_or_deleted', HINT = 'rigtally.outfit must name the outfit';
    END IF;
    RETURN NULL;
END
$$;
CREATE OR REPLACE FUNCTION keep_deleted_sessions_dead() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
    IF EXISTS (SELECT FROM added a WHERE a.outfit_id IS DISTINCT FROM outfit_at_work())
        OR EXISTS (SELECT FROM added a JOIN session s ON s.outfit_id = a.outfit_id AND s.id = a.session_id) THEN
        RAISE EXCEPTION 'a session is in the journal and deleted at once' USING ERRCODE = 'check_violation', CONSTRAINT = 'session_live_or_deleted', HINT = 'rigtally.outfit must name the outfit';
    END IF;
    RETURN NULL;
END
$$;
-- +goose StatementEnd

-- Only who owns tables may gather their statistics.
-- +goose StatementBegin
CREATE FUNCTION gather_statistics() RETURNS void LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
    ANALYZE angler, water, beat, rig, rig_position, session, stint, stint_position, tag_spell, event;
END
$$;
-- +goose StatementEnd
REVOKE EXECUTE ON FUNCTION gather_statistics() FROM PUBLIC;
GRANT EXECUTE ON FUNCTION gather_statistics() TO rigtally_as_owner, rigtally_as_guide;

-- Every table of an outfit shows the outfit at work its own rows, whatever the role, even to who owns the table.
-- +goose StatementBegin
DO $$
DECLARE
    named text;
BEGIN
    FOREACH named IN ARRAY ARRAY['angler', 'water', 'beat', 'rig', 'rig_position', 'session', 'stint', 'stint_position', 'tag_spell', 'event',
        'deleted_session', 'claim', 'bench_pull', 'trial', 'trial_unit', 'rule_set', 'member', 'invitation', 'share', 'comparison', 'session_change'] LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY', named);
        EXECUTE format('CREATE POLICY %I ON %I USING (outfit_id = outfit_at_work())', named || '_of_the_outfit', named);
    END LOOP;
END
$$;
-- +goose StatementEnd
ALTER TABLE outfit ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY outfit_at_work ON outfit USING (id = outfit_at_work());

-- What is nobody's, and what must be found before anyone is known: at the door alone.
ALTER TABLE person ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE passkey ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE device ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE withdrawn_device ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY person_at_door ON person TO rigtally_at_door USING (true);
CREATE POLICY passkey_at_door ON passkey TO rigtally_at_door USING (true);
CREATE POLICY device_at_door ON device TO rigtally_at_door USING (true);
CREATE POLICY withdrawn_device_at_door ON withdrawn_device TO rigtally_at_door USING (true);
CREATE POLICY outfit_at_door ON outfit TO rigtally_at_door USING (true);
CREATE POLICY member_at_door ON member TO rigtally_at_door USING (true);
CREATE POLICY invitation_at_door ON invitation TO rigtally_at_door USING (true);
CREATE POLICY share_at_door ON share TO rigtally_at_door USING (true);
GRANT SELECT, INSERT, UPDATE, DELETE ON person, passkey, device TO rigtally_at_door;
GRANT SELECT, INSERT, DELETE ON withdrawn_device TO rigtally_at_door;
GRANT SELECT, INSERT ON outfit TO rigtally_at_door;
GRANT SELECT, INSERT, UPDATE ON member, invitation TO rigtally_at_door;
GRANT SELECT ON share, goose_db_version TO rigtally_at_door;

-- What is a client's own. The functions look past the client's policies and keep their plans: policies that ask one
-- another are planned anew in each statement, and read all of a client's season to find one session.
-- +goose StatementBegin
CREATE FUNCTION session_is_own(asked uuid) RETURNS boolean LANGUAGE plpgsql STABLE SECURITY DEFINER AS $$
BEGIN
    RETURN EXISTS (SELECT FROM public.session WHERE outfit_id = public.outfit_at_work() AND id = asked AND angler_id = public.client_at_work());
END
$$;
CREATE FUNCTION stint_is_own(asked uuid) RETURNS boolean LANGUAGE plpgsql STABLE SECURITY DEFINER AS $$
BEGIN
    RETURN EXISTS (SELECT FROM public.stint st JOIN public.session se ON se.outfit_id = st.outfit_id AND se.id = st.session_id
        WHERE st.outfit_id = public.outfit_at_work() AND st.id = asked AND se.angler_id = public.client_at_work());
END
$$;
CREATE FUNCTION rigs_fished() RETURNS uuid[] LANGUAGE plpgsql STABLE SECURITY DEFINER AS $$
BEGIN
    RETURN (SELECT array_agg(DISTINCT st.rig_id) FROM public.session se JOIN public.stint st ON st.outfit_id = se.outfit_id AND st.session_id = se.id
        WHERE se.outfit_id = public.outfit_at_work() AND se.angler_id = public.client_at_work());
END
$$;
CREATE FUNCTION places_fished() RETURNS uuid[] LANGUAGE plpgsql STABLE SECURITY DEFINER AS $$
BEGIN
    RETURN (SELECT array_agg(DISTINCT place) FROM public.session se, unnest(ARRAY[se.water_id, se.beat_id]) AS place
        WHERE se.outfit_id = public.outfit_at_work() AND se.angler_id = public.client_at_work());
END
$$;
CREATE FUNCTION rig_is_made(asked uuid) RETURNS boolean LANGUAGE plpgsql STABLE SECURITY DEFINER AS $$
BEGIN
    RETURN EXISTS (SELECT FROM public.rig WHERE outfit_id = public.outfit_at_work() AND id = asked AND of_angler = public.client_at_work());
END
$$;
-- +goose StatementEnd

-- A client sees what is the client's own, and of the outfit what it needs.
CREATE POLICY angler_self ON angler AS RESTRICTIVE TO rigtally_as_client USING (id = client_at_work());
CREATE POLICY session_own ON session AS RESTRICTIVE TO rigtally_as_client USING (angler_id = client_at_work());
CREATE POLICY deleted_session_own ON deleted_session AS RESTRICTIVE TO rigtally_as_client USING (angler_id = client_at_work());
CREATE POLICY session_change_own ON session_change AS RESTRICTIVE TO rigtally_as_client USING (angler_id = client_at_work());
CREATE POLICY stint_own ON stint AS RESTRICTIVE TO rigtally_as_client USING (session_is_own(session_id));
CREATE POLICY stint_position_own ON stint_position AS RESTRICTIVE TO rigtally_as_client USING (session_is_own(session_id));
CREATE POLICY tag_spell_own ON tag_spell AS RESTRICTIVE TO rigtally_as_client USING (session_is_own(session_id));
CREATE POLICY event_own ON event AS RESTRICTIVE TO rigtally_as_client USING (stint_is_own(stint_id));
CREATE POLICY trial_own ON trial AS RESTRICTIVE TO rigtally_as_client USING (of_angler = client_at_work());
CREATE POLICY trial_unit_own ON trial_unit AS RESTRICTIVE TO rigtally_as_client USING (trial_id IN (SELECT id FROM trial));
CREATE POLICY water_fished ON water AS RESTRICTIVE TO rigtally_as_client USING (of_angler = client_at_work() OR id = ANY ((SELECT places_fished())::uuid[]));
CREATE POLICY beat_fished ON beat AS RESTRICTIVE TO rigtally_as_client USING (of_angler = client_at_work() OR id = ANY ((SELECT places_fished())::uuid[]));
CREATE POLICY rig_fished ON rig AS RESTRICTIVE TO rigtally_as_client USING (of_angler = client_at_work() OR id = ANY ((SELECT rigs_fished())::uuid[]));
CREATE POLICY rig_position_fished ON rig_position AS RESTRICTIVE TO rigtally_as_client USING (rig_id = ANY ((SELECT rigs_fished())::uuid[]) OR rig_is_made(rig_id));
-- Only one's own may be changed, be it seen or not.
CREATE POLICY water_made ON water AS RESTRICTIVE FOR UPDATE TO rigtally_as_client USING (of_angler = client_at_work());
CREATE POLICY water_kept ON water AS RESTRICTIVE FOR DELETE TO rigtally_as_client USING (of_angler = client_at_work());
CREATE POLICY water_new ON water AS RESTRICTIVE FOR INSERT TO rigtally_as_client WITH CHECK (of_angler = client_at_work());
CREATE POLICY beat_made ON beat AS RESTRICTIVE FOR UPDATE TO rigtally_as_client USING (of_angler = client_at_work());
CREATE POLICY beat_new ON beat AS RESTRICTIVE FOR INSERT TO rigtally_as_client WITH CHECK (of_angler = client_at_work());
CREATE POLICY rig_made ON rig AS RESTRICTIVE FOR UPDATE TO rigtally_as_client USING (of_angler = client_at_work());
CREATE POLICY rig_kept ON rig AS RESTRICTIVE FOR DELETE TO rigtally_as_client USING (of_angler = client_at_work());
CREATE POLICY rig_new ON rig AS RESTRICTIVE FOR INSERT TO rigtally_as_client WITH CHECK (of_angler = client_at_work());
CREATE POLICY rig_position_new ON rig_position AS RESTRICTIVE FOR INSERT TO rigtally_as_client WITH CHECK (rig_is_made(rig_id));
CREATE POLICY rig_position_kept ON rig_position AS RESTRICTIVE FOR DELETE TO rigtally_as_client USING (rig_is_made(rig_id));
-- Claims, the bench and rules are the outfit's alone.
CREATE POLICY claim_not_for_clients ON claim AS RESTRICTIVE TO rigtally_as_client USING (false);
CREATE POLICY bench_pull_not_for_clients ON bench_pull AS RESTRICTIVE TO rigtally_as_client USING (false);
CREATE POLICY rule_set_not_for_clients ON rule_set AS RESTRICTIVE TO rigtally_as_client USING (false);

GRANT SELECT, INSERT, UPDATE, DELETE ON angler, water, beat, rig, rig_position, session, stint, stint_position, tag_spell, event,
    deleted_session, claim, bench_pull, trial, trial_unit, rule_set TO rigtally_as_owner, rigtally_as_guide;
GRANT SELECT, INSERT, UPDATE, DELETE ON water, beat, rig, rig_position, session, stint, stint_position, tag_spell, event,
    deleted_session, trial, trial_unit TO rigtally_as_client;
GRANT SELECT ON angler, claim, bench_pull, rule_set TO rigtally_as_client;
GRANT SELECT (outfit_id, week, content, made_at) ON comparison TO rigtally_as_client;
GRANT SELECT ON outfit, angler, water, beat, rig, rig_position, session, stint, stint_position, tag_spell, event,
    deleted_session, claim, bench_pull, trial, trial_unit, rule_set TO rigtally_as_reader;
GRANT SELECT, UPDATE ON outfit TO rigtally_as_owner;
GRANT SELECT, UPDATE (revision, usual_rig_id, usual_rig_at) ON outfit TO rigtally_as_guide;
GRANT SELECT (id, name, units, time_zone, prior_sd, revision), UPDATE (revision) ON outfit TO rigtally_as_client;
GRANT SELECT, INSERT ON session_change TO rigtally_as_owner, rigtally_as_guide, rigtally_as_client;
GRANT SELECT, INSERT, DELETE ON share TO rigtally_as_owner, rigtally_as_guide;
GRANT SELECT, INSERT, UPDATE ON comparison TO rigtally_as_owner, rigtally_as_guide;
GRANT SELECT, INSERT, UPDATE, DELETE ON member, invitation TO rigtally_as_owner;
GRANT SELECT (outfit_id, person_id, name) ON member TO rigtally_as_guide; -- to say who wrote a session

-- +goose Down
-- +goose StatementBegin
DO $$
DECLARE
    kept record;
BEGIN
    FOR kept IN SELECT schemaname, tablename, policyname FROM pg_policies WHERE schemaname = current_schema() LOOP
        EXECUTE format('DROP POLICY %I ON %I', kept.policyname, kept.tablename);
    END LOOP;
    FOR kept IN SELECT relname FROM pg_class WHERE relnamespace = current_schema()::regnamespace AND relforcerowsecurity LOOP
        EXECUTE format('ALTER TABLE %I DISABLE ROW LEVEL SECURITY, NO FORCE ROW LEVEL SECURITY', kept.relname);
    END LOOP;
    FOR kept IN SELECT rolname FROM pg_roles WHERE rolname IN ('rigtally_as_owner', 'rigtally_as_guide', 'rigtally_as_client', 'rigtally_as_reader', 'rigtally_at_door') LOOP
        EXECUTE format('REVOKE ALL ON ALL TABLES IN SCHEMA %I FROM %I', current_schema(), kept.rolname);
        EXECUTE format('REVOKE ALL ON FUNCTION gather_statistics() FROM %I', kept.rolname);
    END LOOP;
END
$$;
-- +goose StatementEnd
DROP FUNCTION gather_statistics();
-- +goose StatementBegin
CREATE OR REPLACE FUNCTION keep_fished_rigs() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    outfit uuid := OLD.outfit_id;
    fished uuid := CASE TG_TABLE_NAME WHEN 'rig' THEN to_jsonb(OLD) ->> 'id' ELSE to_jsonb(OLD) ->> 'rig_id' END;
BEGIN
    IF EXISTS (SELECT FROM stint WHERE stint.outfit_id = outfit AND stint.rig_id = fished) THEN
        RAISE EXCEPTION 'a rig that has been fished never changes' USING ERRCODE = 'check_violation', CONSTRAINT = 'rig_fished_never_changes';
    END IF;
    RETURN CASE TG_OP WHEN 'DELETE' THEN OLD ELSE NEW END;
END
$$;
CREATE OR REPLACE FUNCTION keep_fished_rigs_whole() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF EXISTS (SELECT FROM stint WHERE stint.outfit_id = NEW.outfit_id AND stint.rig_id = NEW.rig_id) THEN
        RAISE EXCEPTION 'a rig that has been fished never changes' USING ERRCODE = 'check_violation', CONSTRAINT = 'rig_fished_never_changes';
    END IF;
    RETURN NEW;
END
$$;
CREATE OR REPLACE FUNCTION keep_live_sessions_undeleted() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF EXISTS (SELECT FROM added a JOIN deleted_session d ON d.outfit_id = a.outfit_id AND d.session_id = a.id) THEN
        RAISE EXCEPTION 'a session is in the journal and deleted at once' USING ERRCODE = 'check_violation', CONSTRAINT = 'session_live_or_deleted';
    END IF;
    RETURN NULL;
END
$$;
CREATE OR REPLACE FUNCTION keep_deleted_sessions_dead() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF EXISTS (SELECT FROM added a JOIN session s ON s.outfit_id = a.outfit_id AND s.id = a.session_id) THEN
        RAISE EXCEPTION 'a session is in the journal and deleted at once' USING ERRCODE = 'check_violation', CONSTRAINT = 'session_live_or_deleted';
    END IF;
    RETURN NULL;
END
$$;
-- +goose StatementEnd
DROP INDEX session_by_angler;
ALTER TABLE deleted_session DROP COLUMN angler_id;
-- Of what clients named alike, or as the outfit does, the name gains whose it is.
UPDATE water SET name = name || ' (' || of_angler || ')' WHERE of_angler IS NOT NULL;
UPDATE beat SET name = name || ' (' || of_angler || ')' WHERE of_angler IS NOT NULL;
UPDATE trial SET name = name || ' (' || of_angler || ')' WHERE of_angler IS NOT NULL;
ALTER TABLE rig DISABLE TRIGGER USER;
UPDATE rig SET name = name || ' (' || of_angler || ')' WHERE of_angler IS NOT NULL;
ALTER TABLE rig ENABLE TRIGGER USER;
DROP INDEX water_name_once, beat_name_once, rig_revision_once, trial_name_once;
CREATE UNIQUE INDEX water_name_once ON water (outfit_id, lower(name));
CREATE UNIQUE INDEX beat_name_once ON beat (outfit_id, water_id, lower(name));
CREATE UNIQUE INDEX rig_revision_once ON rig (outfit_id, lower(name), revision);
CREATE UNIQUE INDEX trial_name_once ON trial (outfit_id, lower(name));
ALTER TABLE water DROP COLUMN of_angler;
ALTER TABLE beat DROP COLUMN of_angler;
ALTER TABLE rig DROP COLUMN of_angler;
ALTER TABLE trial DROP COLUMN of_angler;
DROP FUNCTION session_is_own(uuid), stint_is_own(uuid), rigs_fished(), places_fished(), rig_is_made(uuid);
DROP FUNCTION client_at_work(), outfit_at_work();
