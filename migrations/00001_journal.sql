-- +goose Up

-- Every table carries outfit_id first in its keys, so that rows of one outfit
-- lie together, can be kept apart by row-level security, and can be spread over
-- several servers later. Lengths are mm, flows m³/s, temperatures °C, depths m.
-- Measures are double precision: a decimal of up to 15 digits comes back as it
-- was written, and sums and groups are faster than with numeric.

CREATE TABLE outfit (
    id         uuid PRIMARY KEY,
    name       text NOT NULL CONSTRAINT outfit_has_a_name CHECK (btrim(name) <> ''),
    units      text NOT NULL DEFAULT 'metric' CONSTRAINT outfit_units_known CHECK (units IN ('us', 'metric')),
    time_zone  text NOT NULL DEFAULT 'UTC',
    created_at timestamptz NOT NULL DEFAULT now()
);

CREATE TABLE angler (
    outfit_id uuid NOT NULL REFERENCES outfit,
    id        uuid NOT NULL,
    name      text NOT NULL CONSTRAINT angler_has_a_name CHECK (btrim(name) <> ''),
    kind      text NOT NULL CONSTRAINT angler_kind_known CHECK (kind IN ('self', 'client', 'teammate', 'guide')),
    active    boolean NOT NULL DEFAULT true,
    PRIMARY KEY (outfit_id, id)
);
CREATE UNIQUE INDEX angler_name_once ON angler (outfit_id, lower(name));

CREATE TABLE water (
    outfit_id      uuid NOT NULL REFERENCES outfit,
    id             uuid NOT NULL,
    name           text NOT NULL CONSTRAINT water_has_a_name CHECK (btrim(name) <> ''),
    kind           text NOT NULL CONSTRAINT water_kind_known CHECK (kind IN ('freestone', 'tailwater', 'spring creek', 'lake', 'other')),
    time_zone      text NOT NULL CONSTRAINT water_has_a_time_zone CHECK (time_zone <> ''),
    gauge_provider text NOT NULL DEFAULT '',
    gauge_site     text NOT NULL DEFAULT '',
    PRIMARY KEY (outfit_id, id)
);
CREATE UNIQUE INDEX water_name_once ON water (outfit_id, lower(name));

CREATE TABLE beat (
    outfit_id uuid NOT NULL,
    id        uuid NOT NULL,
    water_id  uuid NOT NULL,
    name      text NOT NULL CONSTRAINT beat_has_a_name CHECK (btrim(name) <> ''),
    PRIMARY KEY (outfit_id, id),
    UNIQUE (outfit_id, water_id, id),
    FOREIGN KEY (outfit_id, water_id) REFERENCES water
);
CREATE UNIQUE INDEX beat_name_once ON beat (outfit_id, water_id, lower(name));

CREATE TABLE rig (
    outfit_id         uuid NOT NULL REFERENCES outfit,
    id                uuid NOT NULL,
    name              text NOT NULL CONSTRAINT rig_has_a_name CHECK (btrim(name) <> ''),
    revision          integer NOT NULL CONSTRAINT rig_revision_counts_from_one CHECK (revision >= 1),
    method            text NOT NULL DEFAULT '' CONSTRAINT rig_method_known CHECK (method IN ('', 'tight-line nymph', 'dry-dropper', 'wet', 'streamer', 'stillwater')),
    rod_length_mm     double precision CONSTRAINT rig_rod_length_possible CHECK (rod_length_mm > 0 AND rod_length_mm <= 30000),
    leader_length_mm  double precision CONSTRAINT rig_leader_length_possible CHECK (leader_length_mm > 0 AND leader_length_mm <= 30000),
    sighter_length_mm double precision CONSTRAINT rig_sighter_length_possible CHECK (sighter_length_mm > 0 AND sighter_length_mm <= 30000),
    swivel            text NOT NULL DEFAULT '' CONSTRAINT rig_swivel_known CHECK (swivel IN ('', 'none', 'tippet ring', 'micro swivel')),
    tippet_length_mm  double precision CONSTRAINT rig_tippet_length_possible CHECK (tippet_length_mm > 0 AND tippet_length_mm <= 30000),
    notes             text NOT NULL DEFAULT '',
    created_at        timestamptz NOT NULL,
    PRIMARY KEY (outfit_id, id)
);
CREATE UNIQUE INDEX rig_revision_once ON rig (outfit_id, lower(name), revision);

