package season

import (
	"cmp"
	"context"
	"math"
	"runtime"
	"slices"

	"golang.org/x/sync/errgroup"

	"rigtally/analytics"
	"rigtally/analytics/answer"
	"rigtally/analytics/claim"
	"rigtally/analytics/stat"
	"rigtally/analytics/stat/regress"
	"rigtally/internal/units"
	"rigtally/journal"
)

// Evidence is what a part of the journal has to say on what to tie and how
// to fish: one angler's sessions up to the end of the season, or the outfit's.
type Evidence struct {
	Angler    string // empty for the outfit
	From, To  int    // years
	Sessions  int
	Hours     float64
	PerOuting float64                // hours that a session of the season under review has
	Claims    claim.Board            // the board's claims, held against this part alone
	Choices   []analytics.RateAnswer // corrected comparisons; q is adjusted over all of them at once
	Compared  int                    // comparisons in Choices
	Findings  []Finding              // what is settled, the surest first
	Open      []Finding              // what can't be told yet or only leans, the nearest to an answer first
}

// Finding is one claim or comparison of the evidence.
type Finding struct {
	Claim   int             `json:"-"` // place in Claims.Claims, −1 for a comparison
	Choice  int             `json:"-"` // place in Choices
	Outcome journal.Outcome `json:"-"`
	Factor  journal.Factor  `json:"-"`
	Step    float64         `json:"-"`      // of a factor that is a number; as in claim.Answer
	Level   []string        `json:"level"`  // of a factor of words: what is held against
	Versus  []string        `json:"versus"` // these
	Ratio   float64         `json:"ratio"`
	Low     *float64        `json:"ratio_low"` // of the 95% interval
	High    *float64        `json:"ratio_high"`
	Q       float64         `json:"q"`                 // two-sided for comparisons, one-sided for claims
	Leans   bool            `json:"leans"`             // not settled, but q is below 0.20
	Same    bool            `json:"same_for_practice"` // it makes no odds for practice: the 90% interval lies within 0.80 to 1.25
	Hours   float64         `json:"hours"`             // behind it
	// MoreHours are to be fished still, at equal parts, to show a difference as large
	// as the one seen so far, or the smallest worth planning for; 0 when they have been
	// fished already, nil when nothing tells. Outings are sessions of that many hours.
	MoreHours *float64 `json:"more_hours"`
	Outings   *int     `json:"outings"`
}

// LevelIsBetter reports whether the finding's own side, or more of its number, is the
// better one to have.
func (f Finding) LevelIsBetter() bool { return (f.Ratio > 1) == MoreIsBetter(f.Outcome) }

// choices are the comparisons made of every part: what one ties and how one
// fishes. Those about a tag are corrected for its length.
var choices = []struct {
	outcome, by string
	given       []string
}{
	{"tangles", "junction", []string{"tag-length:linear"}},
	{"tangles", "facing", []string{"tag-length:linear"}},
	{"tangles", "stroke", nil},
	{"hookups", "method", nil},
}

// evidence weighs what the angler's sessions and, apart from them, the outfit's
// have to say.
func (s *maker) evidence(ctx context.Context, j Keeper, sys units.System) ([]Evidence, error) {
	if s.Totals.Sessions == 0 {
		return nil, nil
	}
	claims, err := j.Claims(ctx)
	if err != nil {
		return nil, err
	}
	scopes := []string{""}
	if s.Angler != "" {
		scopes = []string{s.Angler, ""}
	}
	list := make([]Evidence, len(scopes))
	for i, angler := range scopes {
		if list[i], err = s.weigh(ctx, j, angler, claims, sys); err != nil {
			return nil, err
		}
	}
	return list, nil
}

// part limits a question to an angler, if any, and to the years up to the season's.
func (s *maker) part(angler string) []journal.Condition {
	where := []journal.Condition{{Factor: factor("season"), Low: math.Inf(-1), High: float64(s.Year)}}
	if angler != "" {
		where = append(where, journal.Condition{Factor: factor("angler"), Word: angler})
	}
	return where
}

func (s *maker) weigh(ctx context.Context, j Keeper, angler string, claims []journal.Claim, sys units.System) (Evidence, error) {
	e := Evidence{Angler: angler, PerOuting: s.Totals.PerOuting()}
	where := s.part(angler)
	err := e.size(ctx, j, where)
	if err != nil {
		return e, err
	}
	if e.Claims, err = claim.JudgeWhere(ctx, j, claims, sys, where); err != nil {
		return e, err
	}
	e.Choices = make([]analytics.RateAnswer, len(choices))
	var asked errgroup.Group
	asked.SetLimit(runtime.GOMAXPROCS(0))
	for i, c := range choices {
		asked.Go(func() error {
			given := append([]string{"angler", "water"}, c.given...)
			a, err := ratesWhere(ctx, j, analytics.Request{Outcome: c.outcome, By: []string{c.by}, Given: given}, where)
			if journal.IsInvalid(err) {
				return nil // nothing of it is left to compare
			}
			e.Choices[i] = a
			return err
		})
	}
	if err := asked.Wait(); err != nil {
		return e, err
	}
	return e, e.conclude()
}

