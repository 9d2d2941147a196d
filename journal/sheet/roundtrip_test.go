package sheet_test

import (
	"bytes"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/gauge"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
	"rigtally/journal/sheet"
)

// invented is a maker of journals that hold everything a journal can.
type invented struct {
	t     testing.TB
	rand  *rand.Rand
	store *pg.Store
	rigs  []journal.Rig
}

func pick[T any](m *invented, words ...T) T { return words[m.rand.IntN(len(words))] }

// maybe leaves a value out half of the time.
func maybe[T any](m *invented, v T) *T {
	if m.rand.IntN(2) == 0 {
		return nil
	}
	return &v
}

func (m *invented) saveRig(r journal.Rig) {
	m.t.Helper()
	saved, err := m.store.SaveRig(m.t.Context(), r)
	if err != nil {
		m.t.Fatal(err)
	}
	m.rigs = append(m.rigs, saved)
}

// makeRigs ties rigs of one and several droppers, with and without a point fly,
// in two revisions, and with names that a spreadsheet would take for formulas.
func (m *invented) makeRigs() {
	m.saveRig(journal.Rig{Name: "Evening rig", Method: "wet", RodLengthMM: new(3048.0), LeaderLengthMM: new(5486.4), Swivel: "tippet ring", Positions: []journal.RigPosition{
		{Position: 0, TippetMM: new(0.127), Fly: "Pheasant, small", HookSize: new(16), BeadMM: new(2.8), Bulk: "slim"},
		{Position: 1, Hang: "tag", Junction: "figure-eight", Facing: "down", Prop: "none", TagLengthMM: new(165.1), DistanceMM: new(508.0), TippetMM: new(0.127), Material: "fluorocarbon", Fly: "Soft one", Bulk: "hackled"},
		{Position: 2, Hang: "eye", DistanceMM: new(400.0), TippetMM: new(0.152)},
	}})
	m.saveRig(journal.Rig{Name: "=Plain \"one\"", Positions: []journal.RigPosition{{Position: 1, Hang: "tag", Junction: "blood", TagLengthMM: new(152.4)}}})
	m.saveRig(journal.Rig{Name: "'-odd name", SighterLengthMM: new(500.0), TippetLengthMM: new(1200.5), Positions: []journal.RigPosition{
		{Position: 0}, {Position: 1, Hang: "tag", Junction: "other", JunctionName: "Blood", TagLengthMM: new(120.0)}}})
	m.saveRig(journal.Rig{Name: "Point only", Positions: []journal.RigPosition{{Position: 0}}})
	m.saveRig(journal.Rig{Name: "Own knot", Positions: []journal.RigPosition{{Position: 1, Hang: "tag", Junction: "other", JunctionName: "Ångström loop", TagLengthMM: new(200.0)}}})
	// One that was fished becomes a second revision when only its fly changes.
	m.saveRig(journal.Rig{Name: "Twice", Positions: []journal.RigPosition{{Position: 1, Hang: "tag", TagLengthMM: new(150.0), Fly: "First"}}})
}

