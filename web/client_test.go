package web_test

import (
	"fmt"
	"html"
	"maps"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/web/door"
	"rigtally/web/webtest"
)

// outing is an outfit's season with an owner, a guide and two clients, each client with a word that stands in every
// text of theirs.
type outing struct {
	*webtest.Site
	clients map[string]journal.Angler // by visitor
	others  []string                  // names of the anglers who are no visitors
}

var canaries = map[string]string{"client": "quillwort", "other": "marestail"}

func newOuting(t *testing.T, sessions int) outing {
	t.Helper()
	visitors := webtest.Visitors{}
	o := outing{Site: webtest.NewWith(t, visitors), clients: map[string]journal.Angler{}}
	o.Must(demo.Load(t.Context(), o.Store, demo.Generate(demo.Seed, sessions)))
	for _, a := range webtest.Got(o.Store.Anglers(t.Context()))(t) {
		name := slices.Sorted(maps.Keys(canaries))
		if n := len(o.clients); a.Kind == journal.Client && n < len(name) {
			o.clients[name[n]] = a
		} else {
			o.others = append(o.others, a.Name)
		}
	}
	visitors["owner"] = door.Visitor{Outfit: o.Store.OutfitID(), Who: journal.Who{Role: journal.RoleOwner, Name: "The owner"}}
	visitors["guide"] = door.Visitor{Outfit: o.Store.OutfitID(), Who: journal.Who{Role: journal.RoleGuide, Name: "The guide"}}
	for name, a := range o.clients {
		visitors[name] = door.Visitor{Outfit: o.Store.OutfitID(), Who: journal.Who{Role: journal.RoleClient, Name: a.Name, Angler: &a.ID}}
		own := canaries[name]
		rig := journal.Rig{Name: "Rig " + own, Notes: "Tied " + own, Positions: []journal.RigPosition{{Position: 0, Fly: "Fly " + own},
			{Position: 1, Hang: journal.HangTag, Junction: journal.JunctionOther, JunctionName: "Knot " + own, TagLengthMM: new(120.0)}}}
		store := o.Store.For(visitors[name].Who)
		_, err := store.LogSession(t.Context(), journal.Draft{Session: journal.Session{ID: journal.NewID(), Day: journal.Date{Year: 2026, Month: 6, Day: 3}, Notes: "Note " + own,
			Stints: []journal.Stint{{ID: journal.NewID(), Minutes: new(90.0), Notes: "Stint " + own}}}, Confirmed: true, Water: "Water " + own, Beat: "Beat " + own, Rigs: map[int]journal.Rig{0: rig}})
		o.Must(err)
		gone := journal.Session{ID: journal.NewID(), Day: journal.Date{Year: 2026, Month: 6, Day: 4}, Notes: "Deleted " + own, Stints: []journal.Stint{{ID: journal.NewID(), Minutes: new(30.0)}}}
		_, err = store.LogSession(t.Context(), journal.Draft{Session: gone, Confirmed: true, Water: "Water " + own, Rigs: map[int]journal.Rig{0: {Name: "Rig " + own}}})
		o.Must(err)
		o.Must(store.DeleteSession(t.Context(), gone.ID, 0))
	}
	return o
}

var led = regexp.MustCompile(`href="(/[^"]*)`)

// crawl follows the links of a visitor's pages, and gives each answer. Of addresses that differ in ids or questions alone a few are asked.
func crawl(s *webtest.Site, each func(from, address string, got webtest.Answer)) {
	seen, kinds := map[string]bool{}, map[string]int{}
	digits := regexp.MustCompile(`[0-9a-f]{8}-[0-9a-f-]{27}|\?.*|[0-9]+`)
	todo := [][2]string{{"", "/"}, {"", "/waiting"}, {"", "/live"}, {"", "/after"}, {"", "/offline"}, {"", "/sw.js"}, {"", "/manifest.webmanifest"}, {"", "/api/known"}, {"", "/api/v1/trials"}, {"", "/trials"}}
	for len(todo) > 0 {
		from, at := todo[0][0], todo[0][1]
		todo = todo[1:]
		kind := digits.ReplaceAllString(at, "*")
		if seen[at] || kinds[kind] >= 4 || strings.HasPrefix(at, "/static/") {
			continue
		}
		seen[at] = true
		kinds[kind]++
		got := s.Get(at)
		each(from, at, got)
		for _, m := range led.FindAllStringSubmatch(got.Body, -1) {
			to, _, _ := strings.Cut(html.UnescapeString(m[1]), "#")
			todo = append(todo, [2]string{at, to})
		}
	}
}

