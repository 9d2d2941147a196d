package imports_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/web/door"
	"rigtally/web/webtest"
)

// long is a sheet that takes a while to be written.
func long(angler string, rows int) string {
	var b strings.Builder
	b.WriteString("date,angler,water,minutes,junction,tag_in,hookups,landed,tangles\n")
	for i := range rows {
		day := time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, i%2000)
		fmt.Fprintf(&b, "%s,%s %d,Sallow Fork,60,blood,6.5,3,2,1\n", day.Format(time.DateOnly), angler, i/2000)
	}
	return b.String()
}

// The templates "importwriting" and "importdone".
//
// Ensure that an import that is stopped leaves nothing behind, that an outfit writes one at a time, that the page says
// how far it is with and without script, and that it can be begun anew.
func TestAnImportIsStoppedWhole(t *testing.T) {
	t.Parallel()
	people := webtest.Visitors{}
	s := webtest.NewWith(t, people)
	for _, name := range []string{"owner", "guide"} {
		people[name] = door.Visitor{Outfit: s.Store.OutfitID(), Who: journal.Who{Role: journal.RoleOwner, Name: name, Person: new(webtest.NewID(t))}}
	}
	owner, guide := s.As("owner"), s.As("guide")
	at, other := upload(t, owner, webtest.File{Name: "long.csv", Text: long("Orrin", 5000)}), upload(t, guide, webtest.File{Name: "short.csv", Text: season})
	if got := owner.Press(at, webtest.Fields(owner.Get(at).Body), "write", nil); got.Status != http.StatusSeeOther {
		t.Fatalf("status %d: %s", got.Status, got.Body)
	}
	owner.Wants(at, http.StatusOK, "data-writing", `<meta http-equiv="refresh"`, "<progress")
	webtest.CheckPage(t, at, owner.Get(at).Body)
	if got := guide.Press(other, webtest.Fields(guide.Get(other).Body), "write", nil); got.Status != http.StatusConflict || !strings.Contains(got.Body, "Somebody is bringing in files just now") {
		t.Errorf("two at once: status %d", got.Status)
	}
	owner.Press(at, url.Values{}, "drop", nil) // what is being written can't be thrown away
	owner.Press(at, url.Values{}, "stop", nil)
	ended := ""
	for begin := time.Now(); time.Since(begin) < 30*time.Second; time.Sleep(20 * time.Millisecond) {
		if ended = owner.Get(at).Body; !strings.Contains(ended, "data-writing") {
			break
		}
	}
	webtest.WantAll(t, at, ended, "Stopped while writing long.csv", "Back to how it is read")
	if _, n, err := s.Store.SessionLines(t.Context(), journal.SessionFilter{Limit: 1}); err != nil || n > 0 {
		t.Errorf("%d sessions are left behind, %v", n, err)
	}
	if list := webtest.Got(s.Store.Anglers(t.Context()))(t); len(list) > 0 {
		t.Errorf("anglers are left behind: %+v", list)
	}
	owner.Press(at, url.Values{}, "again", nil)
	owner.Wants(at, http.StatusOK, "Write 5000 sessions")
	webtest.WantAll(t, other, written(t, guide, other), "Added 2 sessions")
}

