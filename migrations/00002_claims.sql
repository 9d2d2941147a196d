-- +goose Up

-- Rules of thumb that the journal tests. Outcomes, factors and the words of
-- levels are the program's, which checks them; a claim on one that a later
-- program drops stays readable.
CREATE TABLE claim (
    outfit_id  uuid NOT NULL REFERENCES outfit,
    id         uuid NOT NULL,
    words      text NOT NULL CONSTRAINT claim_has_words CHECK (btrim(words) <> ''),
    outcome    text NOT NULL CONSTRAINT claim_has_an_outcome CHECK (outcome <> ''),
    factor     text NOT NULL CONSTRAINT claim_has_a_factor CHECK (factor <> ''),
    direction  text NOT NULL CONSTRAINT claim_direction_known CHECK (direction IN ('more', 'less')),
    level      text[] NOT NULL DEFAULT '{}',
    versus     text[] NOT NULL DEFAULT '{}',
    given      text[] NOT NULL DEFAULT '{}' CONSTRAINT claim_not_given_its_factor CHECK (factor <> ALL (given)),
    source     text NOT NULL CONSTRAINT claim_source_known CHECK (source IN ('common practice, no source', 'own')),
    created_at timestamptz NOT NULL,
    retired_at timestamptz,
    PRIMARY KEY (outfit_id, id),
    CONSTRAINT claim_compares_two_sides CHECK ((cardinality(level) = 0) = (cardinality(versus) = 0)),
    CONSTRAINT claim_sides_differ CHECK (NOT level && versus),
    CONSTRAINT claim_has_no_empty_level CHECK ('' <> ALL (level || versus || given))
);
COMMENT ON COLUMN claim.level IS 'any of these; empty where the factor is a number';
COMMENT ON COLUMN claim.retired_at IS 'null: on the board';
CREATE UNIQUE INDEX claim_words_once ON claim (outfit_id, lower(words));

-- +goose Down
DROP TABLE claim;
