package main

import (
	"cmp"
	"context"
	"fmt"
	"html"
	"html/template"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"

	"rigtally/journal/demo"
	"rigtally/web"
)

const (
	pageRounds   = 25
	pageMost     = 50 * time.Millisecond // of a page's server time, in the median
	pagesJournal = "pages_demo"
)

// heavyPages are questions that ask for more than the pages do by themselves.
var heavyPages = []string{
	"/findings?outcome=tangles&by=junction&given=angler&given=water",
	"/findings?outcome=tangles&by=junction&given=angler&given=water&given=tag-length&given=bulk",
	"/findings?outcome=tangles&by=junction&by=bulk",
	"/findings?outcome=tangles&by=junction&by=tag-length:1in&given=angler&given=water",
	"/findings?outcome=tangles&by=rig",
	"/findings?outcome=foul-hook&by=bulk&given=angler",
	"/curve?outcome=tangles&over=tag-length&given=angler&given=water",
	"/curve?outcome=hookups&over=temperature&given=water",
	"/tag-length?outcome=tangles&bands=each",
}

// pages times every page that is served, at the size of the demo season, from
// the request to the last byte, against a handler that does one query by a
// primary key and fills a small template.
func (b *bench) pages(ctx context.Context) error {
	store, err := b.open(ctx, pagesJournal)
	if err != nil {
		return err
	}
	defer store.Close()
	if _, err := demo.Fill(ctx, store, demo.Generate(demo.Seed, demo.Sessions)); err != nil {
		return err
	}
	server, err := web.New(store, web.Options{})
	if err != nil {
		return err
	}
	handler := server.Handler()
	pool, err := pgxpool.New(ctx, b.server.URL(pagesJournal))
	if err != nil {
		return err
	}
	defer pool.Close()
	bare, err := barePage(ctx, pool)
	if err != nil {
		return err
	}
	addresses, missed := crawl(handler, server.Pages())
	if server, err = web.New(store, web.Options{}); err != nil { // one that keeps nothing from the crawl
		return err
	}
	handler = server.Handler()
	fmt.Printf("\nEvery page at the size of the demo season (%d sessions), from request to last byte, n=%d\n", demo.Sessions, pageRounds)
	fmt.Printf("  %9s  %9s  %9s  %9s  %6s  %s\n", "cpu", "first", "median", "p95", "times", "(a bare handler with one query by primary key is 1)")
	var list []pageTime
	for _, address := range addresses {
		p, err := timePage(handler, bare, address)
		if err != nil {
			return err
		}
		list = append(list, p)
	}
	slices.SortFunc(list, func(x, y pageTime) int { return cmp.Compare(y.ours.median(), x.ours.median()) })
	slow, slowFirst := 0, 0
	for _, p := range list {
		mark := ""
		if p.ours.median() > pageMost {
			mark, slow = "  slow", slow+1
		}
		if p.first > pageMost {
			slowFirst++
		}
		fmt.Printf("  %9s  %9s  %9s  %9s  %6.1f  %s%s\n", round(p.cpu), round(p.first), round(p.ours.median()), round(p.ours.quantile(0.95)), p.ours.median().Seconds()/p.bare.median().Seconds(), p.address, mark)
	}
	fmt.Printf("  %d of %d pages take more than %s in the median, %d when asked for the first time after a start.\n", slow, len(list), pageMost, slowFirst)
	for _, pattern := range missed {
		fmt.Printf("  not timed, no page leads to it: %s\n", pattern)
	}
	return nil
}

type pageTime struct {
	address    string
	ours, bare timed
	first      time.Duration
	cpu        time.Duration // of this process, on all its cores, in the mean; the database's is not in it
}

// timePage asks for a page and for the bare one in turn.
func timePage(handler, bare http.Handler, address string) (pageTime, error) {
	p := pageTime{address: address}
	const warm = 2
	round := 0
	times, err := inTurn(warm, pageRounds,
		func() error {
			begin, before := time.Now(), processorTime()
			err := ask(handler, address, nil)
			switch round++; {
			case round == 1: // nothing is kept yet from before
				p.first = time.Since(begin)
			case round > warm:
				p.cpu += (processorTime() - before) / pageRounds
			}
			return err
		},
		func() error { return ask(bare, "/", nil) })
	if err != nil {
		return p, err
	}
	p.ours, p.bare = times[0], times[1]
	return p, nil
}

