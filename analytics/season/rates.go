package season

import (
	"cmp"
	"slices"
	"strings"

	"rigtally/analytics"
	"rigtally/journal"
	"rigtally/journal/facts"
)

func compareDown(a, b float64, nameA, nameB string) int {
	return cmp.Or(cmp.Compare(b, a), cmp.Compare(strings.ToLower(nameA), strings.ToLower(nameB)), cmp.Compare(nameA, nameB))
}

// factor is one that the program itself names.
func factor(key string) journal.Factor {
	f, _ := journal.FactorByKey(key)
	return f
}

// outcome is one that the program itself names.
func outcome(key string) journal.Outcome {
	o, _ := journal.OutcomeByKey(key)
	return o
}

// rates answers how often an outcome happened in the season by a factor, as Rates
// would with the season and the angler for filters.
func (s *maker) rates(o journal.Outcome, f journal.Factor, level func(facts.SeasonSession, facts.SeasonStint) journal.Level) (analytics.RateAnswer, error) {
	q, err := analytics.Request{Outcome: o.Key, By: []string{f.Key}}.Question()
	if err != nil {
		return analytics.RateAnswer{}, err
	}
	rows := s.rows.Of(o, f, q.Given, func(se facts.SeasonSession, st facts.SeasonStint) (journal.Level, bool) {
		return level(se, st), s.ours(se)
	})
	return analytics.RatesOf(rows, q, analytics.Request{})
}

func (s *maker) ratesByMonth() (err error) {
	byMonth := func(se facts.SeasonSession, _ facts.SeasonStint) journal.Level {
		return journal.Level{Number: float64(se.Day.Month), Kind: journal.NumberLevel}
	}
	if s.Months.Hookups, err = s.rates(outcome("hookups"), factor("month"), byMonth); err != nil {
		return err
	}
	s.Months.Landed, err = s.rates(outcome("landed"), factor("month"), byMonth)
	return err
}

// Rigs says how each rig of the season did.
type Rigs struct {
	List                     []Rig                // the most fished first
	Tangles, Hookups, Landed analytics.RateAnswer // by rig, named as in List; none is held against another, what they have in common is asked instead
}

// Rig is a rig with how much it was fished.
type Rig struct {
	Name     string      `json:"rig"` // its title, or a neutral one
	Rig      journal.Rig `json:"-"`
	Stints   int         `json:"stints"`
	Sessions int         `json:"sessions"`
	Hours    float64     `json:"hours"`
	Fish     `json:"-"`
}

func (s *maker) rigs() (err error) {
	at := map[journal.ID]int{}
	sessions := map[[2]int]bool{}
	for _, st := range s.rows.Stints {
		if !s.ours(s.rows.Sessions[st.Session]) {
			continue
		}
		i, known := at[st.Rig]
		if !known {
			i = len(s.Rigs.List)
			at[st.Rig] = i
			rig := s.rows.Rigs[st.Rig]
			s.Rigs.List = append(s.Rigs.List, Rig{Name: rig.Title(), Rig: rig})
		}
		r := &s.Rigs.List[i]
		r.Stints++
		r.Fish.add(s.rows, st)
		if !sessions[[2]int{i, st.Session}] {
			sessions[[2]int{i, st.Session}] = true
			r.Sessions++
		}
		if st.Minutes != nil {
			r.Hours += float64(*st.Minutes) / 60
		}
	}
	slices.SortStableFunc(s.Rigs.List, func(a, b Rig) int { return compareDown(a.Hours, b.Hours, a.Name, b.Name) })
	byRig := func(_ facts.SeasonSession, st facts.SeasonStint) journal.Level {
		return journal.Level{Word: s.rows.Rigs[st.Rig].Title()}
	}
	for key, to := range map[string]*analytics.RateAnswer{"tangles": &s.Rigs.Tangles, "hookups": &s.Rigs.Hookups, "landed": &s.Rigs.Landed} {
		o, f := outcome(key), factor("rig")
		rows := s.rows.Of(o, f, nil, func(se facts.SeasonSession, st facts.SeasonStint) (journal.Level, bool) {
			return byRig(se, st), s.ours(se)
		})
		// A question divided by nothing compares nothing.
		if *to, err = analytics.RatesOf(rows, journal.Question{Outcome: o}, analytics.Request{}); err != nil {
			return err
		}
		to.By = []journal.By{{Factor: f}}
		slices.SortFunc(to.Groups, func(a, b analytics.Group) int { return analytics.CompareLevels(f, a.Level[0], b.Level[0]) })
	}
	return nil
}

// charts draws tangles and fish landed session by session.
func (s *maker) charts() error {
	for _, key := range []string{"tangles", "landed"} {
		o := outcome(key)
		a, err := chartOf(o, s.bySession(o))
		if journal.IsInvalid(err) {
			continue // too few sessions
		}
		if err != nil {
			return err
		}
		s.Charts = append(s.Charts, a)
	}
	return nil
}

// bySession adds an outcome up by session, in the order fished.
func (s *maker) bySession(o journal.Outcome) []facts.SessionSum {
	sums := make([]facts.SessionSum, len(s.rows.Sessions))
	s.rows.Each(o.Key, func(session int, _, events, exposure float64) {
		sums[session].Events += events
		sums[session].Exposure += exposure
	})
	var list []facts.SessionSum
	for i, sum := range sums {
		if sum.Exposure > 0 && s.ours(s.rows.Sessions[i]) {
			sum.SessionRef = s.rows.Sessions[i].SessionRef
			list = append(list, sum)
		}
	}
	return list
}
