package questions_test

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"net/http"
	"strings"
	"testing"
	"time"

	"rigtally/web/webtest"
)

// betOf is the bet of a question at an address for programs.
func betOf(t *testing.T, s *webtest.Site, path string) (bet struct {
	Chance float64
	Prior  float64 `json:"prior_sd"`
	Best   bool
}) {
	t.Helper()
	var a struct{ Bet any }
	text := []byte(s.Page(path, http.StatusOK))
	s.Must(json.Unmarshal(text, &a))
	if a.Bet == nil {
		t.Fatalf("%s has no bet", path)
	}
	text, err := json.Marshal(a.Bet)
	s.Must(err)
	s.Must(json.Unmarshal(text, &bet))
	return bet
}

// What is worth finding out is said on its page, as numbers, and in a line of Today; the prior of the
// settings moves every chance, and answers kept by the old one are not handed out.
func TestWhatToFindOutNext(t *testing.T) {
	t.Parallel()
	s := webtest.DemoSite(t)
	text := s.Page("/next", http.StatusOK)
	webtest.CheckPage(t, "/next", text)
	webtest.WantAll(t, "/next", text, "Settle it", "Best bet", "What it rests on", "A season is ", "half of true ratios lie within 0.79 to 1.27", `href="/findings?outcome=`, `href="/next.csv"`, `href="/settings"`)
	// A bet on tangles alone does not say which length loses the fewest minutes.
	webtest.WantAll(t, "/next", text, "Tangles over tag length", "How long to tie the tag meanwhile", `class="card-choice"`, `href="/tag-length"`)
	var a struct {
		Questions []struct {
			Outcome, By string
			Minutes     float64 `json:"minutes_gained"`
		}
		Hours float64 `json:"season_hours"`
	}
	s.Must(json.Unmarshal([]byte(s.Page("/api/v1/next", http.StatusOK)), &a))
	if len(a.Questions) == 0 || a.Hours <= 0 {
		t.Fatalf("%+v", a)
	}
	for i, q := range a.Questions {
		if i > 0 && q.Minutes > a.Questions[i-1].Minutes {
			t.Errorf("%s by %s is below one that saves less", q.Outcome, q.By)
		}
	}
	rows, err := csv.NewReader(strings.NewReader(s.Page("/next.csv", http.StatusOK))).ReadAll()
	if err != nil || len(rows) < 1+len(a.Questions) || rows[0][0] != "outcome" || rows[1][0] != a.Questions[0].Outcome {
		t.Errorf("%v (%v)", rows, err)
	}
	for _, path := range []string{"/planner", "/trials"} {
		webtest.WantAll(t, path, s.Page(path, http.StatusOK), `href="/next"`)
	}
	// Today does not wait for it, and shows it once it is worked out.
	if a.Questions[0].Minutes >= 1 {
		shown := false
		for end := time.Now().Add(10 * time.Second); !shown && time.Now().Before(end); {
			shown = strings.Contains(s.Page("/", http.StatusOK), "What to find out next: ")
		}
		if !shown {
			t.Error("Today does not say what to find out next")
		}
	}

	for _, path := range []string{"/api/v1/rates?outcome=tangles&by=junction", "/api/v1/curve?outcome=tangles"} {
		before := betOf(t, s, path)
		o, err := s.Store.Outfit(t.Context())
		s.Must(err)
		o.PriorSD = 0.06
		s.Must(s.Store.SetOutfit(t.Context(), o))
		after := betOf(t, s, path)
		// A prior that expects next to no difference leaves the chance nearer to a half.
		if before.Prior != 0.35 || after.Prior != 0.06 || math.Abs(after.Chance-0.5) >= math.Abs(before.Chance-0.5) || after.Best != (after.Chance >= 0.8) {
			t.Errorf("%s: %+v, with a narrow prior %+v", path, before, after)
		}
		o.PriorSD = 0
		s.Must(s.Store.SetOutfit(t.Context(), o))
	}
}

func TestNothingToFindOut(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	text := s.Page("/next", http.StatusOK)
	webtest.CheckPage(t, "/next", text)
	webtest.WantAll(t, "/next", text, "Nothing has been logged yet")
	if text := s.Page("/", http.StatusOK); strings.Contains(text, "find out next: ") || strings.Contains(text, "Best bet") {
		t.Error("Today of an empty journal asks what to find out")
	}
	s.Page("/next.json", http.StatusOK)
	s.Page("/next.csv", http.StatusOK)
}
