-- +goose Up

-- Outfits can be spread over several servers by outfit_id where every key and unique index begins with it. A link's secret
-- has 256 random bits, so that once in an outfit is once anywhere; it is looked up before the outfit is known.
ALTER TABLE invitation DROP CONSTRAINT invitation_secret_once, ADD CONSTRAINT invitation_secret_once UNIQUE (outfit_id, secret_hash);
ALTER TABLE share DROP CONSTRAINT share_secret_once, ADD CONSTRAINT share_secret_once UNIQUE (outfit_id, secret_hash);
CREATE INDEX invitation_by_secret ON invitation (secret_hash);
CREATE INDEX share_by_secret ON share (secret_hash);

-- People and their devices are nobody's rows and lie on every server: they can't refer to an outfit that lies on one. A
-- device that names an outfit shows it only while its person belongs to it.
ALTER TABLE device DROP CONSTRAINT device_outfit_id_fkey;

-- Each start of the program opens the first outfit.
CREATE INDEX outfit_by_age ON outfit (created_at, id);

-- Statistics are of all outfits together: an addition that is small beside what is there changes them little, and is
-- left to the server's own housekeeping.
-- +goose StatementBegin
CREATE FUNCTION gather_statistics(added bigint) RETURNS void LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
    IF added * 10 >= (SELECT reltuples FROM pg_class WHERE oid = 'session'::regclass) THEN
        ANALYZE angler, water, beat, rig, rig_position, session, stint, stint_position, tag_spell, event;
    END IF;
END
$$;
-- +goose StatementEnd
REVOKE EXECUTE ON FUNCTION gather_statistics(bigint) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION gather_statistics(bigint) TO rigtally_as_owner, rigtally_as_guide;
DROP FUNCTION gather_statistics();

-- +goose Down
-- +goose StatementBegin
CREATE FUNCTION gather_statistics() RETURNS void LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
BEGIN
    ANALYZE angler, water, beat, rig, rig_position, session, stint, stint_position, tag_spell, event;
END
$$;
-- +goose StatementEnd
REVOKE EXECUTE ON FUNCTION gather_statistics() FROM PUBLIC;
GRANT EXECUTE ON FUNCTION gather_statistics() TO rigtally_as_owner, rigtally_as_guide;
DROP FUNCTION gather_statistics(bigint);
DROP INDEX outfit_by_age;
-- NOT VALID: a device may name an outfit that is gone by now.
ALTER TABLE device ADD CONSTRAINT device_outfit_id_fkey FOREIGN KEY (outfit_id) REFERENCES outfit NOT VALID;
DROP INDEX share_by_secret, invitation_by_secret;
ALTER TABLE share DROP CONSTRAINT share_secret_once, ADD CONSTRAINT share_secret_once UNIQUE (secret_hash);
ALTER TABLE invitation DROP CONSTRAINT invitation_secret_once, ADD CONSTRAINT invitation_secret_once UNIQUE (secret_hash);
