package rigs

import (
	"context"
	"net/url"

	"rigtally/analytics"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/page"
)

// didPart is what the revisions of a rig did on the water.
type didPart struct {
	Outcomes []didOutcome
	cells    map[string][]table.Stacked // by the revision's title
}

// didOutcome heads a column, with what its numbers say of the revisions.
type didOutcome struct {
	Title, Verdict, Href string
}

// didOutcomes are the outcomes shown for each revision.
var didOutcomes = [...]string{"hookups", "tangles", "junction-break"}

// did asks what each fished revision of a name did.
func (s *pages) did(ctx context.Context, name []journal.RigUse, sys units.System) (*didPart, error) {
	p := &didPart{cells: map[string][]table.Stacked{}}
	var where []string
	for _, r := range name {
		if r.Stints > 0 {
			where = append(where, "rig="+r.Title())
		}
	}
	if len(where) == 0 {
		return p, nil
	}
	for i, key := range didOutcomes {
		r := analytics.Request{Outcome: key, By: []string{"rig"}, Where: where, Units: sys}
		a, err := page.Ask(ctx, s.Desk, r, func(ctx context.Context) (analytics.RateAnswer, error) { return analytics.Rates(ctx, s.Store, r) })
		if err != nil {
			return nil, err
		}
		a.Where = nil // the page says which rig it is about
		o := didOutcome{Title: prose.Measure(a.Outcome), Href: "/findings?" + url.Values{"outcome": {key}, "by": {"rig"}, "where": where}.Encode()}
		if len(where) > 1 {
			o.Verdict = prose.Sentence(a, sys)
		}
		p.Outcomes = append(p.Outcomes, o)
		for _, g := range a.Groups {
			title := g.Level[0].Word
			if p.cells[title] == nil {
				p.cells[title] = make([]table.Stacked, len(didOutcomes))
			}
			p.cells[title][i] = didCell(a.Outcome, g)
		}
	}
	return p, s.unrecorded(ctx, p, name)
}

// unrecorded says of which revisions nobody kept count, rather than that there was none.
func (s *pages) unrecorded(ctx context.Context, p *didPart, name []journal.RigUse) error {
	for _, r := range name {
		if r.Stints == 0 {
			continue
		}
		if p.cells[r.Title()] == nil {
			p.cells[r.Title()] = make([]table.Stacked, len(didOutcomes))
		}
		for i, cell := range p.cells[r.Title()] {
			if cell.Text != "" {
				continue
			}
			a, err := analytics.Rates(ctx, s.Store, analytics.Request{Outcome: didOutcomes[i], Where: []string{"rig=" + r.Title()}})
			if err != nil {
				return err
			}
			if journal.Uncounted(a.LeftOut) {
				p.cells[r.Title()][i].Text = "not recorded"
			}
		}
	}
	return nil
}

// didCell is a rate with its interval under it.
func didCell(o journal.Outcome, g analytics.Group) table.Stacked {
	cell := table.Stacked{Text: prose.Rate(o, g.Rate)}
	if g.HasInterval {
		cell.Under = prose.Interval(o, g.Low, g.High) + " in " + prose.Amount(o, g.Exposure)
	}
	return cell
}

// of returns the cells of a revision, one for each outcome.
func (p *didPart) of(title string) []table.Stacked {
	cells := p.cells[title]
	if cells == nil {
		return nil
	}
	for i := range cells {
		if cells[i].Text == "" {
			cells[i].Text = "–"
		}
	}
	return cells
}
