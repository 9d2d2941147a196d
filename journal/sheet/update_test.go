package sheet_test

import (
	"fmt"
	"strings"
	"testing"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
	"rigtally/journal/sheet"
)

const season = "date,angler,water,wind,minutes,tag (mm),tangles,landed,notes\n" +
	"2025-04-01,Maud,Tessel,light,60,150,2,1,first\n" +
	"2025-04-01,Maud,Tessel,light,90,150,0,3,\n" +
	"2025-04-01,Maud,Tessel,light,30,150,1,0,\n" +
	"2025-04-02,Maud,Tessel,,60,150,0,0,\n" +
	"2025-04-03,Orrin,Tessel,,45,150,4,2,\n"

// preview tells what an import would do.
func preview(t *testing.T, store *pg.Store, text string) *sheet.Preview {
	t.Helper()
	p, err := readSheet(t, text, "season.csv", sheet.Options{Units: units.Metric}).Preview(t.Context(), store)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// update imports a sheet with what was corrected in it.
func update(t *testing.T, store *pg.Store, text string) exchange.Result {
	t.Helper()
	r, err := readSheet(t, text, "season.csv", sheet.Options{Units: units.Metric}).Import(t.Context(), store, sheet.How{Update: true})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func edits(list []sheet.Changed) string {
	var b strings.Builder
	for _, c := range list {
		fmt.Fprintln(&b, c.Day)
		for _, e := range c.Edits {
			fmt.Fprintln(&b, " "+e.String())
		}
	}
	return b.String()
}

// Ensure that what was corrected in a sheet is shown field by field, left without an
// update and taken with one, as the session's next version.
func TestUpdate(t *testing.T) {
	t.Parallel()
	store := journaltest.Store(t)
	journaltest.Import(t, store, season, sheet.Options{})
	before := journaltest.Backup(t, store)
	corrected := strings.NewReplacer("60,150,2,1,first", "75,165,3,1,second", "2025-04-01,Maud,Tessel,light,30,150,1,0,\n", "", "Maud,Tessel,light", "Maud,Tessel,strong",
		"60,150,0,0,\n", "60,150,0,0,\n2025-04-02,Maud,Tessel,,20,150,1,0,\n").Replace(season)

	p := preview(t, store, corrected)
	const want = `2025-04-01
 the wind: light → strong
 stint 1, the time fished: 1 h → 1 h 15 min
 stint 1, notes on the stint: first → second
 stint 1, the tag length as tied: 150 mm → 165 mm
 stint 1, tangles: 2 → 3
 stint 3, the whole stint: 30 min, tangles 1 → no longer there
2025-04-02
 stint 2, the whole stint: not there → 20 min, tangles 1
`
	if got := edits(p.Changed); got != want || len(p.Conflicts) != 0 || p.Sessions != 0 || p.AlreadyThere != 1 {
		t.Errorf("%+v\nshows\n%s\nwant\n%s", p, got, want)
	}
	if r := journaltest.Import(t, store, corrected, sheet.Options{}); len(r.Differ) != 2 || r.Updated != 0 || journaltest.Backup(t, store) != before {
		t.Errorf("without an update did %+v", r)
	}

	r := update(t, store, corrected)
	if r.Updated != 2 || r.Added != 0 || len(r.Differ)+len(r.Conflicts) != 0 || r.AlreadyThere != 1 {
		t.Errorf("did %+v", r)
	}
	c := journaltest.Contents(t, store)
	first := c.Sessions[0]
	if len(c.Sessions) != 3 || first.Version != 2 || len(first.Stints) != 2 || *first.Stints[0].Minutes != 75 || first.Wind != "strong" || first.Stints[0].Notes != "second" || len(c.Sessions[1].Stints) != 2 {
		t.Errorf("holds %+v", first)
	}
	if p := preview(t, store, corrected); p.AlreadyThere != 3 || len(p.Changed)+len(p.Conflicts) != 0 {
		t.Errorf("afterwards there is still %+v", p)
	}
	// Back again: nothing that is said twice is lost.
	update(t, store, season)
	if p := preview(t, store, season); p.AlreadyThere != 3 {
		t.Errorf("the way back leaves %+v", p)
	}
}

// Ensure that what was edited in the journal since the import is not lost: it is a
// conflict, with both sides, and stays.
func TestUpdateConflict(t *testing.T) {
	t.Parallel()
	store := journaltest.Store(t)
	journaltest.Import(t, store, season, sheet.Options{})
	s := journaltest.Contents(t, store).Sessions[2]
	s.Stints[0].Minutes = new(50.0)
	if _, err := store.SaveSession(t.Context(), s); err != nil {
		t.Fatal(err)
	}
	corrected := strings.NewReplacer("45,150,4,2", "45,150,5,2", "60,150,0,0", "61,150,0,0").Replace(season)
	p := preview(t, store, corrected)
	const want = "2025-04-03\n stint 1, the time fished: 50 min → 45 min\n stint 1, tangles: 4 → 5\n"
	if got := edits(p.Conflicts); got != want || len(p.Changed) != 1 {
		t.Errorf("shows\n%s\nwant\n%s", got, want)
	}
	r := update(t, store, corrected)
	if len(r.Conflicts) != 1 || r.Updated != 1 || !strings.Contains(strings.Join(r.Sentences(), "\n"), "2025-04-03, Orrin on Tessel (row 6)") {
		t.Errorf("did %+v", r)
	}
	if c := journaltest.Contents(t, store); *c.Sessions[2].Stints[0].Minutes != 50 || *c.Sessions[1].Stints[0].Minutes != 61 {
		t.Error("the journal's edit was lost, or the sheet's elsewhere")
	}
}

// Ensure that stints which were added in the journal are no difference, and that what
// the sheet no longer says is told before it goes.
func TestUpdateKeepsWhatIsMore(t *testing.T) {
	t.Parallel()
	store := journaltest.Store(t)
	journaltest.Import(t, store, season, sheet.Options{})
	s := journaltest.Contents(t, store).Sessions[1]
	more := s.Stints[0]
	more.ID = journal.NewID()
	s.Stints = append(s.Stints, more)
	if _, err := store.SaveSession(t.Context(), s); err != nil {
		t.Fatal(err)
	}
	if r := update(t, store, season); r.AlreadyThere != 3 || r.Updated != 0 {
		t.Errorf("did %+v", r)
	}
	var b strings.Builder // without the column tangles, and one minute more
	for line := range strings.Lines(strings.Replace(season, "45,150", "46,150", 1)) {
		cells := strings.Split(line, ",")
		b.WriteString(strings.Join(append(cells[:6:6], cells[7:]...), ","))
	}
	if got, want := edits(preview(t, store, b.String()).Changed), "2025-04-03\n stint 1, the time fished: 45 min → 46 min\n stint 1, tangles: 4 → not recorded\n"; got != want {
		t.Errorf("shows\n%s\nwant\n%s", got, want)
	}
}

// Ensure that a start that was corrected gives no second session, and that a corrected
// day does, whose old session is said to be no longer in the sheet.
func TestUpdateMoved(t *testing.T) {
	t.Parallel()
	const text = "date,angler,water,start,minutes,tangles\n2025-04-01,Maud,Tessel,06:00,60,2\n2025-04-01,Maud,Tessel,16:00,60,1\n2025-04-02,Maud,Tessel,06:00,60,0\n2025-04-03,Maud,Tessel,06:00,60,0\n"
	store := journaltest.Store(t)
	journaltest.Import(t, store, text, sheet.Options{})
	corrected := strings.NewReplacer("2025-04-01,Maud,Tessel,16:00,60", "2025-04-01,Maud,Tessel,17:30,60", "2025-04-03", "2025-04-04").Replace(text)
	p := preview(t, store, corrected)
	if got, want := edits(p.Changed), "2025-04-01\n the start: 16:00 → 17:30\n"; got != want || p.AlreadyThere != 2 || p.Sessions != 1 || len(p.Beside) != 0 || fmt.Sprint(p.Gone) != "[2025-04-03, Maud on Tessel]" {
		t.Errorf("%+v shows\n%s\nwant\n%s", p, got, want)
	}
	if r := update(t, store, corrected); r.Updated != 1 || r.Added != 1 || len(r.Gone) != 1 {
		t.Errorf("did %+v", r)
	}
	if c := journaltest.Contents(t, store); len(c.Sessions) != 5 || c.Sessions[0].Version+c.Sessions[1].Version != 3 {
		t.Errorf("holds %d sessions", len(c.Sessions))
	}
	if p := preview(t, store, corrected); p.AlreadyThere != 4 || p.Sessions+len(p.Changed) != 0 {
		t.Errorf("afterwards there is still %+v", p)
	}
}

// Ensure that a session that somebody logged as well is not brought in a second time, and
// that one which only may be the same is told.
func TestBeside(t *testing.T) {
	t.Parallel()
	const logged = "date,angler,water,start,minutes,tangles\n2025-04-01,Maud,Tessel,06:00,60,2\n"
	store := journaltest.Store(t)
	journaltest.Import(t, store, logged, sheet.Options{})
	if p := preview(t, store, "date,angler,water,minutes,tangles\n2025-04-01,Maud,Tessel,60,2\n"); p.AlreadyThere != 1 || p.Sessions != 0 {
		t.Errorf("without the start: %+v", p)
	}
	const other = "date,angler,water,minutes,tangles\n2025-04-01,Maud,Tessel,90,2\n2025-04-02,Maud,Tessel,90,2\n"
	if p := preview(t, store, other); p.Sessions != 2 || fmt.Sprint(p.Beside) != "[2025-04-01, Maud on Tessel (row 2)]" || len(p.Gone) != 0 {
		t.Errorf("with other minutes: %+v", p)
	}
	r := journaltest.Import(t, store, other, sheet.Options{})
	if said := strings.Join(r.Sentences(), "\n"); !strings.Contains(said, "1 session came beside another of the same day") {
		t.Errorf("says\n%s", said)
	}
}

// Ensure that a sheet still finds its sessions after who and what it names was renamed and
// merged in the journal, by the names of before and by those of now.
func TestUpdateAfterRename(t *testing.T) {
	t.Parallel()
	const text = "date,angler,water,beat,rig,minutes,junction,tangles\n2025-04-01,Jon Felt,Tessel,Long Glide,Old rig,60,my loop,2\n2025-04-02,J. Felt,Tessel,Long Glide,Old rig,60,my loop,0\n"
	store := journaltest.Store(t)
	journaltest.Import(t, store, text, sheet.Options{Names: rules(t, nil, "Jon Felt", "J. Felt")})
	ctx := t.Context()
	for _, to := range []struct {
		thing journal.Thing
		name  string
	}{{journal.Thing{Kind: journal.ThingWater, Name: "Tessel"}, "Tessel River"}, {journal.Thing{Kind: journal.ThingRig, Name: "Old rig"}, "Loop 150"}, {journal.Thing{Kind: journal.ThingKnot, Name: "my loop"}, "wonder loop"}} {
		if _, err := store.Rename(ctx, to.thing, to.name); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := store.Merge(ctx, journal.Thing{Kind: journal.ThingAngler, Name: "Jon Felt"}, journal.Thing{Kind: journal.ThingAngler, Name: "J. Felt"}); err != nil {
		t.Fatal(err)
	}
	if p := preview(t, store, text); p.AlreadyThere != 2 || len(p.New)+len(p.Changed)+len(p.Conflicts)+len(p.Gone) != 0 {
		t.Errorf("by the names of before: %+v", p)
	}
	now := strings.NewReplacer("Jon Felt", "J. Felt", "Tessel", "Tessel River", "Old rig", "Loop 150", "my loop", "wonder loop").Replace(text)
	if p := preview(t, store, now); p.AlreadyThere != 2 || len(p.New)+len(p.Changed)+len(p.Conflicts)+len(p.Gone) != 0 {
		t.Errorf("by the names of now: %+v", p)
	}
	r := update(t, store, strings.Replace(text, "60,my loop,2", "60,my loop,3", 1)+"2025-04-03,Jon Felt,Tessel,Long Glide,Old rig,60,my loop,1\n")
	if c := journaltest.Contents(t, store); r.Updated != 1 || r.Added != 1 || len(c.Anglers) != 1 || len(c.Waters) != 1 || len(c.Rigs) != 1 || len(c.Waters[0].Beats) != 1 || len(c.Sessions) != 3 {
		t.Errorf("did %+v, and holds %d rigs", r, len(c.Rigs))
	}
}

// Ensure that an import and an update are taken back whole, and can be brought in again.
func TestTakeBack(t *testing.T) {
	t.Parallel()
	store := journaltest.Store(t)
	first := journaltest.Import(t, store, season, sheet.Options{Units: units.Metric})
	whole := journaltest.Contents(t, store)
	corrected := strings.Replace(season, "45,150,4,2", "45,150,5,2", 1) + "2025-04-09,Somebody New,Elsewhere,,45,150,4,2,\n"
	second := update(t, store, corrected)
	if first.Step.IsZero() || second.Step.IsZero() || second.Updated != 1 || second.Added != 1 {
		t.Fatalf("did %+v and %+v", first, second)
	}
	undone, err := store.Undo(t.Context(), second.Step)
	if err != nil || len(undone.Left) != 0 || undone.Step.What != "Imported season.csv: 1 session, 1 updated" {
		t.Fatalf("took back %+v, %v", undone, err)
	}
	c := journaltest.Contents(t, store)
	if len(c.Sessions) != 3 || len(c.Anglers) != len(whole.Anglers) || len(c.Waters) != 1 || c.Sessions[2].Stints[0].Events[0].Count == 5 {
		t.Errorf("holds %+v", c)
	}
	if r := update(t, store, corrected); r.Updated != 1 || r.Added != 1 || len(r.Conflicts) != 0 {
		t.Errorf("again did %+v", r)
	}
	if _, err := store.Undo(t.Context(), journal.ID{}); err != nil {
		t.Fatal(err)
	}
	if _, err := store.Undo(t.Context(), first.Step); err != nil {
		t.Fatal(err)
	}
	// A session that was updated and taken back is by now another version than the first import wrote, and may stay.
	if c := journaltest.Contents(t, store); len(c.Sessions) > 1 || len(c.Waters) != len(c.Sessions) {
		t.Errorf("after both there are %d sessions, %d waters", len(c.Sessions), len(c.Waters))
	}
	if r := journaltest.Import(t, store, season, sheet.Options{Units: units.Metric}); r.Added+r.AlreadyThere != 3 {
		t.Errorf("after all did %+v", r)
	}
}

// Ensure that a session of another sheet, on the same day, is never taken for an earlier
// state of this one's.
func TestUpdateOfAnotherSheet(t *testing.T) {
	t.Parallel()
	store := journaltest.Store(t)
	journaltest.Import(t, store, season, sheet.Options{})
	const other = "date,angler,water,minutes,tangles\n2025-04-02,Maud,Tessel,200,9\n2025-06-02,Maud,Tessel,90,2\n"
	p := preview(t, store, other)
	if len(p.Different) != 1 || len(p.Changed)+len(p.Conflicts)+len(p.Gone) != 0 || p.Sessions != 1 {
		t.Errorf("previews %+v", p)
	}
	before := journaltest.Contents(t, store).Sessions[1]
	r := update(t, store, other)
	if len(r.Elsewhere) != 1 || r.Updated != 0 || r.Added != 1 || !strings.Contains(strings.Join(r.Sentences(), "\n"), "labels in a column named session") {
		t.Errorf("did %+v", r)
	}
	if after := journaltest.Contents(t, store).Sessions[1]; !after.SaysWhat(before) {
		t.Error("the other sheet's session was changed")
	}
}
