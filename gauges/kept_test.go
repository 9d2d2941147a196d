package gauges_test

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"rigtally/gauges"
	"rigtally/gauges/agency"
	"rigtally/gauges/fetch"
	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

// blueCut is an invented gauge of the U.S. Geological Survey.
var blueCut = gauge.Site{Provider: gauge.USGS, Number: "01234567"}

// river is an agency's service on this machine with an invented river, beside a journal with a water that is linked to it.
// Its clock stands until a test moves it.
type river struct {
	*testing.T
	store   *pg.Store
	keeper  *gauges.Keeper
	sources []agency.Source
	session journal.Session

	mu     sync.Mutex
	clock  time.Time
	cfs    map[string]float64 // by time of day, of June 10
	answer http.HandlerFunc   // instead of readings
	asked  []*http.Request
}

func newRiver(t *testing.T) *river {
	t.Helper()
	zone, err := time.LoadLocation("America/Denver")
	if err != nil {
		t.Fatal(err)
	}
	r := &river{T: t, clock: time.Date(2026, 6, 10, 12, 0, 0, 0, zone), cfs: map[string]float64{"08:00": 200, "08:15": 208, "11:45": 240}, store: journaltest.Store(t)}
	server := httptest.NewServer(http.HandlerFunc(r.serve))
	t.Cleanup(server.Close)
	at, _ := url.Parse(server.URL)
	r.sources, err = agency.Sources(agency.Settings{Client: fetch.New(fetch.Options{Loopback: []string{at.Host}, Now: r.now, MaxBytes: 1 << 20}), Now: r.now, USGS: server.URL})
	if err != nil {
		t.Fatal(err)
	}
	r.keeper = gauges.New(r.store, r.sources, gauges.Options{Now: r.now, Chance: func() float64 { return 0.5 }})
	ctx := t.Context()
	water, _, err := r.store.WaterNamed(ctx, "Marrow River", "")
	if err != nil {
		t.Fatal(err)
	}
	water.TimeZone, water.Gauges = "America/Denver", []gauge.Link{{Site: blueCut}}
	if err := r.store.SaveWater(ctx, water); err != nil {
		t.Fatal(err)
	}
	angler, err := r.store.AnglerNamed(ctx, "Ilse")
	if err != nil {
		t.Fatal(err)
	}
	rig, err := r.store.SaveRig(ctx, journaltest.OneDropper("Blood 165"))
	if err != nil {
		t.Fatal(err)
	}
	start := time.Date(2026, 6, 10, 8, 0, 0, 0, zone) // to 08:15, so that its middle is between two readings
	r.session, err = r.store.SaveSession(ctx, journal.Session{ID: journaltest.NewID(t), AnglerID: angler.ID, WaterID: water.ID, Day: journal.DateOf(start), TimeZone: water.TimeZone,
		Start: &start, End: new(start.Add(15 * time.Minute)), Stints: []journal.Stint{{ID: journaltest.NewID(t), RigID: rig.ID, Minutes: new(15.0)}}})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func (r *river) now() time.Time {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.clock
}

// later moves the clock.
func (r *river) later(d time.Duration) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.clock = r.clock.Add(d)
}

// serve answers as the Water Data service does, in its documented shape.
func (r *river) serve(w http.ResponseWriter, q *http.Request) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.asked = append(r.asked, q)
	if r.answer != nil {
		r.answer(w, q)
		return
	}
	var list []string
	add := func(at, value, statistic string) {
		list = append(list, fmt.Sprintf(`{"type":"Feature","id":"%s","geometry":null,"properties":{"time_series_id":"aaaa0001","monitoring_location_id":"USGS-01234567","parameter_code":"00060","statistic_id":"%s","time":"%s","value":"%s","unit_of_measure":"ft^3/s","approval_status":"Provisional","qualifier":null}}`, at, statistic, at, value))
	}
	switch {
	case strings.Contains(q.URL.Path, "/monitoring-locations/"):
		list = []string{`{"type":"Feature","id":"USGS-01234567","geometry":{"type":"Point","coordinates":[-112.0312,46.5968]},"properties":{"agency_code":"USGS","monitoring_location_number":"01234567","monitoring_location_name":"MARROW RIVER AT BLUE CUT, MT","time_zone_abbreviation":"MST","uses_daylight_savings":"Y"}}`}
	case strings.Contains(q.URL.Path, "/daily/"):
		for year := 2010; year < 2026; year++ { // 100, 110, … 250 ft³/s
			add(fmt.Sprintf("%d-06-10", year), fmt.Sprint(100+10*(year-2010)), "00003")
		}
	case q.URL.Query().Get("time") == "P3D" || strings.HasPrefix(q.URL.Query().Get("time"), "2026-04"):
		for clock, v := range r.cfs {
			add("2026-06-10T"+clock+":00-06:00", fmt.Sprint(v), "00011")
		}
	}
	body := fmt.Sprintf(`{"type":"FeatureCollection","features":[%s],"numberReturned":%d,"links":[]}`, strings.Join(list, ","), len(list))
	tag := fmt.Sprintf(`"%x"`, r.cfs)
	if w.Header().Set("ETag", tag); q.Header.Get("If-None-Match") == tag {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	fmt.Fprint(w, body)
}

