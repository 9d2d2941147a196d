package web_test

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"io"
	"maps"
	"net/http"
	"slices"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/pg"
	"rigtally/web/webtest"
)

// Ensure that what a client takes along is all that is theirs and nothing else, and makes the same journal elsewhere;
// and that the owner hands out the same.
func TestAClientTakesAllAlong(t *testing.T) {
	t.Parallel()
	o := newOuting(t, 120)
	own := o.clients["client"]
	files := func(visitor, address string) map[string]string {
		t.Helper()
		s := o.As(visitor)
		res := webtest.Got(s.Client.Do(s.Request(http.MethodGet, address, nil)))(t)
		defer res.Body.Close()
		body := webtest.Got(io.ReadAll(res.Body))(t)
		if res.StatusCode != http.StatusOK {
			t.Fatalf("%s: status %d\n%s", address, res.StatusCode, body)
		}
		z := webtest.Got(zip.NewReader(bytes.NewReader(body), int64(len(body))))(t)
		all := map[string]string{}
		for _, f := range z.File {
			r := webtest.Got(f.Open())(t)
			all[f.Name] = string(webtest.Got(io.ReadAll(r))(t))
		}
		return all
	}
	theirs := files("client", "/data.zip")
	if byOwner := files("owner", "/anglers/"+own.ID.String()+"/data.zip"); !maps.Equal(byOwner, theirs) {
		t.Error("the owner hands out something else")
	}
	for name, text := range theirs {
		for _, a := range append(slices.Clone(o.others), o.clients["other"].Name, canaries["other"]) {
			if strings.Contains(text, a) {
				t.Errorf("%s tells of %s", name, a)
			}
		}
	}
	store := o.Store.For(journal.Who{Role: journal.RoleClient, Angler: &own.ID})
	had := webtest.Got(store.Contents(t.Context()))(t)
	if len(had.Sessions) < 10 || len(had.Deleted) != 1 {
		t.Fatalf("%d sessions, %d deleted", len(had.Sessions), len(had.Deleted))
	}
	if rows := strings.Count(theirs["sessions.csv"], "\n"); rows < len(had.Sessions) || !strings.Contains(theirs["sessions.csv"], canaries["client"]) {
		t.Errorf("the CSV has %d rows", rows)
	}
	elsewhere := webtest.Got(pg.Open(t.Context(), pgtest.NewDatabase(t)))(t)
	t.Cleanup(elsewhere.Close)
	if _, err := exchange.ReadBackup(t.Context(), elsewhere, strings.NewReader(theirs["journal.jsonl"]), nil); err != nil {
		t.Fatal(err)
	}
	var again bytes.Buffer
	o.Must(exchange.WriteBackup(t.Context(), elsewhere, &again))
	lines := func(text string) []string { // of what a client has: the other journal has claims and rules of its own
		return slices.DeleteFunc(strings.Split(text, "\n"), func(l string) bool {
			var record map[string]json.RawMessage
			return json.Unmarshal([]byte(l), &record) != nil || record["claim"] != nil || record["rule_set"] != nil || record["end"] != nil
		})
	}
	if got, want := lines(again.String()), lines(theirs["journal.jsonl"]); !slices.Equal(got, want) {
		t.Errorf("it became another journal: %d lines of %d", len(got), len(want))
	}
}
