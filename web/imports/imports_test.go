package imports_test

import (
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/pg"
	"rigtally/web/webtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

const season = "date,angler,water,minutes,junction,tag_in,hookups,landed,tangles\n" +
	"2026-05-01,Orrin,Sallow Fork,60,blood,6.5,3,2,1\n" +
	"2026-05-02,Orrin,Sallow Fork,90,blood,6.5,1,1,0\n"

// upload sends a sheet and returns where it is shown.
func upload(t *testing.T, s *webtest.Site, files ...webtest.File) string {
	t.Helper()
	got := s.Upload("/import", nil, files...)
	if got.Status != http.StatusSeeOther {
		t.Fatalf("status %d: %s", got.Status, webtest.Complaints(got.Body))
	}
	return got.Header.Get("Location")
}

// written presses the button and waits until all is written.
func written(t *testing.T, s *webtest.Site, at string) string {
	t.Helper()
	if got := s.Press(at, webtest.Fields(s.Get(at).Body), "write", nil); got.Status != http.StatusSeeOther {
		t.Fatalf("status %d: %s", got.Status, got.Body)
	}
	for range 200 {
		if got := s.Get(at); !strings.Contains(got.Body, "data-writing") {
			return got.Body
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Fatal("it is being written still")
	return ""
}

// Ensure that a sheet is shown first and written only when that is asked for.
func TestASheetIsShownThenWritten(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	at := upload(t, s, webtest.File{Name: "season.csv", Text: season})
	shown := s.Wants(at, http.StatusOK, "season.csv", "Write 2 sessions", "Orrin")
	webtest.CheckPage(t, at, shown)
	webtest.WantAll(t, at, written(t, s, at), "Added 2 sessions")
	if got := s.Get("/sessions"); !strings.Contains(got.Body, "Sallow Fork") {
		t.Error("the sessions are not in the journal")
	}
}

// Ensure that no page tells people what to type at a terminal.
func TestPagesKnowNoFlags(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	flag := regexp.MustCompile(`.{60}--[a-z]+.{20}`)
	sheets := []string{
		"date,notes\n2026-05-01,x\n",
		"date,angler,water,minutes,fish,tag,tangles\n04/05/2026,Orrin,Sallow Fork,60,2-3,700 mm,\n05/05/2026,Orrin,Sallow Fork,1500,2,7,0\n",
		"day,angler,water,time,fish,hookups,landed,LDR\n2026-05-01,Orrin,Sallow Fork,1.30,1,1,1,3\n2026-05-02,Orrin,Sallow Fork,1.30,1,1,1,3\n2026-05-03,Orin,Sallow Fork,1.30,1,1,1,3\n",
	}
	for _, name := range webtest.Got(filepath.Glob("../../testdata/samples/*.csv"))(t) {
		sheets = append(sheets, string(webtest.Got(os.ReadFile(name))(t)))
	}
	for i, text := range sheets {
		at := upload(t, s, webtest.File{Name: "sheet.csv", Text: text})
		if said := flag.FindAllString(s.Get(at).Body, -1); len(said) > 0 {
			t.Errorf("sheet %d: %q", i, said)
		}
	}
}

// Ensure that a sheet of which neither day, angler nor water is understood shows its columns, and is read once they are chosen.
func TestColumnsAreShownWhereNoneIsUnderstood(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	at := upload(t, s, webtest.File{Name: "odd.csv", Text: "Foo,Bar,Baz,Qux\n2026-05-01,Orrin,Sallow Fork,60\n2026-05-02,Orrin,Sallow Fork,90\n"})
	body := s.Wants(at, http.StatusOK, "No column has the day", "No column says who fished", "2026-05-01", "What “Foo” is", "What “Qux” is")
	if strings.Contains(body, `value="write"`) {
		t.Error("it can be written")
	}
	for n, as := range []string{"date", "angler", "water", "minutes"} {
		form := webtest.Fields(s.Get(at).Body)
		if got := s.Press(at, form, "read", map[string]string{fmt.Sprintf("f0.as%d", n): as}); got.Status != http.StatusSeeOther {
			t.Fatalf("%s: status %d", as, got.Status)
		}
	}
	webtest.WantAll(t, at, written(t, s, at), "Added 2 sessions")
}