// says looks at the gauge now and holds what a person is told to its words.
func (r *river) says(want string) gauges.Update {
	r.Helper()
	u, err := r.keeper.Update(r.Context(), blueCut)
	if err != nil {
		r.Fatal(err)
	}
	if got := u.Say(r.now()); got != want {
		r.Errorf("it says\n%s\nand has to say\n%s", got, want)
	}
	return u
}

// took is the flow that the session took, in cubic feet per second.
func (r *river) took(want float64) gauge.Fill {
	r.Helper()
	fills, err := r.store.Fills(r.Context(), r.session.ID)
	if err != nil {
		r.Fatal(err)
	}
	if list := fills[r.session.ID]; len(list) == 1 {
		if got := list[0].Value / 0.028316846592; math.Abs(got-want) > 1e-4*want { // four digits are kept of what lies between two readings
			r.Errorf("the session took %g ft³/s; it has to be %g", got, want)
		}
		return list[0]
	}
	r.Errorf("the session took %v", fills)
	return gauge.Fill{}
}

// From the agency's answer to the session, through the journal's own tables, with all that a person is told meanwhile.
func TestFromAgencyToSession(t *testing.T) {
	t.Parallel()
	r := newRiver(t)
	step := func(name string, do func(r *river)) {
		t.Run(name, func(t *testing.T) {
			outer := r.T
			defer func() { r.T = outer }()
			r.T = t
			do(r)
		})
		r.answer = nil
		r.later(15 * time.Minute)
	}
	answers := func(answer http.HandlerFunc) {
		r.mu.Lock()
		defer r.mu.Unlock()
		r.answer = answer
	}
	step("new readings", func(r *river) {
		r.says("3 new readings. 1 session filled from them.")
		r.took(204) // in the middle of 200 and 208
		r.later(5 * time.Minute)
		r.says("It was asked at 12:00, and is asked every 15 minutes at most: again from 12:15.")
		if len(r.asked) != 1 {
			r.Errorf("asked %d times", len(r.asked))
		}
	})
	step("conditional", func(r *river) {
		r.says("There is nothing new. It can be asked again from 12:35.")
		if tag := r.asked[1].Header.Get("If-None-Match"); tag == "" {
			r.Error("the agency was not told what is known")
		}
	})
	step("revised later", func(r *river) {
		r.mu.Lock()
		r.cfs["08:15"] = 220
		r.mu.Unlock()
		r.says("0 new readings, and 1 reading revised by the agency. 1 session filled from them.")
		r.took(210)
	})
	step("new and revised", func(r *river) {
		r.mu.Lock()
		r.cfs["08:15"], r.cfs["12:45"] = 224, 250
		r.mu.Unlock()
		r.says("1 new reading, and 1 reading revised by the agency. 1 session filled from them.")
		r.took(212)
	})
	step("429", func(r *river) {
		answers(func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Retry-After", "3600")
			w.WriteHeader(http.StatusTooManyRequests)
		})
		r.says("The U.S. Geological Survey asks to wait until 14:05. What is here stays.")
		answers(nil)
		r.later(30 * time.Minute)
		r.says("The U.S. Geological Survey asks to wait until 14:05. What is here stays.")
		r.took(212)
	})
	r.later(time.Hour) // 14:50
	step("HTML in place of JSON", func(r *river) {
		answers(func(w http.ResponseWriter, _ *http.Request) { fmt.Fprint(w, "<!doctype html>") })
		r.says("The U.S. Geological Survey answered with a web page instead of readings; its address may have changed. What is here stays, and it is asked again at 15:20.")
	})
	step("not before", func(r *river) { // 15:05
		r.says("The U.S. Geological Survey answered with a web page instead of readings; its address may have changed. What is here stays, and it is asked again at 15:20.")
	})
	// By a chance of one half it waits 15 min and half of 15 min · 2ⁿ⁻¹ after the nth failure, of which the request to wait was one:
	// 30 min, 45, 75, 135.
	step("the next failure waits longer", func(r *river) { // 15:20
		answers(func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusNotFound) })
		r.says("The U.S. Geological Survey has nothing at this address (status 404); the gauge's number may be wrong, or the service has moved. What is here stays, and it is asked again at 16:05.")
	})
	r.later(30 * time.Minute)
	step("cut", func(r *river) { // 16:05
		answers(func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Length", "1000")
			fmt.Fprint(w, `{"type":"FeatureCollection","features":[`)
		})
		r.says("The U.S. Geological Survey broke off in the middle of its answer, of which nothing was kept. What is here stays, and it is asked again at 17:20.")
	})
	r.later(time.Hour)
	step("too large", func(r *river) { // 17:20
		answers(func(w http.ResponseWriter, _ *http.Request) { fmt.Fprint(w, strings.Repeat(" ", 1<<20+1)) })
		r.says("The U.S. Geological Survey answered with more than it should have, of which nothing was kept. What is here stays, and it is asked again at 19:35.")
	})
	r.later(2 * time.Hour)
	step("answers again", func(r *river) { // 19:35
		r.says("There is nothing new. It can be asked again from 19:50.")
		r.took(212)
	})
	step("the past", func(r *river) {
		var told []string
		f, err := r.keeper.Fetch(r.Context(), blueCut, []gauge.Span{{From: r.now().AddDate(0, -1, 0), To: r.now()}}, func(done, of int) { told = append(told, fmt.Sprintf("%d/%d", done, of)) })
		if err != nil || f.Say() != "16 new readings. 1 session filled from them." {
			r.Errorf("it says %q, %v", f.Say(), err)
		}
		if got := strings.Join(told, " "); got != "0/2 1/2 2/2" {
			r.Errorf("told %s", got)
		}
		// 212 is between the 12th (210) and the 13th (220) of 16 years: (12 + 0.2) / 17 of them.
		if f := r.took(212); f.Percentile == nil || f.Years != 16 || math.Abs(*f.Percentile-100*12.2/17) > 0.01 {
			r.Errorf("the session took %+v", f)
		}
	})
}

