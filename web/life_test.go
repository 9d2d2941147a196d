package web

import (
	"encoding/csv"
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

func TestLifePage(t *testing.T) {
	t.Parallel()
	s := smallSeason(t, 120)
	text := s.page("/life", http.StatusOK)
	checkPage(t, "/life", text)
	wantAll(t, "/life", text, "How long tags last, by junction", "broke at the junction or in the tag", "Tags still followed", "Log-rank", "figure-eight", "by session", `href="/life.csv"`, "If all were alike")
	text = s.page("/life?by=facing&in=loads&where=water%3DOxbane+River", http.StatusOK)
	wantAll(t, "/life", text, "by facing", "only water Oxbane River", "0 loads", "re-tie")
	if at := s.get("/life?by=junction&in=hours&where=").header.Get("Location"); at != "/life" {
		t.Errorf("the address is tidied to %q", at)
	}
	rows, err := csv.NewReader(strings.NewReader(s.page("/life.csv?by=facing", http.StatusOK))).ReadAll()
	if err != nil || len(rows) < 5 || rows[0][0] != "facing" {
		t.Errorf("%v (%v)", rows[:1], err)
	}
	if text := s.page("/life.json?in=loads", http.StatusOK); !strings.Contains(text, `"in":"loads"`) {
		t.Errorf("%.200s", text)
	}
}

func TestLifePageRefuses(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	text := s.page("/life", http.StatusOK)
	checkPage(t, "/life", text)
	wantAll(t, "/life", text, "no tag that could be followed", `href="/log"`)
	for address, want := range map[string]string{"/life?by=tag-length": "shorter through its life", "/life?in=days": "in hours or in loads", "/life?where=mood%3Dgood": `Factor "mood" is not known`} {
		text := s.page(address, http.StatusUnprocessableEntity)
		checkPage(t, address, text)
		wantAll(t, address, text, want)
	}
}

// The chart is drawn with its numbers below, on a phone and on a desktop, and nothing
// does sideways.
func TestBrowserShowsLives(t *testing.T) {
	t.Parallel()
	s := smallSeason(t, 120)
	for _, size := range []screen{phone, laptop} {
		ctx := openBrowser(t, size, size == laptop)
		on(ctx, t, chromedp.Navigate(s.url+"/life"))
		word(ctx, t, "figure-eight, still followed")
		word(ctx, t, "100%")
		choosing := `const by = document.querySelector("#by"); by.value = "facing"; document.querySelector(".finding-ask .button-main").click(); 0`
		on(ctx, t, chromedp.Evaluate[chromedp.Void](choosing))
		waitFor(ctx, t, "the answer by facing", `location.search === "?by=facing&in=hours&where=" || location.search === "?by=facing"`)
		word(ctx, t, "down, still followed")
		list, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](small))
		if err != nil {
			t.Fatal(err)
		}
		for _, what := range list {
			t.Errorf("%d px: %s", size.width, what)
		}
	}
}