// Ensure that what changed between seeing and writing is shown first, and that what is open can't be written.
func TestNothingIsWrittenUnseen(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	at := upload(t, s, webtest.File{Name: "season.csv", Text: season})
	form := webtest.Fields(s.Get(at).Body)
	got := s.Press(at, form, "write", map[string]string{"f0.as8": "snags"})
	if got.Status != http.StatusConflict || !strings.Contains(got.Body, "You changed how it is read") {
		t.Errorf("changed and written at once: status %d", got.Status)
	}
	webtest.WantAll(t, at, written(t, s, at), "Added 2 sessions")
	bad := upload(t, s, webtest.File{Name: "bad.csv", Text: "date,angler,water,minutes,tangles\n2026-06-01,Orrin,Sallow Fork,60,1\n2026-06-02,Orrin,Sallow Fork,-5,1\n"})
	shown := s.Wants(bad, http.StatusOK, "1 row can’t be taken", "Row 3, minutes: “-5” is below zero")
	if strings.Contains(shown, `value="write"`) {
		t.Error("bad rows can be written")
	}
	if got := s.Press(bad, webtest.Fields(shown), "write", nil); got.Status != http.StatusUnprocessableEntity {
		t.Errorf("bad rows are written: status %d", got.Status)
	}
	rejects := s.Get(bad + "/rejects.csv?file=0")
	if rejects.Status != http.StatusOK || !strings.Contains(rejects.Body, "2026-06-02,Orrin,Sallow Fork,-5,1,\"minutes is below zero") || strings.Contains(rejects.Body, "2026-06-01") {
		t.Errorf("the rows to correct: status %d\n%s", rejects.Status, rejects.Body)
	}
	s.Press(bad, webtest.Fields(shown), "read", map[string]string{"f0.leave": "yes"})
	webtest.WantAll(t, bad, written(t, s, bad), "Added 1 session", "1 bad row was kept out", "rejects.csv?file=0")
	if after := s.Get(bad + "/rejects.csv?file=0"); after.Body != rejects.Body {
		t.Errorf("the rows to correct are gone once the others are written: %s", after.Body)
	}
}

// Ensure that each choice on the page is what the sheet is read by, and that it is remembered for the next of its kind.
func TestChoicesAreReadBy(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	text := "Day;Guest;Stream;min;Tag;X1;X2;Snags\n04/06/2026;Jon Felt;Sallow Fork;60;6,5;2;1;\n05/06/2026;Jon Felt;Sallow Fork;60;7;3;0;1\n06/06/2026;Jon Felt;Sallow Fork;60;7;0;0;0\n"
	at := upload(t, s, webtest.File{Name: "odd.csv", Text: text})
	choose := func(header, field, value string) {
		t.Helper()
		form := webtest.Fields(s.Get(at).Body)
		for name, v := range form {
			if v[0] == header && strings.HasPrefix(name, "f0.header") {
				field = strings.Replace(name, "header", field, 1)
			}
		}
		if got := s.Press(at, form, "read", map[string]string{field: value}); got.Status != http.StatusSeeOther {
			t.Fatalf("%s: status %d", field, got.Status)
		}
	}
	s.Wants(at, http.StatusOK, "“X1” holds small whole numbers", "can be read two ways")
	for _, c := range [][3]string{{"Day", "as", "date.day-first"}, {"Guest", "as", "angler"}, {"Stream", "as", "water"}, {"X1", "as", "landed"}, {"X2", "as", "-"}, {"Tag", "as", "tag_length"}, {"Tag", "unit", "tag_length_cm"}, {"Snags", "blank", "unknown"}} {
		choose(c[0], c[1], c[2])
	}
	webtest.WantAll(t, at, written(t, s, at), "Added 3 sessions")
	lines := webtest.Got(s.Store.Contents(t.Context()))(t)
	if len(lines.Sessions) != 3 || lines.Sessions[0].Day.Month != time.June {
		t.Fatalf("%s", webtest.InJSON(lines.Sessions))
	}
	for _, r := range lines.Rigs {
		if p, _ := r.At(1); p.TagLengthMM == nil || *p.TagLengthMM < 60 || *p.TagLengthMM > 75 {
			t.Errorf("the tag of %s: %v", r.Name, p.TagLengthMM)
		}
	}
	landed, snagless := 0, 0
	for _, session := range lines.Sessions {
		for _, e := range session.Stints[0].Events {
			if e.Kind == journal.EventHookup && e.Ending == journal.Landed {
				landed += e.Count
			}
		}
		if !session.Stints[0].Recorded.Has(journal.KindSnags) {
			snagless++
		}
	}
	if landed != 5 || snagless != 1 {
		t.Errorf("%d landed, %d without snags", landed, snagless)
	}
	again := upload(t, s, webtest.File{Name: "next.csv", Text: strings.ReplaceAll(text, "2026", "2025")})
	s.Wants(again, http.StatusOK, "Write 3 sessions")
}
