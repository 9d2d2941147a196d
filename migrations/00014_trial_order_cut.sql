-- +goose Up

-- A backup of a running trial leaves its seed out, or the rest of the order could
-- be read from it. Brought back, such a trial ends at the part that was drawn.
ALTER TABLE trial
    ADD COLUMN order_cut boolean NOT NULL DEFAULT false,
    DROP CONSTRAINT trial_seed_possible,
    ADD CONSTRAINT trial_seed_possible CHECK (CASE WHEN order_cut THEN seed = '' ELSE seed ~ '^[0-9a-f]{64}$' END);
COMMENT ON COLUMN trial.order_cut IS 'the rest of the order was left out of the backup that the trial came from';

-- +goose StatementBegin
CREATE OR REPLACE FUNCTION keep_trial_plans() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF (OLD.outcome, OLD.factor, OLD.a_rig_id, OLD.a_level, OLD.b_rig_id, OLD.b_level, OLD.unit, OLD.block, OLD.worth, OLD.most_hours, OLD.seed, OLD.order_cut, OLD.commitment, OLD.planned_at)
        IS DISTINCT FROM (NEW.outcome, NEW.factor, NEW.a_rig_id, NEW.a_level, NEW.b_rig_id, NEW.b_level, NEW.unit, NEW.block, NEW.worth, NEW.most_hours, NEW.seed, NEW.order_cut, NEW.commitment, NEW.planned_at) THEN
        RAISE EXCEPTION 'the plan of a trial never changes' USING ERRCODE = 'check_violation', CONSTRAINT = 'trial_plan_never_changes';
    END IF;
    RETURN NEW;
END
$$;
-- +goose StatementEnd

-- +goose Down
-- +goose StatementBegin
CREATE OR REPLACE FUNCTION keep_trial_plans() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF (OLD.outcome, OLD.factor, OLD.a_rig_id, OLD.a_level, OLD.b_rig_id, OLD.b_level, OLD.unit, OLD.block, OLD.worth, OLD.most_hours, OLD.seed, OLD.commitment, OLD.planned_at)
        IS DISTINCT FROM (NEW.outcome, NEW.factor, NEW.a_rig_id, NEW.a_level, NEW.b_rig_id, NEW.b_level, NEW.unit, NEW.block, NEW.worth, NEW.most_hours, NEW.seed, NEW.commitment, NEW.planned_at) THEN
        RAISE EXCEPTION 'the plan of a trial never changes' USING ERRCODE = 'check_violation', CONSTRAINT = 'trial_plan_never_changes';
    END IF;
    RETURN NEW;
END
$$;
-- +goose StatementEnd
-- A trial whose order was cut keeps its empty seed.
ALTER TABLE trial
    DROP CONSTRAINT trial_seed_possible,
    ADD CONSTRAINT trial_seed_possible CHECK (seed ~ '^[0-9a-f]{64}$') NOT VALID,
    DROP COLUMN order_cut;
