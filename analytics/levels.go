package analytics

import (
	"cmp"
	"slices"
	"strings"

	"rigtally/journal"
	"rigtally/journal/facts"
)

// sortGroups puts groups into the natural order of their levels: numbers
// upward, words as the vocabulary has them, and names by the alphabet.
func sortGroups(by []journal.By, rows *facts.Rows) {
	order := make([]int, len(rows.Groups))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int {
		for i := range by {
			if c := CompareLevels(by[i].Factor, rows.Groups[a].Level[i], rows.Groups[b].Level[i]); c != 0 {
				return c
			}
		}
		return 0
	})
	place := make([]int32, len(order))
	sorted := make([]journal.Sums, len(order))
	for to, from := range order {
		place[from], sorted[to] = int32(to), rows.Groups[from]
	}
	rows.Groups = sorted
	for cell, g := range rows.Group {
		if g >= 0 {
			rows.Group[cell] = place[g]
		}
	}
}

func CompareLevels(f journal.Factor, a, b journal.Level) int {
	if a.Kind == journal.WordLevel {
		return cmp.Or(cmp.Compare(wordRank(f, a.Word), wordRank(f, b.Word)),
			cmp.Compare(strings.ToLower(a.Word), strings.ToLower(b.Word)), cmp.Compare(a.Word, b.Word))
	}
	return cmp.Or(cmp.Compare(kindRank(a.Kind), kindRank(b.Kind)), cmp.Compare(a.Number, b.Number))
}

func wordRank(f journal.Factor, word string) int {
	vocabulary := f.Vocabulary()
	if i := slices.Index(vocabulary, word); i >= 0 {
		return i
	}
	return len(vocabulary)
}

// kindRank puts the open band below first and the one above last.
func kindRank(k journal.LevelKind) int {
	switch k {
	case journal.BelowLevel:
		return 0
	case journal.AboveLevel:
		return 2
	}
	return 1
}

// chooseReference finds the group that the others are compared with.
func (a *RateAnswer) chooseReference(r Request) error {
	if len(a.Groups) == 0 || len(a.By) == 0 {
		return nil
	}
	if r.Versus == "" {
		a.Reference = 0
		for i, g := range a.Groups {
			if g.Exposure > a.Groups[a.Reference].Exposure {
				a.Reference = i
			}
		}
		return nil
	}
	texts := strings.Split(r.Versus, ",")
	if len(texts) != len(a.By) {
		return journal.Invalidf("the level to compare with, %q, must name a level of each factor asked by, with a comma between", r.Versus)
	}
	for i, g := range a.Groups {
		matches := true
		for j, by := range a.By {
			ok, err := r.isLevel(by, g.Level[j], strings.TrimSpace(texts[j]))
			if err != nil {
				return err
			}
			matches = matches && ok
		}
		if matches {
			a.Reference = i
			return nil
		}
	}
	return journal.Invalidf("nothing was fished with %q in this question; compare with a level that the answer shows", r.Versus)
}

// isLevel reports whether a person's text names a level; for bands, any value inside.
func (r Request) isLevel(by journal.By, level journal.Level, text string) (bool, error) {
	if level.Kind == journal.WordLevel {
		return strings.EqualFold(level.Word, text), nil
	}
	v, err := ParseValue(by.Factor, text, r.Units)
	if err != nil {
		return false, err
	}
	switch level.Kind {
	case journal.BelowLevel:
		return v < level.Upper, nil
	case journal.AboveLevel:
		return v >= level.Number, nil
	case journal.BandLevel:
		return v >= level.Number && v < level.Upper, nil
	}
	return v == level.Number, nil
}

// Levels lists the levels that an answer's groups have of its i-th factor, each
// once, in their natural order.
func (a RateAnswer) Levels(i int) []journal.Level {
	var list []journal.Level
	for _, g := range a.Groups {
		if !slices.Contains(list, g.Level[i]) {
			list = append(list, g.Level[i])
		}
	}
	slices.SortFunc(list, func(x, y journal.Level) int { return CompareLevels(a.By[i].Factor, x, y) })
	return list
}
