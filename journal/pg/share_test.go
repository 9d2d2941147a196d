package pg_test

import (
	"context"
	"errors"
	"strings"
	"testing"

	"rigtally/journal"
)

// Ensure that owners and guides share seasons and withdraw them, that nobody else does, and that a link that is
// withdrawn or was never made finds nothing.
func TestSharedSeasons(t *testing.T) {
	t.Parallel()
	p := newParty(t)
	ctx := t.Context()
	guide := p.bench.store.For(journal.Who{Role: journal.RoleGuide, Name: "Guide Ilmari"})
	share := journal.Share{Angler: p.clients[0].ID, Season: "year=2026"}
	secret, until, err := guide.ShareSeason(ctx, share, 30)
	if err != nil || len(secret) != 43 || until.IsZero() {
		t.Fatalf("a guide shares: %q until %v, %v", secret, until, err)
	}
	found, err := p.stores[1].SharedSeason(ctx, secret) // before it is known who asks
	if err != nil || found.Angler != share.Angler || found.Season != share.Season || found.Outfit != p.bench.store.OutfitID() || found.CreatedBy != "Guide Ilmari" {
		t.Errorf("its link finds %+v, %v", found, err)
	}
	for _, wrong := range []string{"", secret[:42], strings.ToUpper(secret), secret + "A"} {
		if _, err := p.bench.store.SharedSeason(ctx, wrong); !errors.Is(err, journal.ErrNotFound) {
			t.Errorf("%q finds something: %v", wrong, err)
		}
	}
	if _, _, err := p.stores[0].ShareSeason(ctx, share, 30); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("a client shares: %v", err)
	}
	if list, err := p.stores[0].Shares(ctx); err == nil && len(list) > 0 {
		t.Errorf("a client sees what is shared: %v", list)
	}
	elsewhere := p.bench.store.In(journal.NewID(), journal.Keeper())
	if list, err := elsewhere.Shares(ctx); len(list) > 0 {
		t.Errorf("another outfit sees what is shared: %v, %v", list, err)
	}
	for who, s := range map[string]interface {
		WithdrawShare(ctx context.Context, id journal.ID) error
	}{"a client": p.stores[0], "another outfit": elsewhere} {
		if err := s.WithdrawShare(ctx, found.ID); !errors.Is(err, journal.ErrNotFound) {
			t.Errorf("%s withdraws: %v", who, err)
		}
	}
	if _, _, err := guide.ShareSeason(ctx, journal.Share{Angler: journal.NewID(), Season: "year=2026"}, 7); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("the season of nobody is shared: %v", err)
	}
	if err := p.bench.store.WithdrawShare(ctx, found.ID); err != nil {
		t.Fatal(err)
	}
	if _, err := guide.SharedSeason(ctx, secret); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("withdrawn, it finds something: %v", err)
	}
}

// Ensure that a week has one comparison, that clients read what it shows and not what is in it, and that they write none.
func TestComparisonsAreReadByClients(t *testing.T) {
	t.Parallel()
	p := newParty(t)
	ctx := t.Context()
	week := journal.Date{Year: 2026, Month: 6, Day: 1}
	made := journal.Comparison{Week: week, Shown: map[string]float64{"tangles": 1.2}, Basis: map[string]map[journal.ID]journal.Part{"tangles": {p.clients[0].ID: {Count: 3, Base: 2.5, Hours: 2.5}}}}
	if c, err := p.stores[0].Comparison(ctx); err != nil || c.Shown != nil {
		t.Errorf("before there is one a client reads %v, %v", c, err)
	}
	if err := p.stores[0].KeepComparison(ctx, made); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("a client writes one: %v", err)
	}
	if err := p.bench.store.KeepComparison(ctx, made); err != nil {
		t.Fatal(err)
	}
	again := made
	again.Shown = map[string]float64{"tangles": 9}
	if err := p.bench.store.KeepComparison(ctx, again); err != nil {
		t.Fatal(err)
	}
	if c, err := p.stores[1].Comparison(ctx); err != nil || c.Week != week || c.Shown["tangles"] != 1.2 || c.Basis != nil {
		t.Errorf("a client reads %v, %v", c, err)
	}
	if _, err := p.stores[1].Comparisons(ctx); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("a client reads what is in it: %v", err)
	}
	if list, err := p.bench.store.Comparisons(ctx); err != nil || len(list) != 1 || list[0].Basis["tangles"][p.clients[0].ID] != made.Basis["tangles"][p.clients[0].ID] {
		t.Errorf("the owner reads %v, %v", list, err)
	}
}
