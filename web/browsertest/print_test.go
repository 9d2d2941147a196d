package browsertest

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"rigtally/journal"
	"rigtally/web/webtest"
)

var mediaBox = regexp.MustCompile(`/MediaBox \[0 0 ([0-9.]+) `)

// paper is a sheet in inches, and what 15 mm margins leave of it in CSS px
// (96 to the inch): A4 is 210 by 297 mm (ISO 216), Letter 8.5 by 11 in.
type paper struct {
	name          string
	width, height float64
}

var papers = []paper{{"A4", 210 / 25.4, 297 / 25.4}, {"Letter", 8.5, 11}}

const margins = 2 * 15 / 25.4 // inches

func (p paper) room() (width, height float64) {
	return 96 * (p.width - margins), 96 * (p.height - margins)
}

// manyRigs logs a session with each of so many rigs.
func manyRigs(s *webtest.Site, n int) {
	s.T.Helper()
	ctx := s.T.Context()
	a, err := s.Store.AnglerNamed(ctx, "Orrin")
	s.Must(err)
	w, _, err := s.Store.WaterNamed(ctx, "Sallow Fork", "")
	s.Must(err)
	day := time.Date(2026, time.July, 1, 18, 0, 0, 0, time.UTC)
	dropper, minutes := 1, 90
	for i := range n {
		rig, err := s.Store.SaveRig(ctx, journal.Rig{ID: webtest.NewID(s.T), Name: fmt.Sprintf("Rig of many %d", i+1), Positions: []journal.RigPosition{{Position: 0}, {Position: 1, Hang: journal.HangTag, Junction: "blood", TagLengthMM: new(150.0)}}})
		s.Must(err)
		_, err = s.Store.SaveSession(ctx, journal.Session{ID: webtest.NewID(s.T), AnglerID: a.ID, WaterID: w.ID, Day: journal.DateOf(day), TimeZone: w.TimeZone, LoggedAt: day,
			Stints: []journal.Stint{{ID: webtest.NewID(s.T), RigID: rig.ID, Minutes: new(float64(minutes)), Events: []journal.Event{{Kind: journal.EventTangle, Count: 1 + i%3, TangleKind: journal.Twist, Position: &dropper}}}}})
		s.Must(err)
	}
}

// printed emulates a sheet and fires what a browser fires before it prints,
// then measures: the height of the figure, how far the page reaches to the
// right, and the colour of the chart's words.
func printed(ctx context.Context, t *testing.T, p paper) (figure, right float64, ink string) {
	t.Helper()
	width, height := p.room()
	if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"}); err != nil {
		t.Fatal(err)
	}
	on(ctx, t, chromedp.EmulateViewport(int64(width), int64(height)))
	got, err := chromedp.Run(ctx, chromedp.Evaluate[[]any](`new Promise((done) => {
		window.dispatchEvent(new Event("beforeprint"));
		requestAnimationFrame(() => requestAnimationFrame(() => {
			const figure = document.querySelector("figure.chart");
			const key = figure.querySelector(".chart-key");
			const drawn = [...figure.querySelectorAll(".drawn")].find((e) => e.getClientRects().length);
			const frame = drawn.getBoundingClientRect();
			const bottom = Math.max(frame.bottom, key ? key.getBoundingClientRect().bottom : 0);
			const right = Math.max(frame.right, document.documentElement.scrollWidth, ...[...document.querySelectorAll("table")].map((t) => t.getBoundingClientRect().right));
			done([bottom - figure.getBoundingClientRect().top, right, getComputedStyle(drawn.querySelector("text")).fill]);
		}));
	})`, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "screen"}); err != nil { // the next page is seen before it is printed
		t.Fatal(err)
	}
	return got[0].(float64), got[1].(float64), got[2].(string)
}

// A chart is on one sheet with its key, whatever its size on the screen was, and
// nothing reaches beyond the margins. Dark screens print in ink too.
func TestChartsPrintOnOneSheet(t *testing.T) {
	t.Parallel()
	s := chartSite(t)
	manyRigs(s, 44)
	for _, p := range papers {
		ctx := openPlain(t, phone, true)
		for _, path := range []string{"/findings", "/findings?by=rig", "/findings?by=junction&given=angler", crossedAddress, "/findings?by=rig&by=junction", "/tag-length", "/curve?over=tag-length"} {
			on(ctx, t, chromedp.Navigate(s.URL+path))
			waitFor(ctx, t, "the chart of "+path, settled)
			tall, right, ink := printed(ctx, t, p)
			width, height := p.room()
			if tall > height || tall < 200 {
				t.Errorf("%s: %s with its key is %.0f px tall on a sheet of %.0f", p.name, path, tall, height)
			}
			if right > width+1 {
				t.Errorf("%s: %s reaches %.0f px to the right on a sheet of %.0f", p.name, path, right, width)
			}
			if c := contrast(colourHex(t, ink), "ffffff"); c < 4.5 {
				t.Errorf("%s: %s is written in %s on white paper, %.1f:1", p.name, path, ink, c)
			}
		}
	}
}

