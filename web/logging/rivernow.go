package logging

import (
	"context"
	"html/template"
	"slices"
	"strings"
	"time"

	"rigtally/analytics/caution"
	"rigtally/charts"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/prose"
	"rigtally/web/page"
)

// riverNow is what the gauges of a water say now.
type riverNow struct {
	Water, Says string
	Line        template.HTML
	Calls       []string   // what that calls for, the gravest first
	Caveat      string     // what to keep in mind of readings, beside the first
	Silent      journal.ID // the water, where its gauges are silent; else zero
}

const (
	latelyFished = 14 // days in which a water was fished whose river is shown
	mostRivers   = 3
	oldReading   = 6 * time.Hour // is no longer how a river is
)

// likely are the waters with gauges that are likely to be fished next: the one that is proposed, and those fished lately.
func (s *Pages) likely(k known, proposed string, lines []journal.SessionLine) (waters []journal.Water) {
	add := func(w journal.Water, ok bool) {
		if ok && len(w.Gauges) > 0 && len(waters) < mostRivers && !slices.ContainsFunc(waters, func(x journal.Water) bool { return x.ID == w.ID }) {
			waters = append(waters, w)
		}
	}
	add(first(k.waters, func(w journal.Water) bool { return w.ID.String() == proposed }))
	for _, l := range lines {
		w, ok := k.waterNamed(l.Water)
		today := s.Today(w.TimeZone).In(time.UTC)
		add(w, ok && today.Sub(l.Day.In(time.UTC)) <= latelyFished*24*time.Hour)
	}
	return waters
}

// riversNow tells how rivers are.
func (s *Pages) riversNow(ctx context.Context, waters []journal.Water, sys units.System) (list []riverNow, err error) {
	for _, w := range waters {
		now := page.InZone(s.Now(), w.TimeZone)
		fills, series, err := s.readNow(ctx, w, now)
		if err != nil {
			return nil, err
		}
		r := riverNow{Water: w.Name}
		if r.Says = riverSays(fills, now, sys); len(fills) > 0 {
			r.Calls = riverCalls(fills, sys)
			r.Line = charts.Spark(series, now.Add(-24*time.Hour), now)
		} else {
			r.Silent = w.ID
			if r.Says, err = s.noReading(ctx, w, now); err != nil {
				return nil, err
			}
		}
		if len(fills) > 0 && !slices.ContainsFunc(list, func(x riverNow) bool { return x.Caveat != "" }) {
			r.Caveat = prose.NotWhereYouStand
		}
		list = append(list, r)
	}
	return list, nil
}

// readNow is what the gauges of a water told last, within the last hours, and the readings of the first quantity of these. Stage is
// left out beside flow.
func (s *Pages) readNow(ctx context.Context, w journal.Water, now time.Time) (fills []gauge.Fill, first gauge.Series, err error) {
	series, err := s.Readings(ctx, w, now.Add(-30*time.Hour), now)
	if err != nil {
		return nil, first, err
	}
	var usual gauge.Usual
	if f, _, ok := lastOf(series, gauge.Flow, now, usual); ok {
		if usual, err = s.Store.Usual(ctx, f.Site, now); err != nil {
			return nil, first, err
		}
	}
	for _, q := range gauge.Quantities() {
		f, of, ok := lastOf(series, q, now, usual)
		if !ok || q == gauge.Stage && len(fills) > 0 {
			continue
		}
		if fills = append(fills, f); len(fills) == 1 {
			first = of
		}
	}
	return fills, first, nil
}

// riverSays is how a river is, by the last readings: "540 cfs, rising, 54 °F, 10:15"; "" where there are none.
func riverSays(fills []gauge.Fill, now time.Time, sys units.System) string {
	if len(fills) == 0 {
		return ""
	}
	var words []string
	for _, f := range fills {
		words = append(words, page.Unbroken(prose.GaugeValue(f.Quantity, f.Value, sys)))
		if trend := gauge.TrendOf(f.Quantity, f.Change6H); trend != "" {
			words = append(words, string(trend))
		}
	}
	return strings.Join(append(words, fills[0].At.In(now.Location()).Format("15:04")), ", ")
}

// riverCalls is what the last readings of a river call for.
func riverCalls(fills []gauge.Fill, sys units.System) (list []string) {
	for _, c := range caution.OfGauge(fills) {
		title := prose.CautionTitle(c, sys)
		if c.Kind == caution.HighWater {
			title = prose.CautionHeading(c.Kind, c.Level) // of how many years is told where there is more room
		}
		list = append(list, title)
	}
	return list
}

// riverCaution is what a reading of a water's gauge calls for. A phone shows it by itself until the reading is old.
type riverCaution struct {
	Water journal.ID `json:"water"`
	At    time.Time  `json:"at"`
	Until time.Time  `json:"until"`
	Short string     `json:"short"`
	cautionView
}

// riverCautions are what the gauges of waters call for now.
func (s *Pages) riverCautions(ctx context.Context, waters []journal.Water, sys units.System) ([]riverCaution, error) {
	list := []riverCaution{}
	for _, w := range waters {
		now := page.InZone(s.Now(), w.TimeZone)
		fills, _, err := s.readNow(ctx, w, now)
		if err != nil {
			return nil, err
		}
		called := caution.OfGauge(fills)
		for i, view := range cautionViews(called, now.Location(), sys) {
			c, at := called[i], called[i].From.At.In(now.Location())
			until := at.Add(oldReading)
			if midnight := time.Date(at.Year(), at.Month(), at.Day()+1, 0, 0, 0, 0, at.Location()); c.Peak && midnight.Before(until) {
				until = midnight // since it is said of the day
			}
			list = append(list, riverCaution{w.ID, at, until, "Gauge, " + at.Format("15:04") + ". " + prose.CautionHeading(c.Kind, c.Level), view})
		}
	}
	return list, nil
}

// lastOf is the last reading of a quantity that a session would take, with how it changed, and how usual it is.
func lastOf(list []gauge.Series, q gauge.Quantity, now time.Time, usual gauge.Usual) (gauge.Fill, gauge.Series, bool) {
	r, of, ok := gauge.Latest(list, q)
	if !ok || now.Sub(r.At) > oldReading {
		return gauge.Fill{}, gauge.Series{}, false
	}
	f, ok := gauge.Take(gauge.Outing{Middle: r.At, Calendar: journal.DateOf(r.At.In(now.Location())).In(time.UTC)}, q, []gauge.Series{of}, usual)
	return f, of, ok
}

// noReading says since when the gauges of a water are silent.
func (s *Pages) noReading(ctx context.Context, w journal.Water, now time.Time) (string, error) {
	var sites []gauge.Site
	for _, l := range w.Gauges {
		sites = append(sites, l.Site)
	}
	states, err := s.Store.Gauges(ctx, sites...)
	last := time.Time{}
	for i, state := range states {
		for _, r := range state.LatestOf(w.Gauges[i]) {
			if r.At.After(last) {
				last = r.At
			}
		}
	}
	switch last = last.In(now.Location()); {
	case last.Year() < 1800:
		return "no reading yet", err
	case journal.DateOf(last) == journal.DateOf(now):
		return "no reading since " + last.Format("15:04"), err
	}
	return "no reading since " + last.Format("2 January, 15:04"), err
}
