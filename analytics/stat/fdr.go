package stat

import (
	"fmt"
	"sort"
)

// AdjustBH returns the p-values adjusted for the number of comparisons, in the
// order given (Benjamini & Hochberg 1995, JRSS B 57:289, step-up procedure):
// the i-th smallest of m becomes the least of m·p/j over j ≥ i, at most 1. A
// comparison is a finding at false discovery rate α when its adjusted value is
// at most α. Equal p-values get equal results. The slice is not changed.
func AdjustBH(p []float64) ([]float64, error) {
	order := make([]int, len(p))
	for i, x := range p {
		if !(x >= 0 && x <= 1) {
			return nil, fmt.Errorf("p-value %d is %g: it must lie between 0 and 1", i+1, x)
		}
		order[i] = i
	}
	sort.SliceStable(order, func(i, j int) bool { return p[order[i]] > p[order[j]] })
	q := make([]float64, len(p))
	least := 1.0
	for i, index := range order {
		share := float64(len(p)) / float64(len(p)-i) // m/j, at least 1
		least = min(least, p[index]*share)
		q[index] = least
	}
	return q, nil
}

// AdjustKnown is AdjustBH over those that are known; the others stay unknown.
func AdjustKnown(p []*float64) ([]*float64, error) {
	var known []float64
	for _, v := range p {
		if v != nil {
			known = append(known, *v)
		}
	}
	adjusted, err := AdjustBH(known)
	if err != nil {
		return nil, err
	}
	q := make([]*float64, len(p))
	for i, v := range p {
		if v != nil {
			q[i], adjusted = &adjusted[0], adjusted[1:]
		}
	}
	return q, nil
}
