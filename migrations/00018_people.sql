-- +goose Up

-- People, and what lets them in. A person may belong to several outfits, so that people, their passkeys and their
-- devices are nobody's rows: only the door, where people sign in, reads them. Secrets are stored hashed.
CREATE TABLE person (
    id         uuid PRIMARY KEY,
    account    text NOT NULL CONSTRAINT person_has_an_account CHECK (btrim(account) <> ''),
    passphrase text NOT NULL DEFAULT '',
    created_at timestamptz NOT NULL DEFAULT now()
);
CREATE UNIQUE INDEX person_account_once ON person (lower(account));
COMMENT ON COLUMN person.account IS 'what the person signs in with, ending in digits that are drawn, so that nobody learns whether a name is taken';
COMMENT ON COLUMN person.passphrase IS 'argon2id in PHC form; empty: signs in by passkey alone';

CREATE TABLE passkey (
    id         bytea PRIMARY KEY,
    person_id  uuid NOT NULL REFERENCES person ON DELETE CASCADE,
    name       text NOT NULL,
    credential jsonb NOT NULL,
    created_at timestamptz NOT NULL DEFAULT now(),
    used_at    timestamptz
);
CREATE INDEX passkey_by_person ON passkey (person_id);

-- A device on which a person is signed in.
CREATE TABLE device (
    id           uuid PRIMARY KEY,
    person_id    uuid NOT NULL REFERENCES person ON DELETE CASCADE,
    secret_hash  bytea NOT NULL CONSTRAINT device_secret_once UNIQUE,
    name         text NOT NULL,
    outfit_id    uuid REFERENCES outfit,
    created_at   timestamptz NOT NULL DEFAULT now(),
    signed_in_at timestamptz NOT NULL DEFAULT now(),
    seen_at      timestamptz NOT NULL DEFAULT now(),
    expires_at   timestamptz NOT NULL
);
CREATE INDEX device_by_person ON device (person_id);
COMMENT ON COLUMN device.outfit_id IS 'whose pages it shows to a person of several outfits; null: the first that the person joined';

-- A device of somebody who was removed and belongs nowhere: it is told so until its time is over, by its secret alone.
CREATE TABLE withdrawn_device (
    secret_hash bytea PRIMARY KEY,
    expires_at  timestamptz NOT NULL
);

-- Who belongs to an outfit, as what. A client is one of its anglers, a guide or owner may be.
CREATE TABLE member (
    outfit_id uuid NOT NULL REFERENCES outfit,
    person_id uuid NOT NULL REFERENCES person ON DELETE CASCADE,
    name      text NOT NULL CONSTRAINT member_has_a_name CHECK (btrim(name) <> ''),
    role      text NOT NULL CONSTRAINT member_role_known CHECK (role IN ('owner', 'guide', 'client')),
    angler_id uuid,
    since     timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (outfit_id, person_id),
    FOREIGN KEY (outfit_id, angler_id) REFERENCES angler,
    CONSTRAINT member_client_is_an_angler CHECK (role <> 'client' OR angler_id IS NOT NULL)
);
CREATE INDEX member_by_person ON member (person_id);
CREATE UNIQUE INDEX member_angler_once ON member (outfit_id, angler_id) WHERE angler_id IS NOT NULL;

-- A link that makes somebody a member, or lets a member in who can't sign in any more: once, for seven days.
CREATE TABLE invitation (
    outfit_id   uuid NOT NULL REFERENCES outfit,
    id          uuid NOT NULL,
    secret_hash bytea NOT NULL CONSTRAINT invitation_secret_once UNIQUE,
    name        text NOT NULL CONSTRAINT invitation_has_a_name CHECK (btrim(name) <> ''),
    role        text NOT NULL CONSTRAINT invitation_role_known CHECK (role IN ('owner', 'guide', 'client')),
    angler_id   uuid,
    person_id   uuid REFERENCES person ON DELETE CASCADE,
    created_at  timestamptz NOT NULL DEFAULT now(),
    expires_at  timestamptz NOT NULL,
    used_at     timestamptz,
    PRIMARY KEY (outfit_id, id),
    FOREIGN KEY (outfit_id, angler_id) REFERENCES angler,
    CONSTRAINT invitation_client_is_an_angler CHECK (role <> 'client' OR angler_id IS NOT NULL)
);
COMMENT ON COLUMN invitation.person_id IS 'whose way back in it is; null: an invitation';

-- A season shown to whoever has its link.
CREATE TABLE share (
    outfit_id   uuid NOT NULL REFERENCES outfit,
    id          uuid NOT NULL,
    secret_hash bytea NOT NULL CONSTRAINT share_secret_once UNIQUE,
    angler_id   uuid,
    season      text NOT NULL,
    note        text NOT NULL DEFAULT '',
    created_by  text NOT NULL,
    created_at  timestamptz NOT NULL DEFAULT now(),
    expires_at  timestamptz NOT NULL,
    PRIMARY KEY (outfit_id, id),
    FOREIGN KEY (outfit_id, angler_id) REFERENCES angler
);
COMMENT ON COLUMN share.season IS 'the question that the season''s page was asked, as in its address';

-- What the outfit is for whoever sees it as comparison alone: made once a week, of everybody.
CREATE TABLE comparison (
    outfit_id uuid NOT NULL REFERENCES outfit,
    week      date NOT NULL,
    content   jsonb NOT NULL,
    basis     jsonb NOT NULL,
    made_at   timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (outfit_id, week)
);
COMMENT ON COLUMN comparison.basis IS 'what of each angler is in the content; no client reads it, the next week is held against it';

-- Who wrote what of a session, and when. Rows are added and never changed.
CREATE TABLE session_change (
    outfit_id  uuid NOT NULL REFERENCES outfit,
    session_id uuid NOT NULL,
    version    integer NOT NULL,
    at         timestamptz NOT NULL DEFAULT clock_timestamp(),
    angler_id  uuid NOT NULL,
    role       text NOT NULL CONSTRAINT session_change_role_known CHECK (role IN ('owner', 'guide', 'client')),
    person_id  uuid,
    what       text NOT NULL CONSTRAINT session_change_known CHECK (what IN ('logged', 'changed', 'deleted', 'restored', 'imported')),
    fields     text[] NOT NULL DEFAULT '{}',
    PRIMARY KEY (outfit_id, session_id, at)
);
COMMENT ON COLUMN session_change.person_id IS 'the writer, whose name is that of the member; who is none any more has none; null: at the machine that keeps the journal';
COMMENT ON COLUMN session_change.fields IS 'what of the session was changed: keys of the catalogue, or what else a session has';

-- +goose Down
DROP TABLE session_change, comparison, share, invitation, member, withdrawn_device, device, passkey, person;
