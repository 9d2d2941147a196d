-- Makes many outfits of a few that the program has filled: each is a copy of one, row by row, under ids of its own.
-- Ids stay of version 7 (RFC 9562) and keep their time: 14 of their random bits become the copy's number. Claims that
-- every journal begins with have the same ids everywhere. Who keeps the server runs this: with session_replication_role
-- 'replica' keys and triggers are not asked for each row, which the rows copied have met already.

CREATE FUNCTION pg_temp.moved(id uuid, copy integer) RETURNS uuid LANGUAGE sql IMMUTABLE
RETURN overlay(id::text PLACING to_hex(32768 + copy) FROM 20 FOR 4)::uuid;

-- The id of a copy, of something that has one for each: outfits, people, devices.
CREATE FUNCTION pg_temp.nth(what integer, copy integer) RETURNS uuid LANGUAGE sql IMMUTABLE
RETURN ('019b77' || lpad(to_hex(copy), 6, '0') || '7000' || to_hex(32768 + what) || lpad(to_hex(copy), 12, '0'))::uuid;

-- The rows of an outfit, table by table, to be copied.
CREATE FUNCTION pg_temp.take(template uuid) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
    named text;
BEGIN
    DROP TABLE IF EXISTS pg_temp.copied;
    CREATE TEMPORARY TABLE copied (named text, names text, vals text);
    FOR named IN SELECT relname FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid AND a.attname = 'outfit_id'
            WHERE c.relkind = 'r' AND c.relnamespace = 'public'::regnamespace AND relname <> 'device' UNION ALL SELECT 'outfit' LOOP
        EXECUTE format('DROP TABLE IF EXISTS pg_temp.original_%s', named);
        EXECUTE format('CREATE TEMPORARY TABLE original_%1$s AS SELECT * FROM public.%1$I WHERE %2$s = $1', named, CASE named WHEN 'outfit' THEN 'id' ELSE 'outfit_id' END) USING template;
        INSERT INTO copied SELECT named, string_agg(quote_ident(attname), ', ' ORDER BY attnum), string_agg(CASE
                WHEN attname = 'outfit_id' OR named = 'outfit' AND attname = 'id' THEN 'pg_temp.nth(0, $1)'
                WHEN named = 'outfit' AND attname = 'name' THEN $q$format('Invented outfit %s', $1)$q$
                WHEN atttypid = 'uuid'::regtype AND named <> 'claim' THEN format('pg_temp.moved(%I, $1)', attname)
                ELSE quote_ident(attname) END, ', ' ORDER BY attnum)
            FROM pg_attribute WHERE attrelid = named::regclass AND attnum > 0 AND NOT attisdropped;
    END LOOP;
END
$$;

-- Copies what was taken under some numbers, each with an owner who is signed in on a device of the secret 'invented NUMBER'.
CREATE FUNCTION pg_temp.repeat(since integer, until integer) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
    t record;
BEGIN
    FOR copy IN since..until LOOP
        FOR t IN SELECT * FROM copied LOOP
            EXECUTE format('INSERT INTO %I (%s) SELECT %s FROM pg_temp.original_%s', t.named, t.names, t.vals, t.named) USING copy;
        END LOOP;
    END LOOP;
    INSERT INTO person (id, account) SELECT pg_temp.nth(1, n), format('invented-%s', n) FROM generate_series(since, until) n;
    INSERT INTO member (outfit_id, person_id, name, role) SELECT pg_temp.nth(0, n), pg_temp.nth(1, n), format('Invented owner %s', n), 'owner' FROM generate_series(since, until) n;
    INSERT INTO device (id, person_id, secret_hash, name, expires_at)
        SELECT pg_temp.nth(2, n), pg_temp.nth(1, n), sha256(convert_to(format('invented %s', n), 'UTF8')), 'Invented phone', now() + interval '90 days' FROM generate_series(since, until) n;
END
$$;

SET session_replication_role = 'replica';
