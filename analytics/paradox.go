package analytics

import (
	"errors"
	"fmt"
	"math"

	"rigtally/analytics/stat/regress"
)

const (
	// muchMoved is how far a correction may move a ratio before the reader is told.
	muchMoved = 1.25
	// hardlyMoved keeps ratios on both sides of 1, but next to it, from being told as a reversal.
	hardlyMoved = 1.05
)

// noteParadoxes tells where plain and corrected ratio disagree in direction or by
// more than a quarter, and names the given whose removal moves the corrected one most
// (Simpson 1951, JRSS B 13:238, for the reversal).
func (a *RateAnswer) noteParadoxes(f *Regression) error {
	var moved []int
	for i, g := range a.Groups {
		if g.Corrected != nil && g.Versus.Ratio != nil && *g.Versus.Ratio > 0 && disagree(*g.Versus.Ratio, *g.Corrected.Ratio) {
			moved = append(moved, i)
		}
	}
	if len(moved) == 0 {
		return nil
	}
	most, by := make([]float64, len(moved)), make([]int, len(moved))
	for given := range f.givens {
		if len(f.givens) == 1 {
			break
		}
		if f.givens[given].columns == 0 {
			continue
		}
		d := f.without(given)
		fit, err := d.fitOnly()
		if errors.Is(err, regress.ErrNotConverged) {
			continue
		}
		if err != nil {
			return fmt.Errorf("correct without %s: %w", a.Given[given].Factor.Key, err)
		}
		rest := Regression{design: d, fit: fit}
		for k, i := range moved {
			change := math.Abs(rest.estimate(rest.against(i)) - math.Log(*a.Groups[i].Corrected.Ratio))
			if change > most[k] {
				most[k], by[k] = change, given
			}
		}
	}
	for k, i := range moved {
		a.Notes = append(a.Notes, Note{Kind: NoteParadox, Group: i, Factor: a.Given[by[k]].Factor})
	}
	return nil
}

func disagree(plain, corrected float64) bool {
	apart := math.Max(plain/corrected, corrected/plain)
	reversed := (plain > 1) != (corrected > 1)
	return apart > muchMoved || reversed && apart > hardlyMoved
}
