package pg_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/journal/journaltest"
)

// Ensure that each thing is renamed with what says its name, that its former name is known, and that a name is not given twice.
func TestRenames(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	b.store1(t, b.session(t, journaltest.May1, new(60.0), journaltest.Tangles(1)))
	changed := b.rig
	changed.Positions = slices.Clone(changed.Positions)
	changed.Positions[1].TagLengthMM = new(150.0)
	b.save(t, changed)
	own := journaltest.OneDropper("Own")
	own.Positions[1].Junction, own.Positions[1].JunctionName = journal.JunctionOther, "Barrel"
	own = b.save(t, own)
	if _, err := b.store.AnglerNamed(ctx, "Taken"); err != nil {
		t.Fatal(err)
	}
	if _, _, err := b.store.WaterNamed(ctx, "Taken", ""); err != nil {
		t.Fatal(err)
	}
	if _, _, err := b.store.WaterNamed(ctx, b.water.Name, "Taken"); err != nil {
		t.Fatal(err)
	}
	b.save(t, journaltest.OneDropper("Taken"))
	for i, c := range []struct{ factor, level string }{{"angler", "Ilse"}, {"water", "Alder Brook"}, {"beat", "Alder Brook, Mill Run"}, {"rig", "Blood 165 (revision 2)"}, {"junction", "Barrel"}} {
		claim := ownClaim(t)
		claim.ID, claim.Words, claim.Factor, claim.Level, claim.Versus, claim.Given = journal.NewID(), fmt.Sprint("Claim ", i), c.factor, []string{c.level}, []string{"uni"}, nil
		saveClaim(t, b.store, claim)
	}
	levels := func(factor string) string {
		for _, c := range claims(t, b.store) {
			if c.Factor == factor && strings.HasPrefix(c.Words, "Claim ") {
				return c.Level[0]
			}
		}
		return ""
	}
	if _, err := b.store.Facts(ctx); err != nil {
		t.Fatal(err)
	}
	for _, r := range []struct {
		of     journal.Thing
		factor string
		name   string
		level  string
		told   string
		known  func() error
	}{
		{byID(journal.ThingAngler, b.angler.ID), "angler", "Ilse B.", "Ilse B.", "Renamed the angler Ilse to Ilse B., in 1 session", func() error {
			a, err := b.store.AnglerNamed(ctx, "ilse")
			return is(err, a.ID == b.angler.ID)
		}},
		{byID(journal.ThingWater, b.water.ID), "water", "Alder River", "Alder River", "in 1 session", func() error {
			w, at, err := b.store.WaterNamed(ctx, "alder brook", "Mill Run")
			return is(err, w.ID == b.water.ID && *at == b.beat && levels("beat") == "Alder River, Mill Run")
		}},
		{byID(journal.ThingBeat, b.beat), "beat", "Millrace", "Alder Brook, Millrace", "in 1 session", func() error {
			_, at, err := b.store.WaterNamed(ctx, "alder brook", "Mill Run")
			return is(err, *at == b.beat)
		}},
		{journal.Thing{Kind: journal.ThingRig, Name: "blood 165"}, "rig", "Blood", "Blood (revision 2)", "in 1 session", func() error {
			rig, err := b.store.LatestRig(ctx, "Blood 165")
			list, wrong := b.store.Rigs(ctx)
			return is(errors.Join(err, wrong), rig.Name == "Blood" && !slices.ContainsFunc(list, func(u journal.RigUse) bool { return u.Name == "Blood 165" }))
		}},
		{journal.Thing{Kind: journal.ThingKnot, Name: "BARREL"}, "junction", "Half barrel", "Half barrel", "Renamed the knot Barrel to Half barrel, on 1 rig", func() error {
			rig, err := b.store.RigByID(ctx, own.ID)
			more := journaltest.OneDropper("With the former name")
			more.Positions[1].Junction, more.Positions[1].JunctionName = journal.JunctionOther, "barrel"
			more, wrong := b.store.SaveRig(ctx, more)
			return is(errors.Join(err, wrong, b.store.DeleteRig(ctx, more.ID, 0)), rig.Positions[1].JunctionName == "Half barrel" && more.Positions[1].JunctionName == "Half barrel")
		}},
	} {
		before := state(t, b.store)
		taken := "Taken"
		if r.factor == "junction" {
			taken = "blood"
		}
		if c, err := b.store.Rename(ctx, r.of, taken); !journal.IsInvalid(err) || !strings.Contains(err.Error(), "merge them instead") {
			t.Errorf("%s took the name of another: %+v, %v", r.factor, c, err)
		}
		c, err := b.store.Rename(ctx, r.of, " "+r.name+" ")
		if err != nil || !strings.Contains(c.Told, r.told) || levels(r.factor) != r.level {
			t.Errorf("%s: %+v, %v; the claim says %s", r.factor, c, err, levels(r.factor))
		}
		if err := r.known(); err != nil {
			t.Errorf("%s by its former name: %v", r.factor, err)
		}
		factsAre(t, b)
		if u := undo(t, b.store, c.Step); len(u.Left) > 0 {
			t.Errorf("%s taken back: %+v", r.factor, u)
		}
		if after := state(t, b.store); after != before {
			t.Errorf("%s taken back: %s", r.factor, journaltest.FirstDifference(before, after))
		}
		factsAre(t, b)
	}
	// The pages of anglers and waters rename too.
	a := b.angler
	a.Name = "Ilse B."
	if err := b.store.SaveAngler(ctx, a); err != nil {
		t.Fatal(err)
	}
	if st := lastStep(t, b.store); st.What != "Renamed the angler Ilse to Ilse B., in 1 session" {
		t.Errorf("the step is %+v", st)
	}
}

