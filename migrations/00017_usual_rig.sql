-- +goose Up
-- The rig that the next session is proposed with, since when: until a session is logged.
ALTER TABLE outfit ADD COLUMN usual_rig_id uuid, ADD COLUMN usual_rig_at timestamptz,
    ADD CONSTRAINT outfit_usual_rig_known FOREIGN KEY (id, usual_rig_id) REFERENCES rig (outfit_id, id) ON DELETE SET NULL (usual_rig_id);

-- +goose Down
ALTER TABLE outfit DROP COLUMN usual_rig_id, DROP COLUMN usual_rig_at;
