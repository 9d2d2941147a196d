\set ON_ERROR_STOP on
CREATE TEMP TABLE number AS SELECT id AS session_id, row_number() OVER () AS session FROM session;
ANALYZE number;
\copy (SELECT p.junction, n.session, c.tangles, c.minutes FROM stint_position c JOIN rig_position p USING (outfit_id, rig_id, position) JOIN number n USING (session_id) WHERE p.hang = 'tag' AND p.junction <> '' AND c.minutes IS NOT NULL) TO '%s' CSV HEADER
\copy (SELECT p.junction, coalesce(c.tag_mm, p.tag_length_mm) AS tag_mm, p.bulk, a.name AS angler, n.session, c.tangles, c.minutes FROM tag_exposure c JOIN rig_position p USING (outfit_id, rig_id, position) JOIN session s ON s.id = c.session_id JOIN angler a ON a.id = s.angler_id JOIN number n USING (session_id) WHERE p.hang = 'tag' AND p.junction <> '' AND p.bulk <> '' AND coalesce(c.tag_mm, p.tag_length_mm) IS NOT NULL AND c.minutes > 0) TO '%s' CSV HEADER
