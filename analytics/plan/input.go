package plan

import (
	"fmt"
	"math"

	"rigtally/analytics"
	"rigtally/analytics/answer"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
)

// leastNoted is how many notes of a kind a journal needs before its own numbers stand
// in for common practice.
const leastNoted = MinCuts

// tippetMM is the tippet to begin with: the middle of 1.8–2.4 m (common practice, no source).
const tippetMM = 2100.0

// inputs takes each number from the person, else the journal, else common practice.
func (a *Answer) inputs(q question, sessions []journal.TagSession) error {
	own, err := ownInputs(sessions)
	if err != nil {
		return fmt.Errorf("take a plan's numbers from the journal: %w", err)
	}
	for _, key := range Keys() {
		in := Input{Key: key, Assumed: practiceOf(key, q.units)}
		if mine, ok := own[key]; ok {
			in = mine
		}
		if v, ok := q.inputs[key]; ok {
			in = Input{Key: key, Assumed: Assumed{Value: v, From: FromYou}}
		}
		a.Inputs = append(a.Inputs, in)
	}
	return nil
}

func practiceOf(key string, sys units.System) Assumed {
	switch key {
	case Waste:
		return PracticeLength(PracticeWasteMM, sys)
	case Changes:
		return Practice(PracticeChangesPerHour)
	case Least:
		return PracticeLength(PracticeLeastTagMM, sys)
	case TangleMinutes:
		return Practice(PracticeTangleMinutes)
	case TippetLength:
		return PracticeLength(tippetMM, sys)
	case RetieCost:
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
func ownInputs(sessions []journal.TagSession) (map[string]Input, error) {
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
		if n[key] < leastNoted || sums.Rate() == 0 {
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
