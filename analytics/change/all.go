package change

import (
	"cmp"
	"context"
	"encoding/json"
	"runtime"
	"slices"

	"golang.org/x/sync/errgroup"

	"rigtally/analytics/stat"
	"rigtally/journal"
)

// falseFindings is the share of false findings among those listed that is borne with.
const falseFindings = 0.05

// All looks for changes of every factor after events of every outcome, and returns the findings in which changes
// follow events, the surest first. So many questions are asked at once that each p is adjusted for all of
// them (Benjamini & Hochberg). Minutes lost are left out, whose events are the tangles, and the rig as a
// whole, which changes with each of its factors.
func All(ctx context.Context, h Historian) ([]Finding, error) {
	outcomes := slices.DeleteFunc(journal.Outcomes(), func(o journal.Outcome) bool { return !Asked(o) || o.Measure == journal.AmountPer })
	factors := slices.DeleteFunc(journal.Factors(), func(f journal.Factor) bool { return !Possible(f) || f.Key == "rig" })
	all, p := make([]Finding, len(outcomes)*len(factors)), make([]*float64, len(outcomes)*len(factors))
	var walks errgroup.Group
	walks.SetLimit(runtime.GOMAXPROCS(0))
	for i := range all {
		walks.Go(func() (err error) {
			all[i], err = Find(ctx, h, outcomes[i/len(factors)], factors[i%len(factors)])
			p[i] = all[i].P
			return err
		})
	}
	if err := walks.Wait(); err != nil {
		return nil, err
	}
	q, err := stat.AdjustKnown(p)
	if err != nil {
		return nil, err
	}
	list := []Finding{}
	for i, f := range all {
		if f.Follows() && *q[i] < falseFindings {
			list = append(list, f)
		}
	}
	slices.SortStableFunc(list, func(a, b Finding) int { return cmp.Compare(*a.P, *b.P) })
	return list, nil
}

// Of looks for changes of the first of some factors that follow events of an outcome; it is nil when none do.
func Of(ctx context.Context, h Historian, o journal.Outcome, factors ...journal.Factor) (*Finding, error) {
	for _, f := range factors {
		if found, err := Find(ctx, h, o, f); err != nil || found.Follows() {
			return &found, err
		}
	}
	return nil, nil
}

// MarshalJSON writes the finding in full precision; what does not exist is null.
func (f Finding) MarshalJSON() ([]byte, error) {
	var window *int
	if f.ByMinutes {
		window = new(Window)
	}
	return json.Marshal(struct {
		Outcome  string   `json:"outcome"`
		Factor   string   `json:"factor"`
		Window   *int     `json:"within_minutes"`
		Sessions int      `json:"sessions"`
		Changes  int      `json:"changes"`
		After    int      `json:"after_event"`
		Expected *float64 `json:"expected"`
		Ratio    *float64 `json:"ratio"`
		Low      *float64 `json:"ratio_low"`
		High     *float64 `json:"ratio_high"`
		P        *float64 `json:"p"`
		With     Share    `json:"stints_with_event"`
		Without  Share    `json:"stints_without_event"`
	}{f.Outcome, f.Factor, window, f.Sessions, f.Changes, f.AfterEvent, f.Expected, f.Ratio, f.Low, f.High, f.P, f.With, f.Without})
}
