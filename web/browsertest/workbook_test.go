package browsertest

import (
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/xuri/excelize/v2"

	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/door"
	"rigtally/web/webtest"
)

// workbook is a season of a sheet a month, each with its title above, and a summary that holds no days.
func workbook(t *testing.T) string {
	t.Helper()
	f := excelize.NewFile()
	put := func(sheet string, rows ...[]any) {
		for i, row := range rows {
			webtest.Got(0, f.SetSheetRow(sheet, fmt.Sprintf("A%d", i+1), &row))(t)
		}
	}
	head := []any{"Date", "Who", "River", "Minutes", "Knot", "Tag (in)", "Landed", "Tangles", "Score"}
	for month, days := range map[string][][]any{
		"April": {{"2026-04-13", "Ilse", "Alder Brook", 90, "blood", 6.5, 3, 1, 4}, {"2026-04-14", "Ilsse", "Alder Brook", 60, "blood", 6.5, 0, 0, 2}},
		"May":   {{"2026-05-02", "Ilse", "Alder Brook", 75, "blood", 6.5, 1, 2, 3}, {"2026-05-09", "Ilsse", "Alder Brook", 45, "blood", 6.5, 0, 1, 5}},
	} {
		webtest.Got(f.NewSheet(month))(t)
		put(month, append([][]any{{month + " 2026"}, {}, head}, days...)...)
	}
	webtest.Got(0, f.SetSheetName("Sheet1", "Notes"))(t)
	put("Notes", []any{"Bring the long net"})
	path := filepath.Join(t.TempDir(), "season.xlsx")
	webtest.Got(0, f.SaveAs(path))(t)
	return path
}

// Ensure that a guide brings in a workbook of a sheet a month: chooses a column, says who is meant, sees what comes, writes
// it, and takes it back.
func TestBrowserAGuideBringsAWorkbookIn(t *testing.T) {
	t.Parallel()
	for _, size := range []screen{phone, laptop} {
		visitors := webtest.Visitors{}
		s := webtest.NewWith(t, visitors)
		b := &webtest.Book{Site: s}
		webtest.Got(s.Store.AnglerNamed(t.Context(), "Ilse"))(t)
		visitors["guide"] = door.Visitor{Outfit: s.Store.OutfitID(), Who: journal.Who{Role: journal.RoleGuide, Name: "Gerrit", Person: new(webtest.NewID(t))}}
		ctx := startBrowser(t, size, false)
		do(t, ctx, chromedp.Navigate(s.URL+"/shared/none"), chromedp.Evaluate[chromedp.Void](`document.cookie = "visitor=guide; path=/"; 0`))
		failOnPageErrors(t, ctx, false)
		look := looking(t, b, ctx, size)
		text := func() string {
			return evaluated[string](t, ctx, `document.querySelector("main").innerText`)
		}
		wants := func(parts ...string) {
			t.Helper()
			now := text()
			for _, part := range parts {
				if !strings.Contains(now, part) {
					t.Fatalf("%q is not on the page: %s", part, now)
				}
			}
		}
		do(t, ctx, chromedp.Navigate(s.URL+"/import"), chromedp.SetUploadFiles(chromedp.CSS("#file"), []string{workbook(t)}))
		press(t, ctx, "main .button-main")
		look("workbook-read")
		wants("“Score”", "To be said first", "Did you mean Ilse?")
		if strings.Contains(text(), "Write 4") {
			t.Fatal("what is open can be written")
		}
		choose(t, ctx, "Score", "-")
		choose(t, ctx, "“Ilsse” is", "Ilse")
		look("workbook-coming")
		wants("4 sessions are new")
		if names := anglers(t, b); names != "Ilse" || b.Sessions(t) > 0 {
			t.Fatalf("something was written that was only shown: %s", names)
		}
		press(t, ctx, button("write"))
		waitFor(ctx, t, "the end of writing", broughtIn)
		look("workbook-done")
		wants("season.xlsx", "Added 4 sessions")
		if n := b.Sessions(t); n != 4 {
			t.Fatalf("%d sessions, want 4", n)
		}
		press(t, ctx, `main form[action$="/back"] button`)
		look("workbook-back")
		wants("Taken back.", "What it wrote of 4 sessions is out of the journal again.")
		if n := b.Sessions(t); n > 0 || anglers(t, b) != "Ilse" {
			t.Errorf("taken back: %d sessions, anglers %s", n, anglers(t, b))
		}
	}
}

// Ensure that files are chosen and sent with the keyboard alone, with what has the focus to be seen.
func TestBrowserSendsASheetByKeyboard(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	ctx := openPlain(t, laptop, false)
	do(t, ctx, chromedp.Navigate(b.URL+"/import"), chromedp.Focus(chromedp.CSS("#file")))
	if evaluated[string](t, ctx, `getComputedStyle(document.activeElement).outlineStyle`) == "none" {
		t.Error("the focus on the picker is not seen")
	}
	do(t, ctx, chromedp.SetUploadFiles(chromedp.CSS("#file"), []string{file(t, "book.csv", kept)}), chromedp.KeyEvent("\t"))
	if evaluated[string](t, ctx, `document.activeElement.textContent`) != "Show how it is read" {
		t.Fatal("the button does not come next after the picker")
	}
	do(t, ctx, chromedp.KeyEvent("\r"))
	waitFor(ctx, t, "how it is read", `document.querySelector("h1").textContent === "How it is read"`)
}

