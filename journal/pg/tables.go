package pg

import (
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// The columns written to each table, in the order of the row functions below.
// One list serves single inserts and bulk copies alike.
var (
	rigTable = []string{"outfit_id", "id", "name", "revision", "method", "rod_length_mm", "leader_length_mm", "sighter_length_mm", "swivel",
		"tippet_length_mm", "notes", "created_at"}
	rigPositionTable = []string{"outfit_id", "rig_id", "position", "hang", "junction", "junction_name", "facing", "prop", "tag_length_mm",
		"distance_mm", "tippet_mm", "material", "fly", "hook_size", "bead_mm", "bulk"}
	sessionTable = []string{"outfit_id", "id", "angler_id", "guide_id", "water_id", "beat_id", "day", "started_at", "ended_at", "time_zone",
		"water_temp_c", "flow_m3s", "stage_m", "depth_m", "velocity_ms", "storm", "clarity", "wind", "light", "from_gauge", "notes", "logged_at", "version", "fingerprint"}
	stintTable         = append([]string{"outfit_id", "id", "session_id", "ordinal", "rig_id", "seconds", "recorded", "casts", "stroke", "notes"}, tallyColumns...)
	stintPositionTable = append([]string{"outfit_id", "stint_id", "position", "session_id", "rig_id", "seconds", "tag_start_mm", "tag_end_mm",
		"tag_changed", "fly"}, tallyColumns...)
	tagSpellTable = append([]string{"outfit_id", "stint_id", "position", "ordinal", "tag_mm", "share", "session_id", "rig_id", "seconds"}, tallyColumns...)
	eventTable    = []string{"outfit_id", "stint_id", "ordinal", "position", "kind", "count", "minute", "hooking", "ending", "break_place", "species",
		"fish_length_mm", "tangle_kind", "minutes_lost", "turns", "cut_mm", "note"}
)

// tallyColumns are the tallies' names in the tables.
var tallyColumns = countNames(journal.AllCounts())

func insertInto(table string, columns []string) string {
	return "INSERT INTO " + table + " (" + strings.Join(columns, ", ") + ") VALUES (" + places(1, len(columns)) + ")"
}

// places are so many parameters of a statement, from the given number on.
func places(from, n int) string {
	list := make([]string, n)
	for i := range list {
		list[i] = fmt.Sprintf("$%d", from+i)
	}
	return strings.Join(list, ", ")
}

func rigRow(r journal.Rig, outfit journal.ID) []any {
	return []any{outfit, r.ID, r.Name, r.Revision, r.Method, r.RodLengthMM, r.LeaderLengthMM, r.SighterLengthMM, r.Swivel, r.TippetLengthMM, r.Notes, r.CreatedAt}
}

func rigPositionRow(p journal.RigPosition, outfit, rig journal.ID) []any {
	return []any{outfit, rig, p.Position, p.Hang, p.Junction, p.JunctionName, p.Facing, p.Prop, p.TagLengthMM, p.DistanceMM, p.TippetMM, p.Material, p.Fly,
		p.HookSize, p.BeadMM, p.Bulk}
}

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
		{"session", sessionTable, t.sessions},
		{"stint", stintTable, t.stints},
		{"stint_position", stintPositionTable, t.stintPositions},
		{"tag_spell", tagSpellTable, t.tagSpells},
		{"event", eventTable, t.events},
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
	gauge := s.FromGauge
	if gauge == nil {
		gauge = []string{}
	}
	t.sessions = append(t.sessions, []any{t.outfit, s.ID, s.AnglerID, s.GuideID, s.WaterID, s.BeatID, s.Day, s.Start, s.End, s.TimeZone,
		s.WaterTempC, s.FlowM3S, s.StageM, s.DepthM, s.VelocityMS, s.Storm, s.Clarity, s.Wind, s.Light, gauge, s.Notes, s.LoggedAt, s.Version, fingerprint})
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
	t.stints = append(t.stints, appendCounts([]any{t.outfit, st.ID, s.ID, ordinal, rig.ID, st.Seconds(), int16(st.Recorded), st.Casts, st.Stroke, st.Notes}, tally.Stint, false))
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
		t.stintPositions = append(t.stintPositions, appendCounts([]any{t.outfit, st.ID, p.Position, s.ID, rig.ID, st.Seconds(),
			n.TagStartMM, n.TagEndMM, changed[p.Position], n.Fly}, tally.Positions[p.Position], false))
	}
	for i, e := range st.Events {
		t.events = append(t.events, []any{t.outfit, st.ID, i + 1, e.Position, e.Kind, e.Count, e.Minute, orNull(e.Hooking), orNull(e.Ending), orNull(e.BreakPlace),
			orNull(e.Species), e.FishLengthMM, orNull(e.TangleKind), e.MinutesLost, e.Turns, e.CutMM, orNull(e.Note)})
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

func orNull[T ~string](s T) any {
	if s == "" {
		return nil
	}
	return string(s)
}
