package browsertest

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/xml"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/chromedp"

	"rigtally/journal"
	"rigtally/web/webtest"
)

// downloads keeps what the browser saves in a folder of the test.
func downloads(ctx context.Context, t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	params := browser.SetDownloadBehaviorParams{Behavior: browser.SetDownloadBehaviorBehaviorAllow, DownloadPath: dir, BrowserContextID: chromedp.FromContext(ctx).BrowserContextID}
	if _, err := chromedp.CallBrowser(ctx, browser.SetDownloadBehavior, params); err != nil {
		t.Fatal(err)
	}
	return dir
}

// saved waits for a file to be written whole and reads it.
func saved(t *testing.T, dir, name string) []byte {
	t.Helper()
	for begin := time.Now(); time.Since(begin) < patience; time.Sleep(50 * time.Millisecond) {
		if text, err := os.ReadFile(filepath.Join(dir, name)); err == nil && len(text) > 0 {
			return text
		}
	}
	list, _ := os.ReadDir(dir)
	t.Fatalf("%s was not saved within %v; there are %v", name, patience, list)
	return nil
}

// svgWords reads an SVG as XML and returns its size and all its text.
func svgWords(t *testing.T, text []byte) (width, height, words string) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(text))
	var all strings.Builder
	for {
		token, err := d.Token()
		if err == io.EOF {
			return width, height, all.String()
		}
		if err != nil {
			t.Fatalf("the picture is not XML: %v", err)
		}
		switch e := token.(type) {
		case xml.StartElement:
			if width == "" {
				if e.Name.Local != "svg" || e.Name.Space != "http://www.w3.org/2000/svg" {
					t.Fatalf("the picture begins with %v", e.Name)
				}
				for _, a := range e.Attr {
					switch a.Name.Local {
					case "width":
						width = a.Value
					case "height":
						height = a.Value
					}
				}
			}
			for _, a := range e.Attr {
				if a.Name.Local == "style" || strings.Contains(a.Value, "url(http") {
					t.Errorf("%s has %s=%q, which other programs may not understand", e.Name.Local, a.Name.Local, a.Value)
				}
			}
		case xml.CharData:
			all.WriteString(string(e) + " ")
		}
	}
}

// The saved picture is whole: what the chart shows, the answer in a sentence,
// the key and whose numbers they are; and it is on white in the dark scheme too.
func TestSavePictures(t *testing.T) {
	t.Parallel()
	s := chartSite(t)
	for _, size := range []screen{phone, laptop} {
		ctx := openPlain(t, size, true)
		dir := downloads(ctx, t)
		on(ctx, t, chromedp.Navigate(s.URL+"/findings?outcome=tangles&by=junction"))
		word(ctx, t, "0.50")
		on(ctx, t, chromedp.Click(`[data-save="svg"]`))
		width, height, words := svgWords(t, saved(t, dir, "tangles-by-junction.svg"))
		if width != "960" {
			t.Errorf("the picture is %s wide", width)
		}
		webtest.WantAll(t, "the picture", strings.Join(strings.Fields(words), " "), "Times the tangles per hour of figure-eight", "0.50", "figure-eight", "blood", "Source: the journal of Invented Outfit", "can't tell yet")
		if size == phone {
			continue
		}
		on(ctx, t, chromedp.Click(`[data-save="png"]`))
		picture, err := png.Decode(bytes.NewReader(saved(t, dir, "tangles-by-junction.png")))
		if err != nil {
			t.Fatal(err)
		}
		if got := picture.Bounds().Dx(); got != 1920 {
			t.Errorf("the PNG of %s by %s is %d wide, want 1920", width, height, got)
		}
		if r, g, b, a := picture.At(3, 3).RGBA(); r != 0xffff || g != 0xffff || b != 0xffff || a != 0xffff {
			t.Errorf("the PNG's ground is %x %x %x %x, want white", r, g, b, a)
		}
	}
}

