package main

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"net"
	"net/http"
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
	free, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	at := free.Addr().String()
	if err := free.Close(); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	read, write := io.Pipe()
	status := make(chan int, 1)
	var errs bytes.Buffer
	go func() {
		status <- run(ctx, []string{"serve", "--address", "https://journal.example.org", "--behind-proxy", "127.0.0.1", "--listen", at, "--data-dir", dir},
			strings.NewReader(""), write, &errs, []string{"RIGTALLY_DATABASE_URL=" + url})
		_ = write.Close()
	}()
	line, err := bufio.NewReader(read).ReadString('\n')
	if err != nil || line != "rigtally is ready at https://journal.example.org/\n" {
		stop()
		t.Fatalf("said %q, %v; status %d, %s", line, err, <-status, errs.String())
	}
	for host, want := range map[string]int{"journal.example.org": http.StatusUnauthorized, at: http.StatusMisdirectedRequest} {
		r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, "http://"+at+"/", nil)
		if err != nil {
			t.Fatal(err)
		}
		r.Host = host
		r.Header.Set("X-Forwarded-Proto", "https")
		res, err := http.DefaultTransport.RoundTrip(r)
		if err != nil {
			t.Fatal(err)
		}
		_ = res.Body.Close()
		if res.StatusCode != want {
			t.Errorf("host %s: %s, want %d", host, res.Status, want)
		}
	}
	stop()
	if got := <-status; got != 0 {
		t.Errorf("status %d, %s", got, errs.String())
	}
}
