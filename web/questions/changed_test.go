package questions_test

import (
	"net/http"
	"testing"

	"rigtally/analytics/fixture"
	"rigtally/prose"
	"rigtally/web/webtest"
)

func TestPagesSayWhatWasChangedAfterATangle(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	fixture.Switch(t, s.Store)
	const line = " changes of the junction, a tangle came in the ten minutes before, where about "
	for _, path := range []string{"/findings?outcome=tangles&by=junction", "/recorded"} {
		s.Wants(path, http.StatusOK, line, "Answers here are compared like for like")
	}
	s.Wants("/findings?outcome=hookups&by=junction", http.StatusOK, "Hookups by junction")
	s.Wants("/recorded", http.StatusOK, prose.ChangedTitle)
}
