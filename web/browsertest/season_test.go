package browsertest

import (
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/network"
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
			ctx := openPlain(t, tt.on, tt.dark)
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
			if first := evaluated[[]float64](t, ctx, sureAt); first[0] > first[1] {
				t.Errorf("the word of sureness ends at %g of %g px", first[0], first[1])
			}
		})
	}
}

// sureAt tells where the headline's sureness ends, and the foot of a screen of 664 px or of what a menu at it leaves.
const sureAt = `(() => {
	const menu = [...document.querySelectorAll(".tabs, .within")].filter((e) => getComputedStyle(e).position === "fixed").reduce((sum, e) => sum + e.offsetHeight, 0);
	return [document.querySelector(".review-head .sure").getBoundingClientRect().bottom + scrollY, 664 - menu];
})()`

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

// The file shows its drawings, in its own face, from a folder, without a network, and asks for nothing.
func TestBrowserOpensTheSeasonFileOffline(t *testing.T) {
	t.Parallel()
	address := reviewFileOf(t, webtest.SmallSeason(t, 60), "?angler=Fen+Amberquist")
	for _, on := range []screen{phone, laptop} {
		ctx := openPlain(t, on, on == phone)
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
		seen, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](`document.fonts.ready.then(() => [...document.querySelectorAll(".season-days, .rig-change")].filter((svg) => {
			const r = svg.getBoundingClientRect();
			return r.width < 100 || r.height < 50 || !svg.querySelector("rect, path");
		}).map((svg) => svg.outerHTML.slice(0, 80)).concat(document.documentElement.scrollWidth > innerWidth ? ["too wide"] : [],
			document.querySelector(".season-days") ? [] : ["no picture of the season"],
			getComputedStyle(document.querySelector(".review-top")).borderBottomStyle === "solid" ? [] : ["no style"],
			document.querySelector(".review-mark") ? [] : ["no mark"],
			document.fonts.size === 0 || [...document.fonts].every((f) => f.status === "loaded") ? [] : ["the face of headings is missing"]))`, chromedp.EvalAwaitPromise))
		if err != nil {
			t.Fatal(err)
		}
		for _, what := range seen {
			t.Errorf("%d px: %s", on.width, what)
		}
		close(asked)
		for address := range asked {
			if !strings.HasPrefix(address, "data:font/") && (!strings.HasPrefix(address, "file:") || !strings.HasSuffix(address, "review.html")) {
				t.Errorf("the file asks for %s", address)
			}
		}
	}
}

// The file by itself is read by everyone, as every page is.
func TestBrowserAxeFindsNoViolationInTheSeasonFile(t *testing.T) {
	t.Parallel()
	source := axe(t)
	s := webtest.SmallSeason(t, 60)
	ctx := openPlain(t, phone, false)
	lookAt(t, ctx, "", reviewFileOf(t, s, "?angler=Fen+Amberquist"), source, len(looks))
	lookAt(t, ctx, s.URL, "/season?names=out&waters=blurred", source, len(looks))
}
