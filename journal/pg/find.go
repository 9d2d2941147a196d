package pg

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// ListKind is a kind of thing that lists show with its id.
type ListKind string

// What is found by the beginning of its id.
const (
	ListSessions ListKind = "session"
	ListDeleted  ListKind = "deleted session"
	ListRigs     ListKind = "rig"
	ListClaims   ListKind = "claim"
	ListTrials   ListKind = "trial"
	ListPulls    ListKind = "bench pull" // deleted or not
	ListSteps    ListKind = "step"
	ListAnglers  ListKind = "angler"
	ListWaters   ListKind = "water"
	ListRules    ListKind = "rule set"
)

// listings say where ids of a kind are, and what a thing of it is called beside its id.
var listings = map[ListKind]struct{ table, id, title string }{
	ListSessions: {"session", "id", `day || coalesce(', ' || (SELECT a.name FROM angler a WHERE a.outfit_id = x.outfit_id AND a.id = x.angler_id), '') || coalesce(' on ' || (SELECT w.name FROM water w WHERE w.outfit_id = x.outfit_id AND w.id = x.water_id), '')`},
	ListDeleted:  {"deleted_session", "session_id", `day || coalesce(', ' || (SELECT a.name FROM angler a WHERE a.outfit_id = x.outfit_id AND a.id = x.angler_id), '')`},
	ListRigs:     {"rig", "id", `name || CASE WHEN revision > 1 THEN ' (revision ' || revision || ')' ELSE '' END`},
	ListClaims:   {"claim", "id", "words"},
	ListTrials:   {"trial", "id", "name"},
	ListPulls:    {"bench_pull", "id", "day || ', ' || coalesce(nullif(junction_name, ''), nullif(junction, ''), 'line without a knot')"},
	ListSteps:    {"step", "id", "coalesce(nullif(what, ''), kind) || ', ' || at::date"},
	ListAnglers:  {"angler", "id", "name"},
	ListWaters:   {"water", "id", "name"},
	ListRules:    {"rule_set", "id", "name"},
}

const (
	leastBeginning = 4 // characters
	mostBeginnings = 5 // that an answer lists
)

// FindID finds the one thing of a kind whose id begins so, with at least 4 characters; a whole id is one too. Nothing
// is ErrNotFound, and a beginning of several is Invalid and lists what it may be.
func (s *Store) FindID(ctx context.Context, kind ListKind, beginning string) (journal.ID, error) {
	at, ok := listings[kind]
	if !ok {
		return journal.ID{}, fmt.Errorf("nothing is listed as %q", kind)
	}
	beginning = strings.ToLower(strings.TrimSpace(beginning))
	first, last, err := idsFrom(beginning)
	if err != nil {
		return journal.ID{}, err
	}
	var id journal.ID
	var title string
	var ids []journal.ID
	titles := map[journal.ID]string{}
	err = each(ctx, s.once(), []any{&id, &title}, func() { ids, titles[id] = append(ids, id), title },
		fmt.Sprintf(`SELECT %[2]s, %[3]s FROM %[1]s x WHERE outfit_id = $1 AND %[2]s >= $2 AND %[2]s <= $3 ORDER BY %[2]s LIMIT $4`, at.table, at.id, at.title), s.outfit, first, last, mostBeginnings+1)
	switch {
	case err != nil:
		return journal.ID{}, explain("find the "+string(kind), err)
	case len(ids) == 0:
		return journal.ID{}, fmt.Errorf("no %s has an id that begins with %s: %w", kind, beginning, journal.ErrNotFound)
	case len(ids) == 1:
		return ids[0], nil
	}
	more := ""
	if len(ids) > mostBeginnings {
		ids, more = ids[:mostBeginnings], ", and more"
	}
	short, err := s.Beginnings(ctx, kind, ids)
	if err != nil {
		return journal.ID{}, err
	}
	var list []string
	for _, id := range ids {
		list = append(list, fmt.Sprintf("%s (%s)", short[id], titles[id]))
	}
	return journal.ID{}, journal.Invalidf("%s begins the ids of several: %s%s; write one of these", beginning, strings.Join(list, ", "), more)
}

