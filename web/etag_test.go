package web

import (
	"net/http"
	"strings"
	"testing"

	"rigtally/journal"
)

// answersOf are pages and files that follow from the journal.
var answersOf = []string{"/findings?outcome=tangles&by=junction", "/findings.json?outcome=tangles&by=junction", "/season?year=2026", "/claims", "/claims.csv", "/curve?outcome=tangles&over=tag-length",
	"/tag-length", "/planner", "/life", "/bench", "/trials", "/trials.json"}

// Who has an answer already is told so, until something is written.
func TestAnAnswerIsSentOnceTillSomethingIsWritten(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	b.get("/claims") // sets the starting board up, which is a write
	tags := map[string]string{}
	again := func(path string) answer {
		r := b.request(http.MethodGet, path, nil)
		r.Header.Set("If-None-Match", `"something-else", `+tags[path])
		return b.do(r)
	}
	for _, path := range answersOf {
		got := b.get(path)
		tags[path] = got.header.Get("ETag")
		if got.status != http.StatusOK || tags[path] == "" || got.header.Get("Cache-Control") != "private, no-cache" {
			t.Errorf("%s: status %d, tag %q, %q", path, got.status, tags[path], got.header.Get("Cache-Control"))
		}
		if same := again(path); same.status != http.StatusNotModified || same.body != "" || same.header.Get("ETag") != tags[path] {
			t.Errorf("%s again: status %d with %d bytes", path, same.status, len(same.body))
		}
	}
	b.get("/sessions/deleted") // reading is no writing
	if same := again("/claims"); same.status != http.StatusNotModified {
		t.Errorf("after reading: status %d", same.status)
	}
	other := b.session
	other.Notes = "changed"
	if _, err := b.store.SaveSession(t.Context(), other); err != nil {
		t.Fatal(err)
	}
	for _, path := range answersOf {
		if got := again(path); got.status != http.StatusOK || got.header.Get("ETag") == tags[path] {
			t.Errorf("%s after a write: status %d, tag %q as before", path, got.status, got.header.Get("ETag"))
		}
	}
	o, err := b.store.Outfit(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	tag := b.get("/claims").header.Get("ETag")
	o.Units = map[string]string{"us": "metric", "metric": "us"}[o.Units]
	if err := b.store.SetOutfit(t.Context(), o); err != nil {
		t.Fatal(err)
	}
	if b.get("/claims").header.Get("ETag") == tag {
		t.Error("with other units the tag is the same")
	}
}

// A refusal and what is written anew each time have no tag.
func TestOnlyAnswersAreTagged(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	id, _ := journal.NewID()
	for _, path := range []string{"/", "/log", "/sessions", "/findings?outcome=nonsense", "/trials/" + id.String()} {
		if got := b.get(path); got.header.Get("ETag") != "" || !strings.Contains(got.header.Get("Cache-Control"), "no-store") {
			t.Errorf("%s: status %d, tag %q, %q", path, got.status, got.header.Get("ETag"), got.header.Get("Cache-Control"))
		}
	}
}
