-- +goose Up

-- A water has any number of gauges, each of which gives some quantities.
ALTER TABLE water ADD COLUMN gauges jsonb NOT NULL DEFAULT '[]';
-- +goose StatementBegin
CREATE FUNCTION gauges_of(provider text, number text) RETURNS jsonb LANGUAGE sql IMMUTABLE
    RETURN CASE WHEN btrim(provider) = '' OR btrim(number) = '' THEN '[]'::jsonb
        ELSE jsonb_build_array(jsonb_build_object('provider', lower(btrim(provider)), 'number', btrim(number))) END;
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

-- +goose Down
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
