-- +goose Up

-- Rule sets that rigs are held against, kept by the user. A rule that is null
-- (or false) is not in the set. Lengths are mm.
CREATE TABLE rule_set (
    outfit_id       uuid NOT NULL REFERENCES outfit,
    id              uuid NOT NULL,
    name            text NOT NULL CONSTRAINT rule_set_has_a_name CHECK (btrim(name) <> ''),
    source          text NOT NULL DEFAULT '',
    as_of           date CONSTRAINT rule_set_day_possible CHECK (as_of BETWEEN '1900-01-01' AND '2200-12-31'),
    example         boolean NOT NULL DEFAULT false,
    most_flies      smallint CONSTRAINT rule_set_flies_possible CHECK (most_flies BETWEEN 1 AND 10),
    least_apart_mm  double precision CONSTRAINT rule_set_apart_possible CHECK (least_apart_mm > 0 AND least_apart_mm <= 30000),
    most_leader_mm  double precision CONSTRAINT rule_set_leader_possible CHECK (most_leader_mm > 0 AND most_leader_mm <= 30000),
    most_leader_rods double precision CONSTRAINT rule_set_leader_rods_possible CHECK (most_leader_rods > 0 AND most_leader_rods <= 20),
    most_rod_mm     double precision CONSTRAINT rule_set_rod_possible CHECK (most_rod_mm > 0 AND most_rod_mm <= 30000),
    no_rings        boolean NOT NULL DEFAULT false,
    no_swivels      boolean NOT NULL DEFAULT false,
    least_tag_mm    double precision CONSTRAINT rule_set_least_tag_possible CHECK (least_tag_mm > 0 AND least_tag_mm <= 2000),
    most_tag_mm     double precision CONSTRAINT rule_set_most_tag_possible CHECK (most_tag_mm > 0 AND most_tag_mm <= 2000),
    most_bead_mm    double precision CONSTRAINT rule_set_bead_possible CHECK (most_bead_mm BETWEEN 0 AND 20),
    created_at      timestamptz NOT NULL,
    deleted_at      timestamptz,
    PRIMARY KEY (outfit_id, id),
    CONSTRAINT rule_set_tags_in_order CHECK (least_tag_mm <= most_tag_mm)
);
COMMENT ON COLUMN rule_set.deleted_at IS 'null: in use';
COMMENT ON COLUMN rule_set.example IS 'one of the sets a journal starts with, as long as nobody has changed it';
CREATE UNIQUE INDEX rule_set_name_once ON rule_set (outfit_id, lower(name)) WHERE deleted_at IS NULL;

-- +goose Down
DROP TABLE rule_set;
