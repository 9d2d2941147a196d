// Package season reviews a season: what was fished and caught, beside what it is held against, and what the journal has to say on it.
package season

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"time"

	"rigtally/analytics"
	"rigtally/analytics/caution"
	"rigtally/analytics/claim"
	"rigtally/analytics/plan"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/facts"
	"rigtally/journal/gauge"
)

// Keeper holds seasons, claims and what happened; *pg.Store is one.
type Keeper interface {
	claim.Keeper
	plan.Keeper
	Outfit(ctx context.Context) (journal.Outfit, error)
	Seasons(ctx context.Context) ([]int, error)
	SeasonRows(ctx context.Context, year int) (facts.SeasonRows, error)
	AnglerByName(ctx context.Context, name string) (journal.Angler, error)
}

// Request asks for the review of a season.
type Request struct {
	Angler string // a name; empty for the outfit
	Year   int    // 0 for the last season with sessions
	Alone  bool   // nobody else's sessions are there to be seen, so that nothing is held against them
	Units  units.System
}

// Answer is the review of one angler's season, or of the outfit's.
type Answer struct {
	Angler   string // as in the journal, empty for the outfit
	Alone    bool   // nothing is held against the outfit
	Outfit   string
	Year     int   // 0 when the journal is empty
	Seasons  []int // the years with sessions of anybody, the latest first
	Totals   Totals
	Days     []Day   // those fished, in their order
	Before   *Before // the last season before with sessions of their own; nil without one
	Waters   []Water // the most fished first
	People   []Part  // who fished, by name; of the outfit's review only
	Months   Months
	Outcomes []Outcome // in the order of journal.Outcomes
	Compared int       // outcomes tested at once, over which their q is adjusted
	Rigs     Rigs
	Charts   []Chart // of tangles and of fish landed; one with too few sessions is not there
	Evidence []Evidence
	Asked    int // questions that all parts of the evidence ask, over which they are adjusted once more
	Cautions []Caution
	Quality  Quality
	Shared   Sharing // what has been left out
}

// Totals add a season up.
type Totals struct {
	Sessions, Days  int
	Stints, Untimed int     // untimed ones have no minutes noted
	Hours           float64 // of the timed ones
	Timed           int     // sessions with any minutes
	Day             float64 // hours of the median timed session, 0 without one
	Fish
	First, Last journal.Date // days fished; only their months when waters are blurred
}

// Fish is what was caught and undone in some stints, and in how many of them count was kept.
type Fish struct{ Hookups, Landed, Tangles journal.Total }

func (f *Fish) add(rows facts.SeasonRows, st facts.SeasonStint) {
	for c, to := range map[journal.Count]*journal.Total{journal.CountHookups: &f.Hookups, journal.CountLanded: &f.Landed, journal.CountTangles: &f.Tangles} {
		to.Add(rows.Counted(st, c))
	}
}

func (q *Quality) add(r journal.Recorded) {
	if r.Assumed() {
		q.Assumed++
		return
	}
	if q.Missing == nil {
		q.Missing = map[journal.Kind]int{}
	}
	for _, k := range r.Missing() {
		q.Missing[k]++
	}
}

// PerOuting is how many hours a session has, 0 when that is not known.
func (t Totals) PerOuting() float64 {
	if t.Timed == 0 {
		return 0
	}
	return t.Hours / float64(t.Timed)
}

// Fished is how much was fished.
type Fished struct {
	Sessions int     `json:"sessions"`
	Days     int     `json:"days"`
	Hours    float64 `json:"hours"`
}

// Water is a water with how much of the season was fished on it.
type Water struct {
	Name string            `json:"name"`
	Kind journal.WaterKind `json:"kind"`
	Fished
}

// Part is an angler's part of the outfit's season.
type Part struct {
	Angler string             `json:"name"`
	Kind   journal.AnglerKind `json:"kind"`
	Fished
}

// Months divide the season by month.
type Months struct {
	List            []Month              // those fished
	Hookups, Landed analytics.RateAnswer // by month
}

// Month is what was fished in a month.
type Month struct {
	Month time.Month `json:"month"`
	Fished
	Fish `json:"-"`
}

// Caution is a kind of caution with the sessions that called for it.
type Caution struct {
	caution.Tally
	Stopped []journal.SessionRef // those counted by Tally.Stop
	Highest *float64             // the highest value among all that called for it: °C, m²/s, or the percentile of the flow
}

