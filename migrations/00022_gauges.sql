-- +goose Up

-- A water has any number of gauges, each of which gives some quantities.
ALTER TABLE water ADD COLUMN gauges jsonb NOT NULL DEFAULT '[]';
-- +goose StatementBegin
CREATE FUNCTION gauges_of(provider text, number text) RETURNS jsonb LANGUAGE sql IMMUTABLE
    RETURN CASE WHEN btrim(provider) = '' OR btrim(number) = '' THEN '[]'::jsonb
        ELSE jsonb_build_array(jsonb_build_object('provider', lower(btrim(replace(provider, ':', ''))), 'number', btrim(number))) END;
-- +goose StatementEnd
ALTER TABLE outfit NO FORCE ROW LEVEL SECURITY;
-- +goose StatementBegin
DO $$
DECLARE
    one uuid;
BEGIN
    FOR one IN SELECT id FROM outfit LOOP
        PERFORM set_config('rigtally.outfit', one::text, true);
        UPDATE water SET gauges = gauges_of(gauge_provider, gauge_site) WHERE outfit_id = one AND gauge_site <> '';
        -- What steps keep of waters, to be put back.
        UPDATE step SET content = jsonb_set(content, '{gone}', (SELECT jsonb_agg(CASE WHEN g ->> 'table' = 'water'
                THEN jsonb_set(g, '{row}', (g -> 'row') - 'gauge_provider' - 'gauge_site'
                    || jsonb_build_object('gauges', gauges_of(g -> 'row' ->> 'gauge_provider', g -> 'row' ->> 'gauge_site'))) ELSE g END ORDER BY at)
                FROM jsonb_array_elements(content -> 'gone') WITH ORDINALITY AS x (g, at)))
            WHERE outfit_id = one AND content @> '{"gone": [{"table": "water"}]}';
        UPDATE step SET content = jsonb_set(content, '{moves}', coalesce((SELECT jsonb_agg(CASE WHEN m ->> 'column' = 'gauge_site'
                THEN m || jsonb_build_object('column', 'gauges', 'from', '[]', 'to', gauges_of((SELECT o ->> 'to' FROM jsonb_array_elements(content -> 'moves') o WHERE o ->> 'column' = 'gauge_provider'), m ->> 'to')::text) ELSE m END ORDER BY at)
                FROM jsonb_array_elements(content -> 'moves') WITH ORDINALITY AS x (m, at) WHERE m ->> 'column' <> 'gauge_provider'), '[]'))
            WHERE outfit_id = one AND content @> '{"moves": [{"column": "gauge_provider"}]}';
    END LOOP;
END
$$;
-- +goose StatementEnd
ALTER TABLE outfit FORCE ROW LEVEL SECURITY;
ALTER TABLE water DROP COLUMN gauge_provider, DROP COLUMN gauge_site;
DROP FUNCTION gauges_of(text, text);

-- Readings lie once for all outfits, under the outfit zero, and beside them what an outfit has read from files of its own,
-- which it alone sees. Only who keeps the gauges up to date writes what is common.
-- +goose StatementBegin
DO $$
BEGIN
    IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'rigtally_at_gauges') THEN
        CREATE ROLE rigtally_at_gauges NOLOGIN;
    END IF;
EXCEPTION WHEN duplicate_object OR unique_violation THEN
    NULL; -- made meanwhile, for another journal of the same server
END
$$;
-- +goose StatementEnd
CREATE FUNCTION no_outfit() RETURNS uuid LANGUAGE sql IMMUTABLE RETURN '00000000-0000-0000-0000-000000000000'::uuid;

CREATE TABLE gauge (
    outfit_id uuid NOT NULL,
    provider  text NOT NULL CONSTRAINT gauge_has_a_provider CHECK (provider <> '' AND provider = lower(provider)),
    number    text NOT NULL CONSTRAINT gauge_has_a_number CHECK (number <> ''),
    name      text NOT NULL DEFAULT '',
    zone      text NOT NULL DEFAULT '',
    latitude  double precision,
    longitude double precision,
    measures  text[] NOT NULL DEFAULT '{}',
    PRIMARY KEY (outfit_id, provider, number)
);
COMMENT ON COLUMN gauge.outfit_id IS 'whose file describes it so; zero: its agency';