// Ensure that the pages of a client hold nothing of anybody else and lead only to what is there, and that a guide's do so too.
func TestAClientsPagesHoldTheirOwnAlone(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("asks for hundreds of pages, one after the other")
	}
	o := newOuting(t, 120)
	for name, own := range o.clients {
		pages := 0
		crawl(o.As(name), func(from, at string, got webtest.Answer) {
			pages++
			if got.Status != http.StatusOK {
				t.Errorf("%s: %s leads to %s: status %d", name, from, at, got.Status)
			}
			for other, a := range o.clients {
				if other != name && (strings.Contains(got.Body, canaries[other]) || strings.Contains(got.Body, a.Name) || strings.Contains(got.Body, a.ID.String())) {
					t.Errorf("%s finds something of %s at %s", name, other, at)
				}
			}
			for _, a := range o.others {
				if strings.Contains(got.Body, a) {
					t.Errorf("%s finds %s at %s", name, a, at)
				}
			}
			for _, word := range []string{">Clients<", ">Answers<", "Who fished", "Someone new", "Guided by", ">Settings<", ">Anglers<"} {
				if strings.Contains(got.Body, word) && strings.HasPrefix(got.Header.Get("Content-Type"), "text/html") {
					t.Errorf("%s reads %q at %s", name, word, at)
				}
			}
		})
		if pages < 20 {
			t.Errorf("%s found %d pages", name, pages)
		}
		for page, want := range map[string]string{"/": "Your season", "/sessions": "Water " + canaries[name], "/rigs": "Rig " + canaries[name], "/season": html.EscapeString(own.Name), "/compare": "The outfit", "/sessions/deleted": "Water " + canaries[name]} {
			o.As(name).Wants(page, http.StatusOK, want)
		}
		for _, closed := range []string{"/settings", "/anglers", "/waters", "/clients", "/findings", "/claims", "/next", "/bench", "/recorded", "/rigs/rules", "/shares", "/start", "/anglers/" + own.ID.String() + "/data.zip"} {
			if got := o.As(name).Get(closed); got.Status != http.StatusNotFound {
				t.Errorf("%s at %s: status %d", name, closed, got.Status)
			}
		}
	}
	crawl(o.As("guide"), func(from, at string, got webtest.Answer) {
		if got.Status != http.StatusOK {
			t.Errorf("guide: %s leads to %s: status %d", from, at, got.Status)
		}
	})
	for _, closed := range []string{"/settings", "/people", "/compare", "/data.zip", "/start"} {
		if got := o.As("guide").Get(closed); got.Status != http.StatusNotFound {
			t.Errorf("guide at %s: status %d", closed, got.Status)
		}
	}
}

// Ensure that a guide and a client of a journal without sessions read what to do, not what only an owner can.
func TestGuidesAndClientsBeginWithoutTheOwnersSetUp(t *testing.T) {
	t.Parallel()
	visitors := webtest.Visitors{}
	s := webtest.NewWith(t, visitors)
	client := webtest.Got(s.Store.AnglerNamed(t.Context(), "Tamsin Orrery"))(t)
	visitors["guide"] = door.Visitor{Outfit: s.Store.OutfitID(), Who: journal.Who{Role: journal.RoleGuide, Name: "The guide"}}
	visitors["client"] = door.Visitor{Outfit: s.Store.OutfitID(), Who: journal.Who{Role: journal.RoleClient, Name: client.Name, Angler: &client.ID}}
	for name, says := range map[string]string{"guide": "No session yet.", "client": "No session of yours yet."} {
		if page := s.As(name).Wants("/", http.StatusOK, says, `href="/rigs/new?then=log"`); strings.Contains(page, "/start") || strings.Contains(page, "rigtally import") {
			t.Errorf("a %s is told what the owner can do", name)
		}
	}
	s.As("client").Wants("/compare", http.StatusOK, "Too few have fished")
	s.As("client").Wants("/season", http.StatusOK, "how your season went")
}