// Quality is what touches how far a review can be trusted.
type Quality struct {
	Late           int                  // sessions logged more than journal.LateDays after their day
	Together       int                  // of them, stored with others at one moment, as an import does
	Untimed        int                  // stints without minutes, which count in no rate per hour
	UntimedTangles int                  // stints with a tangle whose lost minutes were not noted
	Assumed        int                  // stints of which nobody said what was counted
	Missing        map[journal.Kind]int // stints of which no count was kept of a kind
}

// Review reviews one angler's season, or the outfit's: what was fished and caught
// by month, every outcome beside the outfit's, the rigs, the season session by
// session, what the evidence supports and what it can't tell yet.
//
// It is journal.IsInvalid for an angler who is not in the journal.
func Review(ctx context.Context, j Keeper, r Request) (Answer, error) {
	a := Answer{Year: r.Year, Alone: r.Alone}
	outfit, err := j.Outfit(ctx)
	if err != nil {
		return a, err
	}
	a.Outfit = outfit.Name
	if r.Angler != "" {
		angler, err := j.AnglerByName(ctx, r.Angler)
		if err != nil {
			return a, err
		}
		a.Angler = angler.Name
	}
	if a.Seasons, err = j.Seasons(ctx); err != nil {
		return a, err
	}
	read := a.Year
	if a.Angler == "" || a.Year == 0 {
		read = 0 // the outfit's season is held against its other seasons
	}
	rows, err := j.SeasonRows(ctx, read)
	if err != nil {
		return a, err
	}
	a.chooseYear(rows)
	s := maker{Answer: &a, rows: rows}
	if err := s.review(); err != nil {
		return a, fmt.Errorf("review the season: %w", err)
	}
	if a.Before, err = s.before(ctx, j); err != nil {
		return a, err
	}
	if a.Evidence, err = s.evidence(ctx, j, r.Units); err != nil {
		return a, fmt.Errorf("weigh the evidence of the season: %w", err)
	}
	if err = s.tags(ctx, j, r.Units); err != nil {
		return a, fmt.Errorf("weigh the length of the tag: %w", err)
	}
	return a, nil
}

// chooseYear takes the last season with sessions of the angler where none is named.
func (a *Answer) chooseYear(rows facts.SeasonRows) {
	for i := len(rows.Sessions) - 1; i >= 0 && a.Year == 0; i-- {
		if se := rows.Sessions[i]; a.Angler == "" || se.Angler == a.Angler {
			a.Year = se.Day.Year
		}
	}
	if a.Year == 0 && len(a.Seasons) > 0 {
		a.Year = a.Seasons[0]
	}
}

// maker fills a review from the rows of the season.
type maker struct {
	*Answer
	rows facts.SeasonRows
}

// ours reports whether a session is reviewed, and not only compared with.
func (s *maker) ours(se facts.SeasonSession) bool {
	return se.Day.Year == s.Year && (s.Angler == "" || se.Angler == s.Angler)
}

func (s *maker) review() error {
	s.total()
	s.days()
	for _, step := range []func() error{s.ratesByMonth, s.outcomes, s.rigs, s.charts} {
		if err := step(); err != nil {
			return err
		}
	}
	for _, o := range s.Outcomes {
		if o.Outcome.Measure == journal.AmountPer {
			s.Quality.UntimedTangles = s.untimedTangles(o.Outcome)
		}
	}
	s.caution()
	return nil
}

// part gathers the sessions, days, hours and fish of anything.
type part struct {
	Fished
	days map[journal.Date]bool
	fish Fish
}

func (p *part) add(day journal.Date, hours float64) {
	if !p.days[day] {
		p.days[day] = true
		p.Days++
	}
	p.Sessions++
	p.Hours += hours
}

func newPart() *part { return &part{days: map[journal.Date]bool{}} }

func partOf[K comparable](parts map[K]*part, key K) *part {
	if parts[key] == nil {
		parts[key] = newPart()
	}
	return parts[key]
}

