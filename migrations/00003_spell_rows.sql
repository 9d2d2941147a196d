-- +goose Up

-- Session, rig and minutes are repeated from the stint, as in stint_position, so
-- that a question by tag length reads two narrow tables and joins nothing.
ALTER TABLE tag_spell
    ADD COLUMN session_id uuid,
    ADD COLUMN rig_id     uuid,
    ADD COLUMN minutes    double precision;
COMMENT ON COLUMN tag_spell.minutes IS 'of the spell: the stint''s times share; null when those were not noted';
UPDATE tag_spell s SET session_id = p.session_id, rig_id = p.rig_id, minutes = p.minutes * s.share
FROM stint_position p WHERE (p.outfit_id, p.stint_id, p.position) = (s.outfit_id, s.stint_id, s.position);
ALTER TABLE tag_spell ALTER COLUMN session_id SET NOT NULL, ALTER COLUMN rig_id SET NOT NULL;

-- Most tallies of most spells are nothing: null takes no room for them, and rows
-- are read faster.
ALTER TABLE tag_spell
    ALTER COLUMN hookups DROP NOT NULL, ALTER COLUMN hookups DROP DEFAULT,
    ALTER COLUMN foul DROP NOT NULL, ALTER COLUMN foul DROP DEFAULT,
    ALTER COLUMN landed DROP NOT NULL, ALTER COLUMN landed DROP DEFAULT,
    ALTER COLUMN lost DROP NOT NULL, ALTER COLUMN lost DROP DEFAULT,
    ALTER COLUMN fair_lost DROP NOT NULL, ALTER COLUMN fair_lost DROP DEFAULT,
    ALTER COLUMN broke_off DROP NOT NULL, ALTER COLUMN broke_off DROP DEFAULT,
    ALTER COLUMN broke_junction DROP NOT NULL, ALTER COLUMN broke_junction DROP DEFAULT,
    ALTER COLUMN broke_tag DROP NOT NULL, ALTER COLUMN broke_tag DROP DEFAULT,
    ALTER COLUMN broke_fly_knot DROP NOT NULL, ALTER COLUMN broke_fly_knot DROP DEFAULT,
    ALTER COLUMN broke_point_tippet DROP NOT NULL, ALTER COLUMN broke_point_tippet DROP DEFAULT,
    ALTER COLUMN broke_main_tippet DROP NOT NULL, ALTER COLUMN broke_main_tippet DROP DEFAULT,
    ALTER COLUMN broke_above_sighter DROP NOT NULL, ALTER COLUMN broke_above_sighter DROP DEFAULT,
    ALTER COLUMN snags DROP NOT NULL, ALTER COLUMN snags DROP DEFAULT,
    ALTER COLUMN tangles DROP NOT NULL, ALTER COLUMN tangles DROP DEFAULT,
    ALTER COLUMN twists DROP NOT NULL, ALTER COLUMN twists DROP DEFAULT,
    ALTER COLUMN wind_knots DROP NOT NULL, ALTER COLUMN wind_knots DROP DEFAULT,
    ALTER COLUMN nests DROP NOT NULL, ALTER COLUMN nests DROP DEFAULT,
    ALTER COLUMN untimed DROP NOT NULL, ALTER COLUMN untimed DROP DEFAULT,
    ALTER COLUMN checks DROP NOT NULL, ALTER COLUMN checks DROP DEFAULT,
    ALTER COLUMN turns DROP NOT NULL, ALTER COLUMN turns DROP DEFAULT,
    ALTER COLUMN fly_changes DROP NOT NULL, ALTER COLUMN fly_changes DROP DEFAULT,
    ALTER COLUMN reties DROP NOT NULL, ALTER COLUMN reties DROP DEFAULT,
    ALTER COLUMN minutes_lost DROP NOT NULL, ALTER COLUMN minutes_lost DROP DEFAULT,
    ALTER COLUMN loads DROP NOT NULL, ALTER COLUMN loads DROP DEFAULT;
