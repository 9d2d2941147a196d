package pg_test

import (
	"context"
	"errors"
	"slices"
	"strings"
	"sync"
	"testing"

	"rigtally/journal"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
)

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
		if c.Source != journal.CommonPractice || c.Retired() || ids[c.ID] || len(c.Given) == 0 {
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
	want.ID, want.Source, want.CreatedAt = c.ID, journal.OwnClaim, saved.CreatedAt
	if !saved.Equal(want) || saved.CreatedAt.IsZero() {
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