// The numbers of a chart are those of the table below it, row by row.
func TestNumbersOfAChartAreTheTables(t *testing.T) {
	t.Parallel()
	s := chartSite(t)
	ctx := openPlain(t, laptop, false)
	dir := downloads(ctx, t)
	on(ctx, t, chromedp.Navigate(s.URL+"/findings?outcome=tangles&by=junction"))
	word(ctx, t, "0.50")
	names, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](`[...document.querySelectorAll('.numbers tbody tr')].map((tr) => tr.querySelector("th").textContent + " " + tr.querySelector("td").firstChild.textContent)`))
	if err != nil {
		t.Fatal(err)
	}
	on(ctx, t, chromedp.Click(`.chart-keep a[href$="findings.csv?outcome=tangles&by=junction"]`))
	rows, err := csv.NewReader(bytes.NewReader(saved(t, dir, "tangles-by-junction.csv"))).ReadAll()
	if err != nil || len(rows) != len(names)+1 {
		t.Fatalf("%d rows for %d in the table (%v)", len(rows), len(names), err)
	}
	rate := 0
	for i, head := range rows[0] {
		if head == "rate" {
			rate = i
		}
	}
	for i, name := range names {
		if got := rows[i+1][0] + " " + rows[i+1][rate]; !strings.HasPrefix(name, got) && !strings.HasPrefix(got, strings.TrimRight(name, "0")) {
			t.Errorf("row %d is %q in the table and %q in the file", i, name, got)
		}
	}
}

// The board of claims, which the page draws in parts, is one picture too.
func TestSaveTheBoard(t *testing.T) {
	t.Parallel()
	s := chartSite(t)
	ctx := openPlain(t, phone, false)
	dir := downloads(ctx, t)
	on(ctx, t, chromedp.Navigate(s.URL+"/claims"))
	on(ctx, t, chromedp.Click(`[data-save="svg"]`))
	_, _, words := svgWords(t, saved(t, dir, "claims.svg"))
	text := strings.Join(strings.Fields(words), " ")
	for _, c := range journal.StartingClaims() {
		for _, word := range strings.Fields(c.Words) {
			if !strings.Contains(text, word) {
				t.Errorf("the picture lacks %q of %q", word, c.Words)
			}
		}
	}
	rows, err := csv.NewReader(strings.NewReader(s.Page("/claims.csv", 200))).ReadAll()
	if err != nil || len(rows) != len(journal.StartingClaims())+1 {
		t.Errorf("%d rows of numbers for %d claims (%v)", len(rows), len(journal.StartingClaims()), err)
	}
}

// Whatever page a chart stands on, it can be saved.
func TestSaveEveryFigure(t *testing.T) {
	t.Parallel()
	chartSite(t) // or skip
	s := webtest.SmallSeason(t, 80)
	ctx := openPlain(t, laptop, true)
	dir := downloads(ctx, t)
	pages := chartPages(s)
	for pattern, path := range walkedPages(s) {
		if strings.HasPrefix(pattern, "GET /trials/{id}") || strings.HasPrefix(pattern, "GET /bench/water") {
			pages = append(pages, path)
		}
	}
	figures := 0
	for _, path := range pages {
		on(ctx, t, chromedp.Navigate(s.URL+path))
		waitFor(ctx, t, "the page "+path, settled)
		names, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](`[...document.querySelectorAll("figure.chart [data-save=svg]")].map((b) => { b.click(); return b.closest("figure").dataset.file; })`))
		if err != nil {
			t.Fatal(err)
		}
		waitFor(ctx, t, "each figure of "+path+" is saved", `[...document.querySelectorAll("figure.chart .chart-kept")].every((e) => e.textContent === "Saved.")`)
		for _, name := range names {
			figures++
			if _, _, words := svgWords(t, saved(t, dir, name+".svg")); !strings.Contains(words, "Source: ") {
				t.Errorf("%s: the picture %s does not say whose numbers it shows", path, name)
			}
		}
	}
	if figures < 8 {
		t.Errorf("only %d figures were found", figures)
	}
}

func walkedPages(s *webtest.Site) map[string]string {
	pages, _ := webtest.Walk(s)
	return pages
}