CREATE TABLE gauge_series (
    outfit_id uuid NOT NULL,
    id        uuid NOT NULL,
    provider  text NOT NULL,
    number    text NOT NULL,
    quantity  text NOT NULL CONSTRAINT gauge_series_quantity_known CHECK (quantity IN ('flow', 'stage', 'temperature')),
    sensor    text NOT NULL,
    statistic text NOT NULL CONSTRAINT gauge_series_statistic_known CHECK (statistic IN ('', 'daily mean')),
    changes   bigint NOT NULL DEFAULT 0,
    PRIMARY KEY (outfit_id, id),
    CONSTRAINT gauge_series_once UNIQUE (outfit_id, provider, number, quantity, sensor, statistic)
);

COMMENT ON COLUMN gauge_series.changes IS 'how often readings were written, so that what was made from them is known to be old';

-- A row holds the readings of a day in UTC, or of daily means those of a year, so that a million readings are ten
-- thousand rows. The series are never taken out, so that no key need be looked up for each row.
CREATE TABLE gauge_block (
    outfit_id uuid NOT NULL,
    series_id uuid NOT NULL,
    begins    date NOT NULL,
    seconds   integer[] NOT NULL,
    value     double precision[] NOT NULL,
    flags     smallint[] NOT NULL,
    PRIMARY KEY (outfit_id, series_id, begins),
    CONSTRAINT gauge_block_is_whole CHECK (cardinality(seconds) > 0 AND cardinality(value) = cardinality(seconds) AND cardinality(flags) = cardinality(seconds))
) PARTITION BY RANGE (begins);
COMMENT ON COLUMN gauge_block.seconds IS 'after midnight UTC of the day on which the row begins, in order';
COMMENT ON COLUMN gauge_block.value IS 'flow in m³/s, stage in m, temperature in °C; NaN: none';
COMMENT ON COLUMN gauge_block.flags IS 'bits of gauge.Flags';
CREATE TABLE gauge_block_before_2000 PARTITION OF gauge_block FOR VALUES FROM (MINVALUE) TO ('2000-01-01');
CREATE TABLE gauge_block_2000 PARTITION OF gauge_block FOR VALUES FROM ('2000-01-01') TO ('2005-01-01');
CREATE TABLE gauge_block_2005 PARTITION OF gauge_block FOR VALUES FROM ('2005-01-01') TO ('2010-01-01');
CREATE TABLE gauge_block_2010 PARTITION OF gauge_block FOR VALUES FROM ('2010-01-01') TO ('2015-01-01');
CREATE TABLE gauge_block_2015 PARTITION OF gauge_block FOR VALUES FROM ('2015-01-01') TO ('2020-01-01');
CREATE TABLE gauge_block_2020 PARTITION OF gauge_block FOR VALUES FROM ('2020-01-01') TO ('2025-01-01');
CREATE TABLE gauge_block_2025 PARTITION OF gauge_block FOR VALUES FROM ('2025-01-01') TO ('2030-01-01');
CREATE TABLE gauge_block_2030 PARTITION OF gauge_block FOR VALUES FROM ('2030-01-01') TO ('2035-01-01');
CREATE TABLE gauge_block_2035 PARTITION OF gauge_block FOR VALUES FROM ('2035-01-01') TO ('2040-01-01');
CREATE TABLE gauge_block_2040 PARTITION OF gauge_block FOR VALUES FROM ('2040-01-01') TO ('2045-01-01');
CREATE TABLE gauge_block_2045 PARTITION OF gauge_block FOR VALUES FROM ('2045-01-01') TO ('2050-01-01');
CREATE TABLE gauge_block_from_2050 PARTITION OF gauge_block FOR VALUES FROM ('2050-01-01') TO (MAXVALUE);

-- What agencies were asked, so that nobody asks too often.
CREATE TABLE gauge_request (
    provider      text NOT NULL,
    number        text NOT NULL,
    what          text NOT NULL,
    etag          text NOT NULL DEFAULT '',
    last_modified text NOT NULL DEFAULT '',
    asked_at      timestamptz NOT NULL,
    next_at       timestamptz,
    failures      integer NOT NULL DEFAULT 0,
    trouble       text NOT NULL DEFAULT '',
    PRIMARY KEY (provider, number, what)
);

