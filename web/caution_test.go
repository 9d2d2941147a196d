package web

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"rigtally/internal/units"
)

// A session shows the cautions of its conditions with who decides and the source,
// and none says that anything is safe.
func TestSessionShowsItsCautions(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	path := "/sessions/" + b.session.ID.String()
	if got := b.get(path); strings.Contains(got.body, "aside") {
		t.Error("cool water has a caution")
	}
	s := b.session
	s.WaterTempC, s.DepthM, s.VelocityMS, s.Storm = ptr(20.5), ptr(1.0), ptr(1.2), true
	if _, err := b.store.SaveSession(t.Context(), s); err != nil {
		t.Fatal(err)
	}
	got := b.get(path)
	for _, want := range []string{"caution-stop", "Water at", "30 minutes after the last thunder", "rule of thumb", "DAERA", "fish and wildlife agency", "licensed guide"} {
		if got.status != http.StatusOK || !strings.Contains(got.body, want) {
			t.Errorf("the session's page lacks %q", want)
		}
	}
	for _, c := range newCautionLimits(units.Metric).Each {
		text := strings.ToLower(c.Title + c.Text)
		if !strings.Contains(text, "decide") && !strings.Contains(text, "go before") {
			t.Errorf("%s, %s does not say who decides", c.Kind, c.Level)
		}
		if slices.ContainsFunc([]string{"safe to", "you can wade", "go ahead", "no danger"}, func(words string) bool { return strings.Contains(text, words) }) {
			t.Errorf("%s, %s says that something is safe", c.Kind, c.Level)
		}
	}
}

// The form shows them as conditions are typed, in any unit.
func TestBrowserFormShowsCautions(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	ctx := openBrowser(t, phone, false)
	do(t, ctx, chromedp.Navigate(b.url+"/log"), chromedp.Evaluate[chromedp.Void](`for (const d of document.querySelectorAll("details")) d.open = true; 0`),
		chromedp.SendKeys(named("temp"), "20 C"), chromedp.SendKeys(named("depth"), "2.5 ft"), chromedp.SendKeys(named("velocity"), "4 ft/s"))
	kinds := func() []string {
		list, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](`[...document.querySelectorAll("[data-cautions] aside")].map((e) => e.className)`))
		if err != nil {
			t.Fatal(err)
		}
		return list
	}
	if got := kinds(); !slices.Equal(got, []string{"caution caution-stop", "caution caution-stop"}) {
		t.Errorf("68 °F, 2.5 ft at 4 ft/s: %q", got)
	}
	do(t, ctx, chromedp.Click(chromedp.CSS(`label:has([name="storm"])`)), chromedp.Evaluate[chromedp.Void](`document.querySelector("[name=temp]").value = ""; 0`), chromedp.SendKeys(named("temp"), "65F"))
	if got := kinds(); !slices.Equal(got, []string{"caution caution-stop", "caution caution-stop", "caution caution-care"}) {
		t.Errorf("with a storm, at 65 °F: %q", got)
	}
}
