// Package watch lets other programs on the machine look on: is the journal alive and ready, and how busy is it. It names nobody.
package watch

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"strconv"
	"sync/atomic"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// Journal is what is asked of a journal to see how it is.
type Journal interface {
	Ready(context.Context) error
	Connections() (inUse, idle, most int)
}

// Watch counts what is asked of the pages, and answers who looks on. A nil one does neither.
type Watch struct {
	journal  Journal
	registry *prometheus.Registry
	took     *prometheus.HistogramVec
	underWay prometheus.Gauge
	state    atomic.Int32
}

// States of the pages that a Watch looks at.
const (
	starting int32 = iota
	serving
	stopping
)

// readyWithin is how long a look at the database may take.
const readyWithin = 2 * time.Second

// New makes a watch over a journal whose pages are about to be served.
func New(journal Journal) *Watch {
	w := &Watch{journal: journal, registry: prometheus.NewRegistry(),
		took: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Name:    "rigtally_request_seconds",
			Help:    "Time that requests took, by pattern of the address and status.",
			Buckets: []float64{.005, .01, .025, .05, .1, .25, .5, 1, 2.5, 5, 10, 30},
		}, []string{"address", "status"}),
		underWay: prometheus.NewGauge(prometheus.GaugeOpts{Name: "rigtally_requests_under_way", Help: "Requests that are being answered."}),
	}
	connections := func(name, help string, of func(inUse, idle, most int) int) prometheus.Collector {
		return prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: "rigtally_database_connections_" + name, Help: help}, func() float64 {
			return float64(of(journal.Connections()))
		})
	}
	w.registry.MustRegister(w.took, w.underWay, collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}), collectors.NewBuildInfoCollector(),
		connections("in_use", "Connections to the database that work.", func(inUse, _, _ int) int { return inUse }),
		connections("idle", "Connections to the database that wait for work.", func(_, idle, _ int) int { return idle }),
		connections("most", "Connections to the database that there may be.", func(_, _, most int) int { return most }))
	return w
}

// Backups has the figures tell when the last backup was made; zero for never. It is called once, before the figures are asked for.
func (w *Watch) Backups(last func() time.Time) {
	w.registry.MustRegister(prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: "rigtally_last_backup_timestamp_seconds", Help: "When the last backup of the journal was made; 0 for never."}, func() float64 {
		at := last()
		if at.IsZero() {
			return 0
		}
		return float64(at.Unix())
	}))
}

// Begin counts a request, and returns what counts its end: by the pattern of the address that answered, with the method
// before it ("" if none did), and the status.
func (w *Watch) Begin() (end func(pattern string, status int, took time.Duration)) {
	if w == nil {
		return func(string, int, time.Duration) {}
	}
	w.underWay.Inc()
	return func(pattern string, status int, took time.Duration) {
		w.underWay.Dec()
		if pattern == "" {
			pattern = "none"
		}
		w.took.WithLabelValues(pattern, strconv.Itoa(status)).Observe(took.Seconds())
	}
}

// Serving says that the pages are served from now on.
func (w *Watch) Serving() { w.be(serving) }

// Stopping is said before requests under way are let finish, so that whoever hands out requests sends no more.
func (w *Watch) Stopping() { w.be(stopping) }

func (w *Watch) be(state int32) {
	if w != nil {
		w.state.Store(state)
	}
}

// ErrNotHere is wrapped by the error of Listen for an address that others than this machine could reach.
var ErrNotHere = errors.New("is no address of this machine alone")

// Listen opens the address at which others look on, host and port. It must be one of this machine alone.
func Listen(address string) (net.Listener, error) {
	host, port, err := net.SplitHostPort(address)
	if err != nil || port == "" {
		return nil, fmt.Errorf("%q is no host and port; write 127.0.0.1:9337", address)
	}
	if !here(host) {
		return nil, fmt.Errorf("%q %w: whoever reaches it can look on; write 127.0.0.1:%s", address, ErrNotHere, port)
	}
	l, err := net.Listen("tcp", address)
	if err != nil {
		return nil, fmt.Errorf("open %s to look on: %w; choose another port", address, err)
	}
	return l, nil
}

func here(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// Serve answers who looks on, until ctx ends.
func (w *Watch) Serve(ctx context.Context, l net.Listener, log *slog.Logger) error {
	srv := &http.Server{Handler: w.Handler(), ReadTimeout: 5 * time.Second, WriteTimeout: 10 * time.Second, IdleTimeout: time.Minute, MaxHeaderBytes: 16 << 10,
		ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelWarn)}
	stop := context.AfterFunc(ctx, func() { _ = srv.Close() })
	defer stop()
	if err := srv.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		return fmt.Errorf("answer who looks on: %w", err)
	}
	return nil
}

// Handler answers /healthz, /readyz and /metrics.
func (w *Watch) Handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /healthz", func(rw http.ResponseWriter, _ *http.Request) { say(rw, http.StatusOK, "alive") })
	mux.HandleFunc("GET /readyz", w.ready)
	mux.Handle("GET /metrics", promhttp.HandlerFor(w.registry, promhttp.HandlerOpts{MaxRequestsInFlight: 2}))
	return http.HandlerFunc(func(rw http.ResponseWriter, r *http.Request) {
		host, _, err := net.SplitHostPort(r.Host)
		if err != nil || !here(host) { // a name that another site points here
			say(rw, http.StatusMisdirectedRequest, "not this address")
			return
		}
		mux.ServeHTTP(rw, r)
	})
}

func (w *Watch) ready(rw http.ResponseWriter, r *http.Request) {
	switch w.state.Load() {
	case starting:
		say(rw, http.StatusServiceUnavailable, "starting")
		return
	case stopping:
		say(rw, http.StatusServiceUnavailable, "stopping")
		return
	}
	ctx, cancel := context.WithTimeout(r.Context(), readyWithin)
	defer cancel()
	if w.journal.Ready(ctx) != nil {
		say(rw, http.StatusServiceUnavailable, "the database does not answer")
		return
	}
	say(rw, http.StatusOK, "ready")
}

func say(rw http.ResponseWriter, status int, word string) {
	rw.Header().Set("Content-Type", "text/plain; charset=utf-8")
	rw.Header().Set("Cache-Control", "no-store")
	rw.WriteHeader(status)
	_, _ = fmt.Fprintln(rw, word) // who went away wants no answer
}