func (m *invented) events(rig journal.Rig, minutes *float64) []journal.Event {
	var list []journal.Event
	for range m.rand.IntN(7) {
		e := journal.Event{Count: 1 + m.rand.IntN(3)}
		if m.rand.IntN(3) > 0 {
			e.Position = new(rig.Positions[m.rand.IntN(len(rig.Positions))].Position)
		}
		if minutes != nil && m.rand.IntN(3) == 0 {
			e.Minute = new(m.rand.IntN(int(*minutes) + 1))
		}
		switch e.Kind = pick(m, journal.EventHookup, journal.EventHookup, journal.EventSnag, journal.EventTangle, journal.EventCheck, journal.EventRetie); e.Kind {
		case journal.EventHookup:
			e.Hooking, e.Ending = pick(m, journal.Fair, journal.Fair, journal.Foul, ""), pick(m, journal.Landed, journal.Lost, journal.BrokeOff, "")
			e.Species, e.FishLengthMM = pick(m, "", "brown trout"), maybe(m, 320.0)
			if e.Ending == journal.BrokeOff {
				e.BreakPlace = pick(m, "", journal.BrokeJunction, journal.BrokeTag, journal.BrokeFlyKnot)
			}
		case journal.EventSnag:
			if e.Ending = pick(m, journal.Freed, journal.BrokeOff, ""); e.Ending == journal.BrokeOff {
				e.BreakPlace = pick(m, "", journal.BrokeJunction, journal.BrokePointTippet)
			}
		case journal.EventTangle:
			e.TangleKind, e.MinutesLost = pick(m, journal.Twist, journal.WindKnot, journal.Nest, ""), maybe(m, m.rand.IntN(9))
		case journal.EventCheck:
			e.Turns = new(m.rand.IntN(5))
		case journal.EventRetie:
			e.MinutesLost = maybe(m, m.rand.IntN(5))
		}
		list = append(list, e)
	}
	if m.rand.IntN(4) == 0 && rig.Positions[len(rig.Positions)-1].Hang == journal.HangTag {
		list = append(list, journal.Event{Kind: journal.EventFlyChange, Count: 1 + m.rand.IntN(2), CutMM: maybe(m, 12.5), Position: new(rig.Positions[len(rig.Positions)-1].Position)})
	}
	return list
}

// recorded leaves it open, or keeps count of all or of some kinds.
func (m *invented) recorded() journal.Recorded {
	if m.rand.IntN(3) == 0 {
		return 0
	}
	r := journal.AllRecorded()
	for _, k := range journal.Kinds() {
		if m.rand.IntN(6) == 0 {
			r = r.Without(k)
		}
	}
	return r
}

func (m *invented) session(day journal.Date, angler, guide, water journal.ID, beat *journal.ID, zone string) journal.Session {
	loc, err := time.LoadLocation(zone)
	if err != nil {
		m.t.Fatal(err)
	}
	s := journal.Session{ID: journaltest.NewID(m.t), AnglerID: angler, WaterID: water, BeatID: beat, Day: day, TimeZone: zone,
		WaterTempC: maybe(m, (48.0+float64(m.rand.IntN(20))-32)/1.8), FlowM3S: maybe(m, 140*0.028316846592), StageM: maybe(m, 0.61), DepthM: maybe(m, 0.75),
		VelocityMS: maybe(m, 2*0.3048), Storm: pick(m, false, true),
		Clarity: pick(m, journal.Clarities()...), Wind: pick(m, "", journal.Wind("strong")), Light: pick(m, "", journal.Light("low")),
		Notes: pick(m, "", "+cold", "two\nlines, \"quoted\"", "-"), FromGauge: pick(m, nil, []string{"flow_m3s"})}
	if m.rand.IntN(2) == 0 {
		s.GuideID = &guide
	}
	if m.rand.IntN(2) == 0 {
		s.Start = new(time.Date(day.Year, day.Month, day.Day, 18, 30, 0, 0, loc))
		if m.rand.IntN(2) == 0 {
			s.End = new(s.Start.Add(20 * time.Hour))
		}
	}
	for range 1 + m.rand.IntN(3) {
		rig := m.rigs[m.rand.IntN(len(m.rigs))]
		st := journal.Stint{ID: journaltest.NewID(m.t), RigID: rig.ID, Minutes: maybe(m, float64(1800+m.rand.IntN(7200))/60), Recorded: m.recorded(), Casts: maybe(m, m.rand.IntN(300)), Stroke: pick(m, "", journal.Stroke("oval")),
			FlySpeedMS: maybe(m, 0.35), Notes: pick(m, "", "@home", " spaced ")}
		last := rig.Positions[len(rig.Positions)-1]
		p := journal.StintPosition{Position: last.Position, Fly: pick(m, "", "Other fly")}
		if last.Hang == journal.HangTag && m.rand.IntN(3) == 0 {
			p.TagStartMM = new(140.0)
		}
		if p != (journal.StintPosition{Position: last.Position}) {
			st.Positions = append(st.Positions, p)
		}
		st.Events = m.events(rig, st.Minutes)
		s.Stints = append(s.Stints, st)
	}
	return s
}

