package browsertest

import (
	"math"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/web/webtest"
)

// A session's river keeps within its page at every width, and its words keep clear of each other.
func TestRiversFit(t *testing.T) {
	t.Parallel()
	s := chartSite(t)
	ctx := t.Context()
	loc := webtest.MustZone(t, "America/Denver")
	now := time.Now()
	rigs := webtest.Got(s.Store.RigsToLog(ctx))(t)
	angler := webtest.Got(s.Store.AnglerNamed(ctx, "Orrin"))(t)
	var sessions []journal.Session
	today := journal.DateOf(now.In(loc))
	for i, name := range []string{"Oxbow", "Sallow Fork"} {
		w, _, err := s.Store.WaterNamed(ctx, name, "")
		s.Must(err)
		w.TimeZone = loc.String()
		s.Gauge(w, now.AddDate(0, 0, -4), now, map[gauge.Quantity]webtest.Course{
			gauge.Flow: func(at time.Time) (float64, gauge.Flags) {
				if h := now.Sub(at).Hours(); h > 30 && h < 38 {
					return math.NaN(), gauge.Ice
				}
				return 300 + float64(100*i)*math.Sin(at.Sub(now).Hours()/9), gauge.Provisional
			},
			gauge.Temperature: func(at time.Time) (float64, gauge.Flags) { return 11 + 2*math.Sin(at.Sub(now).Hours()/4), 0 }})
		start := time.Date(today.Year, today.Month, today.Day-2+i, 22-12*i, 30, 0, 0, loc) // the first goes on past midnight
		sessions = append(sessions, webtest.Got(s.Store.SaveSession(ctx, journal.Session{ID: webtest.NewID(t), AnglerID: angler.ID, WaterID: w.ID, TimeZone: w.TimeZone, Day: journal.DateOf(start.In(loc)), Start: &start, End: new(start.Add(3 * time.Hour)),
			Stints: []journal.Stint{{ID: webtest.NewID(t), RigID: rigs[0].ID, Minutes: new(180.0), Events: []journal.Event{{Kind: journal.EventTangle, Count: 1, Minute: new(50)}, {Kind: journal.EventHookup, Count: 1, Ending: journal.Landed, Minute: new(70)}}}}}))(t))
	}
	browser := openPlain(t, phone, false)
	fits := func(width int64, session journal.ID) {
		on(browser, t, chromedp.EmulateViewport(width, 844), chromedp.Navigate(s.URL+"/sessions/"+session.String()))
		waitFor(browser, t, "the session", settled)
		// Words of the drawing stay on the page, and those of one line apart from each other.
		out := evaluated[[]string](t, browser, `[...document.querySelectorAll("#river svg.drawn text")].filter((e) => e.checkVisibility()).flatMap((e, i, all) => {
			const a = e.getBoundingClientRect(), wide = document.documentElement.clientWidth;
			const bad = a.left < 0 || a.right > wide ? [e.textContent + " leaves the page"] : [];
			for (const other of all.slice(i + 1)) {
				const b = other.getBoundingClientRect();
				if (a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 3 && b.top < a.bottom - 3) bad.push(e.textContent + " lies on " + other.textContent);
			}
			return bad;
		})`)
		if len(out) > 0 {
			t.Errorf("%d px: %q", width, out)
		}
		if evaluated[bool](t, browser, `document.documentElement.scrollWidth > document.documentElement.clientWidth`) {
			t.Errorf("%d px: the page goes sideways", width)
		}
	}
	for _, width := range []int64{320, 390, 1440} {
		for _, session := range sessions {
			fits(width, session.ID)
		}
	}
	source := axe(t)
	lookAt(t, browser, s.URL, "/sessions/"+sessions[1].ID.String(), source, 2)
	lookAt(t, browser, s.URL, "/season", source, 1)
}