CREATE TABLE rig_position (
    outfit_id     uuid NOT NULL,
    rig_id        uuid NOT NULL,
    position      smallint NOT NULL CONSTRAINT rig_position_possible CHECK (position BETWEEN 0 AND 9),
    hang          text NOT NULL DEFAULT '' CONSTRAINT rig_position_hang_known CHECK (hang IN ('', 'tag', 'eye', 'bend')),
    junction      text NOT NULL DEFAULT '' CONSTRAINT rig_position_junction_known CHECK (junction IN ('', 'figure-eight', 'double surgeon''s', 'triple surgeon''s', 'blood', 'uni', 'tippet ring', 'perfection loop', 'other')),
    junction_name text NOT NULL DEFAULT '',
    facing        text NOT NULL DEFAULT '' CONSTRAINT rig_position_facing_known CHECK (facing IN ('', 'down', 'up', 'side')),
    prop          text NOT NULL DEFAULT '' CONSTRAINT rig_position_prop_known CHECK (prop IN ('', 'none', 'half-hitch', 'overhand')),
    tag_length_mm double precision CONSTRAINT rig_position_tag_possible CHECK (tag_length_mm > 0 AND tag_length_mm <= 2000),
    distance_mm   double precision CONSTRAINT rig_position_distance_possible CHECK (distance_mm > 0 AND distance_mm <= 30000),
    tippet_mm     double precision CONSTRAINT rig_position_tippet_possible CHECK (tippet_mm > 0 AND tippet_mm <= 2),
    material      text NOT NULL DEFAULT '' CONSTRAINT rig_position_material_known CHECK (material IN ('', 'nylon', 'fluorocarbon')),
    fly           text NOT NULL DEFAULT '',
    hook_size     smallint CONSTRAINT rig_position_hook_possible CHECK (hook_size BETWEEN 1 AND 36),
    bead_mm       double precision CONSTRAINT rig_position_bead_possible CHECK (bead_mm BETWEEN 0 AND 20),
    bulk          text NOT NULL DEFAULT '' CONSTRAINT rig_position_bulk_known CHECK (bulk IN ('', 'slim', 'hackled', 'legged')),
    PRIMARY KEY (outfit_id, rig_id, position),
    FOREIGN KEY (outfit_id, rig_id) REFERENCES rig ON DELETE CASCADE,
    CONSTRAINT rig_position_hang_where_it_belongs CHECK ((position = 0) = (hang = '')),
    CONSTRAINT rig_position_tag_only CHECK (hang = 'tag' OR (junction = '' AND facing = '' AND prop = '' AND tag_length_mm IS NULL)),
    CONSTRAINT rig_position_junction_named CHECK ((junction = 'other') = (btrim(junction_name) <> ''))
);

