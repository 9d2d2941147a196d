package pg

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// shelf keeps things of one kind that people change, take away and bring back.
type shelf[T any] struct {
	table[T]
	what, called string // "pull" in a conflict, "bench pull" in words
	order        string
	start        func() []T // what every journal begins with; they are never deleted for good
	mark         func(*T) marks
	equal        func(v, held T) bool
	carry        func(v *T, held *T) // keeps what a change leaves as it was; held is nil for something new
	goes         bool                // what was taken away can't be changed, and is deleted for good after journal.UndoDays
	title        func(T) string      // as a step calls it
	gone         string              // the column that says since when it is away
}

// marks are what all things on a shelf have.
type marks struct {
	id      journal.ID
	version *int
	made    *time.Time
	gone    **time.Time // nil: there
}

// thing is what can be put on a shelf.
type thing[T any] interface {
	*T
	Normalize()
	Validate() error
}

// read lists things that a condition chooses.
func (k *shelf[T]) read(ctx context.Context, s *Store, from querier, which string, args ...any) ([]T, error) {
	list, err := k.of(ctx, from, s.outfit, which, args...)
	for i := range list {
		any(&list[i]).(interface{ Normalize() }).Normalize()
	}
	return list, err
}

// all lists everything on the shelf. Its first use puts there what a journal begins with, but for a client, whom a
// shelf that begins with something is not for.
func (k *shelf[T]) all(ctx context.Context, s *Store) ([]T, error) {
	doing := "list the " + k.called + "s"
	list, err := k.read(ctx, s, s.once(), "true ORDER BY "+k.order)
	if err != nil || len(list) > 0 || k.start == nil || s.who.IsClient() {
		return list, explain(doing, err)
	}
	if err := s.write(ctx, "set up the "+k.called+"s", func(tx pgx.Tx) error { return k.begin(ctx, s, tx) }); err != nil {
		return nil, err
	}
	list, err = k.read(ctx, s, s.once(), "true ORDER BY "+k.order)
	return list, explain(doing, err)
}

// begin fills a shelf that has never been used, and takes what was deleted too long ago off
// one that forgets.
func (k *shelf[T]) begin(ctx context.Context, s *Store, tx pgx.Tx) error {
	if k.goes {
		_, err := tx.Exec(ctx, "DELETE FROM "+k.name+" WHERE outfit_id = $1 AND deleted_at < now() - make_interval(days => $2)", s.outfit, journal.UndoDays)
		return err
	}
	var used bool
	if err := tx.QueryRow(ctx, "SELECT EXISTS (SELECT FROM "+k.name+" WHERE outfit_id = $1)", s.outfit).Scan(&used); err != nil || used {
		return err
	}
	return k.put(ctx, s, tx, k.start())
}

// byID returns one thing, or ErrNotFound; one that was taken away says so.
func (k *shelf[T]) byID(ctx context.Context, s *Store, id journal.ID) (T, error) {
	v, err := k.held(ctx, s, s.once(), id)
	if errors.Is(err, journal.ErrNotFound) && k.start != nil { // it may not have been set up yet
		if _, err := k.all(ctx, s); err != nil {
			return v, err
		}
		v, err = k.held(ctx, s, s.once(), id)
	}
	if errors.Is(err, journal.ErrNotFound) {
		return v, err
	}
	return v, explain("read the "+k.called, err)
}

func (k *shelf[T]) held(ctx context.Context, s *Store, from querier, id journal.ID) (v T, err error) {
	list, err := k.read(ctx, s, from, "id = $2", id)
	if err == nil && len(list) == 0 {
		err = fmt.Errorf("%s %s: %w", k.called, id, journal.ErrNotFound)
	}
	if err != nil {
		return v, err
	}
	return list[0], nil
}

// put writes things as they are, in the place of those of the same ids.
func (k *shelf[T]) put(ctx context.Context, s *Store, tx pgx.Tx, list []T) error {
	batch := &pgx.Batch{}
	for i := range list {
		batch.Queue(k.upsert("outfit_id, id"), k.row(&list[i], s.outfit)...)
	}
	return tx.SendBatch(ctx, batch).Close()
}

