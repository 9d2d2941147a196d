// Package attack_test asks every address as everybody with everybody's ids, and looks for what is not theirs.
package attack_test

import (
	"archive/zip"
	"io"
	"maps"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/web/webtest"
)

// attack is how an address is attacked.
type attack struct {
	id   string                                // the kind of the id in the address; "" for none
	sent func(at map[string]journal.ID) string // what a write sends: right, if the ids were one's own; nil for nothing
	json bool                                  // it is sent as JSON
	adds bool                                  // an id that is not there is answered otherwise: the sender makes it
}

func form(pairs ...string) func(map[string]journal.ID) string {
	return func(map[string]journal.ID) string {
		v := url.Values{}
		for i := 0; i+1 < len(pairs); i += 2 {
			v.Add(pairs[i], pairs[i+1])
		}
		return v.Encode()
	}
}

// session is a session of somebody's angler, water and rig.
func session(at map[string]journal.ID) string {
	return `{"session":{"id":"` + at["session"].String() + `","version":1,"angler_id":"` + at["angler"].String() + `","water_id":"` + at["water"].String() + `","beat_id":"` + at["beat"].String() +
		`","day":"2026-05-03","time_zone":"UTC","notes":"Taken","stints":[{"id":"` + at["stint"].String() + `","rig_id":"` + at["rig"].String() + `","minutes":5}]},"confirmed":true}`
}

// rig is somebody's rig, as a phone sends it.
func rig(at map[string]journal.ID) string {
	return `{"id":"` + at["rig"].String() + `","version":1,"name":"Taken","positions":[{"position":0,"fly":"Taken"}]}`
}

func sessionForm(at map[string]journal.ID) string {
	return url.Values{"id": {at["session"].String()}, "version": {"1"}, "angler": {at["angler"].String()}, "water": {at["water"].String()}, "beat": {at["beat"].String()}, "day": {"2026-05-03"}, "notes": {"Taken"}, "sure": {"yes"},
		"stint.0.id": {at["stint"].String()}, "stint.0.rig": {at["rig"].String()}, "stint.0.minutes": {"5"}, "do": {"save"}}.Encode()
}

func rigForm(at map[string]journal.ID) string {
	return url.Values{"id": {at["rig"].String()}, "version": {"1"}, "name": {"Taken"}, "fly.0.position": {"0"}, "fly.0.fly": {"Taken"}, "do": {"save"}}.Encode()
}

func trialForm(at map[string]journal.ID) string {
	return url.Values{"id": {at["trial"].String()}, "name": {"Taken"}, "outcome": {"tangles"}, "factor": {"rig"}, "of": {"rig"}, "a": {at["rig"].String()}, "b": {at["rig"].String()},
		"by": {"stint"}, "worth": {"1.5"}, "most": {"60"}, "do": {"plan"}}.Encode()
}

func attached(at map[string]journal.ID) string {
	return url.Values{"session": {at["session"].String()}, "stint": {at["stint"].String()}, "version": {"1"}, "do": {"attach"}}.Encode()
}

var uuids = regexp.MustCompile(`[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}`)

// alike is an answer without what differs between two askings of the same: ids, and the words of a failure's reference.
func alike(a webtest.Answer) string { return uuids.ReplaceAllString(a.Body, "ID") }

// Ensure that every address is in the table of attacks, so that a new one can't be forgotten.
func TestEveryAddressIsAttacked(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	for _, pattern := range w.addresses() {
		if _, known := attacks[pattern]; !known {
			t.Errorf("%s has no entry in the table of attacks", pattern)
		}
	}
	for pattern := range attacks {
		if !slices.Contains(w.addresses(), pattern) {
			t.Errorf("%s is attacked and not served", pattern)
		}
	}
}

// Ensure that no answer holds a word of what its asker may not see, whatever is asked with whose ids; that what is
// another's is answered as what is not there; and that nobody changes what is not theirs.
func TestNobodySeesOrChangesWhatIsNotTheirs(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	for _, visitor := range slices.Sorted(maps.Keys(maySee)) {
		w.attackAs(t, visitor, "")
	}
	w.lookOn(t)
	for _, fault := range w.faults {
		t.Error(fault)
	}
}

// lookOn looks for words, ids and secrets in what is logged and counted of all that was asked.
func (w *world) lookOn(t *testing.T) {
	t.Helper()
	answer := httptest.NewRecorder()
	w.watch.Handler().ServeHTTP(answer, httptest.NewRequest(http.MethodGet, "http://127.0.0.1:9337/metrics", nil))
	figures, log := answer.Body.String(), w.log.String()
	if !strings.Contains(figures, `rigtally_request_seconds_count{address="GET /sessions/{id}",status="404"}`) || !strings.Contains(log, `"address":"GET /sessions/{id}","status":404`) {
		w.fault("nobody looked on: %s", figures)
	}
	for what, text := range map[string]string{"the log": log, "figures": figures} {
		for _, h := range w.holders {
			words := []string{h.word, "Taken"}
			for _, id := range h.ids {
				words = append(words, id.String())
			}
			for _, word := range words {
				if i := strings.Index(text, word); i >= 0 {
					w.fault("%s hold %s: …%s…", what, word, text[max(0, i-200):min(len(text), i+60)])
				}
			}
		}
	}
}