UPDATE tag_spell SET
    hookups = nullif(hookups, 0),
    foul = nullif(foul, 0),
    landed = nullif(landed, 0),
    lost = nullif(lost, 0),
    fair_lost = nullif(fair_lost, 0),
    broke_off = nullif(broke_off, 0),
    broke_junction = nullif(broke_junction, 0),
    broke_tag = nullif(broke_tag, 0),
    broke_fly_knot = nullif(broke_fly_knot, 0),
    broke_point_tippet = nullif(broke_point_tippet, 0),
    broke_main_tippet = nullif(broke_main_tippet, 0),
    broke_above_sighter = nullif(broke_above_sighter, 0),
    snags = nullif(snags, 0),
    tangles = nullif(tangles, 0),
    twists = nullif(twists, 0),
    wind_knots = nullif(wind_knots, 0),
    nests = nullif(nests, 0),
    untimed = nullif(untimed, 0),
    checks = nullif(checks, 0),
    turns = nullif(turns, 0),
    fly_changes = nullif(fly_changes, 0),
    reties = nullif(reties, 0),
    minutes_lost = nullif(minutes_lost, 0),
    loads = nullif(loads, 0);

-- Ordinal is above 0 for every spell but the first, so that stints can be counted once.
DROP VIEW tag_exposure;
CREATE VIEW tag_exposure AS
SELECT outfit_id, stint_id, position, 0::smallint AS ordinal, session_id, rig_id, minutes::double precision AS minutes, tag_start_mm AS tag_mm, 1::double precision AS share,
    hookups, foul, landed, lost, fair_lost, broke_off, broke_junction, broke_tag, broke_fly_knot, broke_point_tippet, broke_main_tippet, broke_above_sighter, snags, tangles, twists, wind_knots, nests, untimed, checks, turns, fly_changes, reties, minutes_lost, loads
FROM stint_position WHERE NOT tag_changed
UNION ALL
SELECT outfit_id, stint_id, position, ordinal, session_id, rig_id, minutes, tag_mm, share,
    coalesce(hookups, 0), coalesce(foul, 0), coalesce(landed, 0), coalesce(lost, 0), coalesce(fair_lost, 0), coalesce(broke_off, 0), coalesce(broke_junction, 0), coalesce(broke_tag, 0), coalesce(broke_fly_knot, 0), coalesce(broke_point_tippet, 0), coalesce(broke_main_tippet, 0), coalesce(broke_above_sighter, 0), coalesce(snags, 0), coalesce(tangles, 0), coalesce(twists, 0), coalesce(wind_knots, 0), coalesce(nests, 0), coalesce(untimed, 0), coalesce(checks, 0), coalesce(turns, 0), coalesce(fly_changes, 0), coalesce(reties, 0), coalesce(minutes_lost, 0), coalesce(loads, 0)
FROM tag_spell;

-- +goose Down
DROP VIEW tag_exposure;
UPDATE tag_spell SET
    hookups = coalesce(hookups, 0),
    foul = coalesce(foul, 0),
    landed = coalesce(landed, 0),
    lost = coalesce(lost, 0),
    fair_lost = coalesce(fair_lost, 0),
    broke_off = coalesce(broke_off, 0),
    broke_junction = coalesce(broke_junction, 0),
    broke_tag = coalesce(broke_tag, 0),
    broke_fly_knot = coalesce(broke_fly_knot, 0),
    broke_point_tippet = coalesce(broke_point_tippet, 0),
    broke_main_tippet = coalesce(broke_main_tippet, 0),
    broke_above_sighter = coalesce(broke_above_sighter, 0),
    snags = coalesce(snags, 0),
    tangles = coalesce(tangles, 0),
    twists = coalesce(twists, 0),
    wind_knots = coalesce(wind_knots, 0),
    nests = coalesce(nests, 0),
    untimed = coalesce(untimed, 0),
    checks = coalesce(checks, 0),
    turns = coalesce(turns, 0),
    fly_changes = coalesce(fly_changes, 0),
    reties = coalesce(reties, 0),
    minutes_lost = coalesce(minutes_lost, 0),
    loads = coalesce(loads, 0);
