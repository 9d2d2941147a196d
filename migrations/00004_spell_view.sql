-- +goose Up

-- Both halves have columns of the same types now. Else the server cannot look
-- through the view, and works out every tally of every row for a question about one.
DROP VIEW tag_exposure;
CREATE VIEW tag_exposure AS
SELECT outfit_id, stint_id, position, 0::smallint AS ordinal, session_id, rig_id, minutes::double precision AS minutes, tag_start_mm AS tag_mm, 1::double precision AS share,
    hookups::double precision AS hookups, foul::double precision AS foul, landed::double precision AS landed, lost::double precision AS lost, fair_lost::double precision AS fair_lost, broke_off::double precision AS broke_off, broke_junction::double precision AS broke_junction, broke_tag::double precision AS broke_tag, broke_fly_knot::double precision AS broke_fly_knot, broke_point_tippet::double precision AS broke_point_tippet, broke_main_tippet::double precision AS broke_main_tippet, broke_above_sighter::double precision AS broke_above_sighter, snags::double precision AS snags, tangles::double precision AS tangles, twists::double precision AS twists, wind_knots::double precision AS wind_knots, nests::double precision AS nests, untimed::double precision AS untimed, checks::double precision AS checks, turns::double precision AS turns, fly_changes::double precision AS fly_changes, reties::double precision AS reties, minutes_lost::double precision AS minutes_lost, loads::double precision AS loads
FROM stint_position WHERE NOT tag_changed
UNION ALL
SELECT outfit_id, stint_id, position, ordinal, session_id, rig_id, minutes, tag_mm, share,
    coalesce(hookups, 0), coalesce(foul, 0), coalesce(landed, 0), coalesce(lost, 0), coalesce(fair_lost, 0), coalesce(broke_off, 0), coalesce(broke_junction, 0), coalesce(broke_tag, 0), coalesce(broke_fly_knot, 0), coalesce(broke_point_tippet, 0), coalesce(broke_main_tippet, 0), coalesce(broke_above_sighter, 0), coalesce(snags, 0), coalesce(tangles, 0), coalesce(twists, 0), coalesce(wind_knots, 0), coalesce(nests, 0), coalesce(untimed, 0), coalesce(checks, 0), coalesce(turns, 0), coalesce(fly_changes, 0), coalesce(reties, 0), coalesce(minutes_lost, 0), coalesce(loads, 0)
FROM tag_spell;

-- +goose Down
DROP VIEW tag_exposure;
CREATE VIEW tag_exposure AS
SELECT outfit_id, stint_id, position, 0::smallint AS ordinal, session_id, rig_id, minutes::double precision AS minutes, tag_start_mm AS tag_mm, 1::double precision AS share,
    hookups, foul, landed, lost, fair_lost, broke_off, broke_junction, broke_tag, broke_fly_knot, broke_point_tippet, broke_main_tippet, broke_above_sighter, snags, tangles, twists, wind_knots, nests, untimed, checks, turns, fly_changes, reties, minutes_lost, loads
FROM stint_position WHERE NOT tag_changed
UNION ALL
SELECT outfit_id, stint_id, position, ordinal, session_id, rig_id, minutes, tag_mm, share,
    coalesce(hookups, 0), coalesce(foul, 0), coalesce(landed, 0), coalesce(lost, 0), coalesce(fair_lost, 0), coalesce(broke_off, 0), coalesce(broke_junction, 0), coalesce(broke_tag, 0), coalesce(broke_fly_knot, 0), coalesce(broke_point_tippet, 0), coalesce(broke_main_tippet, 0), coalesce(broke_above_sighter, 0), coalesce(snags, 0), coalesce(tangles, 0), coalesce(twists, 0), coalesce(wind_knots, 0), coalesce(nests, 0), coalesce(untimed, 0), coalesce(checks, 0), coalesce(turns, 0), coalesce(fly_changes, 0), coalesce(reties, 0), coalesce(minutes_lost, 0), coalesce(loads, 0)
FROM tag_spell;
