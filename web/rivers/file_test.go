package rivers_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/web/webtest"
)

func contains(text, part string) bool { return strings.Contains(text, part) }

// rdb is an invented file in the shape in which the U.S. Geological Survey hands readings out.
const rdb = `# Data provided for site 09000001
#    USGS 09000001 ALDER BROOK AT THE INVENTED MILL
#            TS       parameter     Description
#         12345       00060     Discharge, cubic feet per second
agency_cd	site_no	datetime	tz_cd	12345_00060	12345_00060_cd
5s	15s	20d	6s	14n	10s
USGS	09000001	2026-05-01 06:00	MDT	120	P
USGS	09000001	2026-05-01 06:15	MDT	Ice	P
USGS	09000001	2026-05-01 06:30	MDT	122	P
USGS	09000001	2026-05-01 06:45	MDT	Eqp	P
`

// Ensure that it is seen what a gauge's file holds before it is kept, that it links the gauge, that it is said how many sessions can
// take something of it, and that the same file again adds nothing. The templates "gaugefile" and "gaugeread".
func TestAFileIsBroughtIn(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	b.Must(b.Store.SetOutfit(t.Context(), journal.Outfit{Name: "Of a test", Units: "us", TimeZone: "UTC", PriorSD: journal.PriorSD}))
	at := "/waters/" + b.Water.ID.String() + "/gauges"
	fished(t, b.Site, time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC))
	get(b.Site, at+"/file").holds(t, http.StatusOK, "up to 24 MB", "Show what it holds")
	send := func(name, text string) string {
		t.Helper()
		got := b.Upload(at+"/file", nil, webtest.File{Name: name, Text: text})
		if got.Status != http.StatusSeeOther {
			t.Fatalf("%s: status %d, %s", name, got.Status, webtest.Complaints(got.Body))
		}
		return got.Header.Get("Location")
	}
	file := send(`C:\gauges\mill.rdb`, rdb)
	get(b.Site, file).holds(t, http.StatusOK, "Nothing is kept yet", "mill.rdb, for Alder Brook", "The U.S. Geological Survey, number 09000001", "Flow", "Ice", "Gauge out of order", "120 cfs and 122 cfs", "Keep these readings")
	get(b.Site, at+"/file").holds(t, http.StatusOK, "mill.rdb", "Not kept yet")
	post(b.Site, file, url.Values{"do": {"keep"}}).holds(t, http.StatusOK, "Kept, for your outfit alone: 2 new and 2 without a value", "The gauge is linked to Alder Brook now.", "122 cfs",
		"1 session on Alder Brook can take what the gauge read.", `href="`+at+`/fill">See what it takes</a>`)
	post(b.Site, at+"/fill", url.Values{"do": {"fill"}}).holds(t, http.StatusOK, "Filled in: 1 session")
	if got := b.Get(file); got.Status != http.StatusNotFound || !contains(got.Body, "not here any more") {
		t.Errorf("what is kept waits still: status %d", got.Status)
	}
	again := send("mill.rdb", rdb)
	post(b.Site, again, url.Values{"do": {"keep"}}).holds(t, http.StatusOK, "2 here already", "No session on Alder Brook is left to fill in.", "Fill in past sessions")
	two := send("two.rdb", strings.ReplaceAll(rdb, "09000001", "09000002")+strings.ReplaceAll(rdb, "09000001", "09000003"))
	post(b.Site, two, url.Values{"do": {"keep"}}).holds(t, http.StatusOK, "Its 2 gauges are linked to Alder Brook now; unlink those of other waters.")
	dropped := send("mill.rdb", rdb)
	if got := b.Post(dropped, url.Values{"do": {"drop"}}); got.Status != http.StatusSeeOther || b.Get(dropped).Status != http.StatusNotFound {
		t.Errorf("dropped: status %d", got.Status)
	}
}

// Ensure that it is said what a file lacks and where it is wrong, and that what is chosen is looked at before it is kept.
func TestAFileIsExplained(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	b.Must(b.Store.SetOutfit(t.Context(), journal.Outfit{Name: "Of a test", Units: "us", TimeZone: "UTC", PriorSD: journal.PriorSD}))
	at := "/waters/" + b.Water.ID.String() + "/gauges"
	send := func(text string) string {
		t.Helper()
		return b.Upload(at+"/file", nil, webtest.File{Name: "own.csv", Text: text}).Header.Get("Location")
	}
	file := send("time,value\n2026-05-01 10:00,12.5\n2026-05-01 11:00,12.75\n")
	get(b.Site, file).holds(t, http.StatusOK, "The file does not say all", "Choose it below.")
	choices := url.Values{"site": {"other"}, "provider": {"County"}, "number": {"7"}, "quantity": {"temperature"}, "unit": {"c"}, "zone": {"America/Denver"}, "do": {"keep"}}
	post(b.Site, file, choices).holds(t, http.StatusConflict, "nothing is kept yet", "County, number 7", "54.5 °F", "Fri 1 May 2026, 16:00")
	post(b.Site, file, choices).holds(t, http.StatusOK, "Kept, for your outfit alone: 2 new", "County, number 7", "55 °F")
	choices.Set("zone", "Nowhere/Much")
	wrong := send("time,value\n2026-05-01 10:00,12.5\n2026-05-01 11:00,warm\n")
	post(b.Site, wrong, choices).holds(t, http.StatusConflict, "There is no time zone “Nowhere/Much”")
	choices.Set("zone", "Local") // not this machine's
	post(b.Site, wrong, choices).holds(t, http.StatusConflict, "There is no time zone “Local”")
	choices.Set("zone", "")
	post(b.Site, wrong, choices).holds(t, http.StatusConflict, "warm")
	for _, bad := range []struct {
		file webtest.File
		says string
	}{{webtest.File{Name: "empty.csv"}, "There is nothing in empty.csv"}, {webtest.File{}, "Choose a file first"}} {
		if got := b.Upload(at+"/file", nil, bad.file); got.Status != http.StatusUnprocessableEntity || !contains(webtest.Complaints(got.Body), bad.says) {
			t.Errorf("%q: status %d, %s", bad.file.Name, got.Status, webtest.Complaints(got.Body))
		}
	}
	ordered := send("date,flow (cfs)\n5/1/2026,100\n5/2/2026,110\n")
	get(b.Site, ordered).holds(t, http.StatusOK, "The file does not say all", "has the month or the day first", "The month first")
	months := url.Values{"site": {"other"}, "provider": {"County"}, "number": {"8"}, "dates": {"month-first"}, "do": {"keep"}}
	post(b.Site, ordered, months).holds(t, http.StatusConflict, "Fri 1 May 2026", "Sat 2 May 2026", "are read with the month first")
	post(b.Site, ordered, months).holds(t, http.StatusOK, "Kept, for your outfit alone: 2 new")
	page := send("<!doctype html><html><body>Sorry</body></html>")
	get(b.Site, page).holds(t, http.StatusOK, "It can’t be read like this")
}