// invent fills a journal with sessions of every form.
func invent(t testing.TB, store *pg.Store, seed uint64, sessions int) {
	t.Helper()
	ctx := t.Context()
	m := &invented{t: t, rand: rand.New(rand.NewPCG(seed, seed)), store: store}
	if err := store.SetOutfit(ctx, journal.Outfit{Name: "Invented & Sons", Units: "us", TimeZone: "Europe/Oslo", PriorSD: 0.5}); err != nil {
		t.Fatal(err)
	}
	var anglers []journal.ID
	for _, name := range []string{"=cmd|calc", "Maud P.", "Åse \"Q\" Ø"} {
		a := journal.Angler{ID: journaltest.NewID(t), Name: name, Kind: journal.Client, Active: name != "Maud P."}
		if err := store.SaveAngler(ctx, a); err != nil {
			t.Fatal(err)
		}
		anglers = append(anglers, a.ID)
	}
	beat := journaltest.NewID(t)
	water := journal.Water{ID: journaltest.NewID(t), Name: "Tessel River", Kind: "tailwater", TimeZone: "America/Denver", Gauges: []gauge.Link{{Site: gauge.NewSite("x", "1"), Takes: []gauge.Quantity{gauge.Flow}, Sensor: "2"}}, Beats: []journal.Beat{{ID: beat, Name: "Long Glide"}, {ID: journaltest.NewID(t), Name: "Ålen"}}}
	lake := journal.Water{ID: journaltest.NewID(t), Name: "Hob's Mere", Kind: "lake", TimeZone: "Europe/Oslo"}
	for _, w := range []journal.Water{water, lake} {
		if err := store.SaveWater(ctx, w); err != nil {
			t.Fatal(err)
		}
	}
	m.makeRigs()
	for n := range sessions {
		day := journal.DateOf(time.Date(2024, 3, 1+n*2, 0, 0, 0, 0, time.UTC))
		w, b := water, &beat
		if n%3 == 0 {
			w, b = lake, nil
		}
		// Some tags get shorter than their cuts allow; the journal refuses those.
		for range 20 {
			saved, err := store.SaveSession(ctx, m.session(day, anglers[n%3], anglers[(n+1)%3], w.ID, b, w.TimeZone))
			if err == nil {
				if n == 5 { // the rig is fished now
					twice := m.rigs[len(m.rigs)-1]
					twice.Positions = []journal.RigPosition{twice.Positions[0]}
					twice.Positions[0].Fly = "Second"
					m.saveRig(twice)
				}
				if n%10 == 9 {
					if err := store.DeleteSession(ctx, saved.ID, 0); err != nil {
						t.Fatal(err)
					}
				}
				break
			}
			if !journal.IsInvalid(err) {
				t.Fatal(err)
			}
		}
	}
}

