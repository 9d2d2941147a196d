package rivers_test

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"rigtally/gauges"
	"rigtally/gauges/agency"
	"rigtally/gauges/fetch"
	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/journal/pg"
	"rigtally/web"
	"rigtally/web/webtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

// now is when the tests look at the pages.
var now = time.Date(2026, time.June, 20, 18, 0, 0, 0, time.UTC)

// invented is an agency with gauges that are invented, under the name of a real one so that its readings are asked for.
type invented struct {
	mu    sync.Mutex
	asked []agency.Query
	fails error
	hold  chan struct{} // older readings come once it is closed; nil: at once
}

func (*invented) Provider() string { return gauge.USGS }
func (*invented) Title() string    { return "the invented agency" }
func (*invented) Credit() string   { return "Readings: the invented agency." }

func mill() gauge.Gauge {
	return gauge.Gauge{Site: gauge.NewSite(gauge.USGS, "09000001"), Name: "Alder Brook at the invented mill", Zone: "UTC", Latitude: new(39.75), Longitude: new(-105.25), Measures: []gauge.Quantity{gauge.Flow, gauge.Temperature}}
}

func (a *invented) Find(_ context.Context, q agency.Query) ([]gauge.Gauge, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.asked = append(a.asked, q)
	if a.fails != nil {
		return nil, a.fails
	}
	if q.Number != "" && q.Number != "09000001" || q.Name == "nothing" {
		return nil, nil
	}
	far := mill()
	far.Number, far.Name, far.Latitude = "09000002", "Alder Brook at the invented ford", new(40.0)
	return []gauge.Gauge{far, mill()}[map[bool]int{true: 1}[q.Number != ""]:], nil
}

func (a *invented) Latest(_ context.Context, site gauge.Site, _ *gauge.Request) (gauge.Found, error) {
	if a.fails != nil {
		return gauge.Found{}, a.fails
	}
	return read(site, now.Add(-72*time.Hour), now.Add(-time.Hour)), nil
}

func (a *invented) Past(ctx context.Context, site gauge.Site, from, to time.Time) (gauge.Found, error) {
	if a.hold != nil {
		select {
		case <-a.hold:
		case <-ctx.Done():
			return gauge.Found{}, ctx.Err()
		}
	}
	return read(site, from, to), nil
}

func (a *invented) Daily(_ context.Context, site gauge.Site, _, to time.Time) (gauge.Found, error) {
	s := gauge.Series{Site: site, Quantity: gauge.Flow, Statistic: gauge.DailyMean}
	for day := time.Date(2010, 1, 1, 0, 0, 0, 0, time.UTC); day.Before(to); day = day.AddDate(0, 0, 1) {
		s.Readings = append(s.Readings, gauge.Reading{At: day, Value: float64(day.Year() - 2008)})
	}
	return gauge.Found{Series: []gauge.Series{s}}, nil
}

// read are readings of every hour: a flow of 10 m³/s and water that is warmest, 12 °C, at noon UTC.
func read(site gauge.Site, from, to time.Time) gauge.Found {
	flow, warmth := gauge.Series{Site: site, Quantity: gauge.Flow}, gauge.Series{Site: site, Quantity: gauge.Temperature}
	for at := from.Truncate(time.Hour); !at.After(to); at = at.Add(time.Hour) {
		flow.Readings = append(flow.Readings, gauge.Reading{At: at, Value: 10, Flags: gauge.Provisional})
		warmth.Readings = append(warmth.Readings, gauge.Reading{At: at, Value: 12 - math.Abs(float64(at.Hour()-12))/4})
	}
	return gauge.Found{Series: []gauge.Series{flow, warmth}}
}

// book is a journal whose gauges an invented agency knows.
func book(t *testing.T) (*webtest.Site, *invented, string) {
	t.Helper()
	a := &invented{}
	s := webtest.ServeWith(t, func(store *pg.Store) web.Options {
		return web.Options{Now: func() time.Time { return now }, Gauges: gauges.New(store, []agency.Source{a}, gauges.Options{Now: func() time.Time { return now }, Chance: func() float64 { return 0 }})}
	})
	s.Must(s.Store.SetOutfit(t.Context(), journal.Outfit{Name: "Of a test", Units: "metric", TimeZone: "UTC", PriorSD: journal.PriorSD}))
	w := journal.Water{ID: webtest.NewID(t), Name: "Alder Brook", Kind: "freestone", TimeZone: "UTC"}
	s.Must(s.Store.SaveWater(t.Context(), w))
	return s, a, "/waters/" + w.ID.String() + "/gauges"
}

