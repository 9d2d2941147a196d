-- +goose Up

-- Knots pulled to breaking with a scale, away from the water. Forces are N, as
-- read, whatever unit the scale had. An empty junction is a line without a knot.
-- A deleted pull keeps its row for a while, so that it can be brought back.
CREATE TABLE bench_pull (
    outfit_id     uuid NOT NULL REFERENCES outfit,
    id            uuid NOT NULL,
    day           date NOT NULL CONSTRAINT bench_pull_day_possible CHECK (day BETWEEN '1900-01-01' AND '2200-12-31'),
    angler_id     uuid,
    junction      text NOT NULL DEFAULT '' CONSTRAINT bench_pull_junction_known CHECK (junction IN ('', 'figure-eight', 'double surgeon''s', 'triple surgeon''s', 'blood', 'uni', 'tippet ring', 'perfection loop', 'other')),
    junction_name text NOT NULL DEFAULT '',
    facing        text NOT NULL DEFAULT '' CONSTRAINT bench_pull_facing_known CHECK (facing IN ('', 'down', 'up', 'side')),
    prop          text NOT NULL DEFAULT '' CONSTRAINT bench_pull_prop_known CHECK (prop IN ('', 'none', 'half-hitch', 'overhand')),
    tippet_mm     double precision NOT NULL CONSTRAINT bench_pull_tippet_possible CHECK (tippet_mm > 0 AND tippet_mm <= 2),
    material      text NOT NULL DEFAULT '' CONSTRAINT bench_pull_material_known CHECK (material IN ('', 'nylon', 'fluorocarbon')),
    pulled_on     text NOT NULL DEFAULT '' CONSTRAINT bench_pull_pulled_on_known CHECK (pulled_on IN ('', 'tag', 'main line')),
    wetness       text NOT NULL DEFAULT '' CONSTRAINT bench_pull_wetness_known CHECK (wetness IN ('', 'wet', 'dry')),
    force_n       double precision NOT NULL CONSTRAINT bench_pull_force_possible CHECK (force_n > 0 AND force_n <= 2000),
    ending        text NOT NULL CONSTRAINT bench_pull_ending_known CHECK (ending IN ('broke', 'slipped', 'did not break')),
    broke_at      text NOT NULL DEFAULT '' CONSTRAINT bench_pull_broke_at_known CHECK (broke_at IN ('', 'junction', 'tag', 'main line', 'grip')),
    label         text NOT NULL DEFAULT '',
    note          text NOT NULL DEFAULT '',
    logged_at     timestamptz NOT NULL,
    deleted_at    timestamptz,
    PRIMARY KEY (outfit_id, id),
    FOREIGN KEY (outfit_id, angler_id) REFERENCES angler,
    CONSTRAINT bench_pull_junction_named CHECK ((junction = 'other') = (btrim(junction_name) <> '')),
    CONSTRAINT bench_pull_knot_only CHECK (junction <> '' OR (facing = '' AND prop = '' AND pulled_on = '' AND broke_at NOT IN ('junction', 'tag') AND ending <> 'slipped')),
    CONSTRAINT bench_pull_place_of_a_break CHECK (ending = 'broke' OR broke_at = '')
);
CREATE INDEX bench_pull_by_day ON bench_pull (outfit_id, day, id) WHERE deleted_at IS NULL;
COMMENT ON COLUMN bench_pull.deleted_at IS 'null: in the journal';

-- +goose Down
DROP TABLE bench_pull;