CREATE TABLE session (
    outfit_id    uuid NOT NULL REFERENCES outfit,
    id           uuid NOT NULL,
    angler_id    uuid NOT NULL,
    guide_id     uuid,
    water_id     uuid NOT NULL,
    beat_id      uuid,
    day          date NOT NULL CONSTRAINT session_day_possible CHECK (day BETWEEN '1900-01-01' AND '2200-12-31'),
    started_at   timestamptz,
    ended_at     timestamptz,
    time_zone    text NOT NULL CONSTRAINT session_has_a_time_zone CHECK (time_zone <> ''),
    water_temp_c double precision CONSTRAINT session_temperature_possible CHECK (water_temp_c BETWEEN -1 AND 45),
    flow_m3s     double precision CONSTRAINT session_flow_possible CHECK (flow_m3s BETWEEN 0 AND 400000),
    stage_m      double precision CONSTRAINT session_stage_possible CHECK (stage_m BETWEEN -50 AND 100),
    depth_m      double precision CONSTRAINT session_depth_possible CHECK (depth_m BETWEEN 0 AND 500),
    clarity      text NOT NULL DEFAULT '' CONSTRAINT session_clarity_known CHECK (clarity IN ('', 'clear', 'tinged', 'coloured', 'muddy')),
    wind         text NOT NULL DEFAULT '' CONSTRAINT session_wind_known CHECK (wind IN ('', 'calm', 'light', 'moderate', 'strong')),
    light        text NOT NULL DEFAULT '' CONSTRAINT session_light_known CHECK (light IN ('', 'bright', 'mixed', 'overcast', 'low')),
    from_gauge   text[] NOT NULL DEFAULT '{}' CONSTRAINT session_gauge_conditions_known CHECK (from_gauge <@ ARRAY['water_temp_c', 'flow_m3s', 'stage_m']),
    notes        text NOT NULL DEFAULT '',
    logged_at    timestamptz NOT NULL,
    version      integer NOT NULL CONSTRAINT session_version_counts_from_one CHECK (version >= 1),
    fingerprint  bigint NOT NULL,
    PRIMARY KEY (outfit_id, id),
    FOREIGN KEY (outfit_id, angler_id) REFERENCES angler,
    FOREIGN KEY (outfit_id, guide_id) REFERENCES angler,
    FOREIGN KEY (outfit_id, water_id) REFERENCES water,
    FOREIGN KEY (outfit_id, water_id, beat_id) REFERENCES beat (outfit_id, water_id, id),
    CONSTRAINT session_ends_after_start CHECK (ended_at IS NULL OR (ended_at > started_at AND ended_at <= started_at + interval '24 hours')),
    CONSTRAINT session_end_needs_start CHECK (ended_at IS NULL OR started_at IS NOT NULL)
);
COMMENT ON COLUMN session.fingerprint IS 'hash of the session''s content, to know a repeated form or import from a different one';
CREATE INDEX session_by_day ON session (outfit_id, day DESC, id);

CREATE TABLE stint (
    outfit_id  uuid NOT NULL,
    id         uuid NOT NULL,
    session_id uuid NOT NULL,
    ordinal    smallint NOT NULL CONSTRAINT stint_ordinal_counts_from_one CHECK (ordinal >= 1),
    rig_id     uuid NOT NULL,
    minutes    smallint CONSTRAINT stint_minutes_possible CHECK (minutes BETWEEN 1 AND 1440),
    casts      integer CONSTRAINT stint_casts_possible CHECK (casts BETWEEN 0 AND 100000),
    stroke     text NOT NULL DEFAULT '' CONSTRAINT stint_stroke_known CHECK (stroke IN ('', 'oval', 'sidearm', 'overhead', 'roll', 'lob')),
    notes      text NOT NULL DEFAULT '',
    hookups             smallint NOT NULL DEFAULT 0,
    foul                smallint NOT NULL DEFAULT 0,
    landed              smallint NOT NULL DEFAULT 0,
    lost                smallint NOT NULL DEFAULT 0,
    fair_lost           smallint NOT NULL DEFAULT 0,
    broke_off           smallint NOT NULL DEFAULT 0,
    broke_junction      smallint NOT NULL DEFAULT 0,
    broke_tag           smallint NOT NULL DEFAULT 0,
    broke_fly_knot      smallint NOT NULL DEFAULT 0,
    broke_point_tippet  smallint NOT NULL DEFAULT 0,
    broke_main_tippet   smallint NOT NULL DEFAULT 0,
    broke_above_sighter smallint NOT NULL DEFAULT 0,
    snags               smallint NOT NULL DEFAULT 0,
    tangles             smallint NOT NULL DEFAULT 0,
    twists              smallint NOT NULL DEFAULT 0,
    wind_knots          smallint NOT NULL DEFAULT 0,
    nests               smallint NOT NULL DEFAULT 0,
    untimed             smallint NOT NULL DEFAULT 0,
    checks              smallint NOT NULL DEFAULT 0,
    turns               smallint NOT NULL DEFAULT 0,
    fly_changes         smallint NOT NULL DEFAULT 0,
    reties              smallint NOT NULL DEFAULT 0,
    minutes_lost        smallint NOT NULL DEFAULT 0,
    loads               smallint NOT NULL DEFAULT 0,
    PRIMARY KEY (outfit_id, id),
    UNIQUE (outfit_id, session_id, ordinal),
    FOREIGN KEY (outfit_id, session_id) REFERENCES session ON DELETE CASCADE,
    FOREIGN KEY (outfit_id, rig_id) REFERENCES rig,
    CONSTRAINT stint_counts_not_negative CHECK (least(hookups, foul, landed, lost, fair_lost, broke_off, broke_junction, broke_tag, broke_fly_knot, broke_point_tippet, broke_main_tippet, broke_above_sighter, snags, tangles, twists, wind_knots, nests, untimed, checks, turns, fly_changes, reties, minutes_lost, loads) >= 0),
    CONSTRAINT stint_hookups_add_up CHECK (landed + lost + broke_off <= hookups AND foul <= hookups AND fair_lost <= lost),
    CONSTRAINT stint_tangles_add_up CHECK (twists + wind_knots + nests <= tangles AND untimed <= tangles)
);
CREATE INDEX stint_by_rig ON stint (outfit_id, rig_id);

