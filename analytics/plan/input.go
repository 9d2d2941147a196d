package plan

import (
	"context"
	"fmt"
	"math"

	"rigtally/analytics"
	"rigtally/analytics/answer"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal/facts"
)

// inputs takes each number from the person, else the journal, else common practice.
func (a *Answer) inputs(q question, sessions []facts.TagSession) error {
	own, err := ownInputs(sessions)
	if err != nil {
		return fmt.Errorf("take a plan's numbers from the journal: %w", err)
	}
	for _, k := range kinds() {
		in := Input{Key: k.key, Assumed: k.usual(q.units)}
		if mine, ok := own[k.key]; ok {
			in = mine
		}
		if v, ok := q.inputs[k.key]; ok {
			in = Input{Key: k.key, Assumed: Assumed{Value: v, From: FromYou}}
		}
		a.Inputs = append(a.Inputs, in)
	}
	return nil
}

// Inputs are the numbers that a plan rests on, by key: the journal's own, else common practice's.
func Inputs(ctx context.Context, j Keeper, sys units.System) (map[string]Input, error) {
	sessions, err := j.TagSessions(ctx, nil)
	if err != nil {
		return nil, err
	}
	var a Answer
	if err := a.inputs(question{units: sys}, sessions); err != nil {
		return nil, err
	}
	byKey := map[string]Input{}
	for _, in := range a.Inputs {
		byKey[in.Key] = in
	}
	return byKey, nil
}

// kind is an input: what it may be, in its storage unit, how it is told of, and what common practice has.
type kind struct {
	key, title string
	quantity   units.Quantity // empty for a plain number
	low, high  float64
	practice   float64
}

func kinds() []kind {
	return []kind{
		{Waste, "the tag lost at a change", units.Length, 1, 300, PracticeWasteMM},
		{Changes, "the changes per hour", "", 0.01, 60, PracticeChangesPerHour},
		{Least, "the shortest tag that fishes", units.Length, 10, 1000, PracticeLeastTagMM},
		{TangleMinutes, "the minutes that a tangle costs", units.Duration, 0, 120, PracticeTangleMinutes},
		{RetieMinutes, "the minutes that a re-tie costs", units.Duration, 0, 120, PracticeRetieMinutes},
		{BreakMinutes, "the minutes that a break costs", units.Duration, 0, 120, PracticeRetieMinutes}, // a broken junction is tied again too
		{TippetLength, "the length of the tippet", units.Length, 100, 20000, practiceTippetMM},
		{RetieCost, "the tippet lost at a re-tie", units.Length, 1, 2000, PracticeRetieMM},
	}
}

// Keys lists the inputs.
func Keys() []string {
	return answer.Each(kinds(), func(k kind) string { return k.key })
}

func (k kind) usual(sys units.System) Assumed {
	if k.quantity == units.Length {
		return PracticeLength(k.practice, sys)
	}
	return Practice(k.practice)
}

// ownInputs are those that the journal knows, each the ratio of two totals with the
// interval of stat.AmountInterval, sessions being what is independent.
//
// A re-tie that no break asked for is a change too: the new fly goes on the new tag. So
// the changes of a session are its fly changes and its re-ties beyond its breaks. What a break
// costs is what the re-ties cost, those after breaks being among them.
func ownInputs(sessions []facts.TagSession) (map[string]Input, error) {
	var waste, changes, tangle, retie stat.Sums
	n := map[string]float64{}
	for _, s := range sessions {
		changed := s.Changes + math.Max(0, s.Reties-s.Breaks)
		for _, pair := range []struct {
			sums *stat.Sums
			k, t float64
		}{{&waste, s.CutMM, s.Cuts}, {&changes, changed, s.Hours}, {&tangle, s.TangleMinutes, s.Tangles}, {&retie, s.TiedMinutes, s.Tied}} {
			if pair.t > 0 {
				if err := pair.sums.Add(pair.k, pair.t); err != nil {
					return nil, err
				}
			}
		}
		n[Changes] += changed
	}
	n[Waste], n[TangleMinutes], n[RetieMinutes], n[BreakMinutes] = waste.T, tangle.T, retie.T, retie.T
	out := map[string]Input{}
	for key, sums := range map[string]stat.Sums{Waste: waste, Changes: changes, TangleMinutes: tangle, RetieMinutes: retie, BreakMinutes: retie} {
		if n[key] < MinCuts || sums.Rate() == 0 {
			continue
		}
		in := Input{Key: key, Assumed: Assumed{Value: sums.Rate(), From: FromJournal, N: int(math.Round(n[key]))}}
		interval, err := stat.AmountInterval(sums, analytics.Confidence)
		if err != nil {
			return nil, err
		}
		if !math.IsInf(interval.High, 1) {
			in.Low, in.High = answer.Known(interval.Low), answer.Known(interval.High)
		}
		out[key] = in
	}
	return out, nil
}