// Ensure that the suite would find out, if a policy of the database were open.
func TestAnOpenPolicyIsFound(t *testing.T) {
	t.Parallel()
	for _, open := range []string{
		`ALTER POLICY session_own ON session USING (true); ALTER POLICY stint_own ON stint USING (true)`,
		`ALTER POLICY rig_fished ON rig USING (true)`,
		`ALTER POLICY session_of_the_outfit ON session USING (true); ALTER POLICY session_own ON session USING (true)`,
	} {
		w := newWorld(t)
		w.alter(t, open)
		if w.attackAs(t, "one", "/sessions"); !strings.Contains(open, "session") {
			w.attackAs(t, "one", "/rigs")
		}
		if len(w.faults) == 0 {
			t.Errorf("nothing was found with %s", open)
		}
	}
}

// attackAs asks and writes as a visitor at all addresses that begin alike.
func (w *world) attackAs(t *testing.T, visitor, begin string) {
	t.Helper()
	as := w.visitors[visitor]
	before := w.others(t, visitor)
	for _, write := range []bool{false, true} {
		for _, pattern := range w.addresses() {
			switch method, path, _ := strings.Cut(pattern, " "); {
			case !strings.HasPrefix(path, begin) || write == (method == http.MethodGet):
			case write:
				w.writeAs(as, visitor, method, path, attacks[pattern])
			default:
				w.readAs(as, visitor, path)
			}
		}
	}
	after := w.others(t, visitor)
	for id, text := range before {
		if after[id] != text {
			w.fault("%s changed %s\nfrom %s\nto   %s", visitor, id, text, after[id])
		}
	}
}

// forbidden are the words that must not reach a visitor.
func forbidden(visitor string) (words []string) {
	for _, name := range []string{"house", "guide", "one", "two", "other"} {
		if !slices.Contains(maySee[visitor], name) {
			words = append(words, "canary"+name)
		}
	}
	return words
}

func (w *world) look(visitor, asked string, got webtest.Answer) {
	headers := new(strings.Builder)
	_ = got.Header.Write(headers)
	if got.Header.Get("Content-Type") == "application/zip" {
		got.Body = unpacked(w.T, got.Body)
	}
	for _, word := range forbidden(visitor) {
		if i := strings.Index(got.Body, word); i >= 0 {
			w.fault("%s learns %s by %s: …%s…", visitor, word, asked, got.Body[max(0, i-80):min(len(got.Body), i+60)])
		}
		if strings.Contains(headers.String(), word) {
			w.fault("%s learns %s by a header of %s", visitor, word, asked)
		}
	}
	if got.Status >= http.StatusInternalServerError {
		w.fault("%s as %s fails with status %d", asked, visitor, got.Status)
	}
	if visitor == "nobody" && got.Status < 300 && !strings.HasPrefix(asked, "GET /icon") && !strings.HasPrefix(asked, "GET /sw.js") && !strings.Contains(asked, " /sign-in") {
		w.fault("nobody gets %s with status %d", asked, got.Status)
	}
}

// unpacked is all that the files of a zip hold.
func unpacked(t testing.TB, body string) string {
	t.Helper()
	var all strings.Builder
	for _, file := range webtest.Got(zip.NewReader(strings.NewReader(body), int64(len(body))))(t).File {
		part := webtest.Got(file.Open())(t)
		_ = webtest.Got(io.Copy(&all, part))(t)
	}
	return all.String()
}

// filled is an address with an id in it, and 1 for a number.
func filled(path string, id journal.ID) string {
	path = strings.NewReplacer("{id}", id.String(), "{outfit}", id.String(), "{secret}", id.String(), "{number}", "1", "{$}", "").Replace(path)
	return path
}

func (w *world) readAs(as *webtest.Site, visitor, path string) {
	if !strings.Contains(path, "{id}") {
		w.look(visitor, "GET "+path, as.Get(filled(path, journal.ID{})))
		// Whatever a page takes from its address, with somebody else's ids.
		others := w.closedTo(visitor)
		name := others[len(path)%len(others)]
		q := url.Values{"from": {w.holders[name].ids["session"].String()}, "undo": {w.holders[name].ids["deleted"].String()}, "where": {"rig=" + w.holders[name].ids["rig"].String()}}
		for _, kind := range kinds {
			q.Set(kind, w.holders[name].ids[kind].String())
		}
		w.look(visitor, "GET "+path+" asked with what is "+name+"’s", as.Get(filled(path, journal.ID{})+"?"+q.Encode()))
		return
	}
	absent := as.Get(filled(path, journal.NewID()))
	for _, name := range w.closedTo(visitor) {
		for _, kind := range kinds {
			if kind != kindAt(path) && (visitor != "one" || name == "two") {
				continue // a client is the closest to what is not the client's; the other client's is held back as the house's is
			}
			got := as.Get(filled(path, w.holders[name].ids[kind]))
			w.look(visitor, "GET "+path+" with the "+kind+" of "+name, got)
			if got.Status != absent.Status || alike(got) != alike(absent) {
				w.fault("%s learns by GET %s that the %s of %s is there: status %d, not %d", visitor, path, kind, name, got.Status, absent.Status)
			}
		}
	}
}

