package journal

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"
)

// Question asks how often an outcome happens at each level of some factors.
type Question struct {
	Outcome Outcome
	By      []By        // one or two; none asks for the whole
	Where   []Condition // all must hold; several on one factor are alternatives
}

// By is a factor to divide by. A continuous one is divided at every value that
// occurs or, with Edges, into bands from each edge up to below the next.
type By struct {
	Factor Factor
	Edges  []float64 // ascending, in the storage unit
}

// Condition keeps the rows whose factor has a value: a word, or for a
// continuous factor anything from Low to High, which may be infinite.
type Condition struct {
	Factor    Factor
	Word      string // compared without regard to case
	Low, High float64
	Below     bool // High itself does not count
}

// Level is a value of a factor: a word, a number in the storage unit, or the
// band from Number up to below Upper.
type Level struct {
	Word   string
	Number float64
	Upper  float64
	Kind   LevelKind
}

// LevelKind says which fields of a Level count.
type LevelKind int

// The kinds of level.
const (
	WordLevel LevelKind = iota
	NumberLevel
	BandLevel
	BelowLevel // anything below Upper
	AboveLevel // Number and more
)

// Sums are the sufficient statistics of one group over its sessions: with k
// events and t of exposure in a session, K = Σk, T = Σt, KK = Σk², KT = Σkt, TT = Σt²,
// TTT = Σt³.
// Stints and Sessions count those with any exposure; in a question by position
// a stint counts once for each of its positions.
type Sums struct {
	Level            []Level // as in Question.By
	Stints, Sessions int
	K, T             float64
	KK, KT, TT, TTT  float64
	Hours            float64 // fished in these sessions, as far as noted, whatever the exposure is
}

// Answer is what the journal holds on a question.
type Answer struct {
	Groups   []Sums         // in no particular order
	Sessions int            // different ones with exposure; one may be in several groups
	LeftOut  map[string]int // how many of what could not be used
	Untimed  int            // stints left out for a tangle whose lost minutes were not noted
	Unplaced int            // events or trials left out because they were on no fly in particular
}

// byPosition reports whether the question is about positions of rigs, so that a
// stint's time counts once for each.
func (q Question) byPosition() bool {
	return slices.ContainsFunc(q.factors(), func(f Factor) bool { return f.byPosition })
}

func (q Question) factors() []Factor {
	var all []Factor
	for _, b := range q.By {
		all = append(all, b.Factor)
	}
	for _, c := range q.Where {
		all = append(all, c.Factor)
	}
	return all
}

// Ask sums a question's groups by session, in the database, and returns their
// sufficient statistics.
func (s *Store) Ask(ctx context.Context, q Question) (Answer, error) {
	if len(q.By) > 2 {
		return Answer{}, &Invalid{Problems: []string{"a question can be divided by two factors at most; leave one out"}}
	}
	answer := Answer{LeftOut: map[string]int{}}
	err := s.read(ctx, "ask for "+q.Outcome.Key, func(tx pgx.Tx) error {
		if err := s.askGroups(ctx, tx, q, &answer); err != nil {
			return err
		}
		if err := s.askSessions(ctx, tx, q, &answer); err != nil {
			return err
		}
		if !q.byPosition() {
			return nil
		}
		return s.askUnplaced(ctx, tx, q, &answer)
	})
	return answer, err
}

// query builds SQL with its arguments.
type query struct {
	args []any
}

func (b *query) arg(v any) string {
	b.args = append(b.args, v)
	return fmt.Sprintf("$%d", len(b.args))
}

// stintRows are the counts of whole rigs, under the names of stint_position.
const stintRows = "(SELECT *, id AS stint_id FROM stint)"