func (s *maker) total() {
	t, q := &s.Totals, &s.Quality
	all, months, waters, people := newPart(), map[time.Month]*part{}, map[string]*part{}, map[string]*part{}
	minutes := make([]float64, len(s.rows.Sessions))
	var outings []float64
	for _, st := range s.rows.Stints {
		se := s.rows.Sessions[st.Session]
		if !s.ours(se) {
			continue
		}
		t.Stints++
		t.Fish.add(s.rows, st)
		partOf(months, se.Day.Month).fish.add(s.rows, st)
		q.add(st.Recorded)
		if st.Minutes == nil {
			t.Untimed++
			continue
		}
		minutes[st.Session] += *st.Minutes
	}
	for i, se := range s.rows.Sessions {
		if !s.ours(se) {
			continue
		}
		if t.First.IsZero() {
			t.First = se.Day
		}
		t.Last = se.Day
		if se.LoggedAfter > journal.LateDays {
			q.Late++
			if se.Together {
				q.Together++
			}
		}
		if waters[se.Water] == nil {
			s.Waters = append(s.Waters, Water{Name: se.Water, Kind: se.WaterKind})
		}
		if people[se.Angler] == nil {
			s.People = append(s.People, Part{Angler: se.Angler, Kind: se.AnglerKind})
		}
		if minutes[i] > 0 {
			t.Timed++
			outings = append(outings, minutes[i]/60)
		}
		for _, p := range []*part{all, partOf(months, se.Day.Month), partOf(waters, se.Water), partOf(people, se.Angler)} {
			p.add(se.Day, minutes[i]/60)
		}
	}
	t.Day = median(outings)
	t.Sessions, t.Days, t.Hours, q.Untimed = all.Sessions, all.Days, all.Hours, t.Untimed
	for _, m := range slices.Sorted(maps.Keys(months)) {
		s.Months.List = append(s.Months.List, Month{m, months[m].Fished, months[m].fish})
	}
	for i := range s.Waters {
		s.Waters[i].Fished = waters[s.Waters[i].Name].Fished
	}
	for i := range s.People {
		s.People[i].Fished = people[s.People[i].Angler].Fished
	}
	slices.SortStableFunc(s.Waters, func(a, b Water) int { return compareDown(a.Hours, b.Hours, a.Name, b.Name) })
	slices.SortFunc(s.People, func(a, b Part) int { return compareDown(0, 0, a.Angler, b.Angler) })
	if s.Angler != "" {
		s.People = nil
	}
}

// untimedTangles counts the season's stints that a minutes' outcome had to leave out.
func (s *maker) untimedTangles(o journal.Outcome) int {
	rows := s.rows.Of(o, factor("season"), nil, func(se facts.SeasonSession, _ facts.SeasonStint) (journal.Level, bool) {
		return journal.Level{Number: float64(se.Day.Year), Kind: journal.NumberLevel}, s.ours(se)
	})
	return rows.Untimed
}

// conditionsOf are those of a session, by what was noted and what gauges told.
func conditionsOf(se facts.SeasonSession) caution.Conditions {
	c := caution.Conditions{WaterTempC: se.WaterTempC, DepthM: se.DepthM, VelocityMS: se.VelocityMS, Storm: se.Storm, Trend6H: se.Trend6H}
	if se.FlowPercentile != nil {
		c.Fills = append(c.Fills, gauge.Fill{Quantity: gauge.Flow, Percentile: se.FlowPercentile})
	}
	if se.TempPeakC != nil {
		c.Fills = append(c.Fills, gauge.Fill{Quantity: gauge.Temperature, Value: *se.TempPeakC, Peak: se.TempPeakC})
	}
	return c
}

// caution finds what the season's conditions called for.
func (s *maker) caution() {
	var list []caution.Conditions
	found := map[caution.Kind]*Caution{}
	for _, se := range s.rows.Sessions {
		if !s.ours(se) {
			continue
		}
		conditions := conditionsOf(se)
		list = append(list, conditions)
		for _, c := range conditions.Cautions() {
			if found[c.Kind] == nil {
				found[c.Kind] = &Caution{}
			}
			f := found[c.Kind]
			if c.Level == caution.Stop {
				f.Stopped = append(f.Stopped, se.SessionRef)
			}
			if f.Highest == nil || c.Value > *f.Highest {
				f.Highest = &c.Value
			}
		}
	}
	for _, t := range caution.OfSeason(list) {
		if f := found[t.Kind]; f != nil {
			f.Tally = t
			s.Cautions = append(s.Cautions, *f)
		}
	}
}