// save adds a thing, or changes the one of the same id, and returns it as stored. Saving the
// same one twice changes nothing. A change must carry the version that was edited; it is a
// Conflict when the journal holds another.
func save[T any, P thing[T]](ctx context.Context, s *Store, k *shelf[T], v T) (T, error) {
	P(&v).Normalize()
	if err := P(&v).Validate(); err != nil {
		var none T
		return none, err
	}
	err := s.write(ctx, "save the "+k.called, func(tx pgx.Tx) error {
		if err := k.begin(ctx, s, tx); err != nil {
			return err
		}
		m := k.mark(&v)
		held, err := k.held(ctx, s, tx, m.id)
		switch {
		case errors.Is(err, journal.ErrNotFound) && *m.version > 0:
			return &journal.Conflict{What: k.what, Seen: *m.version}
		case errors.Is(err, journal.ErrNotFound):
			if k.carry(&v, nil); m.made.IsZero() {
				*m.made = time.Now().UTC().Truncate(time.Microsecond)
			}
			*m.version = 1
			return k.put(ctx, s, tx, []T{v})
		case err != nil:
			return err
		}
		seen, at := *m.version, k.mark(&held)
		if k.goes && *at.gone != nil {
			return &journal.Conflict{What: k.what, Seen: seen, Held: *at.version, Deleted: true, Stored: held}
		}
		*m.version, *m.made, *m.gone = *at.version, *at.made, *at.gone
		switch k.carry(&v, &held); {
		case k.equal(v, held):
			return errUnchanged // sent twice
		case seen != *at.version:
			return &journal.Conflict{What: k.what, Seen: seen, Held: *at.version, Stored: held}
		}
		*m.version++
		return k.put(ctx, s, tx, []T{v})
	})
	return v, err
}

// take takes a thing away or brings it back, if it is still the version that was seen; 0 is any.
func (k *shelf[T]) take(ctx context.Context, s *Store, doing string, id journal.ID, seen int, away bool) error {
	return s.write(ctx, doing+" the "+k.called, func(tx pgx.Tx) error {
		if err := k.begin(ctx, s, tx); err != nil {
			return err
		}
		held, err := k.held(ctx, s, tx, id)
		if err != nil {
			return err
		}
		m := k.mark(&held)
		if (*m.gone != nil) == away {
			return errUnchanged
		}
		if err := journal.Stale(k.what, seen, *m.version, k.goes && !away, held); err != nil {
			return err
		}
		was := *m.gone
		if *m.gone = nil; away {
			*m.gone = new(time.Now().UTC().Truncate(time.Microsecond))
		}
		*m.version++
		if err := k.put(ctx, s, tx, []T{held}); err != nil {
			return err
		}
		step := &deed{kind: journal.StepRestore, told: "Brought back the " + k.title(held), deedContent: deedContent{Taken: []taking{{Table: k.name, Column: k.gone, ID: id, Was: was, Is: *m.gone}}}}
		if away {
			step.kind, step.told = journal.StepDelete, strings.ToUpper(doing[:1])+doing[1:]+"d the "+k.title(held)
		}
		return s.keepStep(ctx, tx, step)
	})
}

// taking is a thing on a shelf that a step took away, or put there: since when it was away before, and after. Both nil: it is new.
type taking struct {
	Table  string     `json:"table"`
	Column string     `json:"column"`
	ID     journal.ID `json:"id"`
	Was    *time.Time `json:"was"`
	Is     *time.Time `json:"is"`
	Said   string     `json:"said,omitempty"` // a hash of what an imported one says: who has corrected it since keeps it
}

// whatPullSays is what people write of a pull x, but for whose it is, which a merge changes.
const whatPullSays = `md5((to_jsonb(x) - ARRAY['version', 'changed', 'deleted_at', 'angler_id', 'logged_at'])::text)`

// takenBack puts things back to where they were before the step, unless they were moved since, and counts them.
func (u *undoing) takenBack(ctx context.Context) error {
	changed, pulls := 0, 0
	for _, t := range u.deed.Taken {
		table, column, said := pgx.Identifier{t.Table}.Sanitize(), pgx.Identifier{t.Column}.Sanitize(), "''"
		var b query
		do := `UPDATE ` + table + ` x SET ` + column + ` = ` + b.arg(t.Was) + `, version = version + 1`
		switch {
		case t.Was == nil && t.Is == nil:
			b, do = query{}, `DELETE FROM `+table+` x`
		case t.Table == ruleSets.name: // which has no versions
			do = strings.TrimSuffix(do, `, version = version + 1`)
		}
		if t.Said != "" {
			said = whatPullSays
		}
		tag, err := u.tx.Exec(ctx, do+` WHERE outfit_id = `+b.arg(u.outfit)+` AND id = `+b.arg(t.ID)+` AND `+column+` IS NOT DISTINCT FROM `+b.arg(t.Is)+` AND `+said+` = `+b.arg(t.Said), b.args...)
		switch {
		case err != nil:
			return err
		case tag.RowsAffected() == 0:
			changed++
		case u.deed.kind == journal.StepImport:
			pulls++
		}
	}
	if pulls > 0 {
		u.Gone = append(u.Gone, counted(pulls, "bench pull"))
	}
	if u.other = u.other || changed < len(u.deed.Taken); changed > 0 && u.deed.kind == journal.StepImport {
		u.left("%s changed or deleted since", counted(changed, "bench pull"))
	} else if changed > 0 {
		u.left("it was deleted or brought back since")
	}
	return nil
}