func site(g gauge.Site, do string, more ...string) url.Values {
	v := url.Values{"do": {do}, "provider": {g.Provider}, "number": {g.Number}}
	for i := 0; i+1 < len(more); i += 2 {
		v.Add(more[i], more[i+1])
	}
	return v
}

func (v visit) holds(t *testing.T, status int, texts ...string) {
	t.Helper()
	if v.Status != status {
		t.Errorf("%s: status %d, want %d: %s", v.what, v.Status, status, webtest.Complaints(v.Body))
	}
	webtest.WantAll(t, v.what, v.Body, texts...)
	webtest.CheckPage(t, v.what, v.Body)
}

type visit struct {
	webtest.Answer
	what string
}

func get(s *webtest.Site, at string) visit { return visit{s.Get(at), at} }
func post(s *webtest.Site, at string, form url.Values) visit {
	return visit{s.Post(at, form), at + " " + form.Get("do")}
}

// Ensure that a gauge is found by number and linked, says what it read in the people's units with its age, may be read again a quarter of
// an hour later, and can be unlinked and linked again where it was. The templates "gauges" and "gaugefind".
func TestAGaugeIsFoundAndLinked(t *testing.T) {
	t.Parallel()
	s, _, at := book(t)
	get(s, at).holds(t, http.StatusOK, "Find a gauge", "Bring in a file")
	get(s, at+"/find").holds(t, http.StatusOK, "By its number", "The invented agency is told the rounded place")
	post(s, at+"/find", url.Values{"do": {"number"}, "number": {"09000001"}}).holds(t, http.StatusOK, "Alder Brook at the invented mill", "The invented agency, number 09000001", "flow and water temperature", ">Link<")
	post(s, at, site(mill().Site, "link")).holds(t, http.StatusOK, "Linked.", "Alder Brook at the invented mill", "10 m³/s", "1 hour ago", "10.8 °C", "Readings: the invented agency.")
	post(s, at, site(mill().Site, "link")).holds(t, http.StatusOK, "linked already")
	post(s, at, site(mill().Site, "look")).holds(t, http.StatusOK, "asked every 15 minutes at most")
	post(s, at+"/find", url.Values{"do": {"number"}, "number": {"09000001"}}).holds(t, http.StatusOK, "Linked</span>")

	other := gauge.NewSite("county", "7")
	post(s, at, site(other, "link")).holds(t, http.StatusOK, "Gauge 7", "Bring in a file of its readings", "the upper one is asked first")
	post(s, at, site(other, "first")).holds(t, http.StatusOK, "asked first now")
	want := func(links ...gauge.Link) {
		t.Helper()
		waters := webtest.Got(s.Store.Waters(t.Context()))(t)
		if got := fmt.Sprint(waters[0].Gauges); got != fmt.Sprint(links) {
			t.Errorf("linked %s, want %v", got, links)
		}
	}
	want(gauge.Link{Site: other}, gauge.Link{Site: mill().Site})
	post(s, at, site(mill().Site, "takes", "takes", "temperature", "all", "2")).holds(t, http.StatusOK, "Saved.")
	want(gauge.Link{Site: other}, gauge.Link{Site: mill().Site, Takes: []gauge.Quantity{gauge.Temperature}})
	post(s, at, site(mill().Site, "takes", "all", "2")).holds(t, http.StatusUnprocessableEntity, "Tick at least one")
	gone := post(s, at, site(other, "unlink"))
	gone.holds(t, http.StatusOK, "Unlinked.", "Link it again")
	want(gauge.Link{Site: mill().Site, Takes: []gauge.Quantity{gauge.Temperature}})
	post(s, at, site(other, "unlink")).holds(t, http.StatusUnprocessableEntity, "This gauge is not linked any more")
	post(s, at, site(other, "link", "place", "0", "of", "")).holds(t, http.StatusOK, "Linked.")
	want(gauge.Link{Site: other}, gauge.Link{Site: mill().Site, Takes: []gauge.Quantity{gauge.Temperature}})
	// The form of the water leaves them alone.
	form := strings.TrimSuffix(at, "/gauges")
	if got := s.Press(form, webtest.Fields(s.Get(form).Body), "save", map[string]string{"kind": "tailwater"}); got.Status != http.StatusSeeOther {
		t.Errorf("status %d: %s", got.Status, webtest.Complaints(got.Body))
	}
	want(gauge.Link{Site: other}, gauge.Link{Site: mill().Site, Takes: []gauge.Quantity{gauge.Temperature}})
}

