package season

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"

	"golang.org/x/sync/errgroup"

	"rigtally/analytics"
	"rigtally/analytics/answer"
	"rigtally/analytics/claim"
	"rigtally/analytics/plan"
	"rigtally/analytics/stat"
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
	Choices   []analytics.RateAnswer // comparisons, as by themselves
	Compared  int                    // comparisons in Choices
	Findings  []Finding              // what holds among all that the review asks, the surest first
	Tag       *plan.Answer           // where a finding is about the length of the tag: the length that loses the fewest minutes; nil where it can't be told
	Open      []Finding              // what does not, what is settled by itself first, then the nearest to an answer
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
	P       float64         `json:"p"`        // two-sided
	Q       float64         `json:"q"`        // p adjusted over the comparisons of its own question
	Verdict stat.Verdict    `json:"verdict"`  // of that question, wherever it is asked
	QListed float64         `json:"q_listed"` // p adjusted over all that the review asks, of every part of the evidence
	Hours   float64         `json:"hours"`    // behind it
	// MoreHours are to be fished still, at the present mix, until it settles; 0 when it has, nil when nothing tells.
	// Outings are sessions of that many hours.
	MoreHours *float64 `json:"more_hours"`
	Outings   *int     `json:"outings"`
}

// Holds reports whether a finding is settled by its own question and among all that the review asks.
func (f Finding) Holds() bool { return f.Verdict == stat.Differs && f.QListed < claim.HoldsBelow }

// LevelIsBetter reports whether the finding's own side, or more of its number, is the
// better one to have.
func (f Finding) LevelIsBetter() bool { return (f.Ratio > 1) == f.Outcome.MoreIsBetter() }

// choices are the comparisons made of every part: what one ties and how one
// fishes, asked as anywhere else.
var choices = []struct{ outcome, by string }{
	{"tangles", "junction"},
	{"tangles", "facing"},
	{"tangles", "stroke"},
	{"hookups", "method"},
}

// evidence weighs what the angler's sessions and, apart from them, the outfit's
// have to say.
func (s *maker) evidence(ctx context.Context, j claim.Keeper, sys units.System) ([]Evidence, error) {
	if s.Totals.Sessions == 0 {
		return nil, nil
	}
	claims, err := j.Claims(ctx)
	if err != nil {
		return nil, err
	}
	scopes := []string{""}
	switch {
	case s.Alone:
		scopes = []string{s.Angler}
	case s.Angler != "":
		scopes = []string{s.Angler, ""}
	}
	list := make([]Evidence, len(scopes))
	for i, angler := range scopes {
		if list[i], err = s.weigh(ctx, j, angler, claims, sys); err != nil {
			return nil, err
		}
	}
	return list, s.list(list)
}

// part limits a question to an angler, if any, and to the years up to the season's.
func (s *maker) part(angler string) []journal.Condition {
	where := []journal.Condition{{Factor: factor("season"), Low: math.Inf(-1), High: float64(s.Year)}}
	if angler != "" {
		where = append(where, journal.Condition{Factor: factor("angler"), Word: angler})
	}
	return where
}

func (s *maker) weigh(ctx context.Context, j claim.Keeper, angler string, claims []journal.Claim, sys units.System) (Evidence, error) {
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
			a, err := ratesWhere(ctx, j, analytics.Request{Outcome: c.outcome, By: []string{c.by}}, where)
			if journal.IsInvalid(err) {
				return nil // nothing of it is left to compare
			}
			e.Choices[i] = a
			return err
		})
	}
	return e, asked.Wait()
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

// list adjusts once over everything that the review asks, claims and choices of every part together,
// and sorts what holds from what is open.
func (s *maker) list(parts []Evidence) error {
	var p []*float64
	for _, e := range parts {
		for _, c := range e.Claims.Claims {
			p = append(p, c.P)
		}
		for _, a := range e.Choices {
			for _, g := range a.Groups {
				p = append(p, nil)
				if g.Corrected != nil {
					p[len(p)-1] = g.Corrected.P
				}
			}
		}
	}
	q, err := stat.AdjustKnown(p)
	if err != nil {
		return err
	}
	for _, known := range q {
		if known != nil {
			s.Asked++
		}
	}
	for i := range parts {
		q = parts[i].conclude(q, s.Asked)
	}
	return nil
}

