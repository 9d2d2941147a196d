-- Repeats every session of a journal nine times, so that it holds ten times as
-- many stints. Each copy is a session of its own, with new ids that keep the day
-- in front and random bits behind, as the journal's own have (RFC 9562, version 7).
-- Events are not copied: no question reads them.
BEGIN;

CREATE FUNCTION pg_temp.again(id uuid, copy int) RETURNS uuid LANGUAGE sql IMMUTABLE AS $$
	SELECT (left(h, 13) || substr(r, 1, 3) || substr(h, 17, 1) || substr(r, 4, 15))::uuid
	FROM (SELECT replace(id::text, '-', '') AS h, md5(id::text || copy) AS r) AS digits
$$;

-- Every foreign key is dropped first and added again afterwards, which checks all
-- rows together instead of each by itself.
DO $$
DECLARE
	tables CONSTANT text[] := ARRAY['session', 'stint', 'stint_position', 'tag_spell'];
	keys text[];
	t text;
	names text;
	vals text;
	sql text;
BEGIN
	SELECT array_agg(format('ALTER TABLE %s ADD CONSTRAINT %I %s', conrelid::regclass, conname, pg_get_constraintdef(oid))
			ORDER BY array_position(tables, conrelid::regclass::text))
		INTO keys FROM pg_constraint WHERE contype = 'f' AND conrelid = ANY (tables::regclass[]);
	FOR sql IN SELECT format('ALTER TABLE %s DROP CONSTRAINT %I', conrelid::regclass, conname)
			FROM pg_constraint WHERE contype = 'f' AND conrelid = ANY (tables::regclass[]) LOOP
		EXECUTE sql;
	END LOOP;
	FOREACH t IN ARRAY tables LOOP
		SELECT string_agg(quote_ident(attname), ', ' ORDER BY attnum),
			string_agg(CASE WHEN attname = 'id' OR attname IN ('session_id', 'stint_id') THEN format('pg_temp.again(%I, $1)', attname) ELSE quote_ident(attname) END, ', ' ORDER BY attnum)
			INTO names, vals FROM pg_attribute WHERE attrelid = t::regclass AND attnum > 0 AND NOT attisdropped;
		EXECUTE format('CREATE TEMP TABLE original ON COMMIT DROP AS SELECT * FROM %I', t);
		FOR copy IN 1..9 LOOP
			EXECUTE format('INSERT INTO %I (%s) SELECT %s FROM original', t, names, vals) USING copy;
		END LOOP;
		DROP TABLE original;
	END LOOP;
	FOREACH sql IN ARRAY keys LOOP
		EXECUTE sql;
	END LOOP;
END
$$;

COMMIT;
VACUUM ANALYZE session, stint, stint_position, tag_spell;
