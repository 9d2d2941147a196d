-- +goose Up

-- A trial is planned once: what is compared, how it is counted and in which order
-- never change afterwards, so that nobody can choose them by what was seen. The
-- seed makes the order; its commitment is shown at once, the seed at the end.
CREATE TABLE trial (
    outfit_id     uuid NOT NULL REFERENCES outfit,
    id            uuid NOT NULL,
    name          text NOT NULL CONSTRAINT trial_has_a_name CHECK (btrim(name) <> ''),
    outcome       text NOT NULL CONSTRAINT trial_has_an_outcome CHECK (outcome <> ''),
    factor        text NOT NULL CONSTRAINT trial_has_a_factor CHECK (factor <> ''),
    a_rig_id      uuid,
    a_level       text NOT NULL DEFAULT '',
    a_note        text NOT NULL DEFAULT '',
    b_rig_id      uuid,
    b_level       text NOT NULL DEFAULT '',
    b_note        text NOT NULL DEFAULT '',
    unit          text NOT NULL CONSTRAINT trial_unit_known CHECK (unit IN ('stint', 'session')),
    block         smallint NOT NULL CONSTRAINT trial_block_possible CHECK (block IN (2, 4)),
    worth         double precision NOT NULL CONSTRAINT trial_worth_possible CHECK (worth >= 1.1 AND worth <= 5),
    most_hours    double precision NOT NULL CONSTRAINT trial_most_hours_possible CHECK (most_hours >= 1 AND most_hours <= 5000),
    seed          text NOT NULL CONSTRAINT trial_seed_possible CHECK (seed ~ '^[0-9a-f]{64}$'),
    commitment    text NOT NULL CONSTRAINT trial_commitment_possible CHECK (commitment ~ '^[0-9a-f]{64}$'),
    notes         text NOT NULL DEFAULT '',
    planned_at    timestamptz NOT NULL,
    ended_at      timestamptz,
    ending        text NOT NULL DEFAULT '',
    undone        integer NOT NULL DEFAULT 0 CONSTRAINT trial_undone_possible CHECK (undone >= 0),
    PRIMARY KEY (outfit_id, id),
    FOREIGN KEY (outfit_id, a_rig_id) REFERENCES rig DEFERRABLE INITIALLY DEFERRED,
    FOREIGN KEY (outfit_id, b_rig_id) REFERENCES rig DEFERRABLE INITIALLY DEFERRED,
    CONSTRAINT trial_arms_stated CHECK ((factor = 'rig') = (a_rig_id IS NOT NULL) AND (factor = 'rig') = (b_rig_id IS NOT NULL) AND (factor = 'rig') = (a_level = '') AND (factor = 'rig') = (b_level = '')),
    CONSTRAINT trial_arms_differ CHECK (a_rig_id IS DISTINCT FROM b_rig_id OR lower(a_level) <> lower(b_level)),
    CONSTRAINT trial_ending_of_an_end CHECK (ending = '' OR ended_at IS NOT NULL)
);
CREATE UNIQUE INDEX trial_name_once ON trial (outfit_id, lower(name));
COMMENT ON COLUMN trial.undone IS 'starts taken back, which showed an arm before it was fished';

-- A rig that nobody has fished is replaced when it is edited, hence deferred.

-- The units started so far. Session and stint are no foreign keys: an edited
-- session is written anew under the same ids, and a deleted one may come back.
CREATE TABLE trial_unit (
    outfit_id   uuid NOT NULL,
    trial_id    uuid NOT NULL,
    ordinal     smallint NOT NULL CONSTRAINT trial_unit_ordinal_possible CHECK (ordinal BETWEEN 1 AND 512),
    arm         text NOT NULL CONSTRAINT trial_unit_arm_known CHECK (arm IN ('A', 'B')),
    started_at  timestamptz NOT NULL,
    session_id  uuid,
    stint_id    uuid,
    status      text NOT NULL CONSTRAINT trial_unit_status_known CHECK (status IN ('open', 'kept', 'broke plan')),
    reason      text NOT NULL DEFAULT '',
    PRIMARY KEY (outfit_id, trial_id, ordinal),
    FOREIGN KEY (outfit_id, trial_id) REFERENCES trial ON DELETE CASCADE,
    CONSTRAINT trial_unit_kept_is_attached CHECK (status <> 'kept' OR session_id IS NOT NULL),
    CONSTRAINT trial_unit_open_is_not CHECK (status <> 'open' OR (session_id IS NULL AND stint_id IS NULL)),
    CONSTRAINT trial_unit_stint_of_a_session CHECK (stint_id IS NULL OR session_id IS NOT NULL),
    CONSTRAINT trial_unit_broke_for_a_reason CHECK (status <> 'broke plan' OR btrim(reason) <> '')
);
CREATE UNIQUE INDEX trial_unit_stint_once ON trial_unit (outfit_id, trial_id, stint_id) WHERE stint_id IS NOT NULL;
CREATE UNIQUE INDEX trial_unit_session_once ON trial_unit (outfit_id, trial_id, session_id) WHERE stint_id IS NULL;

-- +goose StatementBegin
CREATE FUNCTION keep_trial_plans() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF (OLD.outcome, OLD.factor, OLD.a_rig_id, OLD.a_level, OLD.b_rig_id, OLD.b_level, OLD.unit, OLD.block, OLD.worth, OLD.most_hours, OLD.seed, OLD.commitment, OLD.planned_at)
        IS DISTINCT FROM (NEW.outcome, NEW.factor, NEW.a_rig_id, NEW.a_level, NEW.b_rig_id, NEW.b_level, NEW.unit, NEW.block, NEW.worth, NEW.most_hours, NEW.seed, NEW.commitment, NEW.planned_at) THEN
        RAISE EXCEPTION 'the plan of a trial never changes' USING ERRCODE = 'check_violation', CONSTRAINT = 'trial_plan_never_changes';
    END IF;
    RETURN NEW;
END
$$;
-- +goose StatementEnd
CREATE TRIGGER trial_plan_never_changes BEFORE UPDATE ON trial FOR EACH ROW EXECUTE FUNCTION keep_trial_plans();

-- +goose Down
DROP TABLE trial_unit, trial;
DROP FUNCTION keep_trial_plans;
