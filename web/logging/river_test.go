package logging_test

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/prose"
	"rigtally/web/webtest"
)

// onRiver is a journal whose water's gauge read a river that rose, with a session of 9 May 2026 from 08:00 to 12:00 in Denver.
func onRiver(t *testing.T) (*webtest.Book, journal.Session) {
	t.Helper()
	b := webtest.NewBook(t)
	loc := webtest.MustZone(t, "America/Denver")
	b.Water.TimeZone = loc.String()
	day := time.Date(2026, time.May, 9, 0, 0, 0, 0, loc)
	b.Gauge(b.Water, day.AddDate(0, 0, -3), day.AddDate(0, 0, 2), map[gauge.Quantity]webtest.Course{
		gauge.Flow: func(at time.Time) (float64, gauge.Flags) {
			if h := at.Sub(day).Hours(); h > -20 && h < -15 {
				return math.NaN(), gauge.Ice
			}
			return 10 + max(0, at.Sub(day).Hours()-8), gauge.Provisional // 10 m³/s until 08:00, then one more each hour
		},
		gauge.Temperature: func(time.Time) (float64, gauge.Flags) { return 11, 0 },
	})
	start, end := day.Add(8*time.Hour), day.Add(12*time.Hour)
	s := journal.Session{ID: webtest.NewID(t), AnglerID: b.Angler.ID, WaterID: b.Water.ID, Day: journal.Date{Year: 2026, Month: 5, Day: 9}, TimeZone: loc.String(), Start: &start, End: &end, FlowM3S: new(11.0),
		Stints: []journal.Stint{{ID: webtest.NewID(t), RigID: b.One.ID, Minutes: new(240.0), Events: []journal.Event{{Kind: journal.EventHookup, Count: 1, Ending: journal.Landed, Minute: new(30)}}}}}
	return b, webtest.Got(b.Store.SaveSession(t.Context(), s))(t)
}

// A session's page has what the gauge read at the middle of it, beside what was noted, and the river around it. The values are
// those of the invented river: 12 m³/s at 10:00, after 10 at 08:00 and 14 at 12:00; 11 °C is 51.8 °F.
func TestSessionTellsOfItsRiver(t *testing.T) {
	t.Parallel()
	b, s := onRiver(t)
	b.Must(b.Store.SetOutfit(t.Context(), journal.Outfit{Name: "Invented Outfit", Units: "metric", TimeZone: "America/Denver"}))
	page := b.Page("/sessions/"+s.ID.String(), 200)
	webtest.CheckPage(t, "session", page)
	text := strings.ReplaceAll(page, "\u00a0", " ")
	webtest.WantAll(t, "session", text, `id="river"`, "<b>12 m³/s</b> at 10:00", "provisional", "Noted by hand: 11 m³/s", "A gauge is not where you stand.",
		"During the session flow rose from 10 m³/s to 14 m³/s; water temperature stayed at 11 °C.", "Session 08:00–12:00", ">ice<", "No readings from 8 May 04:00 to 09:00 (ice).",
		"08:30, fish landed", "Fill in again", "Take it out", "Alder Brook at an invented bridge.",
		"The readings in numbers", `<th scope="row">Sat 10:00</th><td class="number">12 m³/s</td><td class="number">11 °C</td>`, `<th scope="row">Fri 06:00</th><td class="number">no reading</td>`)

	webtest.WantAll(t, "session just saved", b.Page("/sessions/"+s.ID.String()+"?done=logged", 200), "The session is saved. From the gauge: flow 12 m³/s, water temperature 11 °C.")

	b.Must(b.Store.SetOutfit(t.Context(), journal.Outfit{Name: "Invented Outfit", Units: "us", TimeZone: "America/Denver"}))
	webtest.WantAll(t, "session", strings.ReplaceAll(b.Page("/sessions/"+s.ID.String(), 200), "\u00a0", " "), "<b>51.8 °F</b>", "Flow, cfs", "Water, °F", "Rising")
}

