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
	Caveat      string     // what to keep in mind of readings, beside the first
	Silent      journal.ID // the water, where its gauges are silent; else zero
}

const (
	latelyFished = 14 // days in which a water was fished whose river is shown
	mostRivers   = 3
	oldReading   = 6 * time.Hour // is no longer how a river is
)

// riversNow tells of the waters that are likely to be fished next: the one that is proposed, and those fished lately.
func (s *Pages) riversNow(ctx context.Context, k known, proposed string, lines []journal.SessionLine, sys units.System) (list []riverNow, err error) {
	var waters []journal.Water
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
	for _, w := range waters {
		now := page.InZone(s.Now(), w.TimeZone)
		series, err := s.Readings(ctx, w, now.Add(-30*time.Hour), now)
		if err != nil {
			return nil, err
		}
		var usual gauge.Usual
		if f, _, ok := lastOf(series, gauge.Flow, now, usual); ok {
			if usual, err = s.Store.Usual(ctx, f.Site, now); err != nil {
				return nil, err
			}
		}
		r := riverNow{Water: w.Name}
		if r.Says, r.Line = riverSays(series, now, usual, sys); r.Says == "" {
			r.Silent = w.ID
			if r.Says, err = s.noReading(ctx, w, now); err != nil {
				return nil, err
			}
		} else if !slices.ContainsFunc(list, func(x riverNow) bool { return x.Caveat != "" }) {
			r.Caveat = prose.NotWhereYouStand
		}
		list = append(list, r)
	}
	return list, nil
}

// riverSays is how a river is, by the last readings: "540 cfs, rising, 54 °F, 10:15", and what that calls for; "" where none is of
// the last hours.
func riverSays(series []gauge.Series, now time.Time, usual gauge.Usual, sys units.System) (says string, line template.HTML) {
	var words []string
	var at time.Time
	var fills []gauge.Fill
	for _, q := range gauge.Quantities() {
		f, s, ok := lastOf(series, q, now, usual)
		if !ok || q == gauge.Stage && len(fills) > 0 {
			continue
		}
		words = append(words, page.Unbroken(prose.GaugeValue(q, f.Value, sys)))
		if trend := gauge.TrendOf(q, f.Change6H); trend != "" {
			words = append(words, string(trend))
		}
		if fills = append(fills, f); len(fills) == 1 {
			at, line = f.At, charts.Spark(s, now.Add(-24*time.Hour), now)
		}
	}
	if len(words) == 0 {
		return "", ""
	}
	says = strings.Join(append(words, at.In(now.Location()).Format("15:04")), ", ")
	for _, c := range caution.OfGauge(fills) {
		title := prose.CautionTitle(c, sys)
		if c.Kind == caution.HighWater {
			title = prose.CautionHeading(c.Kind, c.Level) // of how many years is told where there is more room
		}
		says += ". " + title
	}
	return says, line
}

// lastOf is the last usable reading of a quantity, with how it changed, and how usual it is.
func lastOf(list []gauge.Series, q gauge.Quantity, now time.Time, usual gauge.Usual) (gauge.Fill, gauge.Series, bool) {
	for _, s := range list {
		if s.Quantity != q || s.Statistic != gauge.Instant {
			continue
		}
		for _, r := range slices.Backward(s.Readings) {
			if !r.Usable() {
				continue
			}
			if now.Sub(r.At) > oldReading {
				break
			}
			f, ok := gauge.Take(gauge.Outing{Middle: r.At, Calendar: journal.DateOf(r.At.In(now.Location())).In(time.UTC)}, q, []gauge.Series{s}, usual)
			return f, s, ok
		}
	}
	return gauge.Fill{}, gauge.Series{}, false
}

// noReading says since when the gauges of a water are silent.
func (s *Pages) noReading(ctx context.Context, w journal.Water, now time.Time) (string, error) {
	var sites []gauge.Site
	for _, l := range w.Gauges {
		sites = append(sites, l.Site)
	}
	states, err := s.Store.Gauges(ctx, sites...)
	last := time.Time{}
	for _, state := range states {
		for _, r := range state.Latest {
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
