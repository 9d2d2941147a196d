-- +goose Up

-- Of which kinds of event count was kept through a stint: bit k for kind k of
-- journal.Kinds, and bit 15 that it was said at all. 0 says nothing: every kind is taken to have been
-- counted, as in all stints before this.
ALTER TABLE stint ADD COLUMN recorded smallint NOT NULL DEFAULT 0;
COMMENT ON COLUMN stint.recorded IS 'bit k: count was kept of kind k; bit 15: it was said of what; 0: nothing was said, all assumed';

-- Whether a fish was hooked fair or foul may not have been told.
ALTER TABLE event DROP CONSTRAINT event_hooking_of_a_hookup;
ALTER TABLE event ADD CONSTRAINT event_hooking_of_a_hookup CHECK (kind = 'hookup' OR hooking IS NULL);

-- A stint's time is kept to the second. The view served questions, which no longer ask the tables.
DROP VIEW tag_exposure;
ALTER TABLE stint DROP CONSTRAINT stint_minutes_possible;
ALTER TABLE stint RENAME COLUMN minutes TO seconds;
ALTER TABLE stint ALTER COLUMN seconds TYPE integer USING seconds * 60;
ALTER TABLE stint ADD CONSTRAINT stint_time_possible CHECK (seconds BETWEEN 1 AND 86400);
ALTER TABLE stint_position RENAME COLUMN minutes TO seconds;
ALTER TABLE stint_position ALTER COLUMN seconds TYPE integer USING seconds * 60;
ALTER TABLE tag_spell RENAME COLUMN minutes TO seconds;
UPDATE tag_spell SET seconds = seconds * 60 WHERE seconds IS NOT NULL;

-- Events of which a detail was not told: they belong to stints that counted them all the same.
ALTER TABLE stint ADD COLUMN hooking_untold smallint NOT NULL DEFAULT 0, ADD COLUMN kind_untold smallint NOT NULL DEFAULT 0, ADD COLUMN place_untold smallint NOT NULL DEFAULT 0;
ALTER TABLE stint_position ADD COLUMN hooking_untold smallint NOT NULL DEFAULT 0, ADD COLUMN kind_untold smallint NOT NULL DEFAULT 0, ADD COLUMN place_untold smallint NOT NULL DEFAULT 0;
ALTER TABLE tag_spell ADD COLUMN hooking_untold double precision, ADD COLUMN kind_untold double precision, ADD COLUMN place_untold double precision;
UPDATE stint SET kind_untold = tangles - twists - wind_knots - nests WHERE tangles > twists + wind_knots + nests;
UPDATE stint_position SET kind_untold = tangles - twists - wind_knots - nests WHERE tangles > twists + wind_knots + nests;
UPDATE tag_spell SET kind_untold = nullif(round((coalesce(tangles, 0) - coalesce(twists, 0) - coalesce(wind_knots, 0) - coalesce(nests, 0))::numeric, 9)::float8, 0) WHERE tangles > 0;
UPDATE stint st SET place_untold = e.n FROM (SELECT outfit_id, stint_id, sum(count) AS n FROM event WHERE ending = 'broke off' AND break_place IS NULL GROUP BY outfit_id, stint_id) e
	WHERE st.outfit_id = e.outfit_id AND st.id = e.stint_id;
UPDATE stint_position p SET place_untold = e.n FROM (SELECT outfit_id, stint_id, position, sum(count) AS n FROM event WHERE ending = 'broke off' AND break_place IS NULL AND position IS NOT NULL GROUP BY outfit_id, stint_id, position) e
	WHERE p.outfit_id = e.outfit_id AND p.stint_id = e.stint_id AND p.position = e.position;

-- +goose Down
UPDATE tag_spell SET seconds = seconds / 60 WHERE seconds IS NOT NULL;
ALTER TABLE tag_spell RENAME COLUMN seconds TO minutes;
ALTER TABLE stint_position ALTER COLUMN seconds TYPE smallint USING greatest(1, round(seconds / 60.0));
ALTER TABLE stint_position RENAME COLUMN seconds TO minutes;
ALTER TABLE stint DROP CONSTRAINT stint_time_possible;
ALTER TABLE stint ALTER COLUMN seconds TYPE smallint USING greatest(1, round(seconds / 60.0));
ALTER TABLE stint RENAME COLUMN seconds TO minutes;
ALTER TABLE stint ADD CONSTRAINT stint_minutes_possible CHECK (minutes BETWEEN 1 AND 1440);
ALTER TABLE tag_spell DROP COLUMN hooking_untold, DROP COLUMN kind_untold, DROP COLUMN place_untold;
ALTER TABLE stint_position DROP COLUMN hooking_untold, DROP COLUMN kind_untold, DROP COLUMN place_untold;
ALTER TABLE stint DROP COLUMN hooking_untold, DROP COLUMN kind_untold, DROP COLUMN place_untold;
ALTER TABLE stint DROP COLUMN recorded;
UPDATE event SET hooking = 'fair' WHERE kind = 'hookup' AND hooking IS NULL;
ALTER TABLE event DROP CONSTRAINT event_hooking_of_a_hookup;
ALTER TABLE event ADD CONSTRAINT event_hooking_of_a_hookup CHECK ((kind = 'hookup') = (hooking IS NOT NULL));
CREATE VIEW tag_exposure AS
SELECT outfit_id, stint_id, position, 0::smallint AS ordinal, session_id, rig_id, minutes::double precision AS minutes, tag_start_mm AS tag_mm, 1::double precision AS share,
    hookups::double precision AS hookups, foul::double precision AS foul, landed::double precision AS landed, lost::double precision AS lost, fair_lost::double precision AS fair_lost, broke_off::double precision AS broke_off, broke_junction::double precision AS broke_junction, broke_tag::double precision AS broke_tag, broke_fly_knot::double precision AS broke_fly_knot, broke_point_tippet::double precision AS broke_point_tippet, broke_main_tippet::double precision AS broke_main_tippet, broke_above_sighter::double precision AS broke_above_sighter, snags::double precision AS snags, tangles::double precision AS tangles, twists::double precision AS twists, wind_knots::double precision AS wind_knots, nests::double precision AS nests, untimed::double precision AS untimed, checks::double precision AS checks, turns::double precision AS turns, fly_changes::double precision AS fly_changes, reties::double precision AS reties, minutes_lost::double precision AS minutes_lost, loads::double precision AS loads
FROM stint_position WHERE NOT tag_changed
UNION ALL
SELECT outfit_id, stint_id, position, ordinal, session_id, rig_id, minutes, tag_mm, share,
    coalesce(hookups, 0), coalesce(foul, 0), coalesce(landed, 0), coalesce(lost, 0), coalesce(fair_lost, 0), coalesce(broke_off, 0), coalesce(broke_junction, 0), coalesce(broke_tag, 0), coalesce(broke_fly_knot, 0), coalesce(broke_point_tippet, 0), coalesce(broke_main_tippet, 0), coalesce(broke_above_sighter, 0), coalesce(snags, 0), coalesce(tangles, 0), coalesce(twists, 0), coalesce(wind_knots, 0), coalesce(nests, 0), coalesce(untimed, 0), coalesce(checks, 0), coalesce(turns, 0), coalesce(fly_changes, 0), coalesce(reties, 0), coalesce(minutes_lost, 0), coalesce(loads, 0)
FROM tag_spell;
