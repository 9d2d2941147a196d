\set ON_ERROR_STOP on
CREATE TEMP TABLE number AS SELECT id AS session_id, row_number() OVER () AS session FROM session;
-- Stints of which count was kept of tangles, bit 7, or nothing was said.
CREATE TEMP TABLE counted AS SELECT id AS stint_id FROM stint WHERE recorded = 0 OR recorded::integer & 128 <> 0;
ANALYZE number, counted;
SET enable_nestloop = off; -- the planner takes the rows of flies and rigs together for few
\copy (SELECT p.junction, n.session, c.tangles, c.seconds / 60.0::float8 AS minutes FROM stint_position c JOIN counted USING (stint_id) JOIN rig_position p USING (outfit_id, rig_id, position) JOIN number n USING (session_id) WHERE p.hang = 'tag' AND p.junction <> '' AND c.seconds IS NOT NULL) TO '%s' CSV HEADER
\copy (SELECT p.junction, coalesce(c.tag_mm, p.tag_length_mm) AS tag_mm, p.bulk, a.name AS angler, n.session, c.tangles, c.seconds / 60.0::float8 AS minutes FROM (SELECT outfit_id, stint_id, rig_id, position, session_id, tag_start_mm AS tag_mm, tangles, seconds FROM stint_position WHERE NOT tag_changed UNION ALL SELECT outfit_id, stint_id, rig_id, position, session_id, tag_mm, coalesce(tangles, 0), seconds FROM tag_spell) c JOIN counted USING (stint_id) JOIN rig_position p USING (outfit_id, rig_id, position) JOIN session s ON s.id = c.session_id JOIN angler a ON a.id = s.angler_id JOIN number n USING (session_id) WHERE p.hang = 'tag' AND p.junction <> '' AND p.bulk <> '' AND coalesce(c.tag_mm, p.tag_length_mm) IS NOT NULL AND c.seconds > 0) TO '%s' CSV HEADER