// Ensure that whatever a client logs is theirs, by whatever way, and that another's angler is answered as one who is not there.
func TestWhatAClientLogsIsTheirs(t *testing.T) {
	t.Parallel()
	o := newOuting(t, 0)
	if len(o.clients) < 2 {
		t.Fatal("too few clients")
	}
	s, self, other := o.As("client"), o.clients["client"], o.clients["other"]
	rigs := webtest.Got(o.Store.For(journal.Who{Role: journal.RoleClient, Angler: &self.ID}).Rigs(t.Context()))(t)
	put := func(angler, named string) (webtest.Answer, journal.ID) {
		id := journal.NewID()
		body := fmt.Sprintf(`{%s"session":{"id":%q,%s"day":"2026-07-01","stints":[{"id":%q,"rig_id":%q,"minutes":60}]},"water":"Water quillwort","confirmed":true}`, named, id, angler, journal.NewID(), rigs[0].ID)
		r := s.Request(http.MethodPut, "/api/sessions/"+id.String(), strings.NewReader(body))
		r.Header.Set("Content-Type", "application/json")
		got := s.Do(r)
		got.Body = strings.ReplaceAll(got.Body, id.String(), "ID")
		return got, id
	}
	for _, by := range [][2]string{{}, {fmt.Sprintf(`"angler_id":%q,`, self.ID)}, {"", fmt.Sprintf(`"angler":%q,`, self.Name)}} {
		got, id := put(by[0], by[1])
		if got.Status/100 != 2 {
			t.Fatalf("with %q: status %d\n%s", by, got.Status, got.Body)
		}
		if stored := webtest.Got(o.Store.SessionByID(t.Context(), id))(t); stored.AnglerID != self.ID {
			t.Errorf("with %q it is of another", by)
		}
	}
	anothers, id := put(fmt.Sprintf(`"angler_id":%q,`, other.ID), "")
	nobodys, _ := put(fmt.Sprintf(`"angler_id":%q,`, journal.NewID()), "")
	if anothers.Status != http.StatusNotFound || anothers.Status != nobodys.Status || anothers.Body != nobodys.Body {
		t.Errorf("another's angler is answered %d %s\none who is not there %d %s", anothers.Status, anothers.Body, nobodys.Status, nobodys.Body)
	}
	if _, err := o.Store.SessionByID(t.Context(), id); err == nil {
		t.Error("it was stored all the same")
	}
	named, _ := put("", fmt.Sprintf(`"angler":%q,`, other.Name))
	unnamed, _ := put("", `"angler":"Nobody Known",`)
	if named.Status != http.StatusNotFound || named.Body != unnamed.Body {
		t.Errorf("another's name is answered %d %s\na new one %d %s", named.Status, named.Body, unnamed.Status, unnamed.Body)
	}

	if got := s.Get("/rigs/new"); got.Status != http.StatusOK || strings.Contains(got.Body, "Check it against") {
		t.Errorf("a new rig: status %d", got.Status)
	}
	log := s.Get("/log").Body
	form := url.Values{"do": {"save"}, "angler": {other.ID.String()}, "confirmed": {"yes"}}
	for _, m := range regexp.MustCompile(`<input type="hidden" name="([^"]+)" value="([^"]*)"`).FindAllStringSubmatch(log, -1) {
		form.Set(m[1], m[2])
	}
	form.Set("water.new", "Water quillwort")
	form.Set("day", "2026-07-02")
	form.Set("stint.0.rig", rigs[0].ID.String())
	form.Set("stint.0.minutes", "45 min")
	got := s.Post("/log", form)
	if got.Status != http.StatusSeeOther {
		t.Fatalf("the form: status %d\n%s", got.Status, got.Body)
	}
	if stored := webtest.Got(o.Store.SessionByID(t.Context(), webtest.Got(journal.ParseID(form.Get("id")))(t)))(t); stored.AnglerID != self.ID {
		t.Error("what the form sent is of another")
	}
}

