package watch_test

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus/testutil/promlint"

	"rigtally/web/watch"
)

// journal is one that may be down.
type journal struct{ down error }

func (j *journal) Ready(context.Context) error  { return j.down }
func (j *journal) Connections() (int, int, int) { return 2, 1, 8 }

func get(w *watch.Watch, host, path string) (int, string) {
	r := httptest.NewRequest(http.MethodGet, "http://"+host+path, nil)
	answer := httptest.NewRecorder()
	w.Handler().ServeHTTP(answer, r)
	return answer.Code, answer.Body.String()
}

// Ensure that the pages are ready while they are served and their database answers, and alive all the time.
func TestReadyWhileServed(t *testing.T) {
	t.Parallel()
	j := &journal{}
	w := watch.New(j)
	want := func(status int, word string) {
		t.Helper()
		if code, body := get(w, "127.0.0.1:9337", "/readyz"); code != status || strings.TrimSpace(body) != word {
			t.Errorf("ready: %d %q, want %d %q", code, body, status, word)
		}
		if code, _ := get(w, "localhost:9337", "/healthz"); code != http.StatusOK {
			t.Errorf("alive: %d", code)
		}
	}
	want(http.StatusServiceUnavailable, "starting")
	w.Serving()
	want(http.StatusOK, "ready")
	j.down = errors.New("refused")
	want(http.StatusServiceUnavailable, "the database does not answer")
	j.down = nil
	want(http.StatusOK, "ready")
	w.Stopping()
	want(http.StatusServiceUnavailable, "stopping")
}

// Ensure that figures are as Prometheus wants them, by its own linter, and count by pattern and status.
func TestFigures(t *testing.T) {
	t.Parallel()
	w := watch.New(&journal{})
	w.Backups(func() time.Time { return time.Unix(1.75e9, 0) })
	w.Begin()("GET /sessions/{id}", http.StatusOK, 30*time.Millisecond)
	w.Begin()("", http.StatusNotFound, time.Millisecond)
	w.Begin() // one under way
	_, text := get(w, "127.0.0.1:9337", "/metrics")
	for _, want := range []string{
		`rigtally_request_seconds_bucket{address="GET /sessions/{id}",status="200",le="0.025"} 0`,
		`rigtally_request_seconds_bucket{address="GET /sessions/{id}",status="200",le="0.05"} 1`,
		`rigtally_request_seconds_count{address="none",status="404"} 1`,
		"rigtally_requests_under_way 1", "rigtally_database_connections_in_use 2", "rigtally_database_connections_idle 1", "rigtally_database_connections_most 8", "go_goroutines ", "rigtally_last_backup_timestamp_seconds 1.75e+09",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("no %s in\n%s", want, text)
		}
	}
	problems, err := promlint.New(strings.NewReader(text)).Lint()
	if err != nil || len(problems) > 0 {
		t.Errorf("%v, %v", problems, err)
	}
}

// Ensure that nobody but this machine can look on: neither by another address nor by another site's name for it.
func TestThisMachineAlone(t *testing.T) {
	t.Parallel()
	for address, ours := range map[string]bool{"127.0.0.1:0": true, "localhost:0": true, "[::1]:0": true, ":9337": false, "0.0.0.0:9337": false, "192.0.2.7:9337": false, "journal.example.org:9337": false} {
		l, err := watch.Listen(address)
		if err == nil {
			l.Close()
		}
		if unavailable := new(net.OpError); ours != !errors.Is(err, watch.ErrNotHere) || err != nil && ours && !errors.As(err, &unavailable) {
			t.Errorf("%s: %v", address, err)
		}
	}
	if _, err := watch.Listen("9337"); err == nil || !strings.Contains(err.Error(), "write 127.0.0.1:9337") {
		t.Errorf("no host: %v", err)
	}
	for _, path := range []string{"/healthz", "/readyz", "/metrics"} {
		if code, body := get(watch.New(&journal{}), "rebound.example:9337", path); code != http.StatusMisdirectedRequest {
			t.Errorf("%s by another name: %d %s", path, code, body)
		}
	}
}

// Ensure that looking on ends with the pages.
func TestServeEnds(t *testing.T) {
	t.Parallel()
	l, err := watch.Listen("127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, end := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- watch.New(&journal{}).Serve(ctx, l, slog.New(slog.DiscardHandler)) }()
	res, err := http.Get("http://" + l.Addr().String() + "/healthz")
	if err != nil || res.StatusCode != http.StatusOK {
		t.Errorf("%v, %v", res, err)
	}
	res.Body.Close()
	end()
	if err := <-ended; err != nil {
		t.Error(err)
	}
}
