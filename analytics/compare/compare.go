// Package compare tells clients how their outfit fishes, in numbers that give nobody in it away.
package compare

import (
	"context"
	"fmt"
	"maps"
	"math"
	"strconv"

	"rigtally/journal"
	"rigtally/journal/facts"
)

// Question is one of the few that a comparison answers. Each is told by one division of what was fished and not as a
// whole beside it, so that no number of it is what is left of another.
type Question struct {
	Outcome journal.Outcome
	By      *journal.By // nil: undivided
}

// tagEdgesMM divide the lengths of tags. They are the same in all units: other edges would tell of what lies between.
func tagEdgesMM() []float64 { return []float64{75, 150, 225} }

// Questions are those that a comparison answers.
func Questions() []Question {
	junction, length := by("junction", nil), by("tag-length", tagEdgesMM())
	return []Question{of("tangles", junction), of("downtime", length), of("loss", nil), of("foul-hook", nil)}
}

func of(key string, by *journal.By) Question {
	o, err := journal.OutcomeByKey(key)
	if err != nil {
		panic(err) // of the names above
	}
	return Question{o, by}
}

func by(key string, edges []float64) *journal.By {
	f, err := journal.FactorByKey(key)
	if err != nil {
		panic(err) // of the names above
	}
	return &journal.By{Factor: f, Edges: edges}
}

// Level is what one number of a question is about.
type Level struct {
	Key      string // in a comparison
	Word     string // of a question divided by words
	From, To float64
}

// Levels are what the numbers of the question are about, in their order.
func (q Question) Levels() []Level {
	switch {
	case q.By == nil:
		return []Level{{Key: q.Outcome.Key}}
	case q.By.Edges == nil:
		var list []Level
		for _, w := range q.By.Factor.Vocabulary() {
			list = append(list, Level{Key: q.key(journal.Level{Word: w}), Word: w})
		}
		return list
	}
	list := []Level{{To: q.By.Edges[0]}}
	for i, edge := range q.By.Edges {
		next := math.Inf(1)
		if i+1 < len(q.By.Edges) {
			next = q.By.Edges[i+1]
		}
		list = append(list, Level{From: edge, To: next})
	}
	for i, l := range list {
		list[i].Key = q.key(q.By.LevelOf("", l.From))
	}
	return list
}

// key names a level in a comparison.
func (q Question) key(l journal.Level) string {
	at := l.Word
	if q.By.Edges != nil {
		at = strconv.FormatFloat(l.Number, 'f', -1, 64) // of the lowest band 0
	}
	return q.Outcome.Key + "/" + q.By.Factor.Key + "/" + at
}

// Keeper holds what was fished; *pg.Store is one.
type Keeper interface {
	Facts(ctx context.Context) (*facts.Facts, error)
	Anglers(ctx context.Context) ([]journal.Angler, error)
}

// Cell is what each angler has in a number.
type Cell = map[journal.ID]journal.Part

// Gather adds up what each angler has in the numbers, by their keys, as it was fished.
func Gather(ctx context.Context, j Keeper) (map[string]Cell, error) {
	f, err := j.Facts(ctx)
	if err != nil {
		return nil, err
	}
	anglers, err := j.Anglers(ctx)
	if err != nil {
		return nil, err
	}
	byName := map[string]journal.ID{}
	for _, a := range anglers {
		byName[a.Name] = a.ID
	}
	cells := map[string]Cell{}
	for _, q := range Questions() {
		asked := journal.Question{Outcome: q.Outcome, By: []journal.By{*by("angler", nil)}}
		if q.By != nil {
			asked.By = append(asked.By, *q.By)
		}
		answer, err := f.Ask(asked)
		if err != nil {
			return nil, fmt.Errorf("compare %s: %w", q.Outcome.Key, err)
		}
		for _, g := range answer.Groups {
			key := q.Outcome.Key
			if q.By != nil {
				key = q.key(g.Level[1])
			}
			if cells[key] == nil {
				cells[key] = Cell{}
			}
			cells[key][byName[g.Level[0].Word]] = journal.Part{Count: steady(g.K), Base: steady(g.T), Hours: steady(g.Hours)}
		}
	}
	return cells, nil
}

// steady is a sum without what the order of adding makes of its last digits, which is no change.
func steady(v float64) float64 { return math.Round(v*1e6) / 1e6 }

// Next is the comparison of a week after all earlier ones, the last first: what may be told of what was gathered, and
// else what was told before.
func Next(earlier []journal.Comparison, week journal.Date, gathered map[string]Cell) journal.Comparison {
	c := journal.Comparison{Week: week, Shown: map[string]float64{}, Basis: map[string]Cell{}}
	if len(earlier) > 0 {
		maps.Copy(c.Basis, earlier[0].Basis)
	}
	for key, cell := range gathered {
		may := mayFollow(nil, cell)
		for _, before := range earlier {
			held := before.Basis[key]
			may = may && (maps.Equal(held, cell) || mayFollow(held, cell))
		}
		if may {
			c.Basis[key] = cell
		}
	}
	for key, cell := range c.Basis {
		c.Shown[key] = TwoDigits(Rate(cell))
	}
	return c
}

// Rate is what a cell comes to; not a number where there is nothing to hold against.
func Rate(c Cell) float64 {
	var count, base float64
	for _, p := range c {
		count, base = count+p.Count, base+p.Base
	}
	return count / base
}

// TwoDigits rounds to two significant digits.
func TwoDigits(v float64) float64 {
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 1, 64), 64) // of this form it can't fail
	return rounded
}