// idsFrom are the first and the last id that begin so.
func idsFrom(beginning string) (first, last journal.ID, err error) {
	digits := strings.ReplaceAll(beginning, "-", "")
	_, wrong := hex.DecodeString(digits + strings.Repeat("0", len(digits)%2))
	switch whole := 2 * len(first); {
	case wrong != nil || len(digits) > whole:
		return first, last, journal.Invalidf("%q is not the beginning of an id; copy it from a list", beginning)
	case len(beginning) < leastBeginning:
		return first, last, journal.Invalidf("%q is too short for the beginning of an id; write at least %d characters", beginning, leastBeginning)
	default:
		_, errFirst := hex.Decode(first[:], []byte(digits+strings.Repeat("0", whole-len(digits))))
		_, errLast := hex.Decode(last[:], []byte(digits+strings.Repeat("f", whole-len(digits))))
		return first, last, errors.Join(errFirst, errLast)
	}
}

// Beginnings gives for each id the shortest beginning, of at least 4 characters, that no other thing of the kind has.
func (s *Store) Beginnings(ctx context.Context, kind ListKind, ids []journal.ID) (map[journal.ID]string, error) {
	at, ok := listings[kind]
	if !ok {
		return nil, fmt.Errorf("nothing is listed as %q", kind)
	}
	short := make(map[journal.ID]string, len(ids))
	var id journal.ID
	var before, after *journal.ID
	err := each(ctx, s.once(), []any{&id, &before, &after}, func() {
		text := id.String()
		n := leastBeginning
		for _, other := range []*journal.ID{before, after} { // its neighbors have the most in common with it
			if other != nil {
				n = max(n, inCommon(text, other.String())+1)
			}
		}
		short[id] = text[:n]
	}, fmt.Sprintf(`SELECT asked.id, (SELECT %[2]s FROM %[1]s WHERE outfit_id = $1 AND %[2]s < asked.id ORDER BY %[2]s DESC LIMIT 1), (SELECT %[2]s FROM %[1]s WHERE outfit_id = $1 AND %[2]s > asked.id ORDER BY %[2]s LIMIT 1)
		FROM unnest($2::uuid[]) AS asked (id)`, at.table, at.id), s.outfit, ids)
	return short, explain("shorten the ids", err)
}

// inCommon is how many characters two texts begin with alike.
func inCommon(a, b string) int {
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			return i
		}
	}
	return min(len(a), len(b))
}

// headersHash is what a reading is kept by: the headers in their order, whatever their case.
func headersHash(headers []string) []byte {
	var b strings.Builder
	for _, h := range headers {
		b.WriteString(strings.ToLower(strings.TrimSpace(h)))
		b.WriteByte(0)
	}
	sum := sha256.Sum256([]byte(b.String()))
	return sum[:]
}

// Reading is what was chosen for a sheet of these headers the last time, as JSON that the caller understands.
func (s *Store) Reading(ctx context.Context, headers []string) (rules []byte, known bool, err error) {
	if s.who.IsClient() {
		return nil, false, nil
	}
	err = s.once().QueryRow(ctx, `SELECT rules FROM reading WHERE outfit_id = $1 AND headers = $2`, s.outfit, headersHash(headers)).Scan(&rules)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, false, nil
	}
	return rules, err == nil, explain("look for how such a sheet was read", err)
}

// KeepReading remembers what was chosen for sheets of these headers, in the place of what was.
func (s *Store) KeepReading(ctx context.Context, headers []string, rules []byte) error {
	return s.write(ctx, "remember how the sheet is read", func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, `INSERT INTO reading (outfit_id, headers, rules) VALUES ($1, $2, $3) ON CONFLICT (outfit_id, headers) DO UPDATE SET rules = excluded.rules, at = now()`,
			s.outfit, headersHash(headers), rules)
		return err
	})
}

// ForgetReading forgets what was chosen for sheets of these headers.
func (s *Store) ForgetReading(ctx context.Context, headers []string) error {
	return s.write(ctx, "forget how the sheet is read", func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, `DELETE FROM reading WHERE outfit_id = $1 AND headers = $2`, s.outfit, headersHash(headers))
		if err == nil && tag.RowsAffected() == 0 {
			err = errUnchanged
		}
		return err
	})
}
