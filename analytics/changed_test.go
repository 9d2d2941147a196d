package analytics_test

import (
	"encoding/json"
	"testing"

	"rigtally/analytics"
	"rigtally/analytics/fixture"
)

func TestAnswersSayWhatWasChangedAfterATangle(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	ctx := t.Context()
	changes := fixture.Switch(t, s)
	request := analytics.Request{Outcome: "tangles", By: []string{"method", "junction"}}
	a, err := analytics.Rates(ctx, s, request)
	if err != nil {
		t.Fatal(err)
	}
	if err := a.FindChanged(ctx, s, request); err != nil {
		t.Fatal(err)
	}
	if f := a.Changed; f == nil || f.Factor != "junction" || !f.ByMinutes || f.AfterEvent != f.Changes || *f.Low < 3 || f.Changes != changes {
		t.Errorf("%+v, of %d changes", f, changes)
	}
	text, err := json.Marshal(a)
	if err != nil {
		t.Fatal(err)
	}
	var written struct {
		Changed map[string]any `json:"changed"`
	}
	if err := json.Unmarshal(text, &written); err != nil || written.Changed["factor"] != "junction" || written.Changed["within_minutes"] != 10.0 {
		t.Errorf("%v (%v)", written.Changed, err)
	}
	for _, g := range a.Groups {
		if c := g.Corrected; c != nil && (c.MarginalRatio == nil || *c.MarginalRatio == *c.Ratio) {
			t.Errorf("%v: %+v", g.Level, c)
		}
	}
	over := analytics.CurveRequest{Outcome: "tangles", Over: "tag-length"}
	c, err := analytics.Curve(ctx, s, over)
	if err != nil {
		t.Fatal(err)
	}
	if err := c.FindChanged(ctx, s, over); err != nil || c.Changed != nil {
		t.Errorf("the length never changed, but %+v (%v)", c.Changed, err)
	}
}
