package browsertest

import (
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"rigtally/gauges/agency"
	"rigtally/journal"
	"rigtally/web/webtest"
)

// Ensure that somebody gets from where the phone is to a gauge, of which the place is told rounded, and from there to a past session that
// has what it read, on both screens.
func TestBrowserGetsFromAPlaceToAFilledSession(t *testing.T) {
	t.Parallel()
	for _, size := range []screen{phone, laptop} {
		a := &webtest.Agency{}
		b := &webtest.Book{Site: webtest.ServeWith(t, a.Asking)}
		water, _, err := b.Store.WaterNamed(t.Context(), "Alder Brook", "Mill Run")
		b.Must(err)
		angler := webtest.Got(b.Store.AnglerNamed(t.Context(), "Ilse"))(t)
		rig := webtest.Got(b.Store.SaveRig(t.Context(), journal.Rig{Name: "One fly", Positions: []journal.RigPosition{{Position: 0}}}))(t)
		start := webtest.GaugedAt.Add(-26 * time.Hour)
		session := webtest.Got(b.Store.SaveSession(t.Context(), journal.Session{ID: webtest.NewID(t), AnglerID: angler.ID, WaterID: water.ID, Day: journal.DateOf(start), TimeZone: water.TimeZone, Start: &start, End: new(start.Add(2 * time.Hour)),
			Stints: []journal.Stint{{ID: webtest.NewID(t), RigID: rig.ID, Minutes: new(90.0)}}}))(t)

		ctx := openPlain(t, size, false)
		const position = `navigator.geolocation.getCurrentPosition = (found) => { window.askedFor = (window.askedFor ?? 0) + 1; found({ coords: { latitude: 39.71828, longitude: -105.24713 } }); };`
		_, err = chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: position})
		b.Must(err)
		look := looking(t, b, ctx, size)
		do(t, ctx, chromedp.Navigate(b.URL+"/waters/"+water.ID.String()))
		press(t, ctx, `main a[href$="/gauges"]`)
		look("gauges-none")
		press(t, ctx, `main a[href$="/find"]`)
		look("gauges-find")
		if evaluated[bool](t, ctx, `window.askedFor > 0`) {
			t.Error("the position is asked for before anybody tapped")
		}
		press(t, ctx, `[data-here]`)
		look("gauges-found")
		if asked := a.Asked(); len(asked) != 1 || asked[0].Near == nil || *asked[0].Near != (agency.Place{Latitude: 39.7, Longitude: -105.2}) {
			t.Fatalf("the agency was told %+v", asked)
		}
		if typed := evaluated[string](t, ctx, `document.getElementById("latitude").value + " " + document.getElementById("longitude").value`); typed != "39.7 -105.2" {
			t.Errorf("%s was sent", typed)
		}
		press(t, ctx, button("link"))
		look("gauges-linked")
		press(t, ctx, `main a[href$="/fill"]`)
		look("gauges-plan")
		press(t, ctx, button("fill"))
		look("gauges-filled")
		if n := len(webtest.Got(b.Store.Fills(t.Context(), session.ID))(t)[session.ID]); n != 2 {
			t.Errorf("the session took %d readings", n)
		}
		do(t, ctx, chromedp.Navigate(b.URL+"/sessions/"+session.ID.String()))
		look("gauges-session")
		if body := evaluated[string](t, ctx, `document.querySelector("main").innerText`); !strings.Contains(body, "10 m³/s") || !strings.Contains(body, "usgs:09000001") {
			t.Errorf("the session does not say what it took: %s", body)
		}
	}
}
