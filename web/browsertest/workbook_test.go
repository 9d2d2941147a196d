package browsertest

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/xuri/excelize/v2"

	"rigtally/journal"
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
		waitFor(ctx, t, "the end of writing", `document.querySelector("h1").textContent === "Brought in"`)
		look("workbook-done")
		wants("season.xlsx", "Added 4 sessions")
		if n := b.Sessions(t); n != 4 {
			t.Fatalf("%d sessions, want 4", n)
		}
		press(t, ctx, `main form[action$="/back"] button`)
		look("workbook-back")
		wants("Taken back.", "4 sessions are as before it.")
		if n := b.Sessions(t); n > 0 || anglers(t, b) != "Ilse" {
			t.Errorf("taken back: %d sessions, anglers %s", n, anglers(t, b))
		}
	}
}

// Ensure that files are chosen and sent with the keyboard alone, with what has the focus to be seen.
func TestBrowserSendsASheetByKeyboard(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	ctx := openBrowser(t, laptop, false)
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
