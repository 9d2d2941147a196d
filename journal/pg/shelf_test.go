package pg_test

import (
	"context"
	"errors"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
)

func pull(t testing.TB, junction journal.Junction, newtons float64) journal.BenchPull {
	t.Helper()
	p := journal.BenchPull{ID: journaltest.NewID(t), Day: journaltest.May1, Junction: junction, TippetMM: 0.127, Material: "nylon", Wetness: "wet", ForceN: newtons, Ending: journal.PulledBroke}
	if junction != "" {
		p.Facing, p.PulledOn, p.BrokeAt = "down", "tag", journal.PullBrokeJunction
	}
	return p
}

func TestBenchPullStore(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := newBench(t)
	p := pull(t, "figure-eight", 10.5)
	p.AnglerID, p.Label, p.Note = &b.angler.ID, "  spool  A ", "first\n"
	saved, err := b.store.SaveBenchPull(ctx, p)
	if err != nil || saved.LoggedAt.IsZero() || saved.Label != "spool A" || saved.Note != "first" {
		t.Fatalf("saved %+v, %v", saved, err)
	}
	if again, err := b.store.SaveBenchPull(ctx, p); err != nil || !again.Equal(saved) || again.LoggedAt != saved.LoggedAt {
		t.Errorf("saved twice: %+v, %v", again, err)
	}
	p.ForceN, p.Version = 11, saved.Version
	if changed, err := b.store.SaveBenchPull(ctx, p); err != nil || changed.ForceN != 11 || changed.LoggedAt != saved.LoggedAt {
		t.Errorf("changed: %+v, %v", changed, err)
	}
	if _, err := b.store.SaveBenchPull(ctx, pull(t, "", 15)); err != nil {
		t.Fatal(err)
	}
	list, err := b.store.BenchPulls(ctx)
	if err != nil || len(list) != 2 || list[0].ID != p.ID || list[0].Knot() != "figure-eight" || list[1].Knotted() {
		t.Fatalf("listed %+v, %v", list, err)
	}
	if err := b.store.DeleteBenchPull(ctx, p.ID, 0); err != nil {
		t.Fatal(err)
	}
	if list, _ := b.store.BenchPulls(ctx); len(list) != 1 {
		t.Errorf("%d pulls after deleting one of two", len(list))
	}
	if _, err := b.store.SaveBenchPull(ctx, p); !errors.Is(err, journal.ErrConflict) {
		t.Errorf("a deleted pull was saved: %v", err)
	}
	if gone, err := b.store.DeletedBenchPulls(ctx); err != nil || len(gone) != 1 || gone[0].ID != p.ID {
		t.Errorf("deleted are %+v, %v", gone, err)
	}
	if err := b.store.RestoreBenchPull(ctx, p.ID, 0); err != nil {
		t.Fatal(err)
	}
	if back, err := b.store.BenchPullByID(ctx, p.ID); err != nil || back.DeletedAt != nil || back.ForceN != 11 {
		t.Errorf("restored %+v, %v", back, err)
	}
	for name, err := range map[string]error{"delete": b.store.DeleteBenchPull(ctx, journaltest.NewID(t), 0), "restore": b.store.RestoreBenchPull(ctx, journaltest.NewID(t), 0)} {
		if !errors.Is(err, journal.ErrNotFound) {
			t.Errorf("%s of none: %v", name, err)
		}
	}
	unknown := pull(t, "blood", 9)
	unknown.AnglerID = new(journaltest.NewID(t))
	if _, err := b.store.SaveBenchPull(ctx, unknown); !journal.IsInvalid(err) || !strings.Contains(err.Error(), "the angler who tied it") {
		t.Errorf("an angler that is not there: %v", err)
	}
}

