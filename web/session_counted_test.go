package web

import (
	"strings"
	"testing"

	"rigtally/journal"
)

// The page of a session says what was counted in it, once where its stints agree.
func TestSessionSaysWhatWasCounted(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	some := journal.RecordedOf(journal.KindHookups, journal.KindTangles)
	const said = "Counted: hookups, tangles. Not counted: fish landed, fish lost, fish broken off, fair or foul, where it broke, snags, kinds of tangle, turns round the line, fly changes and re-ties, minutes lost."
	for _, c := range []struct {
		first, second journal.Recorded
		want          []string
	}{
		{0, 0, []string{"Nobody said what was counted, so everything is taken as counted."}},
		{journal.AllRecorded(), journal.AllRecorded(), []string{"Everything was counted."}},
		{some, some, []string{said}},
		{some, journal.RecordedOf(), []string{"Stint 1. " + said, "Stint 2. No count was kept of anything."}},
	} {
		s := b.session
		s.ID, s.Version, s.Stints = newID(t), 0, append([]journal.Stint(nil), s.Stints...)
		for i, r := range []journal.Recorded{c.first, c.second} {
			s.Stints[i].ID, s.Stints[i].Recorded = newID(t), r
		}
		if _, err := b.store.SaveSession(t.Context(), s); err != nil {
			t.Fatal(err)
		}
		body := b.get("/sessions/" + s.ID.String()).body
		for _, line := range c.want {
			if strings.Count(body, `<p class="small">`+line+`</p>`) != 1 {
				t.Errorf("the page does not say once: %s", line)
			}
		}
	}
}
