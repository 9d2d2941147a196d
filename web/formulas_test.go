package web_test

import (
	"archive/zip"
	"io"
	"net/http"
	"path"
	"slices"
	"strings"
	"testing"

	"rigtally/journal/pg"
	"rigtally/web"
	"rigtally/web/webtest"
)

// Ensure that no CSV of any address holds a cell that a spreadsheet program would run, whatever people call things.
func TestNoCSVRunsInASpreadsheet(t *testing.T) {
	t.Parallel()
	season := webtest.SmallSeason(t, 30)
	trial := webtest.Got(season.Store.Trials(t.Context()))(t)[0].ID.String()
	angler := webtest.Got(season.Store.Anglers(t.Context()))(t)[0].ID.String()
	webtest.Formulas(t, season.Database)
	store := webtest.Got(pg.Open(t.Context(), season.Database))(t)
	t.Cleanup(store.Close)
	s := webtest.ServeOf(t, store, web.Options{})
	upload := s.Upload("/import", nil, webtest.File{Name: "=bad.csv", Text: "date,angler,water,minutes,=tangles\n2026-06-01,=1+1,@Sallow Fork,-60,1\n"})

	tellNames := []string{"/anglers/{id}/data.zip", "/bench/pulls.csv", "/claims.csv", "/findings.csv", "/life.csv", "/api/v1/rates.csv"}
	var asked []string
	for _, pattern := range s.Server.Addresses() {
		address, ok := strings.CutPrefix(pattern, "GET ")
		if !ok || !strings.HasSuffix(address, ".csv") && address != "/anglers/{id}/data.zip" {
			continue
		}
		asked = append(asked, address)
		of := trial
		switch {
		case strings.HasPrefix(address, "/import/"):
			of = path.Base(upload.Header.Get("Location"))
		case strings.HasPrefix(address, "/anglers/"):
			of = angler
		}
		at, answered, guarded := strings.ReplaceAll(address, "{id}", of), false, 0
		for _, by := range []string{"angler", "water", "rig", "junction", "tag-length"} {
			got := s.Get(at + "?file=0&outcome=tangles&knot=all&by=" + by)
			if got.Status == http.StatusUnprocessableEntity { // not asked by that
				continue
			}
			answered = got.Status == http.StatusOK
			if strings.HasSuffix(at, ".zip") {
				got.Body = sessionsIn(t, got.Body)
			}
			guarded += webtest.Harmless(t, at, got.Body)
		}
		if full := slices.Contains(tellNames, address); !answered || full && guarded == 0 {
			t.Errorf("%s: answered %t, with %d formulas", address, answered, guarded)
		}
	}
	slices.Sort(asked)
	if len(asked) < 15 {
		t.Errorf("only %d addresses give CSV: %v", len(asked), asked)
	}
}

// sessionsIn is the CSV in somebody's data.
func sessionsIn(t *testing.T, data string) string {
	t.Helper()
	files := webtest.Got(zip.NewReader(strings.NewReader(data), int64(len(data))))(t)
	file := webtest.Got(files.Open("sessions.csv"))(t)
	defer file.Close()
	return string(webtest.Got(io.ReadAll(file))(t))
}