func TestBenchPullRules(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct {
		alter func(p *journal.BenchPull)
		want  string
	}{
		"no force":             {func(p *journal.BenchPull) { p.ForceN = 0 }, "a force of 0 N can't be"},
		"too strong":           {func(p *journal.BenchPull) { p.ForceN = 2001 }, "at most 2000 N"},
		"no tippet":            {func(p *journal.BenchPull) { p.TippetMM = 0 }, "no tippet size"},
		"a rope":               {func(p *journal.BenchPull) { p.TippetMM = 8 }, "the tippet of 8 mm can't be"},
		"no end":               {func(p *journal.BenchPull) { p.Ending = "" }, "choose broke, slipped or did not break"},
		"slipped and broke at": {func(p *journal.BenchPull) { p.Ending = journal.PulledSlipped }, "so it has no place where it broke"},
		"a nameless other":     {func(p *journal.BenchPull) { p.Junction = journal.JunctionOther }, `goes with junction "other"`},
		"no such junction":     {func(p *journal.BenchPull) { p.Junction = "granny" }, `junction "granny" is not known`},
		"half wet":             {func(p *journal.BenchPull) { p.Wetness = "damp" }, `"damp" is not known; write one of: wet, dry`},
		"no knot facing down":  {func(p *journal.BenchPull) { p.Junction = "" }, "a line without a junction has no facing"},
		"no knot slipping": {func(p *journal.BenchPull) {
			*p = journal.BenchPull{ID: p.ID, Day: p.Day, TippetMM: 0.1, ForceN: 9, Ending: journal.PulledSlipped}
		}, "a line without a junction can't slip"},
		"no day": {func(p *journal.BenchPull) { p.Day = journal.Date{} }, "the pull has no day"},
	} {
		p := pull(t, "blood", 9)
		tt.alter(&p)
		if err := p.Validate(); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: got %v, want something with %q", name, err, tt.want)
		}
	}
}

// The tables refuse what the rules would, for a program that goes past them.
func TestBenchPullTables(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := newBench(t)
	if err := b.store.AddBenchPulls(ctx, []journal.BenchPull{pull(t, "blood", 9), pull(t, "blood", -1)}, nil, "Imported pulls.csv"); !journal.IsInvalid(err) {
		t.Errorf("a force below nothing: %v", err)
	}
	if list, err := b.store.BenchPulls(ctx); err != nil || len(list) > 0 {
		t.Errorf("a refused list left %d pulls (%v)", len(list), err)
	}
	pulls := []journal.BenchPull{pull(t, "blood", 9), pull(t, "blood", 8), pull(t, "", 12)}
	if err := b.store.AddBenchPulls(ctx, pulls, []journal.Angler{{ID: journaltest.NewID(t), Name: "Odile", Kind: journal.Client, Active: true}}, "Imported pulls.csv"); err != nil {
		t.Fatal(err)
	}
	list, err := b.store.BenchPulls(ctx)
	if err != nil || len(list) != 3 || list[0].ID != pulls[0].ID || list[2].ID != pulls[2].ID {
		t.Errorf("added %+v, %v", list, err)
	}
}

func ownClaim(t testing.TB) journal.Claim {
	return journal.Claim{ID: journaltest.NewID(t), Words: "Loops tangle more than blood knots", Outcome: "tangles", Factor: "junction", Direction: journal.More,
		Level: []string{"perfection loop"}, Versus: []string{"blood"}, Given: []string{"tag-length:linear", "angler"}}
}