// Ensure that a client makes rigs and trials of their own, changes how a rig of the outfit is tied as one of their own, and
// that all of it is theirs alone.
func TestAClientsRigsAndTrialsAreTheirs(t *testing.T) {
	t.Parallel()
	o := newOuting(t, 120)
	s, self, other := o.As("client"), o.clients["client"], o.clients["other"]
	mine, theirs := o.Store.For(journal.Who{Role: journal.RoleClient, Angler: &self.ID}), o.Store.For(journal.Who{Role: journal.RoleClient, Angler: &other.ID})

	form := webtest.Fields(s.Get("/rigs/new?method=wet").Body)
	if saved := s.Press("/rigs/new", form, "save", map[string]string{"name": "Own wet"}); saved.Status != http.StatusSeeOther {
		t.Fatalf("a new rig: status %d, %s", saved.Status, webtest.Complaints(saved.Body))
	}
	own := webtest.Got(mine.LatestRig(t.Context(), "Own wet"))(t)
	if _, err := theirs.RigByID(t.Context(), own.ID); err == nil {
		t.Error("another client sees the rig")
	}
	if got := o.As("other").Get("/rigs/" + own.ID.String()); got.Status != http.StatusNotFound {
		t.Errorf("another client opens it: status %d", got.Status)
	}

	var outfits journal.RigUse // one that was fished
	for _, r := range webtest.Got(mine.Rigs(t.Context()))(t) {
		if r.Stints > 0 && !strings.Contains(r.Name, canaries["client"]) {
			outfits = r
		}
	}
	at := "/rigs/" + outfits.ID.String() + "/edit"
	form = webtest.Fields(s.Get(at).Body)
	if saved := s.Press(at, form, "save", map[string]string{"rod": "11 ft 3 in", "notes": "Retied quillwort"}); saved.Status != http.StatusSeeOther {
		t.Fatalf("a change: status %d, %s", saved.Status, webtest.Complaints(saved.Body))
	}
	if r := webtest.Got(mine.LatestRig(t.Context(), outfits.Name))(t); r.Notes != "Retied quillwort" || r.ID == outfits.ID {
		t.Errorf("it became %+v", r)
	}
	if r := webtest.Got(o.Store.RigByID(t.Context(), outfits.ID))(t); r.Notes == "Retied quillwort" {
		t.Error("the outfit's own was changed")
	}

	form = webtest.Fields(s.Get("/trials/new").Body)
	for _, step := range []struct {
		do      string
		changes map[string]string
	}{{"show", map[string]string{"name": "Trial quillwort", "outcome": "tangles", "factor": "facing"}}, {"show", map[string]string{"a": "up", "b": "down"}}} {
		form = webtest.Fields(s.Press("/trials/new", form, step.do, step.changes).Body)
	}
	if got := s.Press("/trials/new", form, "plan", nil); got.Status != http.StatusSeeOther {
		t.Fatalf("a trial: status %d, %s", got.Status, webtest.Complaints(got.Body))
	}
	trial := webtest.Got(mine.Trials(t.Context()))(t)[0]
	if got := s.Post("/trials/"+trial.ID.String()+"/start", url.Values{"number": {"1"}}); got.Status != http.StatusSeeOther {
		t.Errorf("started: status %d", got.Status)
	}
	s.Wants("/trials/"+trial.ID.String(), http.StatusOK, "Stint 1: tie")
	for _, address := range []string{"", "/answer.json", "/answer.csv", "/units/1"} {
		if got := o.As("other").Get("/trials/" + trial.ID.String() + address); got.Status != http.StatusNotFound {
			t.Errorf("another client at a trial%s: status %d", address, got.Status)
		}
	}
	o.As("guide").Wants("/trials", http.StatusOK, "Trial quillwort")
}