-- Session, rig and minutes are repeated from the stint so that a question by
-- position reads this one narrow table; the store writes both in one go.
CREATE TABLE stint_position (
    outfit_id    uuid NOT NULL,
    stint_id     uuid NOT NULL,
    position     smallint NOT NULL,
    session_id   uuid NOT NULL,
    rig_id       uuid NOT NULL,
    minutes      smallint,
    tag_start_mm double precision CONSTRAINT stint_position_tag_start_possible CHECK (tag_start_mm > 0 AND tag_start_mm <= 2000),
    tag_end_mm   double precision CONSTRAINT stint_position_tag_end_possible CHECK (tag_end_mm > 0 AND tag_end_mm <= 2000),
    tag_changed  boolean NOT NULL DEFAULT false,
    fly          text NOT NULL DEFAULT '',
    hookups             smallint NOT NULL DEFAULT 0,
    foul                smallint NOT NULL DEFAULT 0,
    landed              smallint NOT NULL DEFAULT 0,
    lost                smallint NOT NULL DEFAULT 0,
    fair_lost           smallint NOT NULL DEFAULT 0,
    broke_off           smallint NOT NULL DEFAULT 0,
    broke_junction      smallint NOT NULL DEFAULT 0,
    broke_tag           smallint NOT NULL DEFAULT 0,
    broke_fly_knot      smallint NOT NULL DEFAULT 0,
    broke_point_tippet  smallint NOT NULL DEFAULT 0,
    broke_main_tippet   smallint NOT NULL DEFAULT 0,
    broke_above_sighter smallint NOT NULL DEFAULT 0,
    snags               smallint NOT NULL DEFAULT 0,
    tangles             smallint NOT NULL DEFAULT 0,
    twists              smallint NOT NULL DEFAULT 0,
    wind_knots          smallint NOT NULL DEFAULT 0,
    nests               smallint NOT NULL DEFAULT 0,
    untimed             smallint NOT NULL DEFAULT 0,
    checks              smallint NOT NULL DEFAULT 0,
    turns               smallint NOT NULL DEFAULT 0,
    fly_changes         smallint NOT NULL DEFAULT 0,
    reties              smallint NOT NULL DEFAULT 0,
    minutes_lost        smallint NOT NULL DEFAULT 0,
    loads               smallint NOT NULL DEFAULT 0,
    PRIMARY KEY (outfit_id, stint_id, position),
    FOREIGN KEY (outfit_id, stint_id) REFERENCES stint ON DELETE CASCADE,
    FOREIGN KEY (outfit_id, rig_id, position) REFERENCES rig_position,
    CONSTRAINT stint_position_counts_not_negative CHECK (least(hookups, foul, landed, lost, fair_lost, broke_off, broke_junction, broke_tag, broke_fly_knot, broke_point_tippet, broke_main_tippet, broke_above_sighter, snags, tangles, twists, wind_knots, nests, untimed, checks, turns, fly_changes, reties, minutes_lost, loads) >= 0),
    CONSTRAINT stint_position_hookups_add_up CHECK (landed + lost + broke_off <= hookups AND foul <= hookups AND fair_lost <= lost),
    CONSTRAINT stint_position_tangles_add_up CHECK (twists + wind_knots + nests <= tangles AND untimed <= tangles)
);
COMMENT ON COLUMN stint_position.tag_start_mm IS 'as noted for the stint; null: as the rig was tied';
COMMENT ON COLUMN stint_position.tag_changed IS 'the tag had several lengths in this stint: see tag_spell';

