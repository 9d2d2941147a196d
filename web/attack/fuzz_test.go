package attack_test

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/web/webtest"
)

// outer is the boundary of the parts of a file that is sent.
const outer = "fuzzed"

// fuzzed are the writes whose bodies are fuzzed: all but those that end the sign-in that they need.
func fuzzed() (patterns []string) {
	for _, pattern := range slices.Sorted(maps.Keys(writes)) {
		if !strings.Contains(pattern, "sign-out") && !strings.HasPrefix(pattern, "POST /switch") {
			patterns = append(patterns, pattern)
		}
	}
	return patterns
}

// FuzzWrites sends bodies that nobody would to every address that takes any, as an owner: one value of a right body in
// another form, or all of it. No answer is a failure but that of a server that is busy, what is refused changes
// nothing, a session is written once, and the journal's counts are those of its events.
func FuzzWrites(f *testing.F) {
	w := newWorld(f)
	conn := webtest.Got(pgx.Connect(context.Background(), pgtest.AsSuperuser(w.Database)))(f)
	f.Cleanup(func() { _ = conn.Close(context.Background()) })
	patterns := fuzzed()
	for i := range patterns {
		f.Add(uint8(i), uint8(i), "\x00", true, i%5 == 0)
	}
	f.Add(uint8(slices.Index(patterns, "POST /import")), uint8(0), "--"+outer+"\r\nContent-Disposition: form-data; name=\"file\"; filename=\"a.csv\"\r\n\r\ndate,angler,water,minutes,tangles\n2026-05-09,A,B,60,1\n\r\n--"+outer+"--\r\n", false, true)
	for at, value := range []string{"-1", "6 1/2\"", "2026-02-30", "25:99", "'; --", "\xff\xfe", `{"a":1}`, "[]", "null", "99999999999999999999", "NaN", "\u202e", "018f0000-0000-7000-8000-000000000001", strings.Repeat("x", 5000)} {
		often := []string{"PUT /api/sessions/{id}", "POST /log", "POST /rigs/new", "POST /bench/pulls", "POST /settings", "POST /trials/new"}
		f.Add(uint8(slices.Index(patterns, often[at%len(often)])), uint8(at), value, true, false)
	}
	f.Fuzz(func(t *testing.T, which, at uint8, value string, fresh, whole bool) {
		pattern := patterns[int(which)%len(patterns)]
		method, path, _ := strings.Cut(pattern, " ")
		a := writes[pattern]
		owner := *w.visitors["owner"]
		owner.T = t
		ids := maps.Clone(w.holders["house"].ids)
		if fresh && a.adds { // what is sent is new
			ids[a.id], ids["stint"] = journal.NewID(), journal.NewID()
		}
		body := ""
		if a.sent != nil {
			body = a.sent(ids)
		}
		switch {
		case whole:
			body = value
		case a.json:
			body = otherJSON(body, int(at), value, fresh)
		default:
			body = otherForm(body, int(at), value)
		}
		before := state(t, conn)
		r := owner.Request(method, filled(path, ids[a.id]), strings.NewReader(body))
		switch {
		case path == "/import":
			r.Header.Set("Content-Type", "multipart/form-data; boundary="+outer)
		case a.json:
			r.Header.Set("Content-Type", "application/json")
		default:
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		}
		got := owner.Do(r)
		after := state(t, conn)
		switch {
		case got.Status >= http.StatusInternalServerError && (got.Status != http.StatusServiceUnavailable || got.Header.Get("Retry-After") == ""):
			t.Errorf("%s with\n%q\nis answered with status %d. The log: %s", pattern, body, got.Status, lastOf(w.Log.String()))
		case got.Status >= http.StatusBadRequest && after != before:
			t.Errorf("%s with\n%q\nis refused with status %d, and the journal was\n%+v\nand is\n%+v", pattern, body, got.Status, before, after)
		case after.Sessions+after.Deleted > before.Sessions+before.Deleted+1 && path != "/import/{id}":
			t.Errorf("%s with\n%q\nadds %d sessions", pattern, body, after.Sessions+after.Deleted-before.Sessions-before.Deleted)
		}
		if after == before {
			return
		}
		counts, err := w.Store.Recount(t.Context(), false, nil)
		if err != nil || counts.Wrong+counts.Uncounted > 0 {
			t.Errorf("%s with\n%q\nleaves counts that are not those of the events: %+v, %v", pattern, body, counts, err)
		}
	})
}

// held is how much is in the database.
type held struct {
	Revision, Sessions, Deleted, Stints, Events, Rigs, Names, Trials, Others int
}

func state(t *testing.T, conn *pgx.Conn) (h held) {
	t.Helper()
	err := conn.QueryRow(t.Context(), `SELECT (SELECT sum(revision) FROM outfit), (SELECT count(*) FROM session), (SELECT count(*) FROM deleted_session), (SELECT count(*) FROM stint),
		(SELECT count(*) FROM event), (SELECT count(*) FROM rig), (SELECT count(*) FROM angler) + (SELECT count(*) FROM water) + (SELECT count(*) FROM beat), (SELECT count(*) FROM trial),
		(SELECT count(*) FROM claim) + (SELECT count(*) FROM bench_pull) + (SELECT count(*) FROM rule_set) + (SELECT count(*) FROM member)`).
		Scan(&h.Revision, &h.Sessions, &h.Deleted, &h.Stints, &h.Events, &h.Rigs, &h.Names, &h.Trials, &h.Others)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// otherForm puts another value into a field of a form, or a field of its own.
func otherForm(body string, at int, value string) string {
	form, err := url.ParseQuery(body)
	if err != nil {
		return value
	}
	if name, text, ok := strings.Cut(value, "="); ok && at%3 == 0 {
		form.Set(name, text)
		return form.Encode()
	}
	if names := slices.Sorted(maps.Keys(form)); len(names) > 0 {
		form.Set(names[at%len(names)], value)
	}
	return form.Encode()
}

// otherJSON puts another value, JSON itself or a text, into a place of what is sent as JSON.
func otherJSON(body string, at int, value string, fresh bool) string {
	var sent map[string]any
	if json.Unmarshal([]byte(body), &sent) != nil {
		return value
	}
	var new any = value
	if json.Valid([]byte(value)) {
		new = json.RawMessage(value)
	}
	var places []func()
	var walk func(any)
	walk = func(in any) {
		switch in := in.(type) {
		case map[string]any:
			for _, name := range slices.Sorted(maps.Keys(in)) {
				if name == "version" && fresh {
					in[name] = 0 // of what is new
				}
				places = append(places, func() { in[name] = new })
				walk(in[name])
			}
		case []any:
			for i := range in {
				places = append(places, func() { in[i] = new })
				walk(in[i])
			}
		}
	}
	walk(sent)
	if value != "" && len(places) > 0 {
		places[at%len(places)]()
	}
	text, err := json.Marshal(sent)
	if err != nil {
		return fmt.Sprint(sent)
	}
	return string(text)
}

func lastOf(log string) string { return log[max(0, len(log)-500):] }