func claims(t testing.TB, s *pg.Store) []journal.Claim {
	t.Helper()
	list, err := s.Claims(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func saveClaim(t testing.TB, s *pg.Store, c journal.Claim) journal.Claim {
	t.Helper()
	saved, err := s.SaveClaim(context.Background(), c)
	if err != nil {
		t.Fatal(err)
	}
	return saved
}

func TestTheStartingBoardIsValid(t *testing.T) {
	t.Parallel()
	ids := map[journal.ID]bool{}
	list := journal.StartingClaims()
	if len(list) < 9 || len(list) > 12 {
		t.Errorf("the board starts with %d claims, about ten were wanted", len(list))
	}
	for _, c := range list {
		if err := c.Validate(); err != nil {
			t.Errorf("%s: %v", c.Words, err)
		}
		if c.Source != journal.CommonPractice || c.Retired() || ids[c.ID] || len(c.Given) != 0 {
			t.Errorf("%s: source %q, retired %v, id %s, given %v", c.Words, c.Source, c.Retired(), c.ID, c.Given)
		}
		ids[c.ID] = true
		// RFC 9562, section 5.7: the version is 7 and the variant 10.
		if text := c.ID.String(); text[14] != '7' || !strings.ContainsRune("89ab", rune(text[19])) {
			t.Errorf("%s: %s is no UUIDv7", c.Words, text)
		}
	}
}

func TestTheBoardStartsOnce(t *testing.T) {
	t.Parallel()
	s := journaltest.Store(t)
	ctx := context.Background()
	if c, err := s.Contents(ctx); err != nil || len(c.Claims) != 0 {
		t.Fatalf("an unused journal holds %d claims, %v", len(c.Claims), err)
	}
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			if _, err := s.Claims(ctx); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	list := claims(t, s)
	if !slices.EqualFunc(list, journal.StartingClaims(), journal.Claim.Equal) {
		t.Fatalf("the board starts with %+v", list)
	}
	for _, c := range list {
		if err := s.RetireClaim(ctx, c.ID, 0); err != nil {
			t.Fatal(err)
		}
	}
	again := claims(t, s)
	if len(again) != len(list) || slices.ContainsFunc(again, func(c journal.Claim) bool { return !c.Retired() }) {
		t.Errorf("after retiring all, the board is %+v", again)
	}
}

func TestClaimsAreAddedChangedRetiredAndRestored(t *testing.T) {
	t.Parallel()
	s := journaltest.Store(t)
	ctx := context.Background()
	c := ownClaim(t)
	c.Words, c.Level = "  Loops tangle  more than blood knots ", []string{" Perfection Loop", "perfection loop", ""}
	c.Given = []string{"angler", "TAG-length:linear"}
	saved := saveClaim(t, s, c)
	want := ownClaim(t)
	want.ID, want.Source, want.CreatedAt, want.StatedAt = c.ID, journal.OwnClaim, saved.CreatedAt, saved.StatedAt
	if !saved.Equal(want) || saved.CreatedAt.IsZero() || saved.StatedAt == nil || saved.CreatedAt.Sub(*saved.StatedAt) > time.Second {
		t.Fatalf("saved %+v, want %+v", saved, want)
	}
	if twice := saveClaim(t, s, c); !twice.Equal(saved) {
		t.Errorf("sent twice: %+v", twice)
	}
	list := claims(t, s)
	if n := len(journal.StartingClaims()); len(list) != n+1 || !list[n].Equal(saved) {
		t.Fatalf("the board is %+v", list)
	}

	if err := s.RetireClaim(ctx, c.ID, 0); err != nil {
		t.Fatal(err)
	}
	retired, err := s.ClaimByID(ctx, c.ID)
	if err != nil || !retired.Retired() {
		t.Fatalf("retired: %+v, %v", retired, err)
	}
	if err := s.RetireClaim(ctx, c.ID, 0); err != nil {
		t.Fatal(err)
	}
	if twice, err := s.ClaimByID(ctx, c.ID); err != nil || !twice.Equal(retired) {
		t.Errorf("retired twice: %+v, %v", twice, err)
	}
	c.Given, c.Version = nil, retired.Version
	if changed := saveClaim(t, s, c); !changed.Retired() || changed.Given != nil || !changed.CreatedAt.Equal(saved.CreatedAt) {
		t.Errorf("changed while retired: %+v", changed)
	}
	if err := s.RestoreClaim(ctx, c.ID, 0); err != nil {
		t.Fatal(err)
	}
	if restored, err := s.ClaimByID(ctx, c.ID); err != nil || restored.Retired() {
		t.Errorf("restored: %+v, %v", restored, err)
	}
}

// A claim of the starting board stays common practice as long as it states the same.
func TestAChangedClaimIsOnesOwn(t *testing.T) {
	t.Parallel()
	s := journaltest.Store(t)
	c := claims(t, s)[2]
	c.Given = []string{"angler"}
	if saved := saveClaim(t, s, c); saved.Source != journal.CommonPractice {
		t.Errorf("with other givens it is %q", saved.Source)
	}
	c.Version++
	c.Level = []string{"hackled", "legged"}
	if saved := saveClaim(t, s, c); saved.Source != journal.OwnClaim || !saved.CreatedAt.Equal(c.CreatedAt) {
		t.Errorf("with other levels: %+v", saved)
	}
	c.Version++
	c.Level = journal.StartingClaims()[2].Level
	if saved := saveClaim(t, s, c); saved.Source != journal.OwnClaim {
		t.Errorf("changed back it is %q", saved.Source)
	}
}

func TestClaimsThatAreNotThere(t *testing.T) {
	t.Parallel()
	s := journaltest.Store(t)
	ctx := context.Background()
	for name, err := range map[string]error{"retire": s.RetireClaim(ctx, journaltest.NewID(t), 0), "restore": s.RestoreClaim(ctx, journaltest.NewID(t), 0)} {
		if !errors.Is(err, journal.ErrNotFound) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := s.ClaimByID(ctx, journaltest.NewID(t)); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("read: %v", err)
	}
	c := ownClaim(t)
	c.Words = "LONGER tags twist more"
	if _, err := s.SaveClaim(ctx, c); !journal.IsInvalid(err) || !strings.Contains(err.Error(), "a claim in these words is there already") {
		t.Errorf("the words of another: %v", err)
	}
}

func TestClaimsThatCanNotBe(t *testing.T) {
	t.Parallel()
	s := journaltest.Store(t)
	for _, tt := range []struct {
		name   string
		change func(*journal.Claim)
		want   string
	}{
		{"no id", func(c *journal.Claim) { c.ID = journal.ID{} }, "has no id"},
		{"no words", func(c *journal.Claim) { c.Words = " \n" }, "has no words"},
		{"endless words", func(c *journal.Claim) { c.Words = strings.Repeat("more ", 50) }, "shorten it"},
		{"a zero byte", func(c *journal.Claim) { c.Words = "a\x00b" }, "zero byte"},
		{"no outcome", func(c *journal.Claim) { c.Outcome = "" }, "choose an outcome"},
		{"unknown outcome", func(c *journal.Claim) { c.Outcome = "luck" }, `outcome "luck" is not known`},
		{"no factor", func(c *journal.Claim) { c.Factor = "" }, "choose what makes the difference"},
		{"unknown factor", func(c *journal.Claim) { c.Factor = "moon" }, `factor "moon" is not known`},
		{"no direction", func(c *journal.Claim) { c.Direction = "" }, "choose more or less"},
		{"unknown direction", func(c *journal.Claim) { c.Direction = "sideways" }, `direction "sideways" is not known`},
		{"unknown source", func(c *journal.Claim) { c.Source = "a book" }, `"a book" is not known`},
		{"no level", func(c *journal.Claim) { c.Level = []string{" "} }, "choose the junction that the claim is about"},
		{"Nothing to compare it with", func(c *journal.Claim) { c.Versus = nil }, "choose the junction to compare with"},
		{"both sides", func(c *journal.Claim) { c.Versus = []string{"Perfection loop"} }, "is on both sides"},
		{"a word of no factor", func(c *journal.Claim) { c.Factor, c.Level, c.Versus = "facing", []string{"left"}, []string{"down"} }, `facing "left" is not known; choose from: down, up, side`},
		{"levels of a number", func(c *journal.Claim) { c.Factor, c.Given = "tag-length", nil }, "tag length is a number"},
		{"too many levels", func(c *journal.Claim) {
			for i := range 30 {
				c.Level = append(c.Level, strings.Repeat("x", i+1))
			}
		}, "at most 20"},
		{"given itself", func(c *journal.Claim) { c.Given = []string{"junction"} }, "about junction itself"},
		{"given twice", func(c *journal.Claim) { c.Given = []string{"tag-length", "tag-length:linear"} }, "named twice"},
		{"given words as a line", func(c *journal.Claim) { c.Given = []string{"angler:linear"} }, "is not a number"},
		{"given the unknown", func(c *journal.Claim) { c.Given = []string{"luck"} }, `factor "luck" is not known`},
	} {
		c := ownClaim(t)
		tt.change(&c)
		if _, err := s.SaveClaim(t.Context(), c); !journal.IsInvalid(err) || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: got %v, want %q", tt.name, err, tt.want)
		}
	}
	if c, err := s.Contents(t.Context()); err != nil || len(c.Claims) != 0 {
		t.Errorf("something was written: %+v, %v", c.Claims, err)
	}
}

// A junction that people have named themselves may be claimed of.
func TestAClaimOfAnOwnJunction(t *testing.T) {
	t.Parallel()
	c := ownClaim(t)
	c.Level = []string{"slip loop"}
	saveClaim(t, journaltest.Store(t), c)
}

func ruleSets(t testing.TB, s *pg.Store) []journal.RuleSet {
	t.Helper()
	list, err := s.RuleSets(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func TestRuleSetsStartAsExamples(t *testing.T) {
	t.Parallel()
	s := journaltest.Store(t)
	list := ruleSets(t, s)
	if len(list) != 1 || !list[0].Example || !list[0].Equal(journal.StartingRules()[0]) {
		t.Fatalf("a journal starts with %+v", list)
	}
	if err := list[0].Validate(); err != nil {
		t.Error(err)
	}
	if !strings.Contains(list[0].Source, "to check against the rules in force") {
		t.Errorf("the source does not say that they are examples: %s", list[0].Source)
	}
	changed := list[0]
	changed.MostFlies = new(2)
	saved, err := s.SaveRuleSet(t.Context(), changed)
	if err != nil || saved.Example {
		t.Errorf("a changed example is still one: %+v, %v", saved, err)
	}
}

func TestRuleSetsAreKept(t *testing.T) {
	t.Parallel()
	s := journaltest.Store(t)
	day := journal.Date{Year: 2026, Month: 3, Day: 1}
	set := strictRules(t)
	set.Name, set.Source, set.AsOf = "  Club day ", "the club's sheet, article 4", &day
	saved, err := s.SaveRuleSet(t.Context(), set)
	if err != nil {
		t.Fatal(err)
	}
	list := ruleSets(t, s)
	if len(list) != 2 || !list[0].Equal(saved) || list[0].Name != "Club day" || !list[1].Example {
		t.Fatalf("listed %+v", list)
	}
	if err := s.DeleteRuleSet(t.Context(), set.ID); err != nil {
		t.Fatal(err)
	}
	if got, err := s.RuleSetByID(t.Context(), set.ID); err != nil || !got.Deleted() {
		t.Errorf("deleted: %+v, %v", got, err)
	}
	again := strictRules(t)
	again.Name = "CLUB DAY"
	if _, err := s.SaveRuleSet(t.Context(), again); err != nil {
		t.Errorf("the name of a deleted set is not free: %v", err)
	}
	if err := s.RestoreRuleSet(t.Context(), set.ID); !journal.IsInvalid(err) || !strings.Contains(err.Error(), "name is in use") {
		t.Errorf("two sets of a name: %v", err)
	}
	if err := s.DeleteRuleSet(t.Context(), again.ID); err != nil {
		t.Fatal(err)
	}
	if err := s.RestoreRuleSet(t.Context(), set.ID); err != nil {
		t.Error(err)
	}
	if err := s.DeleteRuleSet(t.Context(), journaltest.NewID(t)); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("deleting a set that is not there: %v", err)
	}
}

func TestRuleSetsAreRefused(t *testing.T) {
	t.Parallel()
	s := journaltest.Store(t)
	for want, change := range map[string]func(*journal.RuleSet){
		"no name":         func(r *journal.RuleSet) { r.Name = " " },
		"flies at most":   func(r *journal.RuleSet) { r.MostFlies = new(0) },
		"swap them":       func(r *journal.RuleSet) { r.LeastTagMM = new(300.0) },
		"rod lengths":     func(r *journal.RuleSet) { r.MostLeaderRods = new(-1.0) },
		"least distance":  func(r *journal.RuleSet) { r.LeastApartMM = new(0.0) },
		"greatest bead":   func(r *journal.RuleSet) { r.MostBeadMM = new(25.0) },
		"2026-04-30":      func(r *journal.RuleSet) { r.AsOf = &journal.Date{Year: 1, Month: 1, Day: 1} },
		"already":         func(r *journal.RuleSet) { r.Name = strings.ToUpper(journal.StartingRules()[0].Name) },
		"greatest rod le": func(r *journal.RuleSet) { r.MostRodMM = new(1e9) },
	} {
		set := strictRules(t)
		change(&set)
		if _, err := s.SaveRuleSet(t.Context(), set); !journal.IsInvalid(err) || !strings.Contains(err.Error(), want) {
			if want == "already" && err != nil && strings.Contains(err.Error(), "in use already") {
				continue
			}
			t.Errorf("%s: %v", want, err)
		}
	}
}
