package journal_test

import (
	"encoding/json"
	"testing"

	"rigtally/journal"
)

func TestRecordedIsAFact(t *testing.T) {
	t.Parallel()
	var assumed journal.Recorded
	if !assumed.Assumed() || !assumed.Has(journal.KindTangles, journal.KindTurns) || len(assumed.Missing()) != 0 {
		t.Errorf("nothing said: %v, missing %v", assumed.Kinds(), assumed.Missing())
	}
	some := journal.RecordedOf(journal.KindHookups, journal.KindLanded)
	if some.Assumed() || !some.Has(journal.KindHookups) || some.Has(journal.KindHookups, journal.KindTangles) || len(some.Kinds()) != 2 {
		t.Errorf("two kinds: %v", some.Kinds())
	}
	if none := journal.RecordedOf(); none.Assumed() || len(none.Kinds()) != 0 {
		t.Errorf("of nothing: %v", none.Kinds())
	}
	if without := assumed.Without(journal.KindTangles); without.Assumed() || without.Has(journal.KindTangles) || !without.Has(journal.KindSnags) {
		t.Errorf("assumed, but not tangles: %v", without.Kinds())
	}
	if all := assumed.With(journal.KindTangles); all != journal.AllRecorded() {
		t.Errorf("assumed, and tangles: %v", all.Kinds())
	}
	for json_, want := range map[string]journal.Recorded{`{}`: 0, `{"recorded":null}`: 0, `{"recorded":[]}`: journal.RecordedOf(),
		`{"recorded":["hookups","landed"]}`: some} {
		var st journal.Stint
		if err := json.Unmarshal([]byte(json_), &st); err != nil || st.Recorded != want {
			t.Errorf("%s: %v, %v", json_, st.Recorded, err)
		}
		again, err := json.Marshal(st.Recorded)
		var back journal.Recorded
		if err != nil || json.Unmarshal(again, &back) != nil || back != want {
			t.Errorf("%s came back as %s", json_, again)
		}
	}
	if err := json.Unmarshal([]byte(`["fish"]`), new(journal.Recorded)); err == nil {
		t.Error("a word that is no kind was taken")
	}
}