-- To which gauges waters are linked, and since when: what water.gauges says, kept in step by a trigger.
CREATE TABLE gauge_use (
    outfit_id uuid NOT NULL,
    water_id  uuid NOT NULL,
    provider  text NOT NULL,
    number    text NOT NULL,
    since     timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (outfit_id, water_id, provider, number),
    FOREIGN KEY (outfit_id, water_id) REFERENCES water ON DELETE CASCADE
);
CREATE INDEX gauge_use_by_site ON gauge_use (provider, number);
-- +goose StatementBegin
CREATE FUNCTION keep_gauge_use() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
    IF TG_OP = 'UPDATE' AND NEW.gauges = OLD.gauges THEN
        RETURN NULL;
    END IF;
    DELETE FROM gauge_use u WHERE u.outfit_id = NEW.outfit_id AND u.water_id = NEW.id
        AND NOT NEW.gauges @> jsonb_build_array(jsonb_build_object('provider', u.provider, 'number', u.number));
    INSERT INTO gauge_use (outfit_id, water_id, provider, number)
        SELECT DISTINCT NEW.outfit_id, NEW.id, g ->> 'provider', g ->> 'number' FROM jsonb_array_elements(NEW.gauges) g ON CONFLICT DO NOTHING;
    RETURN NULL;
END
$$;
-- +goose StatementEnd
CREATE TRIGGER water_gauges AFTER INSERT OR UPDATE OF gauges ON water FOR EACH ROW EXECUTE FUNCTION keep_gauge_use();

-- What a session takes of gauges, beside what was typed.
CREATE TABLE session_gauge (
    outfit_id  uuid NOT NULL,
    session_id uuid NOT NULL,
    quantity   text NOT NULL CONSTRAINT session_gauge_quantity_known CHECK (quantity IN ('flow', 'stage', 'temperature')),
    provider   text NOT NULL,
    number     text NOT NULL,
    sensor     text NOT NULL,
    value      double precision NOT NULL,
    at         timestamptz NOT NULL,
    two        boolean NOT NULL,
    whole_day  boolean NOT NULL,
    flags      smallint NOT NULL,
    percentile double precision,
    years      smallint NOT NULL,
    change_6h  double precision,
    change_24h double precision,
    peak       double precision,
    day        date NOT NULL,
    middle     timestamptz,
    PRIMARY KEY (outfit_id, session_id, quantity),
    FOREIGN KEY (outfit_id, session_id) REFERENCES session ON DELETE CASCADE
);
COMMENT ON COLUMN session_gauge.two IS 'the value lies between two readings';
COMMENT ON COLUMN session_gauge.middle IS 'of the session as it was when it took the value; null: no times were noted';

-- The revision at which what a session takes was changed last while the session stayed as it is. It stands by itself since
-- rows of sessions are wide and have many keys: to write ten thousand anew takes seconds.
CREATE TABLE session_fill (
    outfit_id  uuid NOT NULL,
    session_id uuid NOT NULL,
    changed    bigint NOT NULL DEFAULT revision_under_way(),
    PRIMARY KEY (outfit_id, session_id),
    FOREIGN KEY (outfit_id, session_id) REFERENCES session ON DELETE CASCADE
);
CREATE INDEX session_fill_by_change ON session_fill (outfit_id, changed);
ALTER TABLE deleted_session ADD COLUMN took jsonb NOT NULL DEFAULT '[]';
COMMENT ON COLUMN deleted_session.took IS 'its rows of session_gauge, so that it has them again when it is restored';

-- +goose StatementBegin
DO $$
DECLARE
    named text;
BEGIN
    FOREACH named IN ARRAY ARRAY['gauge', 'gauge_series', 'gauge_block', 'gauge_use', 'session_gauge', 'session_fill', 'gauge_block_before_2000', 'gauge_block_2000', 'gauge_block_2005', 'gauge_block_2010', 'gauge_block_2015', 'gauge_block_2020',
        'gauge_block_2025', 'gauge_block_2030', 'gauge_block_2035', 'gauge_block_2040', 'gauge_block_2045', 'gauge_block_from_2050'] LOOP
        EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY', named);
        EXECUTE format('CREATE POLICY %I ON %I USING (outfit_id = outfit_at_work())', named || '_of_the_outfit', named);
    END LOOP;
    FOREACH named IN ARRAY ARRAY['gauge', 'gauge_series', 'gauge_block'] LOOP
        EXECUTE format('CREATE POLICY %I ON %I FOR SELECT USING (outfit_id = no_outfit())', named || '_of_all', named);
        EXECUTE format('CREATE POLICY %I ON %I TO rigtally_at_gauges USING (outfit_id = no_outfit())', named || '_at_gauges', named);
    END LOOP;