// A program is told what a session takes, in storage units, each time it asks: when it sends the session, and later on. By the
// invented river it is 12 m³/s at 10:00, 10 six hours and a day before.
func TestProgramsAreToldOfTheRiver(t *testing.T) {
	t.Parallel()
	b, s := onRiver(t)
	site := webtest.Got(b.Store.Waters(t.Context()))(t)[0].Gauges[0].Site.String()
	want := `"gauges":[{"quantity":"flow","site":"` + site + `","flow_m3s":12,"at":"2026-05-09T16:00:00Z","taken":"reading","provisional":true,"flow_change_6h":0.19999999999999996,"flow_change_24h":0.19999999999999996},` +
		`{"quantity":"temperature","site":"` + site + `","water_temp_c":11,"at":"2026-05-09T16:00:00Z","taken":"reading","provisional":false,"water_temp_peak_c":11}]`
	at := "/api/v1/sessions/" + s.ID.String()
	if got := b.Get(at); got.Status != 200 || !strings.Contains(got.Body, want) {
		t.Errorf("%d %s\nwant %s", got.Status, got.Body, want)
	}
	if got, _ := put(b, t, journal.Draft{Session: s}); got.Status != 200 || !strings.Contains(got.Body, want) {
		t.Errorf("sent again: %d %s", got.Status, got.Body)
	}
	// Fourteen minutes past is between readings of a quarter of an hour; without times it is the day's mean.
	later, day := s, s
	later.Start, later.End = new(s.Start.Add(14*time.Minute)), new(s.End.Add(14*time.Minute))
	later = webtest.Got(b.Store.SaveSession(t.Context(), later))(t)
	webtest.WantAll(t, "between readings", b.Get(at).Body, `"at":"2026-05-09T16:14:00Z","taken":"interpolated"`, `"flow_m3s":12.23`)
	day.Version, day.Start, day.End = later.Version, nil, nil
	webtest.Got(b.Store.SaveSession(t.Context(), day))(t)
	webtest.WantAll(t, "without times", b.Get(at).Body, `"at":"2026-05-09T06:00:00Z","taken":"day's mean"`)
	b.Must(b.Store.DeleteSession(t.Context(), s.ID, 0))
	if got := b.Get(at); got.Status != 404 || !strings.Contains(got.Body, `"error":"missing"`) {
		t.Errorf("deleted: %d %s", got.Status, got.Body)
	}
	bare := webtest.NewBook(t)
	webtest.WantAll(t, "no gauge", bare.Get("/api/v1/sessions/"+bare.Session.ID.String()).Body, `"gauges":[]`)
}

// What came from the gauge can be taken out and filled in again.
func TestRiverIsTakenOutAndFilledIn(t *testing.T) {
	t.Parallel()
	b, s := onRiver(t)
	at := "/sessions/" + s.ID.String()
	do := func(what string, status int) string {
		t.Helper()
		a := b.Post(at+"/river", url.Values{"do": {what}})
		if a.Status != status {
			t.Fatalf("%s answers %d, want %d", what, a.Status, status)
		}
		return a.Header.Get("Location")
	}
	if to := do("clear", 303); !strings.Contains(to, "done=river-cleared") {
		t.Errorf("went on to %s", to)
	}
	page := b.Page(at, 200)
	webtest.WantAll(t, "session", page, "though there are readings for it", `value="fill"`)
	if strings.Contains(page, `value="clear"`) {
		t.Error("what is not there can be taken out")
	}
	// What is the same of all that it takes stands once: when, by which gauge, and that it is provisional.
	site := webtest.Got(b.Store.Waters(t.Context()))(t)[0].Gauges[0].Site
	warm := gauge.Series{Site: site, Quantity: gauge.Temperature, Readings: []gauge.Reading{{At: s.Start.Add(2 * time.Hour), Value: 11, Flags: gauge.Provisional}}}
	webtest.Got(b.Store.KeepOwnReadings(t.Context(), gauge.Found{Series: []gauge.Series{warm}}))(t)
	do("fill", 303)
	webtest.WantAll(t, "session", b.Page(at, 200), `value="clear"`, `<p class="small quiet">At 10:00, `+site.String()+", provisional.</p>")
	do("dance", 422)
}

// A linked water without a reading says so; one without a gauge says nothing.
func TestRiverWithoutReadings(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	at := "/sessions/" + b.Session.ID.String()
	if strings.Contains(b.Page(at, 200), "The river") {
		t.Error("a water without a gauge tells of a river")
	}
	b.Water.Gauges = []gauge.Link{{Site: gauge.NewSite("usgs", "01234567")}}
	b.Must(b.Store.SaveWater(t.Context(), b.Water))
	page := b.Page(at, 200)
	webtest.WantAll(t, "session", page, "The river", "No readings of the gauge are stored, so this session takes nothing from the gauge.", "U.S. Geological Survey")
	if strings.Contains(page, "<figure class=\"chart") || strings.Contains(page, `value="clear"`) {
		t.Error("a drawing of nothing")
	}
}