// Ensure that a sheet that was corrected shows what changed in it, what was edited in the journal meanwhile, what came from
// elsewhere, what stands beside another and what is gone, before anything is written, and that the end tells of them.
func TestBrowserShowsWhatChanged(t *testing.T) {
	t.Parallel()
	const head = "date,angler,water,minutes,junction,tag_in,hookups,landed,tangles\n"
	row := func(day string, minutes, tangles int) string {
		return fmt.Sprintf("%s,Ilse,Alder Brook,%d,blood,6.5,3,2,%d\n", day, minutes, tangles)
	}
	for _, size := range []screen{phone, laptop} {
		b := webtest.NewBook(t)
		ctx := openPlain(t, size, false)
		look := looking(t, b, ctx, size)
		bring := func(name, text string) {
			t.Helper()
			do(t, ctx, chromedp.Navigate(b.URL+"/import"), chromedp.SetUploadFiles(chromedp.CSS("#file"), []string{file(t, name, text)}))
			press(t, ctx, "main .button-main")
		}
		write := func() string {
			t.Helper()
			press(t, ctx, button("write"))
			waitFor(ctx, t, "the end of writing", broughtIn)
			return evaluated[string](t, ctx, `document.querySelector("main").innerText`)
		}
		bring("other.csv", "date,angler,water,minutes,tangles\n2026-06-05,Ilse,Alder Brook,200,9\n2026-07-05,Ilse,Alder Brook,60,0\n2026-07-06,Ilse,Alder Brook,60,0\n") // another sheet
		write()
		bring("book.csv", head+row("2026-06-01", 60, 1)+row("2026-06-02", 90, 0)+row("2026-06-03", 45, 2))
		write()
		lines, _, err := b.Store.SessionLines(t.Context(), journal.SessionFilter{})
		b.Must(err)
		for _, l := range lines {
			if l.Day.String() == "2026-06-02" {
				edited := webtest.Got(b.Store.SessionByID(t.Context(), l.ID))(t)
				edited.Notes = "Corrected in the evening"
				edited.Stints[0].Minutes = new(80.0)
				_ = webtest.Got(b.Store.SaveSession(t.Context(), edited))(t)
			}
		}
		own := b.Session.Day.String()
		bring("book.csv", head+row("2026-06-01", 60, 4)+row("2026-06-02", 95, 0)+row("2026-06-05", 90, 1)+row(own, 30, 1))
		look("changed")
		now := evaluated[string](t, ctx, `document.querySelector("main").innerText`)
		for _, part := range []string{"Changed in the sheet since it was brought in", "Mon 1 June 2026", "Tangles: 1 → 4", "Changed in the sheet and in the journal", "Tue 2 June 2026",
			"In the journal from elsewhere", "Fri 5 June 2026", "Beside another session", prose.Day(b.Session.Day), "Not in the sheet any more", "Wed 3 June 2026"} {
			if !strings.Contains(strings.ToLower(now), strings.ToLower(part)) {
				t.Errorf("%q is not on the page: %s", part, now)
			}
		}
		do(t, ctx, chromedp.Evaluate[chromedp.Void](`window.before = true; 0`), chromedp.Click(named("f0.update")))
		waitFor(ctx, t, "the page read again", `!window.before && document.readyState === "complete" && Boolean(document.querySelector('[name="f0.update"]:checked'))`)
		look("changed-taken")
		done := write()
		look("changed-done")
		for _, part := range []string{"1 session was updated", "left as the journal has it", "Tue 2 June 2026", "from elsewhere", "Fri 5 June 2026", "no longer in the file", "Wed 3 June 2026"} {
			if !strings.Contains(done, part) {
				t.Errorf("the end does not tell %q: %s", part, done)
			}
		}
		do(t, ctx, chromedp.Navigate(b.URL+"/steps"))
		look("steps")
		do(t, ctx, chromedp.Navigate(b.URL+"/names"))
		look("names")
		do(t, ctx, chromedp.Navigate(b.URL+"/names/anglers/"+b.Angler.ID.String()))
		look("name")
		do(t, ctx, chromedp.Navigate(b.URL+"/rigs/"+b.One.ID.String()))
		look("rig")
	}
}

// Ensure that the pages of a sheet hold against the rules of axe-core in each of their states, and fit the smallest phone.
func TestBrowserAxeOnSheets(t *testing.T) {
	t.Parallel()
	source := axe(t)
	b := webtest.NewBook(t)
	const head = "date,angler,water,minutes,junction,tag_in,hookups,landed,tangles\n"
	send := func(name, text string) string {
		t.Helper()
		got := b.Upload("/import", nil, webtest.File{Name: name, Text: text})
		if got.Status != http.StatusSeeOther {
			t.Fatalf("%s: status %d", name, got.Status)
		}
		return got.Header.Get("Location")
	}
	first := send("book.csv", head+"2026-06-01,Ilse,Alder Brook,60,blood,6.5,3,2,1\n2026-06-02,Ilse,Alder Brook,60,blood,6.5,3,2,1\n")
	b.Press(first, webtest.Fields(b.Get(first).Body), "write", nil)
	ctx := openPlain(t, phone, false)
	do(t, ctx, chromedp.Navigate(b.URL+first))
	waitFor(ctx, t, "the end of writing", broughtIn)
	open := webtest.Got(os.ReadFile(workbook(t)))(t)
	for _, at := range []string{"/import", first,
		send("season.xlsx", string(open)),
		send("book.csv", head+"2026-06-01,Ilse,Alder Brook,60,blood,6.5,3,2,5\n2026-06-03,Jonna,Alder Brook,-5,granny,6.5,3,2,1\n"),
		"/steps", "/steps/" + webtest.Got(b.Store.Steps(t.Context(), 1))(t)[0].ID.String(), "/names", "/names/anglers/" + b.Angler.ID.String()} {
		lookAt(t, ctx, b.URL, at, source, len(looks))
	}
}