ALTER TABLE tag_spell
    ALTER COLUMN hookups SET DEFAULT 0, ALTER COLUMN hookups SET NOT NULL,
    ALTER COLUMN foul SET DEFAULT 0, ALTER COLUMN foul SET NOT NULL,
    ALTER COLUMN landed SET DEFAULT 0, ALTER COLUMN landed SET NOT NULL,
    ALTER COLUMN lost SET DEFAULT 0, ALTER COLUMN lost SET NOT NULL,
    ALTER COLUMN fair_lost SET DEFAULT 0, ALTER COLUMN fair_lost SET NOT NULL,
    ALTER COLUMN broke_off SET DEFAULT 0, ALTER COLUMN broke_off SET NOT NULL,
    ALTER COLUMN broke_junction SET DEFAULT 0, ALTER COLUMN broke_junction SET NOT NULL,
    ALTER COLUMN broke_tag SET DEFAULT 0, ALTER COLUMN broke_tag SET NOT NULL,
    ALTER COLUMN broke_fly_knot SET DEFAULT 0, ALTER COLUMN broke_fly_knot SET NOT NULL,
    ALTER COLUMN broke_point_tippet SET DEFAULT 0, ALTER COLUMN broke_point_tippet SET NOT NULL,
    ALTER COLUMN broke_main_tippet SET DEFAULT 0, ALTER COLUMN broke_main_tippet SET NOT NULL,
    ALTER COLUMN broke_above_sighter SET DEFAULT 0, ALTER COLUMN broke_above_sighter SET NOT NULL,
    ALTER COLUMN snags SET DEFAULT 0, ALTER COLUMN snags SET NOT NULL,
    ALTER COLUMN tangles SET DEFAULT 0, ALTER COLUMN tangles SET NOT NULL,
    ALTER COLUMN twists SET DEFAULT 0, ALTER COLUMN twists SET NOT NULL,
    ALTER COLUMN wind_knots SET DEFAULT 0, ALTER COLUMN wind_knots SET NOT NULL,
    ALTER COLUMN nests SET DEFAULT 0, ALTER COLUMN nests SET NOT NULL,
    ALTER COLUMN untimed SET DEFAULT 0, ALTER COLUMN untimed SET NOT NULL,
    ALTER COLUMN checks SET DEFAULT 0, ALTER COLUMN checks SET NOT NULL,
    ALTER COLUMN turns SET DEFAULT 0, ALTER COLUMN turns SET NOT NULL,
    ALTER COLUMN fly_changes SET DEFAULT 0, ALTER COLUMN fly_changes SET NOT NULL,
    ALTER COLUMN reties SET DEFAULT 0, ALTER COLUMN reties SET NOT NULL,
    ALTER COLUMN minutes_lost SET DEFAULT 0, ALTER COLUMN minutes_lost SET NOT NULL,
    ALTER COLUMN loads SET DEFAULT 0, ALTER COLUMN loads SET NOT NULL;
ALTER TABLE tag_spell DROP COLUMN session_id, DROP COLUMN rig_id, DROP COLUMN minutes;
CREATE VIEW tag_exposure AS
SELECT outfit_id, stint_id, position, session_id, rig_id, minutes::double precision AS minutes, tag_start_mm AS tag_mm, 1::double precision AS share,
    hookups, foul, landed, lost, fair_lost, broke_off, broke_junction, broke_tag, broke_fly_knot, broke_point_tippet, broke_main_tippet, broke_above_sighter, snags, tangles, twists, wind_knots, nests, untimed, checks, turns, fly_changes, reties, minutes_lost, loads
FROM stint_position WHERE NOT tag_changed
UNION ALL
SELECT p.outfit_id, p.stint_id, p.position, p.session_id, p.rig_id, p.minutes * s.share, s.tag_mm, s.share,
    s.hookups, s.foul, s.landed, s.lost, s.fair_lost, s.broke_off, s.broke_junction, s.broke_tag, s.broke_fly_knot, s.broke_point_tippet, s.broke_main_tippet, s.broke_above_sighter, s.snags, s.tangles, s.twists, s.wind_knots, s.nests, s.untimed, s.checks, s.turns, s.fly_changes, s.reties, s.minutes_lost, s.loads
FROM tag_spell s JOIN stint_position p USING (outfit_id, stint_id, position);
