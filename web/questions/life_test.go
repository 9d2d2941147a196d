package questions_test

import (
	"encoding/csv"
	"net/http"
	"strings"
	"testing"

	"rigtally/web/webtest"
)

func TestLifePage(t *testing.T) {
	t.Parallel()
	s := webtest.SmallSeason(t, 120)
	text := s.Page("/life", http.StatusOK)
	webtest.CheckPage(t, "/life", text)
	webtest.WantAll(t, "/life", text, "How long tags last, by junction", "broke at the junction or in the tag", "Tags still followed", "Log-rank", "figure-eight", "by session", `href="/life.csv"`, "If all were alike")
	text = s.Page("/life?by=facing&in=loads&where=water%3DOxbane+River", http.StatusOK)
	webtest.WantAll(t, "/life", text, "by facing", "only water Oxbane River", "0 pulls", "re-tie")
	if at := s.Get("/life?by=junction&in=hours&where=").Header.Get("Location"); at != "/life" {
		t.Errorf("the address is tidied to %q", at)
	}
	rows, err := csv.NewReader(strings.NewReader(s.Page("/life.csv?by=facing", http.StatusOK))).ReadAll()
	if err != nil || len(rows) < 5 || rows[0][0] != "facing" {
		t.Errorf("%v (%v)", rows[:1], err)
	}
	if text := s.Page("/life.json?in=loads", http.StatusOK); !strings.Contains(text, `"in":"loads"`) {
		t.Errorf("%.200s", text)
	}
}

func TestLifePageRefuses(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	text := s.Page("/life", http.StatusOK)
	webtest.CheckPage(t, "/life", text)
	webtest.WantAll(t, "/life", text, "no tag to follow", `href="/log"`)
	for address, want := range map[string]string{"/life?by=tag-length": "shorter through its life", "/life?in=days": "in hours or in loads", "/life?where=mood%3Dgood": `Factor "mood" is not known`} {
		text := s.Page(address, http.StatusUnprocessableEntity)
		webtest.CheckPage(t, address, text)
		webtest.WantAll(t, address, text, want)
	}
}