var pulls = &shelf[journal.BenchPull]{
	table: tableOf[journal.BenchPull]("bench_pull", "outfit_id"),
	what:  "pull", called: "bench pull",
	mark:  func(p *journal.BenchPull) marks { return marks{p.ID, &p.Version, &p.LoggedAt, &p.DeletedAt} },
	equal: journal.BenchPull.Equal,
	carry: func(p, _ *journal.BenchPull) { p.DeletedAt = nil },
	goes:  true, gone: "deleted_at",
	title: func(p journal.BenchPull) string { return "bench pull of " + p.Day.String() },
}

// BenchPulls lists the pulls of the journal, without those deleted, in the order
// in which they were logged.
func (s *Store) BenchPulls(ctx context.Context) ([]journal.BenchPull, error) {
	list, err := pulls.read(ctx, s, s.once(), "deleted_at IS NULL ORDER BY logged_at, id")
	return list, explain("list the bench pulls", err)
}

// BenchPullByID returns a pull, or ErrNotFound; one that was deleted has its DeletedAt set.
func (s *Store) BenchPullByID(ctx context.Context, id journal.ID) (journal.BenchPull, error) {
	return pulls.byID(ctx, s, id)
}

// SaveBenchPull adds a pull, or changes the one of the same id, and returns it
// as stored. Saving the same one twice changes nothing. A change must carry the
// version that was edited; it is a Conflict when the journal holds another, or
// one that was deleted.
func (s *Store) SaveBenchPull(ctx context.Context, p journal.BenchPull) (journal.BenchPull, error) {
	return save(ctx, s, pulls, p)
}

// AddBenchPulls adds new pulls and anglers in one transaction, all of them or
// none. A pull in the place of one that was deleted brings it back. Told says what the step is called that takes them back.
func (s *Store) AddBenchPulls(ctx context.Context, list []journal.BenchPull, anglers []journal.Angler, told string) error {
	if len(list) == 0 && len(anglers) == 0 {
		return nil
	}
	now := time.Now()
	list = slices.Clone(list)
	add := journal.Addition{Anglers: anglers, Pulls: list}
	for i := range list {
		if list[i].LoggedAt.IsZero() {
			list[i].LoggedAt = now.Add(time.Duration(i) * time.Microsecond) // in the order of the list
		}
	}
	if err := add.Prepare(); err != nil {
		return err
	}
	return s.write(ctx, "add the bench pulls", func(tx pgx.Tx) error {
		step := &deed{kind: journal.StepImport, told: told}
		held, err := s.addPeople(ctx, tx, add, step)
		if err != nil {
			return err
		}
		if err := s.putPulls(ctx, tx, add.Refer(held).Pulls, step); err != nil {
			return err
		}
		return s.keepStep(ctx, tx, step)
	})
}

// putPulls writes pulls, and notes with the step those that were not among the pulls before: that takes these away again.
func (s *Store) putPulls(ctx context.Context, tx pgx.Tx, list []journal.BenchPull, step *deed) error {
	if len(list) == 0 {
		return nil
	}
	ids := make([]journal.ID, len(list))
	for i := range list {
		ids[i] = list[i].ID
	}
	was := map[journal.ID]*time.Time{}
	var id journal.ID
	var gone *time.Time
	if err := each(ctx, tx, []any{&id, &gone}, func() { was[id], gone = gone, nil }, `SELECT id, deleted_at FROM bench_pull WHERE outfit_id = $1 AND id = ANY($2)`, s.outfit, ids); err != nil {
		return err
	}
	if err := pulls.put(ctx, s, tx, list); err != nil {
		return err
	}
	var said string
	return each(ctx, tx, []any{&id, &said}, func() {
		if before, held := was[id]; !held || before != nil {
			step.Taken = append(step.Taken, taking{Table: pulls.name, Column: pulls.gone, ID: id, Was: before, Said: said})
		}
	}, `SELECT id, `+whatPullSays+` FROM bench_pull x WHERE outfit_id = $1 AND id = ANY($2) AND deleted_at IS NULL ORDER BY id`, s.outfit, ids)
}

// DeleteBenchPull takes a pull out of the journal, if it is still the version
// that was seen; 0 is any. RestoreBenchPull brings it back for UndoDays.
func (s *Store) DeleteBenchPull(ctx context.Context, id journal.ID, seen int) error {
	return pulls.take(ctx, s, "delete", id, seen, true)
}