// processorTime is what this process has used till now. Other programs on the
// machine do not change it, as they do the clock.
func processorTime() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// ask requests a page as a browser does and hands its text to read.
func ask(handler http.Handler, address string, read func(contentType, text string)) error {
	r := httptest.NewRequest(http.MethodGet, "http://localhost"+address, nil)
	if read == nil {
		r.Header.Set("Accept-Encoding", "gzip")
	}
	w := httptest.NewRecorder()
	handler.ServeHTTP(w, r)
	if w.Code >= 400 {
		return fmt.Errorf("%s answers %d", address, w.Code)
	}
	if read != nil {
		read(w.Header().Get("Content-Type"), w.Body.String())
	}
	return nil
}

// barePage is a handler with one query by primary key and a small template.
func barePage(ctx context.Context, pool *pgxpool.Pool) (http.Handler, error) {
	var outfit, id string
	if err := pool.QueryRow(ctx, `SELECT outfit_id::text, id::text FROM session LIMIT 1`).Scan(&outfit, &id); err != nil {
		return nil, err
	}
	page, err := template.New("").Parse(`<!doctype html><html lang="en"><head><title>{{.Day}}</title></head><body><h1>{{.Day}}</h1><p>{{.Notes}}</p></body></html>`)
	if err != nil {
		return nil, err
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var row struct{ Day, Notes string }
		err := pool.QueryRow(r.Context(), `SELECT day::text, notes FROM session WHERE outfit_id = $1 AND id = $2`, outfit, id).Scan(&row.Day, &row.Notes)
		if err != nil {
			http.Error(w, err.Error(), http.StatusInternalServerError)
			return
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_ = page.Execute(w, row)
	}), nil
}

var href = regexp.MustCompile(`(?:href|action)="(/[^"#]*)`)

// crawl follows the pages' links until it has an address for each pattern, and
// returns those of which there is none as well.
func crawl(handler http.Handler, patterns []string) (addresses, missed []string) {
	found := map[string]string{}
	seen := map[string]bool{}
	queue := []string{"/"}
	for _, p := range patterns {
		if !strings.Contains(p, "{") {
			found[p] = p
			queue = append(queue, p)
		}
	}
	found["/{$}"] = "/"
	for len(queue) > 0 && len(seen) < 400 {
		address := queue[0]
		queue = queue[1:]
		if seen[address] {
			continue
		}
		seen[address] = true
		_ = ask(handler, address, func(contentType, text string) {
			if !strings.HasPrefix(contentType, "text/html") {
				return
			}
			for _, m := range href.FindAllStringSubmatch(text, -1) {
				next := html.UnescapeString(m[1])
				if p := matching(patterns, next); p != "" && found[p] == "" {
					found[p] = next
					queue = append(queue, next)
				}
			}
		})
	}
	for _, p := range patterns {
		if found[p] == "" {
			missed = append(missed, p)
		} else if !slices.Contains(addresses, found[p]) {
			addresses = append(addresses, found[p])
		}
	}
	return append(addresses, heavyPages...), missed
}

// matching is the pattern that an address falls under: the one with the fewest
// parts that may be anything.
func matching(patterns []string, address string) string {
	u, err := url.Parse(address)
	if err != nil {
		return ""
	}
	parts := strings.Split(u.Path, "/")
	best, fewest := "", len(parts)+1
	for _, p := range patterns {
		want := strings.Split(p, "/")
		if len(want) != len(parts) {
			continue
		}
		open, fits := 0, true
		for i := range want {
			if strings.HasPrefix(want[i], "{") && want[i] != "{$}" {
				open++
			} else if want[i] != parts[i] {
				fits = false
			}
		}
		if fits && open < fewest {
			best, fewest = p, open
		}
	}
	return best
}
