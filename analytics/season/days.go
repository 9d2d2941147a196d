package season

import (
	"context"
	"slices"

	"rigtally/journal"
	"rigtally/journal/facts"
)

// Day is what came of a day that was fished; with waters blurred, of a month.
type Day struct {
	Date    journal.Date
	Hours   float64
	Landed  journal.Total
	Tangles journal.Total
	Flow    bool // it was noted for some session of the day
	High    bool // and was high for that water
}

// High water is a flow of so many times the median of those noted on the water that season, where enough were.
const (
	highWater     = 1.5
	fewestOfWater = 4
)

// days tells the season day by day.
func (s *maker) days() {
	usual := s.usualFlows()
	var at []int // the day of each session, -1 for one of others
	for _, se := range s.rows.Sessions {
		if !s.ours(se) {
			at = append(at, -1)
			continue
		}
		if n := len(s.Days); n == 0 || s.Days[n-1].Date != se.Day {
			s.Days = append(s.Days, Day{Date: se.Day})
		}
		at = append(at, len(s.Days)-1)
		if d, flow := &s.Days[len(s.Days)-1], usual[se.Water]; se.FlowM3S != nil && flow > 0 {
			d.Flow, d.High = true, d.High || *se.FlowM3S >= highWater*flow
		}
	}
	for _, st := range s.rows.Stints {
		if at[st.Session] < 0 {
			continue
		}
		d := &s.Days[at[st.Session]]
		d.Landed.Add(s.rows.Counted(st, journal.CountLanded))
		d.Tangles.Add(s.rows.Counted(st, journal.CountTangles))
		if st.Minutes != nil {
			d.Hours += *st.Minutes / 60
		}
	}
}

// usualFlows are the median flows of waters in the year, whoever fished them.
func (s *maker) usualFlows() map[string]float64 {
	noted := map[string][]float64{}
	for _, se := range s.rows.Sessions {
		if se.Day.Year == s.Year && se.FlowM3S != nil {
			noted[se.Water] = append(noted[se.Water], *se.FlowM3S)
		}
	}
	usual := map[string]float64{}
	for water, flows := range noted {
		if len(flows) >= fewestOfWater {
			usual[water] = median(flows)
		}
	}
	return usual
}

// median is 0 of nothing.
func median(list []float64) float64 {
	if len(list) == 0 {
		return 0
	}
	list = slices.Sorted(slices.Values(list))
	return (list[(len(list)-1)/2] + list[len(list)/2]) / 2
}

// monthly adds days up by month, without their flows, which tell the day.
func monthly(days []Day) []Day {
	var list []Day
	for _, d := range days {
		d.Date, d.Flow, d.High = monthOf(d.Date), false, false
		if n := len(list); n > 0 && list[n-1].Date == d.Date {
			m := &list[n-1]
			m.Hours += d.Hours
			m.Landed, m.Tangles = plus(m.Landed, d.Landed), plus(m.Tangles, d.Tangles)
			continue
		}
		list = append(list, d)
	}
	return list
}

func plus(a, b journal.Total) journal.Total {
	return journal.Total{N: a.N + b.N, Kept: a.Kept + b.Kept, Stints: a.Stints + b.Stints}
}

// Before is the season that one is held beside: of the same angler, or of the outfit.
type Before struct {
	Year, Days int
	Hours      float64
	Counted    map[string]Counted // by outcome; one that nobody counted is not there
}

// Counted is what happened, and what of it can be held against so much.
type Counted struct{ Events, Exposure float64 }

// before finds the last season before, nil without one.
func (s *maker) before(ctx context.Context, j Keeper) (*Before, error) {
	for _, year := range s.Seasons {
		if year >= s.Year || s.Totals.Sessions == 0 {
			continue
		}
		rows := s.rows
		if s.Angler != "" {
			var err error
			if rows, err = j.SeasonRows(ctx, year); err != nil {
				return nil, err
			}
		}
		if b := s.sum(rows, year); b.Days > 0 {
			return &b, nil
		}
	}
	return nil, nil
}

// sum adds up another season of whoever is reviewed.
func (s *maker) sum(rows facts.SeasonRows, year int) Before {
	b := Before{Year: year, Counted: map[string]Counted{}}
	ours := func(session int) bool {
		se := rows.Sessions[session]
		return se.Day.Year == year && (s.Angler == "" || se.Angler == s.Angler)
	}
	var last journal.Date
	for i, se := range rows.Sessions {
		if ours(i) && se.Day != last {
			last = se.Day
			b.Days++
		}
	}
	for _, st := range rows.Stints {
		if st.Minutes != nil && ours(st.Session) {
			b.Hours += *st.Minutes / 60
		}
	}
	for _, o := range journal.Outcomes() {
		var c Counted
		rows.Each(o.Key, func(session int, _, events, exposure float64) {
			if ours(session) {
				c.Events += events
				c.Exposure += exposure
			}
		})
		if c.Exposure > 0 {
			b.Counted[o.Key] = c
		}
	}
	return b
}
