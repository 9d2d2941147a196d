// Package compare serves the page on which a client sees their own fishing beside the outfit's.
package compare

import (
	"context"
	"math"
	"net/http"
	"time"

	"rigtally/analytics/compare"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/page"
)

type pages struct{ *page.Desk }

type comparePage struct {
	page.Frame
	Questions []question
	Week      string
	Others    bool // whether anything may be told of others yet
}

// question is one of the comparison, with a row for each level that the client fished or that is told of the outfit.
type question struct {
	Title, Divided string
	Rows           []row
}

// row is a client's own number beside the outfit's.
type row struct {
	What, Own, OwnIn, All string // All is "" where not enough others have part in it
}

// compare shows the questions that a comparison answers.
func (s *pages) compare(w http.ResponseWriter, r *http.Request, f page.Frame) error {
	shown, err := s.latest(r.Context(), s.Today(f.Outfit.TimeZone))
	if err != nil {
		return err
	}
	f.Wide = true
	own, err := compare.Gather(r.Context(), s.Store)
	if err != nil {
		return err
	}
	p := comparePage{Frame: f, Week: prose.Day(shown.Week), Others: len(shown.Shown) > 0}
	for _, q := range compare.Questions() {
		p.Questions = append(p.Questions, newQuestion(q, own, shown, f.Units))
	}
	return s.Render(w, http.StatusOK, "compare", p)
}

// latest is the comparison of this week, made of everybody where nobody has asked for it yet.
func (s *pages) latest(ctx context.Context, today journal.Date) (journal.Comparison, error) {
	day := today.In(time.UTC)
	week := journal.DateOf(day.AddDate(0, 0, -(int(day.Weekday())+6)%7))
	c, err := s.Store.Comparison(ctx)
	if err != nil || c.Week.String() >= week.String() {
		return c, err
	}
	everybody := s.Store.For(journal.Keeper())
	earlier, err := everybody.Comparisons(ctx)
	if err != nil {
		return c, err
	}
	gathered, err := compare.Gather(ctx, everybody)
	if err != nil {
		return c, err
	}
	if err := everybody.KeepComparison(ctx, compare.Next(earlier, week, gathered)); err != nil {
		return c, err
	}
	return s.Store.Comparison(ctx) // of two made at once the one that was kept
}

func newQuestion(q compare.Question, own map[string]compare.Cell, c journal.Comparison, sys units.System) question {
	of := question{Title: titles[q.Outcome.Key], Divided: "Rig"}
	if q.By != nil {
		of.Divided = divided[q.By.Factor.Key]
	}
	for _, l := range q.Levels() {
		rate := compare.Rate(own[l.Key])
		told, is := c.Shown[l.Key]
		line := row{What: prose.Capital(levelWords(q, l, sys)), Own: "–"}
		if !math.IsNaN(rate) && !math.IsInf(rate, 0) {
			line.Own = number(q.Outcome, rate)
			for _, part := range own[l.Key] {
				if line.OwnIn = "in " + prose.Amount(q.Outcome, part.Base); q.Outcome.Hourly() {
					line.OwnIn = "in " + prose.FishedHours(part.Base)
				}
			}
		}
		if is {
			line.All = number(q.Outcome, told)
		}
		if line.OwnIn != "" || is {
			of.Rows = append(of.Rows, line)
		}
	}
	return of
}

// number is a rate in the unit that its title says, with two digits.
func number(o journal.Outcome, v float64) string {
	switch {
	case o.Measure == journal.ShareOf:
		return prose.TwoDigits(100*v) + "%"
	case o.Measure == journal.AmountPer:
		return prose.TwoDigits(v) + " min"
	}
	return prose.TwoDigits(v)
}

// titles name the questions by their outcomes.
var titles = map[string]string{
	"tangles":   "Tangles in an hour",
	"downtime":  "Minutes lost to tangles and re-ties in an hour",
	"loss":      "Fish lost, of those hooked fair",
	"foul-hook": "Fish hooked foul, of all hooked",
}

// divided say by what, by their factors.
var divided = map[string]string{
	"junction":   "Knot or ring",
	"tag-length": "Length of the tag",
}

// levelWords say what a number is about.
func levelWords(q compare.Question, l compare.Level, sys units.System) string {
	length := func(mm float64) string {
		if sys == units.US {
			return prose.Count(math.Round(mm/25.4)) + " in" // a comparison's edges are whole inches but for a millimeter
		}
		return prose.Count(mm) + " mm"
	}
	switch {
	case q.By == nil:
		return "all rigs"
	case q.By.Edges == nil:
		return l.Word
	case l.From == 0:
		return "under " + length(l.To)
	case math.IsInf(l.To, 1):
		return length(l.From) + " and more"
	}
	return length(l.From) + " to " + length(l.To)
}

// Routes are the addresses of these pages.
func Routes(d *page.Desk) []page.Route {
	s := &pages{d}
	return []page.Route{{Pattern: "GET /compare", Act: s.Framed("compare", "You and the outfit", s.compare), For: page.ForClients}}
}
