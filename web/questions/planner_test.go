package questions_test

import (
	"encoding/csv"
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"rigtally/web/webtest"
)

// byHand is the plan that the tests of package analytics work out on paper: 120 mm
// loses 7.4048 minutes an hour, and the next quarter inch, 120.65 mm, a little more.
const byHand = "?tangles=100mm%3D1,130mm%3D4&breaks=0.5&waste=1cm&changes=1&least=100mm&tangle-minutes=2&retie-minutes=6&break-minutes=4&tippet=2m&retie-cost=30cm"

func TestPlanner(t *testing.T) {
	t.Parallel()
	s := webtest.SmallSeason(t, 60)
	text := s.Page("/planner", http.StatusOK)
	webtest.CheckPage(t, "/planner", text)
	webtest.WantAll(t, "/planner", text, "Tie it at ", "min of each hour fished (95% band", "How sure:", "this journal, ", "common practice, no source", "What would change it", "re-ties of the junction",
		"like for like (angler and water)", `placeholder="4 in"`, `href="/planner.csv"`, ", the best")

	at := "/planner" + byHand
	text = s.Page(at, http.StatusOK)
	webtest.CheckPage(t, at, text)
	webtest.WantAll(t, at, text, "7.5 min of each hour fished", "2 fly changes", "3 re-ties", `value="100mm=1,130mm=4"`, `value="1cm"`, "typed in")
	var answer struct {
		Best struct {
			LengthMM float64 `json:"length_mm"`
		}
		Given []string
	}
	if err := json.Unmarshal([]byte(s.Page("/planner.json"+byHand+"&given=", http.StatusOK)), &answer); err != nil {
		t.Fatal(err)
	}
	// The season is in US units: the nearest quarter inch that keeps both changes.
	if answer.Best.LengthMM < 120 || answer.Best.LengthMM > 126 || len(answer.Given) != 0 {
		t.Errorf("the best is %g mm, corrected for %v", answer.Best.LengthMM, answer.Given)
	}
	rows, err := csv.NewReader(strings.NewReader(s.Page("/planner.csv"+byHand, http.StatusOK))).ReadAll()
	if err != nil || len(rows) < 4 || rows[0][5] != "loss_min_per_hour" {
		t.Errorf("%v (%v)", rows, err)
	}
}

func TestPlannerRefuses(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	text := s.Page("/planner", http.StatusOK)
	webtest.CheckPage(t, "/planner", text)
	webtest.WantAll(t, "/planner", text, "can’t say yet how often tags of each length tangle", "common practice, no source")
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
		a := s.Get(address)
		if a.Status == http.StatusSeeOther {
			a = s.Get(a.Header.Get("Location"))
		}
		webtest.CheckPage(t, address, a.Body)
		if page := strings.ReplaceAll(strings.ReplaceAll(a.Body, "&#39;", "'"), "&#34;", `"`); a.Status != http.StatusUnprocessableEntity || !strings.Contains(strings.ToLower(page), strings.ToLower(want)) {
			t.Errorf("%s: status %d, without %q", address, a.Status, want)
		}
	}
}
