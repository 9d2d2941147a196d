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

-- Ordinal is above 0 for every spell but the first, so that stints can be counted once.
DROP VIEW tag_exposure;
CREATE VIEW tag_exposure AS
SELECT outfit_id, stint_id, position, 0::smallint AS ordinal, session_id, rig_id, minutes::double precision AS minutes, tag_start_mm AS tag_mm, 1::double precision AS share,
    hookups, foul, landed, lost, fair_lost, broke_off, broke_junction, broke_tag, broke_fly_knot, broke_point_tippet, broke_main_tippet, broke_above_sighter, snags, tangles, twists, wind_knots, nests, untimed, checks, turns, fly_changes, reties, minutes_lost, loads
FROM stint_position WHERE NOT tag_changed
UNION ALL
SELECT outfit_id, stint_id, position, ordinal, session_id, rig_id, minutes, tag_mm, share,
    hookups, foul, landed, lost, fair_lost, broke_off, broke_junction, broke_tag, broke_fly_knot, broke_point_tippet, broke_main_tippet, broke_above_sighter, snags, tangles, twists, wind_knots, nests, untimed, checks, turns, fly_changes, reties, minutes_lost, loads
FROM tag_spell;

-- +goose Down
DROP VIEW tag_exposure;
ALTER TABLE tag_spell DROP COLUMN session_id, DROP COLUMN rig_id, DROP COLUMN minutes;
CREATE VIEW tag_exposure AS
SELECT outfit_id, stint_id, position, session_id, rig_id, minutes::double precision AS minutes, tag_start_mm AS tag_mm, 1::double precision AS share,
    hookups, foul, landed, lost, fair_lost, broke_off, broke_junction, broke_tag, broke_fly_knot, broke_point_tippet, broke_main_tippet, broke_above_sighter, snags, tangles, twists, wind_knots, nests, untimed, checks, turns, fly_changes, reties, minutes_lost, loads
FROM stint_position WHERE NOT tag_changed
UNION ALL
SELECT p.outfit_id, p.stint_id, p.position, p.session_id, p.rig_id, p.minutes * s.share, s.tag_mm, s.share,
    s.hookups, s.foul, s.landed, s.lost, s.fair_lost, s.broke_off, s.broke_junction, s.broke_tag, s.broke_fly_knot, s.broke_point_tippet, s.broke_main_tippet, s.broke_above_sighter, s.snags, s.tangles, s.twists, s.wind_knots, s.nests, s.untimed, s.checks, s.turns, s.fly_changes, s.reties, s.minutes_lost, s.loads
FROM tag_spell s JOIN stint_position p USING (outfit_id, stint_id, position);