func is(err error, ok bool) error {
	if err == nil && !ok {
		return errors.New("it is not so")
	}
	return err
}

// Ensure that what is not one is not made one, and that the answer says why.
func TestWhatCantBeMerged(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	guide, err := b.store.AnglerNamed(ctx, "Wido")
	if err != nil {
		t.Fatal(err)
	}
	s := b.session(t, journaltest.May1, new(60.0))
	s.GuideID = &guide.ID
	b.store1(t, s)
	far := journal.Water{ID: journal.NewID(), Name: "Far Beck", Kind: "other", TimeZone: "America/Denver", Beats: []journal.Beat{{ID: journal.NewID(), Name: "Top"}}}
	if err := b.store.SaveWater(ctx, far); err != nil {
		t.Fatal(err)
	}
	longer := journaltest.OneDropper("Longer")
	longer.Positions[1].TagLengthMM = new(200.0)
	longer = b.save(t, longer)
	more := journaltest.OneDropper("More")
	more.LeaderLengthMM = new(3000.0)
	more = b.save(t, more)
	same := b.save(t, journaltest.OneDropper("Same"))
	if _, err := b.store.PlanTrial(ctx, journal.Trial{ID: journal.NewID(), Name: "Twins", Outcome: "tangles", Factor: "rig", Arms: [2]journal.TrialArm{{RigID: &same.ID}, {RigID: &b.rig.ID}}, Unit: journal.ByStint, Block: 4, Worth: 1.5, MostHours: 60}); err != nil {
		t.Fatal(err)
	}
	claim := ownClaim(t)
	claim.Factor, claim.Level, claim.Versus, claim.Given = "angler", []string{"Ada"}, []string{"Ilse"}, nil
	saveClaim(t, b.store, claim)
	ada, err := b.store.AnglerNamed(ctx, "Ada")
	if err != nil {
		t.Fatal(err)
	}
	angler, water, rig := journal.ThingAngler, journal.ThingWater, journal.ThingRig
	for _, m := range []struct {
		from, into journal.Thing
		says       string
	}{
		{byID(angler, guide.ID), byID(angler, b.angler.ID), "guided the other on 2026-05-01"},
		{byID(angler, ada.ID), byID(angler, b.angler.ID), "compares the two"},
		{byID(angler, ada.ID), byID(angler, ada.ID), "the same angler"},
		{byID(angler, ada.ID), byID(water, b.water.ID), "choose two of a kind"},
		{byID(water, far.ID), byID(water, b.water.ID), "time zone America/Denver"},
		{byID(journal.ThingBeat, far.Beats[0].ID), byID(journal.ThingBeat, b.beat), "on two waters"},
		{byID(rig, longer.ID), byID(rig, b.rig.ID), "dropper 1, Tag length: 200 mm and 165.1 mm"},
		{byID(rig, more.ID), byID(rig, b.rig.ID), "Merge Blood 165 into More instead"},
		{byID(rig, same.ID), byID(rig, b.rig.ID), "the trial Twins compares the two"},
		{journal.Thing{Kind: journal.ThingKnot, Name: "Barrel"}, journal.Thing{Kind: journal.ThingKnot, Name: "blood"}, "not in this journal"},
	} {
		before := state(t, b.store)
		if c, err := b.store.Merge(ctx, m.from, m.into); err == nil || !strings.Contains(err.Error(), m.says) {
			t.Errorf("%+v into %+v: %+v, %v; want %s", m.from, m.into, c, err, m.says)
		}
		if after := state(t, b.store); after != before {
			t.Errorf("left something: %s", journaltest.FirstDifference(before, after))
		}
	}
}
