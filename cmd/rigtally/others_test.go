package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/gauge"
	"rigtally/journal/pg"
)

// Ensure that others are let in only once the owner can sign in, and then in the way that was asked for; and that gauges are
// asked about meanwhile, by agencies that hear nothing of the outfit.
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
		{[]string{"serve", "--port", "0", "--data-dir", dir, "--watch", ":9337"}, 2, "is no address of this machine alone"},
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
	agency, questions := linkedRiver(t, url)
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
		status <- run(ctx, []string{"serve", "--address", "https://journal.example.org", "--behind-proxy", "127.0.0.1", "--listen", at, "--data-dir", dir, "--watch", "127.0.0.1:0"},
			strings.NewReader(""), write, &errs, []string{"RIGTALLY_DATABASE_URL=" + url, "RIGTALLY_LOG=json", "RIGTALLY_LOG_REQUESTS=true", "RIGTALLY_USGS_ADDRESS=" + agency})
		_ = write.Close()
	}()
	said := bufio.NewReader(read)
	look, err := said.ReadString('\n')
	watch, known := strings.CutPrefix(look, "Others on this machine look on at ")
	if watch, _, _ = strings.Cut(watch, "/readyz"); err != nil || !known {
		stop()
		t.Fatalf("said %q, %v; status %d, %s", look, err, <-status, errs.String())
	}
	line, err := said.ReadString('\n')
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
	if ready, body := asked(t, watch+"/readyz"); ready != http.StatusOK {
		t.Errorf("whether the pages are ready: %d %s", ready, body)
	}
	if _, figures := asked(t, watch+"/metrics"); !strings.Contains(figures, `rigtally_request_seconds_count{address="none",status="401"} 1`) || strings.Contains(figures, "Felt") {
		t.Errorf("the figures are\n%s", figures)
	}
	q := <-questions // whichever is its turn
	if told := q.URL.String() + fmt.Sprint(q.Header); !strings.HasSuffix(q.URL.Query().Get("monitoring_location_id")+q.URL.Query().Get("id"), "USGS-01234567") || !strings.HasPrefix(q.UserAgent(), "rigtally/") ||
		strings.Contains(told, "Marrow") || strings.Contains(told, "Felt") || strings.Contains(told, "example.org") {
		t.Errorf("the agency of gauges was told %s", told)
	}
	stop()
	if got := <-status; got != 0 {
		t.Errorf("status %d, %s", got, errs.String())
	}
	var entry struct {
		Msg, Reference string
		Status         int
	}
	if first, _, _ := strings.Cut(errs.String(), "\n"); json.Unmarshal([]byte(first), &entry) != nil || entry.Msg != "answered" || entry.Status == 0 || entry.Reference == "" {
		t.Errorf("the log begins with %s", first)
	}
	if _, err := http.Get(watch + "/healthz"); err == nil {
		t.Error("after the pages have ended others still look on")
	}
}

// linkedRiver links an invented water of a journal to an invented gauge, whose agency is on this machine and hands on what it is asked.
func linkedRiver(t *testing.T, database string) (address string, questions <-chan *http.Request) {
	t.Helper()
	asked := make(chan *http.Request, 100)
	agency := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		select {
		case asked <- r:
		default:
		}
		_, _ = io.WriteString(w, `{"type":"FeatureCollection","features":[],"numberReturned":0,"links":[]}`)
	}))
	t.Cleanup(agency.Close)
	store, err := pg.Open(t.Context(), database)
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	water, _, err := store.WaterNamed(t.Context(), "Marrow River", "")
	if err != nil {
		t.Fatal(err)
	}
	water.Gauges = []gauge.Link{{Site: gauge.Site{Provider: gauge.USGS, Number: "01234567"}}}
	if err := store.SaveWater(t.Context(), water); err != nil {
		t.Fatal(err)
	}
	return agency.URL, asked
}

// asked gets an address.
func asked(t *testing.T, address string) (status int, body string) {
	t.Helper()
	res, err := http.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return res.StatusCode, string(text)
}