// Today says how the waters are that are likely to be fished: by the last reading with its time, or since when there is none.
func TestTodayTellsOfRivers(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, time.May, 9, 17, 5, 0, 0, time.UTC) // 11:05 in Denver
	s := webtest.NewAt(t, func() time.Time { return now })
	loc := webtest.MustZone(t, "America/Denver")
	s.Must(s.Store.SetOutfit(t.Context(), journal.Outfit{Name: "Invented Outfit", Units: "us", TimeZone: loc.String()}))
	angler := webtest.Got(s.Store.AnglerNamed(t.Context(), "Ilse"))(t)
	rig := webtest.Got(s.Store.SaveRig(t.Context(), journal.Rig{Name: "Blood", Positions: []journal.RigPosition{{Position: 0}}}))(t)
	fish := func(name string, daysAgo int, last time.Time) gauge.Site {
		w, _, err := s.Store.WaterNamed(t.Context(), name, "")
		s.Must(err)
		w.TimeZone = loc.String()
		site := s.Gauge(w, last.Add(-48*time.Hour), last, map[gauge.Quantity]webtest.Course{gauge.Flow: func(at time.Time) (float64, gauge.Flags) {
			return 10 * math.Exp(at.Sub(last).Hours()/24), gauge.Provisional
		}})
		webtest.Got(s.Store.SaveSession(t.Context(), journal.Session{ID: webtest.NewID(t), AnglerID: angler.ID, WaterID: w.ID, TimeZone: w.TimeZone, Day: journal.DateOf(now.In(loc).AddDate(0, 0, -daysAgo)), LoggedAt: now.AddDate(0, 0, -daysAgo),
			Stints: []journal.Stint{{ID: webtest.NewID(t), RigID: rig.ID, Minutes: new(60.0)}}}))(t)
		return site
	}
	fish("Long Ago", 40, now.Add(-20*time.Minute))
	fish("Silent Water", 3, now.Add(-9*time.Hour))
	oxbow := fish("Oxbow", 1, now.Add(-20*time.Minute))
	page := strings.ReplaceAll(s.Page("/", 200), "\u00a0", " ")
	webtest.CheckPage(t, "today", page)
	webtest.WantAll(t, "today", page, "<b>Oxbow:</b> 353 cfs, rising, 10:45", "</svg> <b>Up 28% in 6 hours: rising water.</b>", "<b>Silent Water:</b> no reading since 02:05", `class="spark"`, prose.NotWhereYouStand)
	if strings.Contains(page, "<b>Long Ago:") || strings.Contains(page, "High water") || strings.Count(page, prose.NotWhereYouStand) != 1 {
		t.Error("a water that nobody fished for 40 days is told of, or what is not known to be high is, or it is said twice")
	}

	// What rivers add to Today, as it is sent: Today is to stay within 60 kB (TestFirstViewsAreLight), and has little room.
	packed := func(text string) int {
		var b bytes.Buffer
		w := gzip.NewWriter(&b)
		_, err := w.Write([]byte(text))
		s.Must(errors.Join(err, w.Close()))
		return b.Len()
	}
	without := regexp.MustCompile(`<p><b>(Oxbow|Silent Water):</b>.*?</p>\n`).ReplaceAllString(page, "")
	if more := packed(page) - packed(without); more > 250 || len(without) == len(page) {
		t.Errorf("two rivers add %d bytes to Today", more)
	} else {
		t.Logf("two rivers add %d bytes to Today", more)
	}

	// It is high once the same day of other years was lower.
	usual := gauge.Series{Site: oxbow, Quantity: gauge.Flow, Statistic: gauge.DailyMean}
	for year := 2010; year < 2026; year++ {
		usual.Readings = append(usual.Readings, gauge.Reading{At: time.Date(year, time.May, 9, 0, 0, 0, 0, time.UTC), Value: 2})
	}
	webtest.Got(s.Store.KeepReadings(t.Context(), gauge.Found{Series: []gauge.Series{usual}}))(t)
	// What a gauge measures besides what the water takes of it is no reading to the water.
	silent := webtest.Got(s.Store.WaterByName(t.Context(), "Silent Water"))(t)
	silent.Gauges[0].Takes = []gauge.Quantity{gauge.Flow}
	s.Must(s.Store.SaveWater(t.Context(), silent))
	warm := gauge.Series{Site: silent.Gauges[0].Site, Quantity: gauge.Temperature, Readings: []gauge.Reading{{At: now.Add(-10 * time.Minute), Value: 8}}}
	webtest.Got(s.Store.KeepOwnReadings(t.Context(), gauge.Found{Series: []gauge.Series{warm}}))(t)
	webtest.WantAll(t, "today", s.Page("/", 200), "High water to wade in", "<b>Silent Water:</b> no reading since 02:05")

	// A phone is told the same, to show it without signal until six hours after the reading of 10:45.
	var known struct{ Rivers []map[string]string }
	s.Must(json.Unmarshal([]byte(s.Page("/api/known", 200)), &known))
	water := webtest.Got(s.Store.WaterByName(t.Context(), "Oxbow"))(t).ID.String()
	var told []string
	for _, r := range known.Rivers {
		if r["water"] == water && r["at"] == "2026-05-09T10:45:00-06:00" && r["until"] == "2026-05-09T16:45:00-06:00" {
			told = append(told, r["Kind"]+": "+r["short"])
			webtest.WantAll(t, r["Kind"], r["Text"], "By the reading of 10:45 at the gauge", prose.NotWhereYouStand)
		}
	}
	if fmt.Sprint(told) != "[rising-water: Gauge, 10:45. Rising water high-water: Gauge, 10:45. High water to wade in]" || len(known.Rivers) != 2 {
		t.Errorf("a phone is told %q of %+v", told, known.Rivers)
	}
}