// from returns the FROM and WHERE of a question: the rows it is about.
func (q Question) from(b *query, outfit ID) string {
	factors := q.factors()
	table := stintRows
	conditions := []string{"c.outfit_id = " + b.arg(outfit)}
	if q.byPosition() {
		table = "stint_position"
		ofTag := slices.ContainsFunc(factors, func(f Factor) bool { return f.ofTag })
		switch {
		case ofTag:
			conditions = append(conditions, "rp.hang = 'tag'")
		case q.Outcome.onTag || slices.ContainsFunc(factors, func(f Factor) bool { return f.ofDropper }):
			conditions = append(conditions, "c.position > 0")
		}
	}
	if slices.ContainsFunc(factors, func(f Factor) bool { return f.Key == "tag-length" }) {
		table = "tag_exposure"
	}
	conditions = append(conditions, q.where(b)...)
	return table + " c" + joins(factors) + "\n\tWHERE " + strings.Join(conditions, "\n\tAND ")
}

// where turns the conditions into SQL, alternatives on one factor joined by OR.
func (q Question) where(b *query) []string {
	var keys []string
	alternatives := map[string][]string{}
	for _, c := range q.Where {
		sql := ""
		if c.Factor.Quantity == Words {
			sql = fmt.Sprintf("lower(%s) = lower(%s)", c.Factor.sql, b.arg(c.Word))
		} else {
			to := "<="
			if c.Below {
				to = "<"
			}
			sql = fmt.Sprintf("(%[1]s >= %[2]s AND %[1]s %[4]s %[3]s)", c.Factor.sql, b.arg(c.Low), b.arg(c.High), to)
		}
		if alternatives[c.Factor.Key] == nil {
			keys = append(keys, c.Factor.Key)
		}
		alternatives[c.Factor.Key] = append(alternatives[c.Factor.Key], sql)
	}
	var all []string
	for _, key := range keys {
		all = append(all, "("+strings.Join(alternatives[key], " OR ")+")")
	}
	return all
}

// askGroups sums within sessions first, since sessions are what is independent.
func (s *Store) askGroups(ctx context.Context, tx pgx.Tx, q Question, answer *Answer) error {
	b := &query{}
	var levels, names []string
	for i, by := range q.By {
		sql := by.Factor.sql
		if by.Edges != nil {
			sql = fmt.Sprintf("width_bucket(%s, %s::float8[])::float8", sql, b.arg(by.Edges))
		}
		name := fmt.Sprintf("l%d", i+1)
		levels, names = append(levels, sql+" AS "+name), append(names, name)
	}
	var refused []string
	for _, u := range q.Outcome.usable {
		refused = append(refused, fmt.Sprintf("count(*) FILTER (WHERE (%s) IS NOT TRUE)", u.condition))
	}
	usable := q.Outcome.counts()
	selects := append(levels, "c.session_id",
		fmt.Sprintf("count(*) FILTER (WHERE %s) AS n", usable),
		"count(*) AS every",
		fmt.Sprintf("coalesce(sum(%s) FILTER (WHERE %s), 0)::float8 AS k", q.Outcome.events, usable),
		fmt.Sprintf("coalesce(sum(%s) FILTER (WHERE %s), 0)::float8 AS t", q.Outcome.exposure, usable),
		"coalesce(sum("+perHour+"), 0)::float8 AS h")
	var outer []string
	for i, r := range refused {
		selects = append(selects, fmt.Sprintf("%s AS u%d", r, i))
		outer = append(outer, fmt.Sprintf("coalesce(sum(u%d), 0)::bigint", i))
	}
	sql := "SELECT " + strings.Join(append(append(names, "coalesce(sum(n), 0)::bigint", "coalesce(sum(every), 0)::bigint", "count(*) FILTER (WHERE n > 0)",
		"coalesce(sum(k), 0)", "coalesce(sum(t), 0)", "coalesce(sum(k*k), 0)", "coalesce(sum(k*t), 0)", "coalesce(sum(t*t), 0)", "coalesce(sum(t*t*t), 0)", "coalesce(sum(h), 0)"), outer...), ", ") +
		"\nFROM (SELECT " + strings.Join(selects, ",\n\t\t") + "\n\tFROM " + q.from(b, s.outfit) + "\n\tGROUP BY " + strings.Join(append(names, "c.session_id"), ", ") + ") cell"
	if len(names) > 0 {
		sql += "\nGROUP BY " + strings.Join(names, ", ")
	}
	rows, err := tx.Query(ctx, sql, b.args...)
	if err != nil {
		return err
	}
	return answer.collect(rows, q)
}

