package journal

import (
	"context"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"
)

// SessionSum is what a session counts for an outcome, over its whole rigs.
type SessionSum struct {
	SessionRef
	Events, Exposure float64
}

// BySession adds an outcome up by session, in the order in which they were
// fished, and says how many stints it could not use. Sessions without exposure
// are left out. The filter's limit and offset are not looked at.
func (s *Store) BySession(ctx context.Context, o Outcome, f SessionFilter) ([]SessionSum, map[string]int, error) {
	b := &query{}
	usable := o.counts()
	selects := []string{"se.id", "se.day", "a.name",
		fmt.Sprintf("coalesce(sum(%s) FILTER (WHERE %s), 0)::float8", o.events, usable),
		fmt.Sprintf("coalesce(sum(%s) FILTER (WHERE %s), 0)::float8", o.exposure, usable)}
	refused := make([]int, len(o.usable))
	var sum SessionSum
	targets := []any{&sum.ID, &sum.Day, &sum.Angler, &sum.Events, &sum.Exposure}
	for i, u := range o.usable {
		selects = append(selects, fmt.Sprintf("count(*) FILTER (WHERE (%s) IS NOT TRUE)", u.condition))
		targets = append(targets, &refused[i])
	}
	sql := "SELECT " + strings.Join(selects, ", ") + `
		FROM stint c JOIN session se ON se.outfit_id = c.outfit_id AND se.id = c.session_id
		JOIN angler a ON a.outfit_id = se.outfit_id AND a.id = se.angler_id
		WHERE ` + f.where(b, s.outfit) + `
		GROUP BY se.id, se.day, se.started_at, a.name
		ORDER BY se.day, se.started_at NULLS LAST, se.id`
	var list []SessionSum
	leftOut := map[string]int{}
	rows, err := s.pool.Query(ctx, sql, b.args...)
	if err == nil {
		_, err = pgx.ForEachRow(rows, targets, func() error {
			for i, n := range refused {
				if n > 0 {
					leftOut[o.usable[i].otherwise] += n
				}
			}
			if sum.Exposure > 0 {
				list = append(list, sum)
			}
			return nil
		})
	}
	return list, leftOut, explain("add up "+o.Key+" by session", err)
}