-- The parts of a stint through which a tag kept its length, where it had several.
CREATE TABLE tag_spell (
    outfit_id uuid NOT NULL,
    stint_id  uuid NOT NULL,
    position  smallint NOT NULL,
    ordinal   smallint NOT NULL CONSTRAINT tag_spell_ordinal_counts_from_zero CHECK (ordinal >= 0),
    tag_mm    double precision NOT NULL CONSTRAINT tag_spell_length_possible CHECK (tag_mm > 0 AND tag_mm <= 2000),
    share     double precision NOT NULL CONSTRAINT tag_spell_share_possible CHECK (share BETWEEN 0 AND 1),
    hookups             double precision NOT NULL DEFAULT 0,
    foul                double precision NOT NULL DEFAULT 0,
    landed              double precision NOT NULL DEFAULT 0,
    lost                double precision NOT NULL DEFAULT 0,
    fair_lost           double precision NOT NULL DEFAULT 0,
    broke_off           double precision NOT NULL DEFAULT 0,
    broke_junction      double precision NOT NULL DEFAULT 0,
    broke_tag           double precision NOT NULL DEFAULT 0,
    broke_fly_knot      double precision NOT NULL DEFAULT 0,
    broke_point_tippet  double precision NOT NULL DEFAULT 0,
    broke_main_tippet   double precision NOT NULL DEFAULT 0,
    broke_above_sighter double precision NOT NULL DEFAULT 0,
    snags               double precision NOT NULL DEFAULT 0,
    tangles             double precision NOT NULL DEFAULT 0,
    twists              double precision NOT NULL DEFAULT 0,
    wind_knots          double precision NOT NULL DEFAULT 0,
    nests               double precision NOT NULL DEFAULT 0,
    untimed             double precision NOT NULL DEFAULT 0,
    checks              double precision NOT NULL DEFAULT 0,
    turns               double precision NOT NULL DEFAULT 0,
    fly_changes         double precision NOT NULL DEFAULT 0,
    reties              double precision NOT NULL DEFAULT 0,
    minutes_lost        double precision NOT NULL DEFAULT 0,
    loads               double precision NOT NULL DEFAULT 0,
    PRIMARY KEY (outfit_id, stint_id, position, ordinal),
    FOREIGN KEY (outfit_id, stint_id, position) REFERENCES stint_position ON DELETE CASCADE
);

CREATE TABLE event (
    outfit_id      uuid NOT NULL,
    stint_id       uuid NOT NULL,
    ordinal        smallint NOT NULL,
    position       smallint,
    kind           text NOT NULL CONSTRAINT event_kind_known CHECK (kind IN ('hookup', 'snag', 'tangle', 'check', 'fly change', 're-tie')),
    count          smallint NOT NULL CONSTRAINT event_count_possible CHECK (count BETWEEN 1 AND 5000),
    minute         smallint CONSTRAINT event_minute_possible CHECK (minute BETWEEN 0 AND 1440),
    hooking        text CONSTRAINT event_hooking_known CHECK (hooking IN ('fair', 'foul')),
    ending         text CONSTRAINT event_ending_known CHECK (ending IN ('landed', 'lost', 'freed', 'broke off')),
    break_place    text CONSTRAINT event_break_place_known CHECK (break_place IN ('junction', 'tag', 'fly knot', 'point tippet', 'main tippet', 'above the sighter')),
    species        text,
    fish_length_mm double precision CONSTRAINT event_fish_length_possible CHECK (fish_length_mm > 0 AND fish_length_mm <= 3000),
    tangle_kind    text CONSTRAINT event_tangle_kind_known CHECK (tangle_kind IN ('twist', 'wind knot', 'nest')),
    minutes_lost   smallint CONSTRAINT event_minutes_lost_possible CHECK (minutes_lost BETWEEN 0 AND 1440),
    turns          smallint CONSTRAINT event_turns_possible CHECK (turns BETWEEN 0 AND 5000),
    cut_mm         double precision CONSTRAINT event_cut_possible CHECK (cut_mm > 0 AND cut_mm <= 2000),
    note           text,
    PRIMARY KEY (outfit_id, stint_id, ordinal),
    FOREIGN KEY (outfit_id, stint_id) REFERENCES stint ON DELETE CASCADE,
    FOREIGN KEY (outfit_id, stint_id, position) REFERENCES stint_position ON DELETE CASCADE,
    CONSTRAINT event_hooking_of_a_hookup CHECK ((kind = 'hookup') = (hooking IS NOT NULL)),
    CONSTRAINT event_ending_of_its_kind CHECK (ending IS NULL OR (kind = 'hookup' AND ending <> 'freed') OR (kind = 'snag' AND ending IN ('freed', 'broke off'))),
    CONSTRAINT event_break_has_broken_off CHECK (break_place IS NULL OR (ending IS NOT NULL AND ending = 'broke off')),
    CONSTRAINT event_fish_of_a_hookup CHECK (kind = 'hookup' OR (species IS NULL AND fish_length_mm IS NULL)),
    CONSTRAINT event_tangle_kind_of_a_tangle CHECK (kind = 'tangle' OR tangle_kind IS NULL),
    CONSTRAINT event_minutes_lost_of_its_kind CHECK (kind IN ('tangle', 're-tie') OR minutes_lost IS NULL),
    CONSTRAINT event_turns_of_a_check CHECK ((kind = 'check') = (turns IS NOT NULL)),
    CONSTRAINT event_cut_of_a_fly_change CHECK (kind = 'fly change' OR cut_mm IS NULL)
);

