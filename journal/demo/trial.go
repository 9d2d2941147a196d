package demo

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"time"

	"rigtally/journal"
	"rigtally/journal/pg"
)

// The trial that the demo shows: a newcomer with a hand of her own alternates a
// long tag with a short one, in an order that rigtally draws, over twelve days
// after the seasons. A tag of 8¼ in tangles TagLengthRatio times as often as one
// of 4¾ in, 2.23; nothing else differs. It has dice of its own, and is no part of
// the seasons, whose answers it leaves as they are until it is played into a
// journal. Of the first 25 seeds 20 are settled within the twelve days; this one is
// on the eleventh.
const (
	TrialSeed     = 21
	TrialSessions = 12
	TrialName     = "Long tag or short (invented)"
	longTag       = quarter(33)
	shortTag      = quarter(19)
	newcomer      = "Marlo Quillfeather" // invented
	newcomersHand = 2.2                  // how many times as often as the teammate she tangles
	trialStints   = 4                    // a day
)

// trialPlay is a trial on its way through the journal.
type trialPlay struct {
	dice
	store *pg.Store
	truth truth
	who   journal.Angler
	guide journal.ID
	water journal.Water
	rigs  map[journal.Arm]tied
	plan  journal.Trial
}

// PlayTrial plans the trial in a journal that holds the season, and brings it
// through so many sessions by what a person does: each stint is started, which
// tells its arm, is fished, and is logged in the evening.
func PlayTrial(ctx context.Context, store *pg.Store, s Season, seed uint64, sessions int) (journal.Trial, error) {
	p := &trialPlay{dice: newDice(seed, 5<<32), store: store, truth: newTruth(), guide: s.Anglers[0].ID, water: s.Waters[0]}
	if err := p.prepare(ctx, seed); err != nil {
		return journal.Trial{}, fmt.Errorf("plan the invented trial: %w", err)
	}
	for day := range sessions {
		if err := p.session(ctx, day); err != nil {
			return journal.Trial{}, fmt.Errorf("play the invented trial: %w", err)
		}
	}
	return store.TrialByID(ctx, p.plan.ID)
}

// TrialSecret is the seed of the invented trial's order, which anyone can work
// out. That of a real trial is drawn at random and told nobody.
func TrialSecret(seed uint64) string {
	secret := sha256.Sum256(fmt.Appendf(nil, "invented trial %d", seed))
	return hex.EncodeToString(secret[:])
}

// trialPlanned is the evening on which the trial is planned.
var trialPlanned = time.Date(2026, time.November, 8, 19, 0, 0, 0, time.UTC)

func (p *trialPlay) prepare(ctx context.Context, seed uint64) error {
	p.who = journal.Angler{ID: p.id(trialPlanned), Name: newcomer, Kind: journal.Client, Active: true}
	p.rigs = map[journal.Arm]tied{}
	add := journal.Addition{Anglers: []journal.Angler{p.who}}
	for i, arm := range []struct {
		arm  journal.Arm
		name string
		tag  quarter
	}{{journal.ArmA, "Quill long tag", longTag}, {journal.ArmB, "Quill short tag", shortTag}} {
		rig := journal.Rig{ID: p.id(trialPlanned.Add(time.Duration(i) * time.Minute)), Name: arm.name, Revision: 1, Method: "tight-line nymph", Swivel: "none", Notes: "Invented, for a trial.",
			CreatedAt: trialPlanned, Positions: []journal.RigPosition{
				{Position: 0, TippetMM: new(tippetMM(6)), Material: "nylon", HookSize: new(16), Bulk: "slim"},
				{Position: 1, Hang: journal.HangTag, Junction: "figure-eight", Facing: "down", Prop: "none", TagLengthMM: new(arm.tag.mm()), TippetMM: new(tippetMM(6)), Material: "nylon", HookSize: new(16), Bulk: "slim"},
			}}
		add.Rigs = append(add.Rigs, rig)
		p.rigs[arm.arm] = tied{rig, p.truth.rig(rig)}
	}
	if err := p.store.Add(ctx, add, nil); err != nil {
		return err
	}
	plan, err := p.store.PlanTrial(ctx, journal.Trial{
		ID: p.id(trialPlanned), Name: TrialName, Outcome: "tangles", Factor: "tag-length",
		Arms: [2]journal.TrialArm{{Level: fmt.Sprint(longTag.mm()), Note: "the rig Quill long tag"}, {Level: fmt.Sprint(shortTag.mm()), Note: "the rig Quill short tag"}},
		Unit: journal.ByStint, Block: 2, Worth: 1.5, MostHours: 80, Seed: TrialSecret(seed), PlannedAt: trialPlanned,
		Notes: "Invented, like everything in this journal.",
	})
	p.plan = plan
	return err
}

// session fishes a day of the trial, with a day off after every four.
func (p *trialPlay) session(ctx context.Context, day int) error {
	loc := zone(p.water.TimeZone)
	start := time.Date(2026, time.November, 9+day+day/4, 9, 15*p.between(0, 3), 0, 0, loc).UTC()
	s := journal.Session{ID: p.id(start), AnglerID: p.who.ID, GuideID: &p.guide, WaterID: p.water.ID, Day: journal.DateOf(start.In(loc)), TimeZone: p.water.TimeZone,
		Wind: pick(p.dice, []share[journal.Wind]{{"calm", 0.4}, {"light", 0.4}, {"moderate", 0.2}}), Clarity: "clear", Light: pick(p.dice, []share[journal.Light]{{"bright", 1}, {"overcast", 1}}),
		WaterTempC: new(celsius(p.between(41, 45))), Notes: "Invented: a day of the trial."}
	o := &outing{dice: p.dice, truth: p.truth, tangles: newcomersHand, turning: windTangles(s.Wind) * p.gamma(0.5), hookups: temperatureCurve(*s.WaterTempC) * p.gamma(0.5),
		snags: p.gamma(0.5), losses: 1.3, placed: true, lossKept: true, species: []string{"brown trout", "rainbow trout"}}
	at := start
	for range trialStints {
		u, err := p.store.StartTrialUnit(ctx, p.plan.ID, len(p.plan.Units)+1, at)
		if err != nil {
			return err
		}
		p.plan.Units = append(p.plan.Units, u)
		minutes := pick(p.dice, []share[int]{{60, 1}, {75, 2}, {90, 1}})
		s.Stints = append(s.Stints, p.stint(o, p.rigs[u.Arm], minutes, at))
		at = at.Add(time.Duration(minutes+10) * time.Minute)
	}
	s.Start, s.End, s.LoggedAt = &start, &at, at.Add(3*time.Hour)
	_, err := p.store.SaveSession(ctx, s) // which finds what was fished in each
	return err
}

// stint fishes a rig without changing its fly, so that its tag keeps its length.
func (p *trialPlay) stint(o *outing, rig tied, minutes int, at time.Time) journal.Stint {
	r := &record{rig: rig, hours: float64(minutes) / 60, broke: map[int][]int{}}
	o.hook(r, minutes)
	o.snag(r, minutes)
	tag := rig.Positions[1]
	curve := tagCurve(*tag.TagLengthMM)
	stroke := o.truth.of("tangles", "stroke", "oval")
	o.tangle(r, tag, rig.positions[1].tangles*stroke*curve, 0, minutes)
	return journal.Stint{ID: p.id(at), RigID: rig.ID, Minutes: new(float64(minutes)), Stroke: "oval", Events: o.write(r, minutes)}
}
