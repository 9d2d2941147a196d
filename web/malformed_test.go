package web_test

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/web"
	"rigtally/web/webtest"
)

// Every malformed claim is answered in words, with what was entered kept, and
// changes nothing.
func TestMalformedClaims(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	before := b.Claims(t)
	none := "018f0000-0000-7000-8000-000000000000"
	at := "/claims/" + before[2].ID.String()
	form := func(name, says, field string, values ...string) malformed {
		f := webtest.ClaimForm()
		f[field] = values
		return malformed{name: name, path: "/claims/" + none, body: f.Encode(), status: http.StatusUnprocessableEntity, says: says}
	}
	for _, m := range []malformed{
		form("no words", "Write the claim as you would say it", "words", " "),
		form("endless words", "shorten it", "words", strings.Repeat("more ", 90)),
		form("a zero byte", "zero byte", "words", "a\x00b"),
		form("words of another", "there already", "words", "LONGER tags twist more"),
		form("no outcome", "Choose what happens", "outcome"),
		form("unknown outcome", `&#34;luck&#34; is not known`, "outcome", "luck"),
		form("no factor", "Choose what makes the difference", "factor"),
		form("unknown factor", "is not known", "factor", "moon"),
		form("no direction", "choose more or less", "direction"),
		form("unknown direction", "is not known", "direction", "<up>"),
		form("no level", "Choose the junction that the claim is about", "level"),
		form("Nothing to compare it with", "Choose the junction to compare with", "versus"),
		form("both sides", "is on both sides", "versus", "perfection loop"),
		form("given itself", "about junction itself", "given", "junction"),
		form("given the unknown", "is not known", "given", "luck"),
		form("given words as a line", "not a number", "given", "angler:linear"),
		form("a level without end", "shorten it", "level", strings.Repeat("x", 500)),
		{name: "a form of nothing", path: at, body: "do=save", status: 422, says: "Choose what happens"},
		{name: "a refresh of nothing", path: at, body: "do=refresh", status: 200, says: "Change a claim"},
		{name: "a damaged body", path: at, body: "words=%zz&do=save", status: http.StatusBadRequest, says: "damaged"},
		{name: "a huge body", path: at, body: "words=" + strings.Repeat("x", web.MaxBody+1), status: http.StatusRequestEntityTooLarge, says: "larger than a form can be"},
		{name: "another site", path: at + "/retire", header: map[string]string{"Sec-Fetch-Site": "cross-site"}, status: http.StatusForbidden, says: "another site"},
		{name: "changing what is not there", path: "/claims/" + none, body: "do=save&words=x", status: 404, says: "nothing at this address"},
		{name: "retiring what is not there", path: "/claims/" + none + "/retire", status: 404, says: "nothing at this address"},
		{name: "restoring what is not there", path: "/claims/" + none + "/restore", status: 404, says: "nothing at this address"},
		{name: "no id", method: http.MethodGet, path: "/claims/42", status: 404, says: "cut short"},
		{name: "unknown id", method: http.MethodGet, path: "/claims/" + none, status: 404, says: "nothing at this address"},
	} {
		got := send(b, m)
		if got.Status != m.status || !strings.Contains(strings.ReplaceAll(got.Body, "&#39;", "'"), m.says) {
			t.Errorf("%s: status %d, want %d, saying %q; it says %s", m.name, got.Status, m.status, m.says, webtest.Complaints(got.Body))
		}
		for _, bad := range []string{"goroutine", ".go:", "panic", "pgx", "SQLSTATE", "%!", "<no value>", "<up>"} {
			if strings.Contains(got.Body, bad) {
				t.Errorf("%s: the page holds %q", m.name, bad)
			}
		}
		if m.status == 422 && strings.Contains(m.body, "Loops") && !strings.Contains(got.Body, `value="Loops tangle more than blood knots"`) {
			t.Errorf("%s: what was entered is lost", m.name)
		}
	}
	if !slices.EqualFunc(before, b.Claims(t), journal.Claim.Equal) {
		t.Error("the claims were changed")
	}
	if b.Log.Len() > 0 {
		t.Errorf("the log holds: %s", b.Log)
	}
}

// malformed is an input that can't be right: a form field by field, or an
// address, with the status it is answered by and words that the answer holds.
type malformed struct {
	name   string
	method string // POST unless said otherwise
	path   string // /log unless said otherwise
	fields map[string]string
	header map[string]string
	host   string
	body   string // instead of fields
	status int
	says   string
}

