package rivers_test

import (
	"fmt"
	"net/http"
	"net/url"
	"os"
	"strings"
	"testing"
	"time"

	"rigtally/gauges/agency"
	"rigtally/gauges/fetch"
	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/journal/pg"
	"rigtally/web/webtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

// book is a journal whose gauges an invented agency knows.
func book(t *testing.T) (*webtest.Site, *webtest.Agency, string) {
	t.Helper()
	a := &webtest.Agency{}
	s := webtest.ServeWith(t, a.Asking)
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
	post(s, at, site(webtest.Mill().Site, "link")).holds(t, http.StatusOK, "Linked.", "Alder Brook at the invented mill", "10 m³/s", "1 hour ago", "10.8 °C", "Readings: the invented agency.")
	post(s, at, site(webtest.Mill().Site, "link")).holds(t, http.StatusOK, "linked already")
	post(s, at, site(webtest.Mill().Site, "look")).holds(t, http.StatusOK, "asked every 15 minutes at most")
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
	want(gauge.Link{Site: other}, gauge.Link{Site: webtest.Mill().Site})
	post(s, at, site(webtest.Mill().Site, "takes", "takes", "temperature", "all", "2")).holds(t, http.StatusOK, "Saved.")
	want(gauge.Link{Site: other}, gauge.Link{Site: webtest.Mill().Site, Takes: []gauge.Quantity{gauge.Temperature}})
	post(s, at, site(webtest.Mill().Site, "takes", "all", "2")).holds(t, http.StatusUnprocessableEntity, "Tick at least one")
	gone := post(s, at, site(other, "unlink"))
	gone.holds(t, http.StatusOK, "Unlinked.", "Link it again")
	want(gauge.Link{Site: webtest.Mill().Site, Takes: []gauge.Quantity{gauge.Temperature}})
	post(s, at, site(other, "unlink")).holds(t, http.StatusUnprocessableEntity, "This gauge is not linked any more")
	post(s, at, site(other, "link", "place", "0", "of", "")).holds(t, http.StatusOK, "Linked.")
	want(gauge.Link{Site: other}, gauge.Link{Site: webtest.Mill().Site, Takes: []gauge.Quantity{gauge.Temperature}})
	// The form of the water leaves them alone.
	form := strings.TrimSuffix(at, "/gauges")
	get(s, form).holds(t, http.StatusOK, "2 linked: county:7, "+webtest.Mill().Site.String()+".")
	if got := s.Press(form, webtest.Fields(s.Get(form).Body), "save", map[string]string{"kind": "tailwater"}); got.Status != http.StatusSeeOther {
		t.Errorf("status %d: %s", got.Status, webtest.Complaints(got.Body))
	}
	want(gauge.Link{Site: other}, gauge.Link{Site: webtest.Mill().Site, Takes: []gauge.Quantity{gauge.Temperature}})
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
	if asked := a.Asked(); len(asked) != 1 || asked[0] != (agency.Query{Near: asked[0].Near}) || *asked[0].Near != (agency.Place{Latitude: 39.7, Longitude: -105.2}) {
		t.Errorf("the service was told %+v", asked)
	}
	if log := s.Log.String(); strings.Contains(log, "39.7") || strings.Contains(log, "105.2") {
		t.Errorf("the log holds the place: %s", log)
	}
	for _, wrong := range []url.Values{{"latitude": {"98"}, "longitude": {"7"}}, {"latitude": {"39"}}, {"latitude": {"north"}, "longitude": {"7"}}} {
		wrong.Set("do", "near")
		post(s, at+"/find", wrong).holds(t, http.StatusUnprocessableEntity, "39.7")
	}
	post(s, at+"/find", url.Values{"do": {"name"}, "name": {" "}}).holds(t, http.StatusUnprocessableEntity, "Write a part of the gauge’s name")
	post(s, at+"/find", url.Values{"do": {"name"}, "name": {"nothing"}}).holds(t, http.StatusOK, "No gauge was found. Look for a single word")
}

// Ensure that the trouble of a service is told, and a number can be linked all the same.
func TestTroubleIsTold(t *testing.T) {
	t.Parallel()
	s, a, at := book(t)
	a.Fails = &fetch.Error{Service: "the invented agency", Kind: fetch.Offline}
	find := url.Values{"do": {"number"}, "number": {"09000001"}, "provider": {"usgs"}}
	post(s, at+"/find", find).holds(t, http.StatusOK, "be reached", "It could not be looked up", "Link usgs:09000001")
	post(s, at+"/find", url.Values{"do": {"name"}, "name": {"mill"}}).holds(t, http.StatusOK, "be reached", "as far as anybody answered", "One whose number you know can be linked all the same")
	post(s, at+"/find", url.Values{"do": {"number"}, "number": {"77"}}).holds(t, http.StatusOK, "as far as anybody answered. Choose who runs it")
	post(s, at, site(webtest.Mill().Site, "link")).holds(t, http.StatusOK, "Linked.", "be reached", "asked again")
	get(s, at).holds(t, http.StatusOK, "be reached", "Nothing of it is stored yet. Meanwhile you can bring in a file", "A gauge is not where you stand.")
}

// Ensure that of a gauge that is linked twice, each time for another of its sensors, each link shows what that one read.
func TestEachSensorIsShown(t *testing.T) {
	t.Parallel()
	s, _, at := book(t)
	water := webtest.Got(s.Store.Waters(t.Context()))(t)[0]
	county := gauge.NewSite("county", "7")
	var found gauge.Found
	for i, sensor := range []string{"top", "bottom"} {
		found.Series = append(found.Series, gauge.Series{Site: county, Quantity: gauge.Temperature, Sensor: sensor, Readings: []gauge.Reading{{At: webtest.GaugedAt.Add(-2 * time.Hour), Value: 11 - 5*float64(i)}, {At: webtest.GaugedAt.Add(-time.Hour), Value: 12 - 5*float64(i)}}})
		water.Gauges = append(water.Gauges, gauge.Link{Site: county, Sensor: sensor})
	}
	water.Gauges = append(water.Gauges, gauge.Link{Site: county, Sensor: "broken"})
	webtest.Got(s.Store.KeepOwnReadings(t.Context(), found))(t)
	s.Must(s.Store.SaveWater(t.Context(), water))
	parts := strings.Split(s.Get(at).Body, `<section class="gauge"`)
	if len(parts) != 4 {
		t.Fatalf("%d gauges are shown", len(parts)-1)
	}
	for i, want := range [][]string{{"sensor top", "<dd>12"}, {"sensor bottom", "<dd>7"}, {"sensor broken", "It measured nothing lately that Alder Brook takes."}} {
		webtest.WantAll(t, want[0], parts[i+1], want...)
	}
}

// Ensure that all is of use where nothing is read from the network.
func TestWithoutANetwork(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	at := "/waters/" + b.Water.ID.String() + "/gauges"
	get(b.Site, at).holds(t, http.StatusOK, "Gauges are not asked over the network here", "bring the file in")
	get(b.Site, at+"/find").holds(t, http.StatusOK, "Gauges are not asked over the network here", "The U.S. Geological Survey")
	post(b.Site, at+"/find", url.Values{"do": {"number"}, "number": {"0123"}, "provider": {"usgs"}}).holds(t, http.StatusOK, "Link usgs:0123")
	post(b.Site, at+"/find", url.Values{"do": {"number"}, "provider": {"other"}}).holds(t, http.StatusUnprocessableEntity, "who runs the gauge", "Write the gauge’s number")
	post(b.Site, at, site(gauge.NewSite("usgs", "0123"), "link")).holds(t, http.StatusOK, "Linked.", "The U.S. Geological Survey, number 0123", "Bring in a file of its readings")
	post(b.Site, at, site(gauge.NewSite("usgs", "0123"), "look")).holds(t, http.StatusUnprocessableEntity, "not asked over the network")
	post(b.Site, at, url.Values{"do": {"link"}}).holds(t, http.StatusUnprocessableEntity, "Write who runs the gauge")
}