// A keeper that runs learns by itself what a gauge is called that was linked by its number alone.
func TestNameOfAGauge(t *testing.T) {
	t.Parallel()
	r := newRiver(t)
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan struct{})
	hurried := func() time.Time { r.later(time.Minute); return r.now() } // its turn to be named comes a quarter of an hour after the first
	k := gauges.New(r.store, r.sources, gauges.Options{Now: hurried, Chance: func() float64 { return 0 }})
	go func() { k.Run(ctx); close(ended) }()
	for named := false; !named; runtime.Gosched() {
		states, err := r.store.Gauges(ctx, blueCut)
		if err != nil {
			t.Fatal(err)
		}
		named = len(states) == 1 && states[0].Name == "MARROW RIVER AT BLUE CUT, MT" && states[0].Zone == "America/Denver"
	}
	cancel()
	<-ended
}

// Many who look at once, in two processes with a store each, ask the agency once.
func TestAskedOnceByAll(t *testing.T) {
	t.Parallel()
	r := newRiver(t)
	second := gauges.New(r.store, r.sources, gauges.Options{Now: r.now})
	var all sync.WaitGroup
	var asked, told atomic.Int64
	for i := range 16 {
		all.Go(func() {
			k := r.keeper
			if i%2 == 1 {
				k = second
			}
			u, err := k.Update(context.WithoutCancel(t.Context()), blueCut)
			switch {
			case err != nil:
				t.Error(err)
			case u.Asked:
				asked.Add(1)
			case u.Say(r.now()) == "It was asked at 12:00, and is asked every 15 minutes at most: again from 12:15.":
				told.Add(1)
			default:
				t.Errorf("it says %q", u.Say(r.now()))
			}
		})
	}
	all.Wait()
	if asked.Load() != 1 || told.Load() != 15 || len(r.asked) != 1 {
		t.Errorf("%d asked and %d were told; the agency was asked %d times", asked.Load(), told.Load(), len(r.asked))
	}
}
