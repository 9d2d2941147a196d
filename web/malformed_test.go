package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"rigtally/journal"
)

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

func (b *book) malformed() []malformed {
	session, rig := "/sessions/"+b.session.ID.String(), "/rigs/"+b.one.ID.String()
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
		form("negative minutes", "less than nothing", "stint.0.minutes", "-5"),
		form("minutes that are no number", "is not a", "stint.0.minutes", "NaN"),
		form("minutes of a year", "longer than a week", "stint.0.minutes", "525600"),
		form("a count below none", "whole number from 0 to 5000", "stint.0.at.all.landed", "-1"),
		form("a count beyond all", "whole number from 0 to 5000", "stint.0.at.all.twist", "99999999999999999999"),
		form("half a fish", "whole number", "stint.0.at.all.lost", "1.5"),
		form("no rig", "Choose the rig of stint 1", "stint.0.rig", ""),
		form("unknown rig", "not in this journal", "stint.0.rig", none),
		form("a fly that the rig does not have", "does not have", "stint.0.at.4.landed", "1"),
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
		{name: "half a gauge", path: "/waters/" + b.water.ID.String(), status: 422, says: "fill in both or neither", fields: map[string]string{"name": "Alder Brook", "kind": "other", "zone": "UTC", "gauge": "7"}},

		{name: "a huge body", body: "notes=" + strings.Repeat("x", maxBody+1), status: http.StatusRequestEntityTooLarge, says: "larger than a form can be"},
		{name: "a damaged body", body: "notes=%zz&do=save", status: http.StatusBadRequest, says: "damaged"},
		{name: "another site", header: map[string]string{"Sec-Fetch-Site": "cross-site"}, status: http.StatusForbidden, says: "another site"},
		{name: "another origin", header: map[string]string{"Origin": "https://elsewhere.example"}, status: http.StatusForbidden, says: "another site"},
		{name: "another host", host: "elsewhere.example", status: http.StatusMisdirectedRequest, says: "this machine only"},

		get("/sessions?page=0", 422, "counted from 1"),
		get("/sessions?page=x", 422, "whole number"),
		get("/sessions?page=9", 404, "past its end"),
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
		get("/static/0000000000000000/base.css", 404, "no such file"),
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
	b := newBook(t)
	before := b.whole(t)
	for _, m := range b.malformed() {
		got := b.send(m)
		if got.status != m.status || !strings.Contains(strings.ReplaceAll(got.body, "&#39;", "'"), m.says) {
			t.Errorf("%s: status %d, want %d, saying %q; it says %s", m.name, got.status, m.status, m.says, complaints(got.body))
		}
		for _, bad := range []string{"goroutine", ".go:", "panic", "pgx", "SQLSTATE", "%!", "<no value>"} {
			if strings.Contains(got.body, bad) {
				t.Errorf("%s: the page holds %q", m.name, bad)
			}
		}
	}
	if after := b.whole(t); after != before {
		t.Errorf("the journal was changed:\n was %+v\n now %+v", before, after)
	}
	if b.log.Len() > 0 {
		t.Errorf("the log holds: %s", b.log)
	}
}

// send makes the request of a malformed input, out of the fields of an empty
// log form when it is for that.
func (b *book) send(m malformed) answer {
	b.t.Helper()
	form := url.Values{}
	if m.path == "" {
		m.path = "/log"
		form = fields(b.get("/log").body)
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
	r := b.request(m.method, m.path, strings.NewReader(m.body))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	for name, value := range m.header {
		r.Header.Set(name, value)
	}
	if m.host != "" {
		r.Host = m.host
	}
	return b.do(r)
}

// held is how much the journal holds of everything that a form can write.
type held struct {
	sessions, anglers, waters, rigs, stints, deleted int
	totals                                           journal.Totals
	outfit                                           journal.Outfit
}

func (b *book) whole(t *testing.T) held {
	t.Helper()
	ctx := t.Context()
	var h held
	lines, total, err := b.store.SessionLines(ctx, journal.SessionFilter{})
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
	anglers, err := b.store.Anglers(ctx)
	check(err)
	waters, err := b.store.Waters(ctx)
	check(err)
	rigs, err := b.store.Rigs(ctx)
	check(err)
	deleted, err := b.store.DeletedSessions(ctx)
	check(err)
	h.anglers, h.waters, h.rigs, h.deleted = len(anglers), len(waters), len(rigs), len(deleted)
	h.totals, err = b.store.TotalsBetween(ctx, journal.Date{Year: 1900, Month: 1, Day: 1}, journal.Date{Year: 2200, Month: 1, Day: 1})
	check(err)
	h.outfit, err = b.store.Outfit(ctx)
	check(err)
	return h
}
