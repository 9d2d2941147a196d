-- +goose Up
-- The standard deviation of the log of true ratios before anything was fished, by which best bets are made.
ALTER TABLE outfit ADD COLUMN prior_sd double precision NOT NULL DEFAULT 0.35 CONSTRAINT outfit_prior_possible CHECK (prior_sd BETWEEN 0.05 AND 2);

-- +goose Down
ALTER TABLE outfit DROP COLUMN prior_sd;