END
$$;
-- +goose StatementEnd
ALTER TABLE gauge_request ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
CREATE POLICY gauge_request_at_gauges ON gauge_request TO rigtally_at_gauges USING (true);
CREATE POLICY gauge_request_of_own_gauges ON gauge_request FOR SELECT TO rigtally_as_owner, rigtally_as_guide, rigtally_as_client
    USING ((provider, number) IN (SELECT u.provider, u.number FROM gauge_use u WHERE u.outfit_id = outfit_at_work()));
CREATE POLICY gauge_use_at_gauges ON gauge_use FOR SELECT TO rigtally_at_gauges USING (true);
-- A client sees what rivers did, as the outfit does, and changes nothing of it.
CREATE POLICY gauge_seen ON gauge AS RESTRICTIVE FOR SELECT TO rigtally_as_client USING (true);
CREATE POLICY gauge_series_seen ON gauge_series AS RESTRICTIVE FOR SELECT TO rigtally_as_client USING (true);
CREATE POLICY gauge_block_seen ON gauge_block AS RESTRICTIVE FOR SELECT TO rigtally_as_client USING (true);
CREATE POLICY gauge_use_of_waters ON gauge_use AS RESTRICTIVE TO rigtally_as_client USING (water_id IN (SELECT id FROM water));
CREATE POLICY session_gauge_own ON session_gauge AS RESTRICTIVE TO rigtally_as_client USING (session_is_own(session_id));
CREATE POLICY session_fill_own ON session_fill AS RESTRICTIVE TO rigtally_as_client USING (session_is_own(session_id));

GRANT SELECT ON gauge, gauge_series, gauge_block, gauge_use, session_gauge, session_fill TO rigtally_as_owner, rigtally_as_guide, rigtally_as_client, rigtally_as_reader;
GRANT SELECT ON gauge_request TO rigtally_as_owner, rigtally_as_guide, rigtally_as_client;
GRANT INSERT, UPDATE, DELETE ON gauge, gauge_series, gauge_block TO rigtally_as_owner, rigtally_as_guide;
GRANT INSERT, UPDATE, DELETE ON session_gauge, session_fill TO rigtally_as_owner, rigtally_as_guide, rigtally_as_client;
GRANT SELECT, INSERT, UPDATE, DELETE ON gauge, gauge_series, gauge_block, gauge_request TO rigtally_at_gauges;
GRANT SELECT ON gauge_use TO rigtally_at_gauges;

-- Waters that had a gauge before.
ALTER TABLE outfit NO FORCE ROW LEVEL SECURITY;
-- +goose StatementBegin
DO $$
DECLARE
    one uuid;
BEGIN
    FOR one IN SELECT id FROM outfit LOOP
        PERFORM set_config('rigtally.outfit', one::text, true);
        INSERT INTO gauge_use (outfit_id, water_id, provider, number)
            SELECT outfit_id, id, g ->> 'provider', g ->> 'number' FROM water, jsonb_array_elements(gauges) g WHERE outfit_id = one;
    END LOOP;
END
$$;
-- +goose StatementEnd
ALTER TABLE outfit FORCE ROW LEVEL SECURITY;

-- +goose Down
ALTER TABLE deleted_session DROP COLUMN took;
DROP TRIGGER water_gauges ON water;
DROP FUNCTION keep_gauge_use();
DROP TABLE session_fill, session_gauge, gauge_use, gauge_request, gauge_block, gauge_series, gauge;
DROP FUNCTION no_outfit();
ALTER TABLE water ADD COLUMN gauge_provider text NOT NULL DEFAULT '', ADD COLUMN gauge_site text NOT NULL DEFAULT '';
ALTER TABLE outfit NO FORCE ROW LEVEL SECURITY;
-- +goose StatementBegin
DO $$
DECLARE
    one uuid;
BEGIN
    FOR one IN SELECT id FROM outfit LOOP
        PERFORM set_config('rigtally.outfit', one::text, true);
        UPDATE water SET gauge_provider = gauges -> 0 ->> 'provider', gauge_site = gauges -> 0 ->> 'number' WHERE outfit_id = one AND gauges <> '[]';
    END LOOP;
END
$$;
-- +goose StatementEnd
ALTER TABLE outfit FORCE ROW LEVEL SECURITY;
ALTER TABLE water DROP COLUMN gauges;