func malformedInputs(b *webtest.Book) []malformed {
	session, rig := "/sessions/"+b.Session.ID.String(), "/rigs/"+b.One.ID.String()
	none := "018f0000-0000-7000-8000-000000000000"
	form := func(name, says string, pairs ...string) malformed {
		m := malformed{name: name, status: http.StatusUnprocessableEntity, says: says, fields: map[string]string{}}
		for i := 0; i < len(pairs); i += 2 {
			m.fields[pairs[i]] = pairs[i+1]
		}
		return m
	}
	get := func(path string, status int, says string) malformed {
		return malformed{name: path, method: http.MethodGet, path: path, status: status, says: says}
	}
	list := []malformed{
		form("no angler", "Choose who fished", "angler", ""),
		form("no water", "Choose where it was", "water", ""),
		form("unknown water", "not in this journal", "water", none),
		form("unknown angler", "angler is not in this journal", "angler", none),
		form("31 February", "not a day of the calendar", "day", "2026-02-31"),
		form("no day", "not a day of the calendar", "day", ""),
		form("a day out of all time", "can't be", "day", "0026-05-01"),
		form("end before start", "is not after the start", "start", "11:00", "end", "08:00"),
		form("end without a start", "an end but no start", "end", "08:00"),
		form("a clock that does not exist", "not a time of day", "start", "25:71"),
		form("minutes beyond the session", "add up to 200 minutes", "start", "08:00", "end", "09:00", "stint.0.minutes", "200"),
		form("negative minutes", "below zero", "stint.0.minutes", "-5"),
		form("minutes that are no number", "is not a", "stint.0.minutes", "NaN"),
		form("minutes of a year", "longer than a week", "stint.0.minutes", "525600"),
		form("a count below none", "whole number from 0 to 5000", "stint.0.at.all.landed", "-1"),
		form("a count beyond all", "whole number from 0 to 5000", "stint.0.at.all.twist", "99999999999999999999"),
		form("half a fish", "whole number", "stint.0.at.all.lost", "1.5"),
		form("no rig", "Choose the rig of stint 1", "stint.0.rig", ""),
		form("unknown rig", "not in this journal", "stint.0.rig", none),
		form("a fly that the rig does not have", "is not on the rig", "stint.0.at.4.landed", "1"),
		form("a tag of no length", "is not a", "stint.0.at.1.start", "Infinity"),
		form("a tag longer than can be", "tag", "stint.0.at.1.start", "40 m"),
		form("a tag on the point fly", "does not hang on a tag", "stint.0.at.0.end", "120 mm"),
		form("more cut off than there was", "correct", "stint.0.at.1.fly-change", "9", "stint.0.at.1.cut", "30 mm"),
		form("turns without a check", "count the checks too", "stint.0.at.all.turns", "4"),
		form("minutes lost to no tangle", "count the tangles too", "stint.0.at.all.minutes-lost", "9"),
		form("boiling water", "can't be", "temp", "212 F"),
		form("a word that is none of the journal's", "is not known", "clarity", "purple"),
		form("a broken id", "is not an id", "id", "17"),
		form("no id", "has no id", "id", ""),
		form("endless notes", "shorten it", "notes", strings.Repeat("rain ", 2000)),
		form("endless name", "shorten it", "angler.new", strings.Repeat("Ilse ", 60), "water.new", "New Water"),

		{name: "two droppers on one position", path: "/rigs/new", status: 422, says: "appears twice", fields: map[string]string{
			"name": "Twice", "fly.0.position": "1", "fly.0.hang": "tag", "fly.1.position": "1", "fly.1.hang": "eye"}},
		{name: "a rig without a name", path: "/rigs/new", status: 422, says: "Give the rig a name", fields: map[string]string{"fly.0.position": "0"}},
		{name: "a rig without a fly", path: "/rigs/new", status: 422, says: "has no fly", fields: map[string]string{"name": "Bare"}},
		{name: "a rig's name taken", path: "/rigs/new", status: 422, says: "already", fields: map[string]string{"name": "blood 165", "fly.0.position": "0"}},
		{name: "a tippet of no size", path: rig + "/edit", status: 422, says: "tippet", fields: map[string]string{"name": "Blood 165", "fly.0.position": "0", "fly.0.tippet": "99X"}},
		{name: "a hook that can't be", path: rig + "/edit", status: 422, says: "whole number", fields: map[string]string{"name": "Blood 165", "fly.0.position": "0", "fly.0.hook": "1e9"}},
		{name: "no such time zone", path: "/settings", status: 422, says: "time zone", fields: map[string]string{"name": "x", "units": "us", "zone": "Mars/Olympus"}},
		{name: "no such units", path: "/settings", status: 422, says: "units", fields: map[string]string{"name": "x", "units": "furlongs", "zone": "UTC"}},
		{name: "an angler without a name", path: "/anglers/" + none, status: 422, says: "no name", fields: map[string]string{"kind": "client"}},
		{name: "an angler's name taken", path: "/anglers/" + none, status: 422, says: "already", fields: map[string]string{"name": "ILSE", "kind": "client"}},

		{name: "a huge body", body: "notes=" + strings.Repeat("x", web.MaxBody+1), status: http.StatusRequestEntityTooLarge, says: "larger than a form can be"},
		{name: "a damaged body", body: "notes=%zz&do=save", status: http.StatusBadRequest, says: "damaged"},
		{name: "another site", header: map[string]string{"Sec-Fetch-Site": "cross-site"}, status: http.StatusForbidden, says: "another site"},
		{name: "another origin", header: map[string]string{"Origin": "https://elsewhere.example"}, status: http.StatusForbidden, says: "another site"},
		{name: "another host", host: "elsewhere.example", status: http.StatusMisdirectedRequest, says: "only on this machine"},

		get("/sessions?page=0", 422, "counted from 1"),
		get("/sessions?page=x", 422, "whole number"),
		get("/sessions?page=9", 404, "past the end"),
		get("/sessions?angler=nobody", 422, "is not an id"),
		get("/sessions?season=-3", 422, "whole number"),
		get("/sessions/42", 404, "cut short"),
		get("/sessions/"+none, 404, "nothing at this address"),
		get("/sessions/"+none+"/edit", 404, "nothing at this address"),
		get("/rigs/%00", 404, "cut short"),
		get("/rigs/"+none, 404, "nothing at this address"),
		get("/waters/"+none, 404, "nothing at this address"),
		get("/anglers/"+none, 404, "nothing at this address"),
		get("/wp-admin", 404, "nothing at this address"),
		get("/static/0000000000000000/base.css", 404, "No such file"),
		{name: "deleting what is not there", path: "/sessions/" + none + "/delete", status: 404, says: "nothing at this address"},
		{name: "editing what was deleted", path: "/sessions/" + none + "/edit", fields: map[string]string{"do": "save"}, status: 422, says: "Choose who fished"},
		{name: "deleting a rig that was fished", path: rig + "/delete", status: 422, says: "has been fished"},
		{name: "editing with nothing", path: session + "/edit", fields: map[string]string{"do": "save", "day": "", "angler": ""}, status: 422, says: "Choose who fished"},
	}
	return list
}

