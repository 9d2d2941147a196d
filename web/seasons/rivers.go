package seasons

import (
	"context"
	"slices"
	"strconv"
	"time"

	"rigtally/analytics/season"
	"rigtally/charts"
	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/prose"
	"rigtally/web/page"
)

const mostWaters, mostSessions = 3, 1000

// rivers draws a season's days on the flow of the waters that were fished most; nil where no gauge tells of any.
func (s *pages) rivers(ctx context.Context, f page.Frame, a season.Answer) (*page.Figure, error) {
	if len(a.Days) == 0 || a.Shared.BlurWaters {
		return nil, nil
	}
	waters, err := s.Store.Waters(ctx)
	if err != nil {
		return nil, err
	}
	of := journal.SessionFilter{Season: a.Year, Limit: mostSessions}
	if a.Angler != "" {
		angler, err := s.Store.AnglerByName(ctx, a.Angler)
		if err != nil {
			return nil, err
		}
		of.Angler = &angler.ID
	}
	first, last := a.Days[0].Date.Month, a.Days[len(a.Days)-1].Date.Month
	from, to := time.Date(a.Year, first, 1, 0, 0, 0, 0, time.UTC), time.Date(a.Year, last+1, 0, 0, 0, 0, 0, time.UTC)
	var list []charts.SeasonRiver
	var names []string
	for _, fished := range a.Waters {
		i := slices.IndexFunc(waters, func(w journal.Water) bool { return w.Name == fished.Name && len(w.Gauges) > 0 })
		if i < 0 || len(list) == mostWaters {
			continue
		}
		r, err := s.seasonRiver(ctx, waters[i], of, from, to)
		if err != nil {
			return nil, err
		}
		if len(r.Daily.Readings) > 0 {
			list, names = append(list, r), append(names, r.Water)
		}
	}
	c := charts.SeasonRivers(list, a.Year, first, last, s.Now(), f.Units)
	if c == nil {
		return nil, nil
	}
	figure := s.NewFigure(f, "The season and its water", c, "season", strconv.Itoa(a.Year), "water")
	figure.Spoken = "Daily flow of " + prose.Listed(names) + " through the season, with the days fished."
	figure.How = "Each point is a day fished, at the mean flow of that day. " + prose.NotWhereYouStand
	for _, field := range c.Fields {
		if field.Y.Log {
			figure.How += " Where an axis has no 0, each doubling takes the same height."
			break
		}
	}
	return figure, nil
}

func (s *pages) seasonRiver(ctx context.Context, w journal.Water, of journal.SessionFilter, from, to time.Time) (charts.SeasonRiver, error) {
	r := charts.SeasonRiver{Water: w.Name}
	in := page.InZone(time.Time{}, w.TimeZone).Location()
	series, err := s.Readings(ctx, w, from.AddDate(0, 0, -1), to.AddDate(0, 0, 2))
	if err != nil {
		return r, err
	}
	for _, q := range []gauge.Quantity{gauge.Flow, gauge.Stage} {
		if r.Daily = gauge.Daily(series, q, from, to, in); len(r.Daily.Readings) > 0 {
			break
		}
	}
	of.Water = &w.ID
	lines, _, err := s.Store.SessionLines(ctx, of)
	for _, l := range lines {
		if !slices.Contains(r.Days, l.Day) {
			r.Days = append(r.Days, l.Day)
		}
	}
	return r, err
}