// The charts of the other pages print as whole.
func TestOtherChartsPrintOnOneSheet(t *testing.T) {
	t.Parallel()
	chartSite(t) // or skip
	s := webtest.SmallSeason(t, 80)
	pages := map[string]string{"/planner": "/planner", "/life": "/life", "/bench": "/bench"}
	for pattern, path := range walkedPages(s) {
		if pattern == "GET /trials/{id}" || pattern == "GET /bench/water" {
			pages[path] = path
		}
	}
	for _, p := range papers {
		ctx := openPlain(t, laptop, true)
		for _, path := range pages {
			on(ctx, t, chromedp.Navigate(s.URL+path))
			waitFor(ctx, t, "the chart of "+path, settled+` && Boolean(document.querySelector(".chart-frame text"))`)
			tall, right, ink := printed(ctx, t, p)
			width, height := p.room()
			if tall > height {
				t.Errorf("%s: %s with its key is %.0f px tall on a sheet of %.0f", p.name, path, tall, height)
			}
			if right > width+1 {
				t.Errorf("%s: %s reaches %.0f px to the right on a sheet of %.0f", p.name, path, right, width)
			}
			if c := contrast(colourHex(t, ink), "ffffff"); c < 4.5 {
				t.Errorf("%s: %s is written in %s on white paper, %.1f:1", p.name, path, ink, c)
			}
		}
	}
}

// A printed answer is a few sheets with how it was computed and nothing to tap, and afterwards the screen is as it was.
func TestAnswersPrintToPDF(t *testing.T) {
	t.Parallel()
	s := chartSite(t)
	ctx := openPlain(t, laptop, false)
	on(ctx, t, chromedp.Navigate(s.URL+"/findings?by=junction&by=bulk"))
	waitFor(ctx, t, "the chart", settled)
	const size = `(() => { const r = document.querySelector(".drawn").getBoundingClientRect(); return [r.width, r.height]; })()`
	before, err := chromedp.Run(ctx, chromedp.Evaluate[[]float64](size))
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range papers {
		pdf, err := chromedp.Call(ctx, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: p.width, PaperHeight: p.height, PreferCSSPageSize: new(true)})
		if err != nil {
			t.Fatal(err)
		}
		sheets := bytes.Count(pdf.Data, []byte("/Type /Page\n"))
		if sheets < 1 || sheets > 3 {
			t.Errorf("%s: %d sheets", p.name, sheets)
		}
		for _, box := range mediaBox.FindAllSubmatch(pdf.Data, -1) { // in points, 72 to the inch
			if wide, err := strconv.ParseFloat(string(box[1]), 64); err != nil || math.Abs(wide-72*p.width) > 1 {
				t.Errorf("%s: a sheet is %s points wide, want %.0f", p.name, box[1], 72*p.width)
			}
		}
	}
	media := func(kind string) {
		if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: kind}); err != nil {
			t.Fatal(err)
		}
	}
	media("print")
	if seen := evaluated[[]string](t, ctx, `[...document.querySelectorAll("button, select, input, .tabs, .foot, .card-more, .hand-on, .no-print, .method p:last-child")].filter((e) => e.checkVisibility()).map((e) => e.closest(".method") ? "how" : e.outerHTML.slice(0, 80))`); !slices.Equal(seen, []string{"how"}) {
		t.Errorf("on paper, of what is to tap and how it was computed, there is %q; want how alone", seen)
	}
	media("")
	waitFor(ctx, t, "the chart as it was", fmt.Sprintf(`Math.abs(%s[0] - %g) < 2 && !document.querySelector("details.method").open`, size, before[0]))
}

