package pg_test

import "testing"

// Ensure that an owner counts as able to sign in from the first passphrase or passkey on, and nobody else for them.
func TestOwnerCanSignIn(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	conn := connect(t, b.url)
	for _, step := range []struct {
		sql  string
		args []any
		want bool
	}{
		{"SELECT", nil, false},
		{"INSERT INTO person (id, account, passphrase) VALUES ('00000000-0000-7000-8000-000000000001', 'felt 11', 'hash')", nil, false},
		{"INSERT INTO member (outfit_id, person_id, name, role) VALUES ($1, '00000000-0000-7000-8000-000000000001', 'J. Felt', 'guide')", []any{b.store.OutfitID()}, false},
		{"UPDATE member SET role = 'owner'", nil, true},
		{"UPDATE person SET passphrase = ''", nil, false},
		{`INSERT INTO passkey (id, person_id, name, credential) VALUES ('\x01', '00000000-0000-7000-8000-000000000001', 'phone', '{}')`, nil, true},
		{"DELETE FROM passkey", nil, false},
	} {
		if _, err := conn.Exec(t.Context(), step.sql, step.args...); err != nil {
			t.Fatalf("%s: %v", step.sql, err)
		}
		if got, err := b.store.OwnerCanSignIn(t.Context()); err != nil || got != step.want {
			t.Errorf("after %s: %v, %v; want %v", step.sql, got, err, step.want)
		}
	}
}