func writeCSV(t testing.TB, store *pg.Store) string {
	t.Helper()
	var b bytes.Buffer
	if err := exchange.WriteCSV(t.Context(), store, &b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// Ensure that the flat CSV, read into an empty journal and written again, is the same.
func TestCSVRoundTrip(t *testing.T) {
	t.Parallel()
	for seed := range uint64(4) {
		a, b := journaltest.Store(t), journaltest.Store(t)
		invent(t, a, seed, 40)
		once := writeCSV(t, a)
		table := readSheet(t, once, "export.csv", sheet.Options{Units: units.US, TimeZone: "Asia/Tokyo"})
		if len(table.Bad) > 0 {
			t.Fatal(table.Bad)
		}
		if _, err := table.Import(t.Context(), b, sheet.How{}); err != nil {
			t.Fatal(err)
		}
		if twice := writeCSV(t, b); once != twice {
			t.Fatalf("seed %d: %s", seed, journaltest.FirstDifference(once, twice))
		}

		// Nor does it add anything to the journals that hold it.
		for _, store := range []*pg.Store{a, b} {
			r := journaltest.Import(t, store, once, sheet.Options{Units: units.US})
			if r.Added+r.Extended+len(r.Differ) != 0 {
				t.Errorf("seed %d: importing the export again did %+v", seed, r)
			}
		}
	}
}

// Ensure that a text which a spreadsheet program would run as a formula leaves
// the journal as a text (OWASP, "CSV Injection": = + - @ tab and return at a cell's start).
func TestFormulasAreTexts(t *testing.T) {
	t.Parallel()
	store := journaltest.Store(t)
	journaltest.Import(t, store, "date,angler,water,notes\n2025-04-01,=1+1,'@lake,'=SUM(A1)\n2025-04-02,'maud,-5 degrees,''+x\n", sheet.Options{})
	c := journaltest.Contents(t, store)
	text := writeCSV(t, store)
	for _, cell := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == '\n' }) {
		if strings.ContainsRune("=+-@\t\r", rune(cell[0])) {
			t.Errorf("a cell begins like a formula: %s", cell)
		}
	}
	var names []string
	for _, a := range c.Anglers {
		names = append(names, a.Name)
	}
	if got := strings.Join(names, "|"); got != "=1+1|'maud" && got != "'maud|=1+1" {
		t.Errorf("anglers are %s", got)
	}
	if got := c.Sessions[0].Stints[0].Notes; got != "=SUM(A1)" {
		t.Errorf("the note is %q", got)
	}
	if got := c.Sessions[1].Stints[0].Notes; got != "'+x" {
		t.Errorf("the note is %q", got)
	}
}

// Ensure that rejected rows are marked against running as formulas, and come back as they were.
func TestRejectsAreGuardedAndComeBack(t *testing.T) {
	t.Parallel()
	read := func(text string) (*sheet.Sheet, string) {
		s, err := sheet.Read(t.Context(), strings.NewReader(text), "test.csv", sheet.Options{})
		if err != nil {
			t.Fatal(err)
		}
		var b strings.Builder
		if err := s.WriteRejects(&b); err != nil {
			t.Fatal(err)
		}
		return s, b.String()
	}
	_, once := read("date,angler,water,notes,=cmd,hookups\n2025-04-01,=cmd,@lake,'=cmd,-5 degrees,-3\n2025-04-02,+x,''=y,＝cmd,-,many\n")
	if _, twice := read(once); once != twice {
		t.Errorf("read and rejected again:\n%s\nwas\n%s", twice, once)
	}
	for _, want := range []string{"'=cmd,", "'@lake,", "'-5 degrees,-3,", "'+x,", "'＝cmd,-,many"} {
		if !strings.Contains(once, want) {
			t.Errorf("%q is not in\n%s", want, once)
		}
	}
}

// Ensure that a backup makes the same journal: its own backup is the same, byte for byte.
func TestBackupRoundTrip(t *testing.T) {
	t.Parallel()
	a, b := journaltest.Store(t), journaltest.Store(t)
	invent(t, a, 7, 40)
	once := journaltest.Backup(t, a)
	r, err := exchange.ReadBackup(t.Context(), b, strings.NewReader(once), nil)
	if err != nil {
		t.Fatal(err)
	}
	if twice := journaltest.Backup(t, b); once != twice {
		t.Fatal(journaltest.FirstDifference(once, twice))
	}
	if len(journaltest.Contents(t, a).Deleted) == 0 {
		t.Error("the journal has no deleted session to try")
	}
	again, err := exchange.ReadBackup(t.Context(), b, strings.NewReader(once), nil)
	if err != nil || again.Added != 0 || again.AlreadyThere != r.Added {
		t.Errorf("a second time it did %+v, %v", again, err)
	}
	if twice := journaltest.Backup(t, b); once != twice {
		t.Fatal(journaltest.FirstDifference(once, twice))
	}
	// What was deleted can still be brought back.
	for _, d := range journaltest.Contents(t, b).Deleted {
		if err := b.RestoreSession(t.Context(), d.ID, 0); err != nil {
			t.Error(err)
		}
	}
}
