package web

import (
	"encoding/csv"
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// byHand is the plan that the tests of package analytics work out on paper: 120 mm
// loses 7.4048 minutes an hour, and the next quarter inch, 120.65 mm, a little more.
const byHand = "?tangles=100mm%3D1,130mm%3D4&breaks=0.5&waste=1cm&changes=1&least=100mm&tangle-minutes=2&retie-minutes=6&break-minutes=4&tippet=2m&retie-cost=30cm"

func TestPlanner(t *testing.T) {
	t.Parallel()
	s := smallSeason(t, 60)
	text := s.page("/planner", http.StatusOK)
	checkPage(t, "/planner", text)
	wantAll(t, "/planner", text, "Tie it at ", "min of each hour fished (95% band", "How sure:", "this journal, ", "common practice, no source", "What would change it", "re-ties of the junction",
		"corrected for angler and water", `placeholder="4 in"`, `href="/planner.csv"`, "the best</span>")

	at := "/planner" + byHand
	text = s.page(at, http.StatusOK)
	checkPage(t, at, text)
	wantAll(t, at, text, "7.5 min of each hour fished", "2 fly changes", "3 re-ties", `value="100mm=1,130mm=4"`, `value="1cm"`, "typed in")
	var answer struct {
		Best struct {
			LengthMM float64 `json:"length_mm"`
		}
		Given []string
	}
	if err := json.Unmarshal([]byte(s.page("/planner.json"+byHand+"&given=", http.StatusOK)), &answer); err != nil {
		t.Fatal(err)
	}
	// The season is in US units: the nearest quarter inch that keeps both changes.
	if answer.Best.LengthMM < 120 || answer.Best.LengthMM > 126 || len(answer.Given) != 0 {
		t.Errorf("the best is %g mm, corrected for %v", answer.Best.LengthMM, answer.Given)
	}
	rows, err := csv.NewReader(strings.NewReader(s.page("/planner.csv"+byHand, http.StatusOK))).ReadAll()
	if err != nil || len(rows) < 4 || rows[0][5] != "loss_min_per_hour" {
		t.Errorf("%v (%v)", rows, err)
	}
}

func TestPlannerRefuses(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	text := s.page("/planner", http.StatusOK)
	checkPage(t, "/planner", text)
	wantAll(t, "/planner", text, "can’t say yet how often tags of each length tangle", "common practice, no source")
	for address, want := range map[string]string{
		"/planner?tangles=0.3":           "write LENGTH=RATE PER HOUR",
		"/planner?waste=a+bit":           "the tag lost at a change",
		"/planner?where=mood%3Dgood":     `factor "mood" is not known`,
		"/planner?given=mood":            `factor "mood" is not known`,
		"/planner?changes=-1":            "the changes per hour can't be -1",
		"/planner?longest=1+mile":        "the longest tag",
		"/planner?breaks=%3Cscript%3E":   "is not understood",
		"/planner?tangles=1mm%3D1,1mm=2": "the same length",
	} {
		a := s.get(address)
		if a.status == http.StatusSeeOther {
			a = s.get(a.header.Get("Location"))
		}
		checkPage(t, address, a.body)
		if page := strings.ReplaceAll(strings.ReplaceAll(a.body, "&#39;", "'"), "&#34;", `"`); a.status != http.StatusUnprocessableEntity || !strings.Contains(strings.ToLower(page), strings.ToLower(want)) {
			t.Errorf("%s: status %d, without %q", address, a.status, want)
		}
	}
}

// With a thumb and with a mouse: the charts are drawn, a number is changed, the answer
// follows, and nothing does sideways.
func TestBrowserPlans(t *testing.T) {
	t.Parallel()
	s := smallSeason(t, 60)
	for _, size := range []screen{phone, laptop} {
		ctx := openBrowser(t, size, size == phone)
		on(ctx, t, chromedp.Navigate(s.url+"/planner"))
		waitFor(ctx, t, "both charts", `document.querySelectorAll(".chart-box svg").length === 2`)
		word(ctx, t, "a minute more than the best")
		word(ctx, t, "Min/hour")
		before, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.querySelector(".lead").textContent`))
		if err != nil {
			t.Fatal(err)
		}
		on(ctx, t, chromedp.SendKeys("#changes", "6"), chromedp.SendKeys("#retie-minutes", "15"), chromedp.Click(`.finding-ask .button-main`))
		waitFor(ctx, t, "the plan again", `location.search.includes("changes=6") && document.querySelector("#changes")?.value === "6" && document.readyState === "complete"`)
		after, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.querySelector(".lead").textContent`))
		if err != nil {
			t.Fatal(err)
		}
		if before == after || !strings.HasPrefix(after, "Tie it at ") {
			t.Errorf("%q after %q", after, before)
		}
		list, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](small))
		if err != nil {
			t.Fatal(err)
		}
		for _, what := range list {
			t.Errorf("%d px: %s", size.width, what)
		}
	}
}