// Every malformed input is answered in words, by a page without a trace of the
// program's insides, and leaves the journal as it was.
func TestMalformedInputs(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	before := whole(b, t)
	for _, m := range malformedInputs(b) {
		got := send(b, m)
		if got.Status != m.status || !strings.Contains(strings.ReplaceAll(got.Body, "&#39;", "'"), m.says) {
			t.Errorf("%s: status %d, want %d, saying %q; it says %s", m.name, got.Status, m.status, m.says, webtest.Complaints(got.Body))
		}
		for _, bad := range []string{"goroutine", ".go:", "panic", "pgx", "SQLSTATE", "%!", "<no value>"} {
			if strings.Contains(got.Body, bad) {
				t.Errorf("%s: the page holds %q", m.name, bad)
			}
		}
	}
	if after := whole(b, t); after != before {
		t.Errorf("the journal was changed:\n was %+v\n now %+v", before, after)
	}
	if b.Log.Len() > 0 {
		t.Errorf("the log holds: %s", b.Log)
	}
}

// send makes the request of a malformed input, out of the fields of an empty
// log form when it is for that.
func send(b *webtest.Book, m malformed) webtest.Answer {
	b.T.Helper()
	form := url.Values{}
	if m.path == "" {
		m.path = "/log"
		form = webtest.Fields(b.Get("/log").Body)
	}
	form.Set("do", "save")
	for name, value := range m.fields {
		form.Set(name, value)
	}
	if m.method == "" {
		m.method = http.MethodPost
	}
	if m.body == "" {
		m.body = form.Encode()
	}
	r := b.Request(m.method, m.path, strings.NewReader(m.body))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	for name, value := range m.header {
		r.Header.Set(name, value)
	}
	if m.host != "" {
		r.Host = m.host
	}
	return b.Do(r)
}

// held is how much the journal holds of everything that a form can write.
type held struct {
	sessions, anglers, waters, rigs, stints, deleted int
	totals                                           journal.Totals
	outfit                                           journal.Outfit
}

func whole(b *webtest.Book, t *testing.T) held {
	t.Helper()
	ctx := t.Context()
	var h held
	lines, total, err := b.Store.SessionLines(ctx, journal.SessionFilter{})
	h.sessions = total
	for _, l := range lines {
		h.stints += l.Stints
	}
	check := func(e error) {
		if e != nil {
			t.Fatal(e)
		}
	}
	check(err)
	anglers, err := b.Store.Anglers(ctx)
	check(err)
	waters, err := b.Store.Waters(ctx)
	check(err)
	rigs, err := b.Store.Rigs(ctx)
	check(err)
	deleted, err := b.Store.DeletedSessions(ctx)
	check(err)
	h.anglers, h.waters, h.rigs, h.deleted = len(anglers), len(waters), len(rigs), len(deleted)
	h.totals, err = b.Store.TotalsBetween(ctx, journal.Date{Year: 1900, Month: 1, Day: 1}, journal.Date{Year: 2200, Month: 1, Day: 1})
	check(err)
	h.outfit, err = b.Store.Outfit(ctx)
	check(err)
	return h
}
