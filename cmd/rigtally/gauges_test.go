package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"rigtally/cmd/rigtally/command"
	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/pg"
)

// hourlyCSV is a file of invented readings, one an hour, of a flow that swings by a tenth of itself each day.
func hourlyCSV(t *testing.T, from, to time.Time) string {
	t.Helper()
	var b strings.Builder
	b.WriteString("time,flow (cfs),temperature (degF)\n")
	for at := from.UTC().Truncate(time.Hour); at.Before(to); at = at.Add(time.Hour) {
		fmt.Fprintf(&b, "%s,%.1f,%.1f\n", at.Format(time.RFC3339), 200+20*math.Sin(2*math.Pi*float64(at.Hour())/24), 50+5*math.Sin(2*math.Pi*float64(at.Hour())/24))
	}
	path := filepath.Join(t.TempDir(), "hours.csv")
	if err := os.WriteFile(path, []byte(b.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// gaugeAll links the first water of a filled journal to an invented gauge, and brings the readings of its last 60 days in.
func gaugeAll(t *testing.T, url string, store *pg.Store) {
	t.Helper()
	waters, err := store.Waters(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var last time.Time
	for _, s := range contentsOf(t, url).Sessions {
		if day := s.Day.In(time.UTC); day.After(last) {
			last = day
		}
	}
	mustRun(t, url, "gauges", "import", hourlyCSV(t, last.AddDate(0, 0, -60), last.AddDate(0, 0, 2)), "--gauge", "mine:above the weir", "--water", waters[0].Name)
	mustRun(t, url, "gauges", "link", waters[0].Name, "usgs:09999901", "--takes", "stage", "--sensor", "121787")
}

// fixture is an invented file of readings.
func fixture(name string) string {
	return filepath.Join("..", "..", "gauges", "read", "testdata", name)
}

// Ensure that readings from files are taken by sessions when somebody says so, once, and taken away again.
func TestGaugesFromFiles(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	for _, day := range []string{"2026-05-01", "2026-05-20"} {
		mustRun(t, url, "log", "--angler", "J. Felt", "--water", "Little Marrow", "--junction", "blood", "--minutes", "60", "--date", day, "--start", "10:00", "--end", "12:00")
	}
	want := func(text string, args ...string) string {
		t.Helper()
		got := mustRun(t, url, args...)
		if !strings.Contains(got, text) {
			t.Errorf("rigtally %s says\n%s\nand has to say %q", strings.Join(args, " "), got, text)
		}
		return got
	}
	refuse := func(status int, text string, args ...string) {
		t.Helper()
		if got := runIn(t, url, args...); got.status != status || !strings.Contains(got.errors, text) {
			t.Errorf("rigtally %s: status %d, %s\nhas to be %d, %q", strings.Join(args, " "), got.status, got.errors, status, text)
		}
	}
	hours := hourlyCSV(t, time.Date(2026, 4, 29, 0, 0, 0, 0, time.UTC), time.Date(2026, 5, 3, 0, 0, 0, 0, time.UTC))
	want("No water has a gauge yet", "gauges", "list")
	want("None of these sessions is on a water with a gauge", "gauges", "fill")

	refuse(1, "does not say which gauge it is from; name it, as in usgs:01234567. The flags --gauge, --quantity, --unit, --zone and --dates say", "gauges", "import", hours)
	refuse(2, `did you mean "Little Marrow"?`, "gauges", "import", hours, "--gauge", "mine:1", "--water", "Litle Marrow")
	refuse(2, `"level" is nothing that a water takes`, "gauges", "import", hours, "--quantity", "level")
	refuse(2, `--zone "Mars" is not known`, "gauges", "import", hours, "--zone", "Mars")
	refuse(2, `--dates "sideways" is not known; write day-first or month-first`, "gauges", "import", hours, "--dates", "sideways")
	refuse(2, `"weir" is not a gauge; write who runs it and its number`, "gauges", "link", "Little Marrow", "weir")
	refuse(2, "--near \"91,0\" is no place", "gauges", "find", "--near", "91,0")
	refuse(2, "one of these", "gauges", "find")
	refuse(1, "Little Marrow is not linked to mine:1", "gauges", "unlink", "Little Marrow", "mine:1")

	// A good file beside one that is wrong: nothing of either is kept.
	page := filepath.Join(t.TempDir(), "page.html")
	if err := os.WriteFile(page, []byte("<!DOCTYPE html><html>"), 0o600); err != nil {
		t.Fatal(err)
	}
	refuse(1, "page.html is a web page, not readings", "gauges", "import", hours, page, "--gauge", "mine:1")
	want("Kept for all outfits: 192 new, 0 revised, 0 there already.", "gauges", "import", hours, "--gauge", "mine:1", "--water", "Little Marrow")
	want("192 there already.\n1 session on Little Marrow can take what the gauge read.\nTo see what that does, then have it done:\n  rigtally gauges fill\n", "gauges", "import", hours, "--gauge", "mine:1", "--water", "Little Marrow")
	want("holds no readings", "gauges", "import", fixture("nothing.rdb"))
	ordered := filepath.Join(t.TempDir(), "ordered.tsv")
	if err := os.WriteFile(ordered, []byte("date\tQdaily\n5/1/2026\t3.5\n5/2/2026\t3.6\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	refuse(1, `line 2: nothing there says whether "5/1/2026" has the month or the day first`, "gauges", "import", ordered, "--gauge", "mine:2", "--unit", "m3/s")
	want("2 daily means, from 2026-05-01 to 2026-05-02.", "gauges", "import", ordered, "--gauge", "mine:2", "--unit", "m3/s", "--dates", "month-first")
	single := filepath.Join(t.TempDir(), "single.csv")
	if err := os.WriteFile(single, []byte("time,flow (cfs)\n2026-05-01T10:00Z,120\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	want("1 reading, of 2026-05-01 10:00 UTC.", "gauges", "import", single, "--gauge", "mine:3")
	got := want("2 of them without a value (gauge out of order)", "gauges", "import", fixture("instant.rdb"))
	for _, text := range []string{"Temperature, water, degrees Celsius, [Top]", "Nitrate plus nitrite", "2024-11-03 05:00 to 2024-11-03 06:45 UTC"} {
		if !strings.Contains(got, text) {
			t.Errorf("an import does not say %q:\n%s", text, got)
		}
	}

	got = want("Nothing is changed yet. To do it, add --yes.", "gauges", "fill")
	for _, text := range []string{"2 sessions are on waters with a gauge.", "Flow: 1 session.", "Nothing for 1 session (2026-05-20): No readings of that day are stored.", "rigtally gauges update --from 2026-05-20\n  rigtally gauges import FILE", ", mine:1", "1 session takes something else than before"} {
		if !strings.Contains(got, text) {
			t.Errorf("the preview does not say %q:\n%s", text, got)
		}
	}
	if said := dialogueIn(t, url, []string{"no"}, "gauges", "fill"); said.status != 0 || !strings.Contains(said.out, "Nothing was changed.") {
		t.Errorf("no: %+v", said)
	}
	if said := dialogueIn(t, url, []string{"yes"}, "gauges", "fill", "--from", "2026-05-01", "--to", "2026-05-01", "--water", "Little Marrow"); said.status != 0 || !strings.Contains(said.out, "Done: 1 session takes something else of gauges than before") {
		t.Errorf("yes: %+v", said)
	}
	want("Nothing would change.", "gauges", "fill")
	want("Nothing was changed.", "gauges", "fill", "--yes")
	want("192 there already.\nNo session on Little Marrow is left to fill in.\n", "gauges", "import", hours, "--gauge", "mine:1")
	want("None of these sessions took anything", "gauges", "clear", "--from", "2026-05-02")
	want("1 session took something of gauges.", "gauges", "clear")
	want("taken away from 1 session", "gauges", "clear", "--yes")
	want("None of these sessions took anything", "gauges", "clear")

	linked := want("Little Marrow takes water temperature from mine:1", "gauges", "link", "Little Marrow", "mine:1", "--takes", "temperature")
	if !strings.Contains(linked, "rigtally waters zone \"Little Marrow\"") {
		t.Errorf("a link to a water in UTC does not say so:\n%s", linked)
	}
	want("Water temperature: 1 session.", "gauges", "fill")
	var listed struct {
		Gauges []struct {
			Water, Gauge string
			Takes        []string
			Latest       map[string]struct {
				Value float64
				Unit  string
			}
		}
	}
	if err := json.Unmarshal([]byte(mustRun(t, url, "gauges", "list", "--format", "json")), &listed); err != nil {
		t.Fatal(err)
	}
	// The last hour is 23:00: 50 °F less 5 °F times the sine of a 24th of a turn.
	if len(listed.Gauges) != 1 || listed.Gauges[0].Takes[0] != "temperature" || len(listed.Gauges[0].Latest) != 1 || math.Abs(listed.Gauges[0].Latest["temperature"].Value-(48.7-32)/1.8) > 1e-9 {
		t.Errorf("listed: %+v", listed)
	}
	want("From the gauge: water temperature ", "log", "--angler", "J. Felt", "--water", "Little Marrow", "--junction", "blood", "--minutes", "60", "--date", "2026-05-02", "--start", "10:00", "--end", "12:00")
	want("takes nothing more", "gauges", "unlink", "Little Marrow", "mine:1")
	want("No water has a gauge yet", "gauges", "list")
}

// agencies answers as three agencies do, from invented files, and notes what it was asked.
type agencies struct {
	mu    sync.Mutex
	asked []string
	now   time.Time
}

func (a *agencies) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	a.mu.Lock()
	a.asked = append(a.asked, r.URL.String())
	a.mu.Unlock()
	w.Header().Set("Content-Type", "application/json")
	switch {
	case strings.HasSuffix(r.URL.Path, "/monitoring-locations/items"):
		http.ServeFile(w, r, fixture("locations.json"))
	case strings.Contains(r.URL.Path, "/collections/") && strings.HasSuffix(r.URL.Path, "continuous/items"):
		fmt.Fprintf(w, `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"time_series_id":"aaaa","monitoring_location_id":"USGS-09999904","parameter_code":"00060","statistic_id":"00011","time":%q,"value":"100","unit_of_measure":"ft^3/s","approval_status":"Provisional","qualifier":null}}]}`,
			a.now.Add(-time.Hour).Truncate(time.Minute).UTC().Format(time.RFC3339))
	case strings.Contains(r.URL.Path, "/collections/"):
		fmt.Fprint(w, `{"type":"FeatureCollection","features":[]}`)
	case strings.HasPrefix(r.URL.Path, "/ea"):
		fmt.Fprint(w, `{"meta":{},"items":[]}`)
	default:
		fmt.Fprint(w, `{"count":0,"data":[]}`)
	}
}

// Ensure that gauges are found and brought up to date, that a place is told to a tenth of a degree alone, and that nobody is
// asked where that is off.
func TestGaugesOfAgencies(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	mustRun(t, url, "log", "--angler", "J. Felt", "--water", "Little Marrow", "--junction", "blood", "--minutes", "60")
	service := &agencies{now: time.Now()}
	server := httptest.NewServer(service)
	t.Cleanup(server.Close)
	asked := func() string {
		service.mu.Lock()
		defer service.mu.Unlock()
		return strings.Join(service.asked, "\n")
	}
	do := func(env string, args ...string) outcome {
		t.Helper()
		var out, errs bytes.Buffer
		p := command.New(strings.NewReader(""), &out, &errs, []string{"HOME=" + t.TempDir(), "RIGTALLY_DATABASE_URL=" + url, "COLUMNS=0", env,
			"RIGTALLY_USGS_ADDRESS=" + server.URL + "/usgs", "RIGTALLY_ENVIRONMENT_AGENCY_ADDRESS=" + server.URL + "/ea", "RIGTALLY_HUBEAU_ADDRESS=" + server.URL + "/hubeau"})
		return outcome{p.Run(t.Context(), commands(p), args), out.String(), errs.String()}
	}
	for _, args := range [][]string{{"gauges", "find", "creek"}, {"gauges", "update", "usgs:09999904"}} {
		if got := do("RIGTALLY_GAUGES=off", args...); got.status != 1 || !strings.Contains(got.errors, "the setting gauges is off; set it to on") || asked() != "" {
			t.Errorf("off: %+v, asked %q", got, asked())
		}
	}
	got := do("RIGTALLY_GAUGES=on", "gauges", "find", "usgs:09999904")
	if got.status != 0 || !strings.Contains(got.out, "usgs:09999904") || !strings.Contains(got.out, "INVENTED CREEK AT NOWHERE") || !strings.Contains(got.out, "U.S. Geological Survey") {
		t.Errorf("found: %+v", got)
	}
	got = do("", "gauges", "find", "--near", "40.123456,-105.456789")
	if strings.Contains(asked(), "123456") || strings.Contains(asked(), "456789") || !strings.Contains(got.out, "near 40.1, -105.5, the place rounded to a tenth of a degree") {
		t.Errorf("near: %+v\nasked %s", got, asked())
	}
	if got := do("", "gauges", "link", "Little Marrow", "usgs:09999904"); got.status != 0 || !strings.Contains(got.out, "rigtally gauges update usgs:09999904") {
		t.Errorf("link: %+v", got)
	}
	if got := do("", "gauges", "update"); got.status != 0 || !strings.Contains(got.out, "usgs:09999904: 1 new reading.") {
		t.Errorf("update: %+v\nasked %s", got, asked())
	}
	if got := do("", "gauges", "update", "usgs:09999904"); got.status != 0 || !strings.Contains(got.out, "every 15 minutes at most") {
		t.Errorf("update at once: %+v", got)
	}
	if got := do("", "gauges", "update", "usgs:09999904", "--from", service.now.AddDate(0, 0, -3).Format(time.DateOnly)); got.status != 0 || !strings.Contains(got.out, "usgs:09999904, readings of these days and daily means: There was nothing that is not here already.") {
		t.Errorf("update since: %+v\nasked %s", got, asked())
	}
	if got := do("", "gauges", "list"); !strings.Contains(got.out, "flow 2.83 m³/s") && !strings.Contains(got.out, "flow 100 cfs") || !strings.Contains(got.out, "provisional") {
		t.Errorf("list: %+v", got)
	}
}