-- A deleted session waits here, whole, for 30 days; questions never see it.
CREATE TABLE deleted_session (
    outfit_id  uuid NOT NULL REFERENCES outfit,
    session_id uuid NOT NULL,
    day        date NOT NULL,
    deleted_at timestamptz NOT NULL,
    content    jsonb NOT NULL,
    PRIMARY KEY (outfit_id, session_id)
);

-- +goose StatementBegin
CREATE FUNCTION keep_fished_rigs() RETURNS trigger LANGUAGE plpgsql AS $$
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
-- +goose StatementEnd
CREATE TRIGGER rig_fished_never_changes BEFORE UPDATE OR DELETE ON rig FOR EACH ROW EXECUTE FUNCTION keep_fished_rigs();
CREATE TRIGGER rig_position_fished_never_changes BEFORE UPDATE OR DELETE ON rig_position FOR EACH ROW EXECUTE FUNCTION keep_fished_rigs();

-- +goose StatementBegin
CREATE FUNCTION keep_fished_rigs_whole() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF EXISTS (SELECT FROM stint WHERE stint.outfit_id = NEW.outfit_id AND stint.rig_id = NEW.rig_id) THEN
        RAISE EXCEPTION 'a rig that has been fished never changes' USING ERRCODE = 'check_violation', CONSTRAINT = 'rig_fished_never_changes';
    END IF;
    RETURN NEW;
END
$$;
-- +goose StatementEnd
CREATE TRIGGER rig_fished_gains_no_fly BEFORE INSERT ON rig_position FOR EACH ROW EXECUTE FUNCTION keep_fished_rigs_whole();

-- Time and events by length of tag: a stint whose tag was cut gives to each length.
CREATE VIEW tag_exposure AS
SELECT outfit_id, stint_id, position, session_id, rig_id, minutes::double precision AS minutes, tag_start_mm AS tag_mm, 1::double precision AS share,
    hookups, foul, landed, lost, fair_lost, broke_off, broke_junction, broke_tag, broke_fly_knot, broke_point_tippet, broke_main_tippet, broke_above_sighter, snags, tangles, twists, wind_knots, nests, untimed, checks, turns, fly_changes, reties, minutes_lost, loads
FROM stint_position WHERE NOT tag_changed
UNION ALL
SELECT p.outfit_id, p.stint_id, p.position, p.session_id, p.rig_id, p.minutes * s.share, s.tag_mm, s.share,
    s.hookups, s.foul, s.landed, s.lost, s.fair_lost, s.broke_off, s.broke_junction, s.broke_tag, s.broke_fly_knot, s.broke_point_tippet, s.broke_main_tippet, s.broke_above_sighter, s.snags, s.tangles, s.twists, s.wind_knots, s.nests, s.untimed, s.checks, s.turns, s.fly_changes, s.reties, s.minutes_lost, s.loads
FROM tag_spell s JOIN stint_position p USING (outfit_id, stint_id, position);

-- +goose Down
DROP VIEW tag_exposure;
DROP TABLE deleted_session, event, tag_spell, stint_position, stint, session, rig_position, rig, beat, water, angler, outfit;
DROP FUNCTION keep_fished_rigs, keep_fished_rigs_whole;
