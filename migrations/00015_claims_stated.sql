-- +goose Up
-- Since when a claim has asked what it asks, so that one written after the evidence is known as such.
ALTER TABLE claim ADD COLUMN stated_at timestamptz;
COMMENT ON COLUMN claim.stated_at IS 'null: not known';

-- The claims that a journal starts with hold angler and water equal, as every other question does, where nobody has
-- named other factors.
UPDATE claim SET given = '{}' FROM (VALUES
    ('019b76da-a800-7000-8000-000000000001'::uuid, '{bulk,angler,water}'::text[]),
    ('019b76da-a800-7000-8000-000000000002'::uuid, '{bulk,angler,water}'::text[]),
    ('019b76da-a800-7000-8000-000000000003'::uuid, '{tag-length,angler,water}'::text[]),
    ('019b76da-a800-7000-8000-000000000004'::uuid, '{junction,tippet,angler}'::text[]),
    ('019b76da-a800-7000-8000-000000000005'::uuid, '{tippet,angler}'::text[]),
    ('019b76da-a800-7000-8000-000000000006'::uuid, '{junction,angler}'::text[]),
    ('019b76da-a800-7000-8000-000000000007'::uuid, '{angler,water}'::text[]),
    ('019b76da-a800-7000-8000-000000000008'::uuid, '{junction,tippet,angler}'::text[]),
    ('019b76da-a800-7000-8000-000000000009'::uuid, '{tag-length,angler,water}'::text[]),
    ('019b76da-a800-7000-8000-00000000000a'::uuid, '{angler,water}'::text[]),
    ('019b76da-a800-7000-8000-00000000000b'::uuid, '{angler,water}'::text[])
) AS started (id, given)
WHERE claim.id = started.id AND claim.given = started.given AND claim.source = 'common practice, no source';

-- +goose Down
ALTER TABLE claim DROP COLUMN stated_at;
