package browsertest

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"rigtally/web/webtest"
)

// A season is chosen, shared without names, and fits both screens.
func TestBrowserReviewsASeason(t *testing.T) {
	t.Parallel()
	s := webtest.SmallSeason(t, 60)
	for _, tt := range []struct {
		name string
		on   screen
		dark bool
	}{{"phone", phone, true}, {"desktop", laptop, false}} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			ctx := openBrowser(t, tt.on, tt.dark)
			do(t, ctx, chromedp.Navigate(s.URL+"/season"), chromedp.SetValue(chromedp.CSS("#angler"), "Fen Amberquist"),
				chromedp.Click(chromedp.CSS(`[name="names"]`)), chromedp.Click(chromedp.CSS(`[name="waters"]`)))
			press(t, ctx, chromedp.CSS(".season-ask button"))
			where, err := chromedp.Run(ctx, chromedp.Location())
			if err != nil || !strings.Contains(where, "names=out") || !strings.Contains(where, "waters=blurred") {
				t.Fatalf("%s, %v", where, err)
			}
			text, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.querySelector(".review").innerText`))
			if err != nil || !strings.Contains(text, "The angler landed") || strings.Contains(text, "Amberquist") || strings.Contains(text, "Oxbane") {
				t.Errorf("shared: %v\n%s", err, text)
			}
			list, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](small))
			if err != nil {
				t.Fatal(err)
			}
			for _, what := range list {
				t.Error(what)
			}
			drawn, err := chromedp.Run(ctx, chromedp.Evaluate[[]float64](figuresInside))
			if err != nil || len(drawn) == 0 {
				t.Fatalf("%v figures, %v", drawn, err)
			}
			for i, beyond := range drawn {
				if beyond > 1 {
					t.Errorf("figure %d is drawn %g px beyond its place", i, beyond)
				}
			}
		})
	}
}

// figuresInside tells how far each figure's marks and words reach beyond it.
const figuresInside = `[...document.querySelectorAll(".drawn")].map((svg) => {
	const place = svg.getBoundingClientRect();
	return Math.max(0, ...[...svg.querySelectorAll("text, line, circle, rect")].filter((e) => e.getClientRects().length).map((e) => {
		const r = e.getBoundingClientRect();
		return Math.max(r.right - place.right - 8, place.left - r.left - 8, r.bottom - place.bottom - 2, place.top - r.top - 2);
	}));
})`

// reviewFileOf saves the review of an angler of the site and returns its address.
func reviewFileOf(t *testing.T, s *webtest.Site, query string) string {
	t.Helper()
	got := s.Get("/season.html" + query)
	if got.Status != http.StatusOK {
		t.Fatalf("status %d", got.Status)
	}
	name := filepath.Join(t.TempDir(), "review.html")
	if err := os.WriteFile(name, []byte(got.Body), 0o600); err != nil {
		t.Fatal(err)
	}
	return (&url.URL{Scheme: "file", Path: name}).String()
}

// The file shows its charts from a folder, without a network, and asks for nothing.
func TestBrowserOpensTheSeasonFileOffline(t *testing.T) {
	t.Parallel()
	address := reviewFileOf(t, webtest.SmallSeason(t, 60), "?angler=Fen+Amberquist")
	for _, on := range []screen{phone, laptop} {
		ctx := openBrowser(t, on, on == phone)
		asked := make(chan string, 100)
		err := chromedp.Listen(ctx, func(event any) {
			if e, ok := event.(*network.EventRequestWillBeSent); ok {
				asked <- e.Request.URL
			}
		})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := chromedp.Call(ctx, network.Enable, network.EnableParams{}); err != nil {
			t.Fatal(err)
		}
		if _, err := chromedp.Call(ctx, network.EmulateNetworkConditionsByRule, network.EmulateNetworkConditionsByRuleParams{
			MatchedNetworkConditions: []*network.Conditions{{Offline: true, DownloadThroughput: -1, UploadThroughput: -1}}}); err != nil {
			t.Fatal(err)
		}
		do(t, ctx, chromedp.Navigate(address))
		seen, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](`[...document.querySelectorAll(".drawn")].map((svg) => {
			const r = svg.getBoundingClientRect();
			const mark = svg.querySelector("circle");
			return r.width > 300 && r.height > 100 && mark && getComputedStyle(mark).strokeWidth !== "" ? "drawn" : "missing " + r.width + " by " + r.height;
		}).concat(document.documentElement.scrollWidth > innerWidth ? ["too wide"] : [], getComputedStyle(document.querySelector(".review-part")).borderTopStyle === "solid" ? [] : ["no style"])`))
		if err != nil || len(seen) < 4 {
			t.Fatalf("%v, %v", seen, err)
		}
		for _, what := range seen {
			if what != "drawn" {
				t.Errorf("%d px: %s", on.width, what)
			}
		}
		close(asked)
		for address := range asked {
			if !strings.HasPrefix(address, "file:") || !strings.HasSuffix(address, "review.html") {
				t.Errorf("the file asks for %s", address)
			}
		}
	}
}

// On A4 and Letter every figure is smaller than a page and is kept whole, so that
// no chart is cut; and it prints to as many pages as it should.
func TestBrowserPrintsTheSeason(t *testing.T) {
	t.Parallel()
	s := webtest.SmallSeason(t, 60)
	for _, address := range []string{reviewFileOf(t, s, "?angler=Fen+Amberquist"), s.URL + "/season"} {
		ctx := openBrowser(t, laptop, true)
		do(t, ctx, chromedp.Navigate(address))
		for _, paper := range []struct {
			name          string
			width, height float64 // inches
		}{{"A4", 210 / 25.4, 297 / 25.4}, {"Letter", 8.5, 11}} {
			seasonPrinted(t, ctx, paper.name, paper.width, paper.height)
		}
	}
}

// margin is that of the style, 14 mm, in CSS pixels of 1/96 inch.
const printMargin = 14 / 25.4 * 96

func seasonPrinted(t *testing.T, ctx context.Context, name string, width, height float64) {
	t.Helper()
	pdf, err := chromedp.Call(ctx, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: width, PaperHeight: height, PreferCSSPageSize: new(true)})
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.HasPrefix(pdf.Data, []byte("%PDF")) {
		t.Errorf("%s: no PDF", name)
	}
	if pages := bytes.Count(pdf.Data, []byte("/Type /Page\n")); pages < 3 || pages > 20 {
		t.Errorf("%s: %d pages", name, pages)
	}
	// The same layout on a screen as wide as the page's text.
	if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"}); err != nil {
		t.Fatal(err)
	}
	defer func() {
		if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: ""}); err != nil {
			t.Fatal(err)
		}
	}()
	inside := int64(width*96 - 2*printMargin)
	do(t, ctx, chromedp.EmulateViewport(inside, 1000))
	list, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](fmt.Sprintf(`(() => {
		const list = [];
		for (const f of document.querySelectorAll(".review-figure")) {
			const r = f.getBoundingClientRect();
			if (r.height > %f) list.push(f.id + " is " + r.height + " px high");
			if (getComputedStyle(f).breakInside !== "avoid") list.push(f.id + " may be cut");
			if (r.right > innerWidth + 1) list.push(f.id + " is too wide");
		}
		for (const table of document.querySelectorAll(".review-table")) {
			if (table.getBoundingClientRect().right > innerWidth + 1) list.push(table.caption.textContent + " is " + table.getBoundingClientRect().right + " px wide of " + innerWidth);
		}
		const paper = getComputedStyle(document.documentElement).getPropertyValue("--paper").trim();
		if (paper !== "#fff") list.push("the paper is " + paper);
		return list;
	})()`, height*96-2*printMargin)))
	if err != nil {
		t.Fatal(err)
	}
	for _, what := range list {
		t.Errorf("%s: %s", name, what)
	}
}

// The file by itself is read by everyone, as every page is.
func TestBrowserAxeFindsNoViolationInTheSeasonFile(t *testing.T) {
	t.Parallel()
	source := axe(t)
	s := webtest.SmallSeason(t, 60)
	ctx := openBrowser(t, phone, false)
	lookAt(t, ctx, "", reviewFileOf(t, s, "?angler=Fen+Amberquist"), source, len(looks))
	lookAt(t, ctx, s.URL, "/season?names=out&waters=blurred", source, len(looks))
}
