package browsertest

import (
	"testing"

	"github.com/chromedp/chromedp"

	"rigtally/journal"
	"rigtally/web/door"
	"rigtally/web/webtest"
)

// A client counts a session as it happens without saying who fished, and it is theirs.
func TestBrowserAClientLogs(t *testing.T) {
	t.Parallel()
	visitors := webtest.Visitors{}
	s := webtest.NewWith(t, visitors)
	webtest.Got(s.Store.AnglerNamed(t.Context(), "Somebody Else"))(t)
	client := webtest.Got(s.Store.AnglerNamed(t.Context(), "Tamsin Orrery"))(t)
	visitors["client"] = door.Visitor{Outfit: s.Store.OutfitID(), Who: journal.Who{Role: journal.RoleClient, Name: client.Name, Angler: &client.ID}}
	own := s.Store.For(visitors["client"].Who)
	webtest.Got(own.SaveRig(t.Context(), journal.Rig{Name: "Own two", Positions: []journal.RigPosition{{Position: 0}, {Position: 1, Hang: journal.HangTag, Junction: "blood", TagLengthMM: new(120.0)}}}))(t)
	h := &thumb{t: t, ctx: startBrowser(t, phone, false), on: phone}
	do(t, h.ctx, chromedp.Navigate(s.URL+"/shared/none"), chromedp.Evaluate[chromedp.Void](`document.cookie = "visitor=client; path=/"; 0`))
	failOnPageErrors(t, h.ctx, false)
	h.open(s.URL + "/")
	h.wait(`document.querySelector("#pick-water-new")`)
	if evaluated[bool](t, h.ctx, `document.body.innerText.includes("Who fished")`) {
		t.Error("it is asked who fished")
	}
	do(t, h.ctx, chromedp.SendKeys(chromedp.CSS("#pick-water-new"), "Invented Beck"))
	h.tap(`button[value="after"]`)
	h.chip("1 h 30")
	h.tap(kind("tangle"))
	h.tap("#save")
	h.wait(`location.pathname.startsWith("/sessions/")`)
	list, _, err := s.Store.SessionLines(t.Context(), journal.SessionFilter{})
	if err != nil || len(list) != 1 || list[0].Angler != client.Name || list[0].Water != "Invented Beck" || list[0].Tangles.N != 1 {
		t.Errorf("logged is %+v, %v", list, err)
	}
}