// Without script a person has the drawing, the table and the numbers, and nothing that needs script.
func TestChartsWithoutScript(t *testing.T) {
	t.Parallel()
	s := chartSite(t)
	ctx := openPlain(t, phone, false)
	if _, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
		t.Fatal(err)
	}
	on(ctx, t, chromedp.Navigate(s.URL+crossedAddress))
	waitFor(ctx, t, "the drawing and the table", `(() => {
		const seen = (e) => Boolean(e && e.getClientRects().length);
		const [table, frame, saves, numbers] = [".phone-rows", ".chart-frame .drawn rect", ".chart-saves", ".chart-keep a[href*='.csv']"].map((s) => document.querySelector(s));
		return seen(table) && seen(frame) && !seen(saves) && seen(numbers) && !seen(document.querySelector(".hand-on"));
	})()`)
}

// The link of a question can be copied.
func TestCopyLink(t *testing.T) {
	t.Parallel()
	s := chartSite(t)
	ctx := openPlain(t, laptop, false)
	asked := s.URL + crossedAddress
	on(ctx, t, chromedp.Navigate(asked), chromedp.Click("[data-copy]"))
	waitFor(ctx, t, "what came of it is said", `document.querySelector(".hand-on [role=status]").textContent.startsWith("The link ")`)
}

func colourHex(t *testing.T, text string) string {
	t.Helper()
	if hex, ok := strings.CutPrefix(text, "#"); ok {
		return hex
	}
	var r, g, b int
	if _, err := fmt.Sscanf(text, "rgb(%d,%d,%d)", &r, &g, &b); err != nil {
		t.Fatalf("colour %q: %v", text, err)
	}
	return fmt.Sprintf("%02x%02x%02x", r, g, b)
}

// A season is two sheets of A4 or Letter, each at least two thirds full and nothing cut: the outfit's, a client's with
// a note, and that of one who fished many rigs.
func TestSeasonPrintsOnTwoSheets(t *testing.T) {
	t.Parallel()
	s := webtest.SmallSeason(t, 150)
	manyRigs(s, 30)
	ctx := openPlain(t, laptop, true)
	for _, address := range []string{s.URL + "/season", s.URL + "/season?angler=Fen+Amberquist", reviewFileOf(t, s, "?angler=Fen+Amberquist&note="+strings.Repeat("Come+back+in+June.+", 12)), reviewFileOf(t, s, "?angler=Orrin&names=out&waters=blurred")} {
		on(ctx, t, chromedp.EmulateViewport(laptop.width, laptop.height), chromedp.Navigate(address))
		for _, p := range papers {
			pdf, err := chromedp.Call(ctx, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: p.width, PaperHeight: p.height, PreferCSSPageSize: new(true)})
			if err != nil {
				t.Fatal(err)
			}
			if sheets := bytes.Count(pdf.Data, []byte("/Type /Page\n")); sheets != 2 {
				t.Errorf("%s: %s prints on %d sheets", p.name, address, sheets)
			}
			for _, what := range sheetsOf(ctx, t, p) {
				t.Errorf("%s: %s: %s", p.name, address, what)
			}
		}
	}
}

// sheetsOf lays a season out as on paper with its margins of 10 and 14 mm, and tells what is wrong: a sheet that is more
// than a page or whose parts fill less than two thirds of one, and what reaches beyond its side.
func sheetsOf(ctx context.Context, t *testing.T, p paper) []string {
	t.Helper()
	const mm = 96 / 25.4
	if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"}); err != nil {
		t.Fatal(err)
	}
	defer func() {
		if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{}); err != nil {
			t.Fatal(err)
		}
	}()
	on(ctx, t, chromedp.EmulateViewport(int64(96*p.width-28*mm), int64(96*p.height-20*mm)))
	return evaluated[[]string](t, ctx, `(() => {
		const wrong = [], sheets = [...document.querySelectorAll(".review-sheet")];
		if (sheets.length !== 2) wrong.push(sheets.length + " sheets");
		sheets.forEach((sheet, i) => {
			const full = [...sheet.children].reduce((sum, e) => sum + e.getBoundingClientRect().height, 0) / innerHeight;
			if (full < 2 / 3) wrong.push("sheet " + (i + 1) + " is " + full + " full");
			const box = sheet.getBoundingClientRect();
			if (box.height > innerHeight) wrong.push("sheet " + (i + 1) + " is " + box.height + " px high on a page of " + innerHeight);
			for (const e of sheet.querySelectorAll("table, p, h1, h3, svg, td")) {
				if (e.getBoundingClientRect().right > box.right + 1) wrong.push(e.outerHTML.slice(0, 60) + " is too wide");
			}
		});
		if (getComputedStyle(document.documentElement).getPropertyValue("--paper").trim() !== "#fff") wrong.push("the paper is not white");
		return wrong;
	})()`)
}
