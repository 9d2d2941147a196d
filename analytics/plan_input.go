package analytics

import (
	"fmt"
	"math"

	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
)

// leastNoted is how many notes of a kind a journal needs before its own numbers stand
// in for common practice.
const leastNoted = MinCuts

// planTippetMM is the tippet to begin with: the middle of 1.8–2.4 m (common practice, no source).
const planTippetMM = 2100.0

// inputs takes each number from the person, else the journal, else common practice.
func (a *PlanAnswer) inputs(q planQuestion, sessions []journal.TagSession) error {
	own, err := ownInputs(sessions)
	if err != nil {
		return fmt.Errorf("take a plan's numbers from the journal: %w", err)
	}
	for _, key := range PlanKeys() {
		in := PlanInput{Key: key, Assumed: practiceOf(key, q.units)}
		if mine, ok := own[key]; ok {
			in = mine
		}
		if v, ok := q.inputs[key]; ok {
			in = PlanInput{Key: key, Assumed: Assumed{Value: v, From: FromYou}}
		}
		a.Inputs = append(a.Inputs, in)
	}
	return nil
}

func practiceOf(key string, sys units.System) Assumed {
	switch key {
	case PlanWaste:
		return PracticeLength(PracticeWasteMM, sys)
	case PlanChanges:
		return Practice(PracticeChangesPerHour)
	case PlanLeast:
		return PracticeLength(PracticeLeastTagMM, sys)
	case PlanTangleMinutes:
		return Practice(PracticeTangleMinutes)
	case PlanTippet:
		return PracticeLength(planTippetMM, sys)
	case PlanRetieCost:
		return PracticeLength(PracticeRetieMM, sys)
	}
	return Practice(PracticeRetieMinutes) // a broken junction is tied again too
}

// ownInputs are those that the journal knows, each the ratio of two totals with the
// interval of stat.AmountInterval, sessions being what is independent.
//
// A re-tie that no break asked for is a change too: the new fly goes on the new tag. So
// the changes of a session are its fly changes and its re-ties beyond its breaks. What a break
// costs is what the re-ties cost, those after breaks being among them.
func ownInputs(sessions []journal.TagSession) (map[string]PlanInput, error) {
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
		n[PlanChanges] += changed
	}
	n[PlanWaste], n[PlanTangleMinutes], n[PlanRetieMinutes], n[PlanBreakMinutes] = waste.T, tangle.T, retie.T, retie.T
	out := map[string]PlanInput{}
	for key, sums := range map[string]stat.Sums{PlanWaste: waste, PlanChanges: changes, PlanTangleMinutes: tangle, PlanRetieMinutes: retie, PlanBreakMinutes: retie} {
		if n[key] < leastNoted || sums.Rate() == 0 {
			continue
		}
		in := PlanInput{Key: key, Assumed: Assumed{Value: sums.Rate(), From: FromJournal, N: int(math.Round(n[key]))}}
		interval, err := stat.AmountInterval(sums, confidence)
		if err != nil {
			return nil, err
		}
		if !math.IsInf(interval.High, 1) {
			in.Low, in.High = known(interval.Low), known(interval.High)
		}
		out[key] = in
	}
	return out, nil
}
