package people_test

import (
	"bytes"
	"encoding/base64"
	"net/http"
	"net/http/httptest"
	"os"
	"regexp"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/web"
	"rigtally/web/door"
	"rigtally/web/webtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

var linked = regexp.MustCompile(`value="(https://journal\.example\.org/join/([A-Za-z0-9_-]{43}))"`)

// Ensure that each page says what an owner needs to know, whatever the state of things.
func TestPages(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	owner := "/people/" + b.Join("Oda <b>", journal.RoleOwner, nil).String()
	client := "/people/" + b.Join("Jonna", journal.RoleClient, &b.Angler.ID).String()
	b.Press("/people/invite", webtest.Fields(b.Get("/people/invite").Body), "", map[string]string{"name": "Gerrit", "role": "guide"})
	for template, pages := range map[string]map[string]string{
		"people":       {"/people": "Gerrit, guide", "/people?done=withdrawn": "no longer lets anybody in"},
		"invite":       {"/people/invite": "sees all sessions of the angler"},
		"member":       {owner: "Oda &lt;b&gt;", client: "Make a way back"},
		"memberremove": {client + "/remove": "becomes of 1 session?", owner + "/remove": "logged for others stays"},
	} {
		for page, want := range pages {
			got := b.Get(page)
			if got.Status != http.StatusOK || !strings.Contains(got.Body, want) {
				t.Errorf("%s (%s): status %d, without %q", page, template, got.Status, want)
			}
			webtest.CheckPage(t, page, got.Body)
		}
	}
	webtest.WantAll(t, "/people", b.Get("/people").Body, "Client · fishes as Ilse", "until ")
	if b.Log.Len() > 0 {
		t.Errorf("the log holds: %s", b.Log)
	}
}

// Ensure that a link is made, shown once with its picture, kept nowhere, and can be withdrawn.
func TestInvite(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	form := webtest.Fields(b.Get("/people/invite").Body)
	if form.Get("role") != "client" {
		t.Errorf("the form begins with %v", form)
	}
	got := b.Press("/people/invite", form, "", map[string]string{"name": "Jonna"})
	shown := linked.FindStringSubmatch(got.Body) // the template "invitelink"
	if got.Status != http.StatusOK || shown == nil {
		t.Fatalf("status %d, %s", got.Status, got.Body)
	}
	webtest.CheckPage(t, "the link", got.Body)
	webtest.WantAll(t, "the link", got.Body, "Invitation for Jonna", "Works once, for seven days", `src="data:image/svg&#43;xml;base64,`)
	code := regexp.MustCompile(`base64,([^"]*)"`).FindStringSubmatch(strings.ReplaceAll(got.Body, "&#43;", "+"))
	if svg, err := base64.StdEncoding.DecodeString(code[1]); err != nil || !bytes.Contains(svg, []byte("<path")) {
		t.Errorf("the picture: %v, %s", err, svg)
	}
	if got.Header.Get("Cache-Control") != "no-store" {
		t.Errorf("a browser may keep it: %q", got.Header.Get("Cache-Control"))
	}
	list := b.Get("/people").Body
	if strings.Contains(list, shown[2]) || strings.Contains(b.Log.String(), shown[2]) {
		t.Error("the secret is shown again, or logged")
	}
	withdraw := regexp.MustCompile(`action="(/people/invitations/[^"]*)"`).FindStringSubmatch(list)
	if withdraw == nil {
		t.Fatal(list)
	}
	if got := b.Post(withdraw[1], nil); got.Status != http.StatusSeeOther {
		t.Errorf("withdraw: status %d", got.Status)
	}
	if open := webtest.Got(b.Store.Invitations(t.Context()))(t); len(open) != 0 {
		t.Errorf("still open: %+v", open)
	}
	for name, changes := range map[string]map[string]string{"no name": {"name": ""}, "an angler's name": {"name": "Ilse", "angler": ""}, "no role": {"name": "Gerrit", "role": ""}} {
		if got := b.Press("/people/invite", webtest.Fields(b.Get("/people/invite").Body), "", changes); got.Status != http.StatusUnprocessableEntity || webtest.Complaints(got.Body) == "" {
			t.Errorf("%s: status %d, %s", name, got.Status, webtest.Complaints(got.Body))
		}
	}
}

// Ensure that while nobody can reach the journal nobody is invited, and the page says what to do.
func TestAlone(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	alone := httptest.NewServer(webtest.Got(web.New(b.Store, web.Options{}))(t).Handler())
	defer alone.Close()
	b.URL = alone.URL
	person := b.Join("Oda", journal.RoleOwner, nil)
	webtest.WantAll(t, "/people", b.Get("/people").Body, "once the journal is served to others")
	for _, got := range []webtest.Answer{b.Get("/people/invite"), b.Post("/people/invite", nil), b.Post("/people/"+person.String()+"/back", nil)} {
		if got.Status != http.StatusConflict || !strings.Contains(got.Body, "served to this machine alone") {
			t.Errorf("status %d", got.Status)
		}
	}
}

// Ensure that a member is changed, let back in and removed as an owner says, and that the last owner stays.
func TestMember(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	owner := "/people/" + b.Join("Oda", journal.RoleOwner, nil).String()
	client := "/people/" + b.Join("Jonna", journal.RoleClient, &b.Angler.ID).String()
	press := func(page, action string, status int, changes map[string]string, says string) {
		t.Helper()
		got := b.Press(action, webtest.Fields(b.Get(page).Body), "", changes)
		if got.Status != status || !strings.Contains(webtest.Complaints(got.Body), says) {
			t.Errorf("%s: status %d, %s", action, got.Status, webtest.Complaints(got.Body))
		}
	}
	press(owner, owner, http.StatusUnprocessableEntity, map[string]string{"role": "guide"}, "only owner")
	press(owner+"/remove", owner+"/remove", http.StatusUnprocessableEntity, nil, "only owner")
	press(client, client, http.StatusUnprocessableEntity, map[string]string{"angler": ""}, "choose which")
	press(client, client, http.StatusSeeOther, map[string]string{"name": "Jonna B"}, "")
	if got := b.Post(client+"/back", nil); got.Status != http.StatusOK || linked.FindString(got.Body) == "" || !strings.Contains(got.Body, "A way back for Jonna B") {
		t.Errorf("way back: status %d", got.Status)
	}
	webtest.WantAll(t, "/people", b.Get("/people").Body, "A way back for Jonna B")
	press(client+"/remove", client+"/remove", http.StatusUnprocessableEntity, nil, "hoose what becomes of the sessions")
	press(client+"/remove", client+"/remove", http.StatusSeeOther, map[string]string{"how": "nameless"}, "")
	if got := b.Get(client); got.Status != http.StatusNotFound {
		t.Errorf("once removed: status %d", got.Status)
	}
	webtest.WantAll(t, "the session", b.Get("/sessions/"+b.Session.ID.String()).Body, "Former client 1", "Logged by the owner")
}

// Ensure that these pages are there for owners alone, and that a client reads on a session of theirs what the guide is and
// never who.
func TestWhoSeesWhom(t *testing.T) {
	t.Parallel()
	visitors := webtest.Visitors{}
	s := webtest.NewWith(t, visitors)
	angler := webtest.Got(s.Store.AnglerNamed(t.Context(), "Jonna"))(t)
	client, guide, owner := s.Join("Jonna", journal.RoleClient, &angler.ID), s.Join("Gerrit Quillwort", journal.RoleGuide, nil), s.Join("Oda Marestail", journal.RoleOwner, nil)
	for name, who := range map[string]journal.Who{"client": {Role: journal.RoleClient, Name: "Jonna", Person: &client, Angler: &angler.ID},
		"guide": {Role: journal.RoleGuide, Name: "Gerrit Quillwort", Person: &guide}, "owner": {Role: journal.RoleOwner, Name: "Oda Marestail", Person: &owner}} {
		visitors[name] = door.Visitor{Outfit: s.Store.OutfitID(), Who: who}
	}
	for _, name := range []string{"client", "guide", "nobody"} {
		for _, page := range []string{"/people", "/people/invite", "/people/" + client.String(), "/people/" + client.String() + "/remove"} {
			if got := s.As(name).Get(page); got.Status == http.StatusOK || strings.Contains(got.Body, "Jonna") && name != "client" {
				t.Errorf("a %s at %s: status %d", name, page, got.Status)
			}
		}
		for _, action := range []string{"/people/invite", "/people/" + client.String(), "/people/" + client.String() + "/back", "/people/" + client.String() + "/sign-out", "/people/" + client.String() + "/remove"} {
			if got := s.As(name).Post(action, map[string][]string{"name": {"Mallory"}, "role": {"owner"}, "how": {"delete"}}); got.Status != http.StatusNotFound && got.Status != http.StatusUnauthorized {
				t.Errorf("a %s posts to %s: status %d", name, action, got.Status)
			}
		}
	}
	webtest.WantAll(t, "/people", s.As("owner").Get("/people").Body, "Oda Marestail", "Owner · you", "Gerrit Quillwort", "Jonna")
	logged := webtest.Got(s.Store.For(visitors["guide"].Who).LogSession(t.Context(), journal.Draft{Confirmed: true, Water: "Alder Brook",
		Session: journal.Session{ID: webtest.NewID(t), AnglerID: angler.ID, Day: journal.Date{Year: 2026, Month: 5, Day: 1}, Stints: []journal.Stint{{ID: webtest.NewID(t), Minutes: new(60.0)}}},
		Rigs:    map[int]journal.Rig{0: {Name: "Point only", Positions: []journal.RigPosition{{Position: 0, Fly: "jig"}}}}}))(t)
	address := "/sessions/" + logged.ID.String()
	own := s.Store.For(visitors["client"].Who)
	logged.Notes, logged.WaterTempC = "Mine", new(8.0)
	logged = webtest.Got(own.SaveSession(t.Context(), logged))(t)
	s.Must(s.Store.For(visitors["owner"].Who).DeleteSession(t.Context(), logged.ID, 0))
	s.Must(s.Store.For(visitors["owner"].Who).RestoreSession(t.Context(), logged.ID, 0))
	told := s.As("client").Get(address).Body
	webtest.WantAll(t, "to the client", told, "Logged by the guide", "Changed by you: the water temperature, notes on the session", "Deleted by the owner", "Brought back by the owner")
	if strings.Contains(told, "Quillwort") || strings.Contains(told, "Marestail") {
		t.Error("a client reads a name in the history")
	}
	webtest.WantAll(t, "to the guide", s.As("guide").Get(address).Body, "Logged by you", "Changed by Jonna: ", "Deleted by Oda Marestail")
	s.Must(s.Store.RemoveMember(t.Context(), guide, journal.RemoveKeep))
	webtest.WantAll(t, "to the owner", s.As("owner").Get(address).Body, "Logged by a former guide", "Deleted by you")
}
