package main

import (
	"context"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
)

// Ensure that others are let in only once the owner can sign in, and then in the way that was asked for.
func TestServeOthers(t *testing.T) {
	t.Parallel()
	url, dir := pgtest.NewDatabase(t), t.TempDir()
	for _, c := range []struct {
		args   []string
		status int
		want   string
	}{
		{[]string{"serve", "--listen", ":8443"}, 2, "say how with --address"},
		{[]string{"serve", "--address", "http://journal.example.org"}, 2, "write https:// and a name"},
		{[]string{"serve", "--address", "https://journal.example.org", "--port", "8080"}, 2, "leave the setting port out"},
		{[]string{"serve", "--address", "https://journal.example.org", "--behind-proxy", "127.0.0.1", "--data-dir", dir}, 1, `"rigtally people recover"`},
		{[]string{"serve", "--local-network", "--data-dir", dir}, 1, `"rigtally people recover"`},
	} {
		got := runIn(t, url, c.args...)
		if got.status != c.status || !strings.Contains(got.errors, c.want) {
			t.Errorf("%v: status %d, %s", c.args, got.status, got.errors)
		}
	}

	conn, err := pgx.Connect(t.Context(), pgtest.AsSuperuser(url))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	if _, err := conn.Exec(t.Context(), `
		INSERT INTO person (id, account, passphrase) VALUES ('00000000-0000-7000-8000-000000000001', 'felt 11', 'hash');
		INSERT INTO member (outfit_id, person_id, name, role) SELECT id, '00000000-0000-7000-8000-000000000001', 'J. Felt', 'owner' FROM outfit`); err != nil {
		t.Fatal(err)
	}
	got := runIn(t, url, "serve", "--address", "https://journal.example.org", "--behind-proxy", "127.0.0.1", "--listen", "127.0.0.1:0", "--data-dir", dir)
	if got.status != 1 || !strings.Contains(got.errors, "need a door") {
		t.Errorf("status %d, %s", got.status, got.errors)
	}
}
