package web_test

import (
	"net/http"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/web/webtest"
)

// answersOf are pages and files that follow from the journal.
var answersOf = []string{"/findings?outcome=tangles&by=junction", "/findings.json?outcome=tangles&by=junction", "/season?year=2026", "/claims", "/claims.csv", "/curve?outcome=tangles&over=tag-length",
	"/tag-length", "/planner", "/life", "/next", "/bench", "/trials", "/trials.json"}

// Who has an answer already is told so, until something is written.
func TestAnAnswerIsSentOnceTillSomethingIsWritten(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	b.Get("/claims") // sets the starting board up, which is a write
	tags := map[string]string{}
	again := func(path string) webtest.Answer {
		r := b.Request(http.MethodGet, path, nil)
		r.Header.Set("If-None-Match", `"something-else", `+tags[path])
		return b.Do(r)
	}
	for _, path := range answersOf {
		got := b.Get(path)
		tags[path] = got.Header.Get("ETag")
		if got.Status != http.StatusOK || tags[path] == "" || got.Header.Get("Cache-Control") != "private, no-cache" {
			t.Errorf("%s: status %d, tag %q, %q", path, got.Status, tags[path], got.Header.Get("Cache-Control"))
		}
		if same := again(path); same.Status != http.StatusNotModified || same.Body != "" || same.Header.Get("ETag") != tags[path] {
			t.Errorf("%s again: status %d with %d bytes", path, same.Status, len(same.Body))
		}
	}
	b.Get("/sessions/deleted") // reading is no writing
	if same := again("/claims"); same.Status != http.StatusNotModified {
		t.Errorf("after reading: status %d", same.Status)
	}
	other := b.Session
	other.Notes = "changed"
	if _, err := b.Store.SaveSession(t.Context(), other); err != nil {
		t.Fatal(err)
	}
	for _, path := range answersOf {
		if got := again(path); got.Status != http.StatusOK || got.Header.Get("ETag") == tags[path] {
			t.Errorf("%s after a write: status %d, tag %q as before", path, got.Status, got.Header.Get("ETag"))
		}
	}
	o, err := b.Store.Outfit(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	tag := b.Get("/claims").Header.Get("ETag")
	o.Units = map[string]string{"us": "metric", "metric": "us"}[o.Units]
	if err := b.Store.SetOutfit(t.Context(), o); err != nil {
		t.Fatal(err)
	}
	if b.Get("/claims").Header.Get("ETag") == tag {
		t.Error("with other units the tag is the same")
	}
}

// A refusal and what is written anew each time have no tag.
func TestOnlyAnswersAreTagged(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	id := journal.NewID()
	for _, path := range []string{"/", "/log", "/sessions", "/findings?outcome=nonsense", "/trials/" + id.String()} {
		if got := b.Get(path); got.Header.Get("ETag") != "" || !strings.Contains(got.Header.Get("Cache-Control"), "no-store") {
			t.Errorf("%s: status %d, tag %q, %q", path, got.Status, got.Header.Get("ETag"), got.Header.Get("Cache-Control"))
		}
	}
}