// ratesWhere is Rates under conditions that are resolved already.
func ratesWhere(ctx context.Context, j analytics.Asker, r analytics.Request, where []journal.Condition) (analytics.RateAnswer, error) {
	q, err := r.Question()
	if err != nil {
		return analytics.RateAnswer{}, err
	}
	q.Where = where
	rows, err := j.Rows(ctx, q)
	if err != nil {
		return analytics.RateAnswer{}, err
	}
	return analytics.RatesOf(rows, q, r)
}

// size counts the sessions and hours of the part.
func (e *Evidence) size(ctx context.Context, j analytics.Asker, where []journal.Condition) error {
	rows, err := j.Rows(ctx, journal.Question{Outcome: outcome("tangles"), By: []journal.By{{Factor: factor("season")}}, Where: where})
	if err != nil {
		return err
	}
	e.Sessions = rows.Sessions
	for _, g := range rows.Groups {
		e.Hours += g.T
		if year := int(g.Level[0].Number); e.From == 0 || year < e.From {
			e.From = year
		}
		e.To = max(e.To, int(g.Level[0].Number))
	}
	return nil
}

// conclude adjusts the comparisons over all choices and sorts what is settled
// from what is open.
func (e *Evidence) conclude() error {
	var p []*float64
	for _, a := range e.Choices {
		for _, g := range a.Groups {
			p = append(p, nil)
			if g.Corrected != nil {
				p[len(p)-1] = g.Corrected.P
			}
		}
	}
	q, err := stat.AdjustKnown(p)
	if err != nil {
		return err
	}
	for c, a := range e.Choices {
		for i := range a.Groups {
			g := &a.Groups[i]
			if q[i] != nil {
				e.Compared++
				g.Versus.Q, g.Versus.Verdict = q[i], stat.Judge(*q[i], narrow(*g.Corrected))
				e.addChoice(c, *g)
			}
		}
		q = q[len(a.Groups):]
	}
	for i := range e.Claims.Claims {
		e.addClaim(i)
	}
	slices.SortStableFunc(e.Findings, func(a, b Finding) int { return cmp.Compare(a.Q, b.Q) })
	slices.SortStableFunc(e.Open, func(a, b Finding) int { return cmp.Compare(orLast(a.MoreHours), orLast(b.MoreHours)) })
	return nil
}

func orLast(hours *float64) float64 {
	if hours == nil {
		return math.Inf(1)
	}
	return *hours
}

// narrow is the 90% interval of a corrected ratio.
func narrow(c analytics.Corrected) stat.Interval {
	if c.SELog == nil || c.DF == nil {
		return stat.Interval{High: math.Inf(1)}
	}
	return regress.Contrast{Estimate: math.Log(*c.Ratio), SE: *c.SELog, DF: *c.DF}.Ratio(analytics.Equivalence)
}

func (e *Evidence) addChoice(choice int, g analytics.Group) {
	a := e.Choices[choice]
	ref := a.Groups[a.Reference]
	f := Finding{Claim: -1, Choice: choice, Outcome: a.Outcome, Factor: a.By[0].Factor,
		Level: []string{g.Level[0].Word}, Versus: []string{ref.Level[0].Word}, Ratio: *g.Corrected.Ratio, Low: g.Corrected.Low, High: g.Corrected.High,
		Q: *g.Versus.Q, Hours: g.Hours + ref.Hours, Leans: g.Versus.Verdict == stat.Leans, Same: g.Versus.Verdict == stat.SameForPractice}
	if more := g.Versus.MoreHours; more != nil {
		e.plan(&f, *more)
	}
	e.add(f, g.Versus.Verdict == stat.Differs)
}

func (e *Evidence) addClaim(i int) {
	c := e.Claims.Claims[i]
	if c.Ratio == nil || c.QFor == nil || c.QAgainst == nil {
		return
	}
	f := Finding{Claim: i, Outcome: c.Outcome, Factor: c.Factor, Step: c.Step, Level: c.Claim.Level, Versus: c.Claim.Versus,
		Ratio: *c.Ratio, Low: c.Low, High: c.High, Q: min(*c.QFor, *c.QAgainst), Hours: c.Total.Hours,
		Leans: c.Standing == claim.LeansFor || c.Standing == claim.LeansOther,
		Same:  slices.ContainsFunc(c.Notes, func(n analytics.Note) bool { return n.Kind == claim.NoteSmallOdds })}
	if c.HoursNeeded != nil {
		e.plan(&f, max(0, *c.HoursNeeded-c.Total.Hours))
	}
	e.add(f, c.Standing == claim.Holds || c.Standing == claim.HoldsNot)
}

// plan says how many hours are missing, and in how many outings they are fished.
func (e *Evidence) plan(f *Finding, hours float64) {
	f.MoreHours = answer.Known(hours)
	if e.PerOuting > 0 && f.MoreHours != nil && hours/e.PerOuting < math.MaxInt32 {
		n := int(math.Ceil(hours / e.PerOuting))
		f.Outings = &n
	}
}

func (e *Evidence) add(f Finding, settled bool) {
	if settled {
		e.Findings = append(e.Findings, f)
	} else {
		e.Open = append(e.Open, f)
	}
}