// askSessions counts the different sessions behind the groups.
func (s *Store) askSessions(ctx context.Context, tx pgx.Tx, q Question, answer *Answer) error {
	if len(answer.Groups) == 1 {
		answer.Sessions = answer.Groups[0].Sessions
	}
	if len(answer.Groups) < 2 {
		return nil
	}
	b := &query{}
	sql := "SELECT count(DISTINCT c.session_id) FROM " + q.from(b, s.outfit) + " AND " + q.Outcome.counts()
	for _, by := range q.By {
		sql += fmt.Sprintf(" AND (%s) IS NOT NULL", by.Factor.sql)
	}
	return tx.QueryRow(ctx, sql, b.args...).Scan(&answer.Sessions)
}

// collect reads the groups, and puts aside those without a level.
func (a *Answer) collect(rows pgx.Rows, q Question) error {
	levels := make([]any, len(q.By))
	refused := make([]int, len(q.Outcome.usable))
	var g Sums
	var every int
	var targets []any
	for i := range levels {
		targets = append(targets, &levels[i])
	}
	targets = append(targets, &g.Stints, &every, &g.Sessions, &g.K, &g.T, &g.KK, &g.KT, &g.TT, &g.TTT, &g.Hours)
	for i := range refused {
		targets = append(targets, &refused[i])
	}
	_, err := pgx.ForEachRow(rows, targets, func() error {
		if every == 0 {
			return nil // nothing at all matched
		}
		g.Level = nil
		for i, by := range q.By {
			if levels[i] == nil {
				a.LeftOut[by.Factor.Missing] += every
				return nil
			}
			g.Level = append(g.Level, by.level(levels[i]))
		}
		for i, n := range refused {
			if n > 0 {
				u := q.Outcome.usable[i]
				a.LeftOut[u.otherwise] += n
				if u == timedOnly {
					a.Untimed += n
				}
			}
		}
		if g.Stints > 0 {
			a.Groups = append(a.Groups, g)
		}
		return nil
	})
	return err
}

// level turns a value of the query into a level of the factor.
func (b By) level(v any) Level {
	n, ok := v.(float64)
	if !ok {
		return Level{Word: fmt.Sprint(v), Kind: WordLevel}
	}
	if b.Edges == nil {
		return Level{Number: n, Kind: NumberLevel}
	}
	switch i := int(n); {
	case i == 0:
		return Level{Upper: b.Edges[0], Kind: BelowLevel}
	case i == len(b.Edges):
		return Level{Number: b.Edges[i-1], Kind: AboveLevel}
	default:
		return Level{Number: b.Edges[i-1], Upper: b.Edges[i], Kind: BandLevel}
	}
}

// askUnplaced counts what happened to rigs with several flies without a note of
// which: it belongs to no position, and a question by position leaves it out.
func (s *Store) askUnplaced(ctx context.Context, tx pgx.Tx, q Question, answer *Answer) error {
	what, name := q.Outcome.events, q.Outcome.Events
	if q.Outcome.Measure == ShareOf && q.Outcome.Exposure != "loads" {
		what, name = q.Outcome.exposure, q.Outcome.Exposure
	}
	whole := q
	whole.By, whole.Where = nil, nil
	for _, c := range q.Where {
		if !c.Factor.byPosition {
			whole.Where = append(whole.Where, c)
		}
	}
	b := &query{}
	sum := func(from string) string { return fmt.Sprintf("(SELECT coalesce(sum(%s), 0) FROM %s)", what, from) }
	placed := strings.Replace(whole.from(b, s.outfit), stintRows, "stint_position", 1)
	if q.Outcome.onTag {
		placed += " AND c.position > 0"
	}
	sql := "SELECT (" + sum(whole.from(b, s.outfit)) + " - " + sum(placed) + ")::bigint"
	var unplaced int
	if err := tx.QueryRow(ctx, sql, b.args...).Scan(&unplaced); err != nil {
		return err
	}
	if unplaced > 0 {
		on := "on no fly in particular"
		if q.Outcome.onTag {
			on = "on no dropper in particular"
		}
		answer.LeftOut[name+" "+on] = unplaced
		answer.Unplaced = unplaced
	}
	return nil
}
