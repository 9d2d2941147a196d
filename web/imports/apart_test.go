package imports_test

import (
	"net/http"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/web/door"
	"rigtally/web/webtest"
)

// Ensure that files are for whoever sent them and nobody else: to all others, those of the same outfit too, they are as
// what is not there, and nobody else throws them away or writes them.
func TestFilesAreForWhoeverSentThem(t *testing.T) {
	t.Parallel()
	people := webtest.Visitors{}
	s := webtest.NewWith(t, people)
	elsewhere := webtest.Got(s.Store.AddOutfit(t.Context(), "Another outfit"))(t)
	for name, who := range map[string]door.Visitor{
		"owner": {Outfit: s.Store.OutfitID(), Who: journal.Who{Role: journal.RoleOwner, Name: "Oda", Person: new(webtest.NewID(t))}},
		"guide": {Outfit: s.Store.OutfitID(), Who: journal.Who{Role: journal.RoleGuide, Name: "Gerrit", Person: new(webtest.NewID(t))}},
		"other": {Outfit: elsewhere, Who: journal.Who{Role: journal.RoleOwner, Name: "Olm", Person: new(webtest.NewID(t))}},
	} {
		people[name] = who
	}
	owner := s.As("owner")
	at := upload(t, owner, webtest.File{Name: "canary.csv", Text: season + "2026-05-03,Orrin,Sallow Fork,-5,blood,6.5,1,1,0\n"})
	absent := "/import/" + webtest.NewID(t).String()
	for _, name := range []string{"guide", "other"} {
		them := s.As(name)
		if got := them.Get("/import"); strings.Contains(got.Body, "canary") {
			t.Errorf("%s sees the name of the file", name)
		}
		for _, path := range []string{"", "/rejects.csv"} {
			got, want := them.Get(at+path), them.Get(absent+path)
			if got.Status != http.StatusNotFound || got.Status != want.Status || got.Body != want.Body {
				t.Errorf("%s gets %s with status %d, and what is not there with %d", name, path, got.Status, want.Status)
			}
		}
		for _, do := range []string{"write", "drop", "read", "anew", "stop"} {
			if got := them.Press(at, map[string][]string{"f0.leave": {"yes"}}, do, nil); got.Status != http.StatusNotFound {
				t.Errorf("%s does %s to it: status %d", name, do, got.Status)
			}
		}
	}
	owner.Wants(at, http.StatusOK, "canary.csv", "Leave this row out")
	if n, err := s.Store.Anglers(t.Context()); err != nil || len(n) > 0 {
		t.Errorf("something was written: %v, %v", n, err)
	}
}

// Ensure that what is sent is bounded in size and number, that it says so, and that a form of somebody else's is refused.
func TestWhatIsSentIsBounded(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	big := strings.Repeat("x", 8<<20+1)
	many := make([]webtest.File, 13)
	for i := range many {
		many[i] = webtest.File{Name: "a.csv", Text: season}
	}
	for says, files := range map[string][]webtest.File{"Choose a file first": nil, "over 8 MB": {{Name: "big.csv", Text: big}}, "More than 12 files": many,
		"Together the files are over 24 MB": {{Name: "1.csv", Text: big[1:]}, {Name: "2.csv", Text: big[1:]}, {Name: "3.csv", Text: big[1:]}, {Name: "4.csv", Text: "x"}}} {
		got := s.Upload("/import", nil, files...)
		if got.Status != http.StatusUnprocessableEntity || !strings.Contains(got.Body, says) {
			t.Errorf("%s: status %d: %s", says, got.Status, webtest.Complaints(got.Body))
		}
	}
	if got := s.Upload("/import", nil, webtest.File{Name: "1.csv", Text: big[1:]}, webtest.File{Name: "2.csv", Text: big[1:]}, webtest.File{Name: "3.csv", Text: big[1:]}, webtest.File{Name: "4.csv", Text: big[1:]}); got.Status != http.StatusRequestEntityTooLarge && got.Status != http.StatusUnprocessableEntity {
		t.Errorf("32 MB: status %d", got.Status)
	}
	if got := s.Post("/import", nil); got.Status != http.StatusUnprocessableEntity {
		t.Errorf("no files at all: status %d", got.Status)
	}
	if got := s.Upload("/import", map[string]string{"for": "somebody else"}, webtest.File{Name: "a.csv", Text: season}); got.Status != http.StatusPreconditionFailed {
		t.Errorf("a form of somebody else's: status %d", got.Status)
	}
	first := upload(t, s, webtest.File{Name: "first.csv", Text: season})
	for range 3 {
		upload(t, s, webtest.File{Name: "later.csv", Text: season})
	}
	s.Wants(first, http.StatusNotFound, "not here any more", "Choose them again")
}

// Ensure that what is no sheet is told apart in words, and never fails the page.
func TestWhatIsNoSheet(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	for text, says := range map[string]string{"": "empty", "{\"rigtally\":2}\n": "a backup of a whole journal", "PK\x03\x04 but no more": "", "\x00\x01\x02": "", "<html>": "", "a,b\n1,2\n": "",
		"date,angler,water\n": "no rows"} {
		at := upload(t, s, webtest.File{Name: "odd.csv", Text: text})
		body := s.Wants(at, http.StatusOK, "odd.csv", "can’t be read like this", says)
		if strings.Contains(body, `value="write"`) {
			t.Errorf("%q can be written", text)
		}
	}
	if s.Log.Len() > 0 {
		t.Errorf("the log holds %s", s.Log)
	}
}
