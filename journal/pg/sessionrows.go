package pg

import (
	"fmt"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// How sessions and rigs are kept.
var (
	anglerTable      = tableOf[journal.Angler]("angler", "outfit_id")
	waterTable       = tableOf[journal.Water]("water", "outfit_id")
	beatTable        = tableOf[journal.Beat]("beat", "outfit_id, water_id")
	rigTable         = tableOf[journal.Rig]("rig", "outfit_id")
	rigPositionTable = tableOf[journal.RigPosition]("rig_position", "outfit_id, rig_id")
	sessionTable     = tableOf[journal.Session]("session", "outfit_id, fingerprint",
		column[journal.Session]{field: "start", name: "started_at", at: func(s *journal.Session) any { return &s.Start }},
		column[journal.Session]{field: "end", name: "ended_at", at: func(s *journal.Session) any { return &s.End }})
	stintTable = tableOf[journal.Stint]("stint", "outfit_id, session_id, ordinal",
		column[journal.Stint]{field: "minutes", name: "seconds", at: func(st *journal.Stint) any { return &seconds{st} }},
		column[journal.Stint]{field: "recorded", name: "recorded", at: func(st *journal.Stint) any { return (*recordedBits)(&st.Recorded) }}).with(tallyColumns)
	stintPositionTable = tableOf[journal.StintPosition]("stint_position", "outfit_id, stint_id, session_id, rig_id, seconds, tag_changed").with(tallyColumns)
	tagSpellTable      = tableOf[struct{}]("tag_spell", "outfit_id, stint_id, position, ordinal, tag_mm, share, session_id, rig_id, seconds").with(tallyColumns)
	eventTable         = tableOf[journal.Event]("event", "outfit_id, stint_id, ordinal").emptyAsNull()
)

// tallyColumns are the tallies' names in the tables.
var tallyColumns = countNames(journal.AllCounts())

// tables gathers the rows of sessions, table by table, in an order in which
// every row's references exist before it.
type tables struct {
	outfit                                              journal.ID
	sessions, stints, stintPositions, tagSpells, events [][]any
}

func (t *tables) each(f func(table string, columns []string, rows [][]any) error) error {
	for _, b := range []struct {
		table   string
		columns []string
		rows    [][]any
	}{
		{"session", sessionTable.names(), t.sessions},
		{"stint", stintTable.names(), t.stints},
		{"stint_position", stintPositionTable.names(), t.stintPositions},
		{"tag_spell", tagSpellTable.names(), t.tagSpells},
		{"event", eventTable.names(), t.events},
	} {
		if len(b.rows) == 0 {
			continue
		}
		if err := f(b.table, b.columns, b.rows); err != nil {
			return err
		}
	}
	return nil
}

// queue puts every row into a batch of single inserts.
func (t *tables) queue(batch *pgx.Batch) {
	_ = t.each(func(table string, columns []string, rows [][]any) error {
		insert := insertInto(table, columns)
		for _, row := range rows {
			batch.Queue(insert, row...)
		}
		return nil
	})
}

// add appends a session, which must be valid, with its counts.
func (t *tables) add(s journal.Session, rigs map[journal.ID]journal.Rig) error {
	fingerprint, err := s.Fingerprint()
	if err != nil {
		return err
	}
	t.sessions = append(t.sessions, sessionTable.row(&s, t.outfit, fingerprint))
	for i, st := range s.Stints {
		if err := t.addStint(s, i+1, st, rigs[st.RigID]); err != nil {
			return fmt.Errorf("count stint %d: %w", i+1, err)
		}
	}
	return nil
}

func (t *tables) addStint(s journal.Session, ordinal int, st journal.Stint, rig journal.Rig) error {
	tally, err := journal.TallyStint(rig, st)
	if err != nil {
		return err
	}
	t.stints = append(t.stints, appendCounts(stintTable.row(&st, t.outfit, s.ID, ordinal), tally.Stint, false))
	noted := map[int]journal.StintPosition{}
	for _, p := range st.Positions {
		noted[p.Position] = p
	}
	changed := map[int]bool{}
	for _, sp := range tally.Spells {
		changed[sp.Position] = true
		t.tagSpells = append(t.tagSpells, appendCounts([]any{t.outfit, st.ID, sp.Position, sp.Ordinal, sp.TagMM, sp.Share, s.ID, rig.ID, sp.Seconds(st)}, sp.Counts, true))
	}
	for _, p := range rig.Positions {
		n := noted[p.Position]
		n.Position = p.Position
		t.stintPositions = append(t.stintPositions, appendCounts(stintPositionTable.row(&n, t.outfit, st.ID, s.ID, rig.ID, st.Seconds(), changed[p.Position]), tally.Positions[p.Position], false))
	}
	for i := range st.Events {
		t.events = append(t.events, eventTable.row(&st.Events[i], t.outfit, st.ID, i+1))
	}
	return nil
}

// appendCounts puts the tallies at a row's end: whole ones or, in a spell, shares, of
// which none is null.
func appendCounts(row []any, counts journal.Counts, shares bool) []any {
	for _, n := range counts {
		switch {
		case !shares:
			row = append(row, int16(n))
		case n == 0:
			row = append(row, nil)
		default:
			row = append(row, n)
		}
	}
	return row
}