// Ensure that a service is told a place that is rounded, and that what is found is told the nearest first, no more exactly than the
// place was.
func TestAPlaceIsRounded(t *testing.T) {
	t.Parallel()
	s, a, at := book(t)
	found := post(s, at+"/find", url.Values{"do": {"near"}, "latitude": {"39.71828"}, "longitude": {"−105.2471"}})
	found.holds(t, http.StatusOK, "39.7°, −105.2°", "within about 8 km", "about 34 km away")
	if strings.Index(found.Body, "invented mill") > strings.Index(found.Body, "invented ford") {
		t.Error("the nearest is not the first")
	}
	if len(a.asked) != 1 || a.asked[0] != (agency.Query{Near: a.asked[0].Near}) || *a.asked[0].Near != (agency.Place{Latitude: 39.7, Longitude: -105.2}) {
		t.Errorf("the service was told %+v", a.asked)
	}
	if log := s.Log.String(); strings.Contains(log, "39.7") || strings.Contains(log, "105.2") {
		t.Errorf("the log holds the place: %s", log)
	}
	for _, wrong := range []url.Values{{"latitude": {"98"}, "longitude": {"7"}}, {"latitude": {"39"}}, {"latitude": {"north"}, "longitude": {"7"}}} {
		wrong.Set("do", "near")
		post(s, at+"/find", wrong).holds(t, http.StatusUnprocessableEntity, "39.7")
	}
	post(s, at+"/find", url.Values{"do": {"name"}, "name": {" "}}).holds(t, http.StatusUnprocessableEntity, "Write a part of the gauge’s name")
	post(s, at+"/find", url.Values{"do": {"name"}, "name": {"nothing"}}).holds(t, http.StatusOK, "No gauge was found")
}

// Ensure that the trouble of a service is told, and a number can be linked all the same.
func TestTroubleIsTold(t *testing.T) {
	t.Parallel()
	s, a, at := book(t)
	a.fails = &fetch.Error{Service: "the invented agency", Kind: fetch.Offline}
	find := url.Values{"do": {"number"}, "number": {"09000001"}, "provider": {"usgs"}}
	post(s, at+"/find", find).holds(t, http.StatusOK, "be reached", "It could not be looked up", "Link usgs 09000001")
	post(s, at, site(mill().Site, "link")).holds(t, http.StatusOK, "Linked.", "be reached", "asked again")
	get(s, at).holds(t, http.StatusOK, "be reached", "Nothing of it is stored yet")
}

// Ensure that all is of use where nothing is read from the network.
func TestWithoutANetwork(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	at := "/waters/" + b.Water.ID.String() + "/gauges"
	get(b.Site, at).holds(t, http.StatusOK, "Gauges are not asked over the network here", "bring the file in")
	get(b.Site, at+"/find").holds(t, http.StatusOK, "Gauges are not asked over the network here", "The U.S. Geological Survey")
	post(b.Site, at+"/find", url.Values{"do": {"number"}, "number": {"0123"}, "provider": {"usgs"}}).holds(t, http.StatusOK, "Link usgs 0123")
	post(b.Site, at+"/find", url.Values{"do": {"number"}, "provider": {"other"}}).holds(t, http.StatusUnprocessableEntity, "who runs the gauge", "Write the gauge’s number")
	post(b.Site, at, site(gauge.NewSite("usgs", "0123"), "link")).holds(t, http.StatusOK, "Linked.", "The U.S. Geological Survey, number 0123", "Bring in a file of its readings")
	post(b.Site, at, site(gauge.NewSite("usgs", "0123"), "look")).holds(t, http.StatusUnprocessableEntity, "not asked over the network")
	post(b.Site, at, url.Values{"do": {"link"}}).holds(t, http.StatusUnprocessableEntity, "Write who runs the gauge")
}
