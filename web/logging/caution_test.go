package logging_test

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"rigtally/internal/units"
	"rigtally/web/logging"
	"rigtally/web/webtest"
)

// A session shows the cautions of its conditions with who decides and the source,
// and none says that anything is safe.
func TestSessionShowsItsCautions(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	path := "/sessions/" + b.Session.ID.String()
	if got := b.Get(path); strings.Contains(got.Body, "aside") {
		t.Error("cool water has a caution")
	}
	s := b.Session
	s.WaterTempC, s.DepthM, s.VelocityMS, s.Storm = new(20.5), new(1.0), new(1.2), true
	if _, err := b.Store.SaveSession(t.Context(), s); err != nil {
		t.Fatal(err)
	}
	got := b.Get(path)
	for _, want := range []string{"caution-stop", "Water at", "30 minutes after the last thunder", "rule of thumb", "DAERA", "fish and wildlife agency", "licensed guide"} {
		if got.Status != http.StatusOK || !strings.Contains(got.Body, want) {
			t.Errorf("the session's page lacks %q", want)
		}
	}
	for _, c := range logging.NewCautionLimits(units.Metric).Each {
		text := strings.ToLower(c.Title + c.Text)
		if !strings.Contains(text, "decide") && !strings.Contains(text, "go before") {
			t.Errorf("%s, %s does not say who decides", c.Kind, c.Level)
		}
		if slices.ContainsFunc([]string{"safe to", "you can wade", "go ahead", "no danger"}, func(words string) bool { return strings.Contains(text, words) }) {
			t.Errorf("%s, %s says that something is safe", c.Kind, c.Level)
		}
	}
}