// closedTo are those whose part of the journals a visitor may not see.
func (w *world) closedTo(visitor string) (names []string) {
	for _, name := range []string{"house", "one", "two", "other"} {
		if !slices.Contains(maySee[visitor], name) {
			names = append(names, name)
		}
	}
	return names
}

// kindAt is of what kind the id in an address is.
func kindAt(path string) string {
	for _, at := range []struct{ begin, kind string }{{"/sessions", "session"}, {"/rigs/rules", "rules"}, {"/rigs", "rig"}, {"/trials", "trial"}, {"/api/v1/trials", "trial"}, {"/claims", "claim"},
		{"/bench", "pull"}, {"/anglers", "angler"}, {"/waters", "water"}, {"/people/inv", "invitation"}, {"/people", "member"}, {"/account/devices", "device"}, {"/shares", "share"}, {"/import", "upload"}, {"/steps", "step"}, {"/gauge-files", "readings"}, {"/names/anglers", "angler"}, {"/names/waters", "water"}, {"/names/beats", "beat"}, {"/names/rigs", "rig"}} {
		if strings.HasPrefix(path, at.begin) {
			return at.kind
		}
	}
	return "session"
}

// send sends what an attack sends, with ids in the address and in it.
func (w *world) send(as *webtest.Site, method, path string, a attack, id journal.ID, at map[string]journal.ID) webtest.Answer {
	body := ""
	if a.sent != nil {
		body = a.sent(at)
	}
	r := as.Request(method, filled(path, id), strings.NewReader(body))
	if r.Header.Set("Content-Type", "application/x-www-form-urlencoded"); a.json {
		r.Header.Set("Content-Type", "application/json")
	}
	return as.Do(r)
}

func (w *world) writeAs(as *webtest.Site, visitor, method, path string, a attack) {
	nothing := map[string]journal.ID{}
	for _, kind := range kinds {
		nothing[kind] = journal.NewID()
	}
	absent := w.send(as, method, path, a, nothing[a.id], nothing)
	w.look(visitor, method+" "+path, absent)
	for _, name := range w.closedTo(visitor) {
		h := w.holders[name]
		got := w.send(as, method, path, a, h.ids[a.id], h.ids)
		w.look(visitor, method+" "+path+" with what is "+name+"’s", got)
		if !a.adds && (got.Status != absent.Status || alike(got) != alike(absent)) {
			w.fault("%s learns by %s %s that the %s of %s is there: status %d, not %d\n%s\n%s", visitor, method, path, a.id, name, got.Status, absent.Status, got.Body, absent.Body)
		}
	}
}

// Ensure that what the attacks send is right: sent by whose it is, with their own ids, it is done. Else a refusal would
// say nothing of who may do what.
func TestAttacksWouldSucceedOnOnesOwn(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	at := w.holders["house"].ids
	// In an order in which each finds what it is about.
	for _, pattern := range []string{
		"PUT /api/sessions/{id}", "POST /sessions/{id}/delete", "POST /sessions/{id}/restore", "POST /anglers/{id}", "POST /waters/{id}",
		"POST /bench/pulls/{id}", "POST /bench/pulls/{id}/delete", "POST /bench/pulls/{id}/restore", "POST /claims/{id}/retire", "POST /claims/{id}/restore",
		"POST /rigs/rules/set/{id}", "POST /rigs/rules/set/{id}/delete", "POST /rigs/rules/set/{id}/restore", "POST /rigs/draw", "POST /settings", "POST /trials/{id}/match",
		"POST /people/invite", "POST /people/invitations/{id}/withdraw", "POST /shares/{id}/withdraw", "POST /names/anglers/{id}", "POST /names/beats/{id}", "POST /names/rigs/{id}", "POST /names/waters/{id}", "POST /import/{id}", "POST /waters/{id}/gauges", "POST /gauge-files/{id}", "POST /waters/{id}/gauges/find", "POST /waters/{id}/gauges/fill", "POST /steps/{id}/back", "POST /account/devices/{id}/sign-out", "POST /account/devices/sign-out-others",
	} {
		method, path, _ := strings.Cut(pattern, " ")
		a := attacks[pattern]
		if got := w.send(w.visitors["owner"], method, path, a, at[a.id], at); got.Status >= http.StatusBadRequest {
			t.Errorf("%s of one's own is answered with status %d: %s", pattern, got.Status, webtest.Complaints(got.Body))
		}
	}
}