// RestoreBenchPull brings a deleted pull back as it was, if it is still the
// version that was seen; 0 is any.
func (s *Store) RestoreBenchPull(ctx context.Context, id journal.ID, seen int) error {
	return pulls.take(ctx, s, "restore", id, seen, false)
}

// DeletedBenchPulls lists what can still be brought back, the last deleted first.
func (s *Store) DeletedBenchPulls(ctx context.Context) ([]journal.BenchPull, error) {
	list, err := pulls.read(ctx, s, s.once(), "deleted_at >= now() - make_interval(days => $2) ORDER BY deleted_at DESC, id", journal.UndoDays)
	return list, explain("list the deleted bench pulls", err)
}

var claims = &shelf[journal.Claim]{
	table: tableOf[journal.Claim]("claim", "outfit_id"),
	what:  "claim", called: "claim", order: "created_at, id",
	start: journal.StartingClaims,
	mark:  func(c *journal.Claim) marks { return marks{c.ID, &c.Version, &c.CreatedAt, &c.RetiredAt} },
	equal: journal.Claim.Equal,
	carry: func(c, held *journal.Claim) { c.Succeed(held, time.Now()) },
	title: func(c journal.Claim) string { return fmt.Sprintf("claim %q", c.Words) }, gone: "retired_at",
}

// Claims lists every claim, the retired ones too, oldest first. The first use
// of a journal's claims sets the starting board up.
func (s *Store) Claims(ctx context.Context) ([]journal.Claim, error) { return claims.all(ctx, s) }

// ClaimByID returns a claim, or ErrNotFound.
func (s *Store) ClaimByID(ctx context.Context, id journal.ID) (journal.Claim, error) {
	return claims.byID(ctx, s, id)
}

// SaveClaim adds a claim, or changes the one of the same id, and returns it as
// stored. A change must carry the version that was edited, and is a Conflict when
// the journal holds another. It keeps when the claim was added and whether it is
// retired; when it states something else, it is the user's own from then on, and when it asks
// something else, it was stated then.
func (s *Store) SaveClaim(ctx context.Context, c journal.Claim) (journal.Claim, error) {
	return save(ctx, s, claims, c)
}

// RetireClaim takes a claim off the board, if it is still the version that was
// seen; 0 is any. It is kept, but no longer tested.
func (s *Store) RetireClaim(ctx context.Context, id journal.ID, seen int) error {
	return claims.take(ctx, s, "retire", id, seen, true)
}

// RestoreClaim puts a retired claim back on the board, if it is still the version
// that was seen; 0 is any.
func (s *Store) RestoreClaim(ctx context.Context, id journal.ID, seen int) error {
	return claims.take(ctx, s, "restore", id, seen, false)
}

var ruleSets = &shelf[journal.RuleSet]{
	table: tableOf[journal.RuleSet]("rule_set", "outfit_id"),
	what:  "rule set", called: "rule set", order: "example, created_at DESC, id",
	start: journal.StartingRules,
	mark:  func(r *journal.RuleSet) marks { return marks{r.ID, new(int), &r.CreatedAt, &r.DeletedAt} },
	equal: journal.RuleSet.Equal,
	carry: func(r, held *journal.RuleSet) { r.Example = held != nil && held.Example && r.SameRules(*held) },
	title: func(r journal.RuleSet) string { return "rule set " + r.Name }, gone: "deleted_at",
}

// RuleSets lists every rule set, the deleted ones too: the user's own first, the
// latest first, then the examples. The first use sets the examples up.
func (s *Store) RuleSets(ctx context.Context) ([]journal.RuleSet, error) { return ruleSets.all(ctx, s) }

// RuleSetByID returns a rule set, or ErrNotFound.
func (s *Store) RuleSetByID(ctx context.Context, id journal.ID) (journal.RuleSet, error) {
	return ruleSets.byID(ctx, s, id)
}

// SaveRuleSet adds a rule set, or changes the one of the same id, and returns it
// as stored. An example that says something else is the user's own from then on.
func (s *Store) SaveRuleSet(ctx context.Context, r journal.RuleSet) (journal.RuleSet, error) {
	return save(ctx, s, ruleSets, r)
}

// DeleteRuleSet takes a rule set out of use; RestoreRuleSet puts it back.
func (s *Store) DeleteRuleSet(ctx context.Context, id journal.ID) error {
	return ruleSets.take(ctx, s, "delete", id, 0, true)
}

// RestoreRuleSet puts a deleted rule set back into use.
func (s *Store) RestoreRuleSet(ctx context.Context, id journal.ID) error {
	return ruleSets.take(ctx, s, "restore", id, 0, false)
}
