package browsertest

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"rigtally/web/webtest"
)

// kept is a sheet as a guide keeps it: a column of members, one of marks, and an angler who is misspelt once.
const kept = "Date,Member,River,Rod time,Knot,Tag (in),Fish,Tangles,Score\n" +
	"04/13/2026,Ilse,Alder Brook,90 min,blood,6.5,3,1,4\n" +
	"04/14/2026,Ilsse,Alder Brook,60 min,blood,6.5,0,0,2\n" +
	"04/15/2026,Jonna,Alder Brook,60 min,granny,7,2,3,5\n"

// broughtIn is true once the page that follows by itself on a writing has loaded whole, so that no press waits for its load.
const broughtIn = `document.querySelector("h1").textContent === "Brought in" && performance.getEntriesByType("navigation")[0].loadEventEnd > 0`

// Ensure that somebody gets from a picked file to sessions in the journal and back again, on both screens.
func TestBrowserBringsASheetIn(t *testing.T) {
	t.Parallel()
	for _, size := range []screen{phone, laptop} {
		b := webtest.NewBook(t)
		had := b.Sessions(t)
		ctx := openPlain(t, size, false)
		look := looking(t, b, ctx, size)
		do(t, ctx, chromedp.Navigate(b.URL+"/import"))
		look("import")
		do(t, ctx, chromedp.SetUploadFiles(chromedp.CSS("#file"), []string{file(t, "book.csv", kept)}))
		press(t, ctx, "main .button-main")
		look("import-read")
		// What is not understood is marked, and can be chosen.
		choose(t, ctx, "Member", "angler")
		choose(t, ctx, "Score", "-")
		look("import-chosen")
		if body := evaluated[string](t, ctx, `document.querySelector("main").innerText`); !strings.Contains(body, "Did you mean Ilse?") || strings.Contains(body, "Write ") {
			t.Fatalf("a misspelt angler is not asked about: %s", body)
		}
		choose(t, ctx, "“Ilsse” is", "Ilse")
		look("import-coming")
		press(t, ctx, button("write"))
		waitFor(ctx, t, "the end of writing", broughtIn)
		look("import-done")
		if n := b.Sessions(t); n != had+3 {
			t.Fatalf("%d sessions, want %d", n, had+3)
		}
		if names := anglers(t, b); names != "Ilse, Jonna" {
			t.Errorf("the anglers are %s", names)
		}
		// The same sheet again is read as before, and adds nothing.
		do(t, ctx, chromedp.Navigate(b.URL+"/import"))
		do(t, ctx, chromedp.SetUploadFiles(chromedp.CSS("#file"), []string{file(t, "book.csv", kept)}))
		press(t, ctx, "main .button-main")
		choose(t, ctx, "“Ilsse” is", "Ilse")
		look("import-again")
		if body := evaluated[string](t, ctx, `document.querySelector("main").innerText`); !strings.Contains(body, "the journal has all of it") {
			t.Errorf("the same sheet again: %s", body)
		}
		// It is taken back whole.
		do(t, ctx, chromedp.Navigate(b.URL+"/import"))
		look("import-before")
		press(t, ctx, `main .rows a[href^="/steps/"]`)
		look("step")
		press(t, ctx, `main form .button-main`)
		look("step-back")
		if n := b.Sessions(t); n != had || anglers(t, b) != "Ilse" {
			t.Errorf("taken back: %d sessions, want %d; anglers %s", n, had, anglers(t, b))
		}
	}
}

func anglers(t *testing.T, b *webtest.Book) string {
	t.Helper()
	var names []string
	for _, a := range webtest.Got(b.Store.Anglers(t.Context()))(t) {
		names = append(names, a.Name)
	}
	slices.Sort(names)
	return strings.Join(names, ", ")
}

// choose chooses of a list by the words before its name, and waits for the page that follows.
func choose(t *testing.T, ctx context.Context, what, value string) {
	t.Helper()
	name := evaluated[string](t, ctx, fmt.Sprintf(`[...document.querySelectorAll("main select")].find((s) => (s.ariaLabel ?? s.labels[0]?.textContent ?? "").includes(%q))?.id ?? ""`, what))
	if name == "" {
		t.Fatalf("nothing is to be chosen of %q: %s", what, evaluated[string](t, ctx, `document.querySelector("main").innerText`))
	}
	do(t, ctx, chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`{ window.before = true; const s = document.getElementById(%q); s.value = %q; s.dispatchEvent(new Event("change", { bubbles: true })); 0 }`, name, value)))
	waitFor(ctx, t, "the page read again", `!window.before && document.readyState === "complete"`)
}

// file is a file that a browser can pick.
func file(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// looking holds a page against the screen, and takes its picture where LOOK names a folder, on a screen as high as the
// page, so that what is fixed to its foot stays there.
func looking(t *testing.T, b *webtest.Book, ctx context.Context, size screen) func(step string) {
	return func(step string) {
		t.Helper()
		if evaluated[bool](t, ctx, `document.documentElement.scrollWidth > innerWidth`) {
			t.Errorf("%s is wider than the screen of %d", step, size.width)
		}
		if dir := os.Getenv("LOOK"); dir != "" {
			do(t, ctx, chromedp.EmulateViewport(size.width, max(size.height, evaluated[int64](t, ctx, `document.documentElement.scrollHeight`))))
			png, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
			b.Must(err)
			b.Must(os.WriteFile(fmt.Sprintf("%s/%s-%d.png", dir, step, size.width), png, 0o644))
			do(t, ctx, chromedp.EmulateViewport(size.width, size.height))
		}
	}
}
