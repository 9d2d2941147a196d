package logging

import (
	"os"
	"regexp"
	"testing"

	"rigtally/journal"
)

// Every event that a session can hold has a drawing of its own.
func TestEveryEventHasAnIcon(t *testing.T) {
	t.Parallel()
	sprite, err := os.ReadFile("../static/icons.svg")
	if err != nil {
		t.Fatal(err)
	}
	drawings := map[string]string{}
	for _, m := range regexp.MustCompile(`(?s)<symbol id="([a-z-]+)"[^>]*>(.*?)</symbol>`).FindAllSubmatch(sprite, -1) {
		drawings[string(m[1])] = string(m[2])
	}
	seen := map[string]string{}
	for _, c := range cells() {
		name := eventIcon(c.event)
		drawing := drawings[name]
		if drawing == "" {
			t.Errorf("%s: there is no icon %q", c.label, name)
		}
		if other, ok := seen[drawing]; ok && other != name {
			t.Errorf("%s and %s look alike", name, other)
		}
		seen[drawing] = name
	}
	for event, want := range map[journal.EventKind]string{journal.EventSnag: "snag", journal.EventCheck: "check", journal.EventFlyChange: "fly-change", journal.EventRetie: "re-tie", journal.EventTangle: "tangle"} {
		if got := eventIcon(journal.Event{Kind: event}); got != want {
			t.Errorf("%s is drawn as %s", event, got)
		}
	}
}
