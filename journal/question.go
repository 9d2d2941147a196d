package journal

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"
)

// Question asks how often an outcome happens at each level of some factors.
type Question struct {
	Outcome Outcome
	By      []By        // one or two; none asks for the whole
	Where   []Condition // all must hold; several on one factor are alternatives
	Given   []Factor    // must be known too, of every row that counts
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
	Stints   int            // with exposure, each once for each of its positions; one may be in several groups
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
	return append(all, q.Given...)
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

// from returns the FROM and WHERE of the rows that a question is about, with
// the tables that some factors need.
func (q Question) from(b *query, outfit ID, needed []Factor) string {
	table := stintRows
	conditions := []string{"c.outfit_id = " + b.arg(outfit)}
	if q.byPosition() {
		table = "stint_position"
	}
	if q.ofSpells() {
		table = "tag_exposure"
	}
	if q.ofDroppers() {
		conditions = append(conditions, "c.position > 0")
	}
	conditions = append(conditions, q.where(b)...)
	return table + " c" + joins("c", needed) + "\n\tWHERE " + strings.Join(conditions, "\n\tAND ")
}

// ofSpells reports whether the rows are the spells of a tag's length.
func (q Question) ofSpells() bool {
	return slices.ContainsFunc(q.factors(), func(f Factor) bool { return f.Key == tagLength })
}

// ofTags reports whether only droppers on a tag are in question.
func (q Question) ofTags() bool {
	return slices.ContainsFunc(q.factors(), func(f Factor) bool { return f.ofTag })
}

// ofDroppers reports whether the point fly is out of the question.
func (q Question) ofDroppers() bool {
	return q.byPosition() && (q.Outcome.onTag || slices.ContainsFunc(q.factors(), func(f Factor) bool { return f.ofTag || f.ofDropper }))
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

// level is the level of a word or number: itself, or its band.
func (b By) level(word string, number float64) Level {
	switch {
	case b.Factor.Quantity == Words:
		return Level{Word: word, Kind: WordLevel}
	case b.Edges == nil:
		return Level{Number: number, Kind: NumberLevel}
	}
	switch i := b.band(number); i {
	case 0:
		return Level{Upper: b.Edges[0], Kind: BelowLevel}
	case len(b.Edges):
		return Level{Number: b.Edges[i-1], Kind: AboveLevel}
	default:
		return Level{Number: b.Edges[i-1], Upper: b.Edges[i], Kind: BandLevel}
	}
}

// band is how many edges a number has reached.
func (b By) band(number float64) int {
	i, found := slices.BinarySearch(b.Edges, number)
	if found {
		i++
	}
	return i
}

// unplaced counts what happened to rigs with several flies without a note of
// which: it belongs to no position, and a question by position leaves it out.
// read holds the sums over the rows that were read.
func (s *Store) unplaced(ctx context.Context, tx pgx.Tx, q Question, read sumsRead, answer *Answer) error {
	what, name, placed := q.Outcome.events, q.Outcome.Events, read.events
	if q.Outcome.Measure == ShareOf && q.Outcome.Exposure != "loads" {
		what, name, placed = q.Outcome.exposure, q.Outcome.Exposure, read.exposure
	}
	whole := Question{Outcome: q.Outcome}
	var needed []Factor
	for _, c := range q.Where {
		if !c.Factor.byPosition {
			whole.Where = append(whole.Where, c)
			needed = append(needed, c.Factor)
		}
	}
	b := &query{}
	sum := func(from string) string {
		return fmt.Sprintf("(SELECT coalesce(sum(%s), 0)::float8 FROM %s)", what, from)
	}
	everything := whole.from(b, s.outfit, needed)
	sql := "SELECT " + sum(everything)
	if len(whole.Where) < len(q.Where) || q.ofDroppers() && !q.Outcome.onTag {
		// What was read are not all the positions that something can be placed on.
		positions := strings.Replace(everything, stintRows, "stint_position", 1)
		if q.Outcome.onTag {
			positions += " AND c.position > 0"
		}
		sql, placed = sql+" - "+sum(positions), 0
	}
	var rest float64
	if err := tx.QueryRow(ctx, sql, b.args...).Scan(&rest); err != nil {
		return err
	}
	if unplaced := int(math.Round(rest - placed)); unplaced > 0 {
		on := "on no fly in particular"
		if q.Outcome.onTag {
			on = "on no dropper in particular"
		}
		answer.LeftOut[name+" "+on] = unplaced
		answer.Unplaced = unplaced
	}
	return nil
}