// tags asks which length of the tag loses the fewest minutes, of each part that has found something on it: what is
// advised is to be what the answer on the length of the tag says.
func (s *maker) tags(ctx context.Context, j plan.Keeper, sys units.System) error {
	for i := range s.Evidence {
		e := &s.Evidence[i]
		if !slices.ContainsFunc(e.Findings, func(f Finding) bool { return f.Factor.Key == "tag-length" }) {
			continue
		}
		r := plan.Request{Units: sys}
		if s.Year != s.Seasons[0] {
			r.Where = append(r.Where, fmt.Sprintf("season=%d..%d", e.From, s.Year))
		}
		if e.Angler != "" {
			r.Where = append(r.Where, "angler="+e.Angler)
		}
		a, err := plan.Weigh(ctx, j, r)
		switch {
		case err == nil && a.Best >= 0 && a.Sure:
			e.Tag = &a
		case err != nil && !journal.IsInvalid(err):
			return err
		}
	}
	return nil
}

// conclude takes from q those of its own claims and choices, and returns the rest. Asked is how many all parts ask.
func (e *Evidence) conclude(q []*float64, asked int) (rest []*float64) {
	for i := range e.Claims.Claims {
		e.Claims.Claims[i].List(q[i], asked)
		e.addClaim(i)
	}
	q = q[len(e.Claims.Claims):]
	for c, a := range e.Choices {
		for i, g := range a.Groups {
			if q[i] != nil {
				e.Compared++
				e.addChoice(c, g, *q[i])
			}
		}
		q = q[len(a.Groups):]
	}
	slices.SortStableFunc(e.Findings, func(a, b Finding) int { return cmp.Compare(a.QListed, b.QListed) })
	slices.SortStableFunc(e.Open, func(a, b Finding) int { return cmp.Compare(orLast(a.MoreHours), orLast(b.MoreHours)) })
	return q
}

func orLast(hours *float64) float64 {
	if hours == nil {
		return math.Inf(1)
	}
	return *hours
}

func (e *Evidence) addChoice(choice int, g analytics.Group, listed float64) {
	a := e.Choices[choice]
	ref := a.Groups[a.Reference]
	f := Finding{Claim: -1, Choice: choice, Outcome: a.Outcome, Factor: a.By[0].Factor,
		Level: []string{g.Level[0].Word}, Versus: []string{ref.Level[0].Word}, Ratio: *g.Corrected.Ratio, Low: g.Corrected.Low, High: g.Corrected.High,
		P: *g.Corrected.P, Q: *g.Versus.Q, Verdict: g.Versus.Verdict, QListed: listed, Hours: g.Hours + ref.Hours}
	e.add(f, g.Versus.MoreHours)
}

func (e *Evidence) addClaim(i int) {
	c := e.Claims.Claims[i]
	if c.QListed == nil {
		return
	}
	f := Finding{Claim: i, Outcome: c.Outcome, Factor: c.Factor, Step: c.Step, Level: c.Claim.Level, Versus: c.Claim.Versus,
		Ratio: *c.Ratio, Low: c.Low, High: c.High, P: *c.P, Q: *c.Q, Verdict: c.Verdict, QListed: *c.QListed, Hours: c.Total.Hours}
	e.add(f, c.MoreHours)
}

// plan says how many hours are missing, and in how many outings they are fished.
func (e *Evidence) plan(f *Finding, hours float64) {
	f.MoreHours = answer.Known(hours)
	if e.PerOuting > 0 && f.MoreHours != nil && hours/e.PerOuting < math.MaxInt32 {
		n := int(math.Ceil(hours / e.PerOuting))
		f.Outings = &n
	}
}

func (e *Evidence) add(f Finding, more *float64) {
	if more != nil {
		e.plan(&f, *more)
	}
	if f.Holds() {
		e.Findings = append(e.Findings, f)
	} else {
		e.Open = append(e.Open, f)
	}
}
