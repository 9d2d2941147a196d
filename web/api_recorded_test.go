package web

import (
	"bytes"
	"encoding/json"
	"net/http"
	"slices"
	"strings"
	"testing"

	"rigtally/journal"
)

// What a phone says of what was counted is stored, and so is that it said
// nothing; minutes are kept to the second.
func TestSendingSaysWhatWasCounted(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	for _, r := range []journal.Recorded{0, journal.RecordedOf(), journal.RecordedOf(journal.KindTangles, journal.KindHookups), journal.AllRecorded()} {
		sent := b.sample(t)
		sent.Session.Stints[0].Recorded, sent.Session.Stints[0].Minutes = r, ptr(47.25)
		if got, said := b.put(t, sent); got.status != http.StatusOK {
			t.Fatalf("%v: status %d: %+v", r.Kinds(), got.status, said)
		}
		stored, err := b.store.SessionByID(t.Context(), sent.Session.ID)
		if err != nil {
			t.Fatal(err)
		}
		if st := stored.Stints[0]; st.Recorded != r || *st.Minutes != 47.25 {
			t.Errorf("sent %v, stored %v and %v minutes", r.Kinds(), st.Recorded.Kinds(), *st.Minutes)
		}
	}
}

// Words that are no kind are all named, and nothing is stored.
func TestSendingNamesEveryUnknownKind(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	before, sent := b.sessions(t), b.sample(t)
	sent.Session.Stints[0].Recorded = journal.RecordedOf(journal.KindSnags)
	text, err := json.Marshal(sent)
	if err != nil {
		t.Fatal(err)
	}
	text = bytes.Replace(text, []byte(`["snags"]`), []byte(`["snags","weather","knots"]`), 1)
	got, said := b.putText(t, sent.Session.ID.String(), text)
	if got.status != http.StatusBadRequest || said.Error != "unreadable" || len(said.Problems) != 1 {
		t.Fatalf("status %d: %+v", got.status, said)
	}
	p := said.Problems[0]
	if p.Field != "session.stints.recorded" || slices.ContainsFunc([]string{`"weather"`, `"knots"`, "tangle-kind"}, func(word string) bool { return !strings.Contains(p.Says, word) }) {
		t.Errorf("it says %+v", p)
	}
	if n := b.sessions(t) - before; n != 0 {
		t.Errorf("%d sessions stored", n)
	}
}
