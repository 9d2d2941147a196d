package questions

import (
	"net/http"

	"rigtally/inquiry"

	"rigtally/analytics/plan"

	"rigtally/charts"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/prose"
	"rigtally/web/page"
)

// plannerPage plans the length of a tag.
type plannerPage struct {
	asked
	Plan *planPart
	Form planForm
}

// planPart is a plan as the page shows it.
type planPart struct {
	prose.Said
	Card               *page.Card // nil where there is no best length
	Tippet, Rule, Most string
	Best               []prose.Fact
	Figure, Moves      *page.Figure
	Losses, Moved      table.Table
	Rests              [][]string // number, value, where it is from
	Tangles, Breaks    string
	Given              string
	Anew               bool
	JSON, CSV          string
}

// planForm holds the numbers of a plan to be changed.
type planForm struct {
	Inputs          []planField
	Tangles, Breaks planField
	Longest         planField
	Anew            bool
	Given           []givenOption
}

// planField is a number that may be typed in; left empty, Shown is taken.
type planField struct{ Name, Label, Hint, Value, Shown string }

// planner answers an address such as /planner?changes=2&where=angler=Orrin.
func (s *pages) planner(w http.ResponseWriter, r *http.Request, f page.Frame, q inquiry.Query) error {
	p := plannerPage{asked: newAsked(f, q, "/planner")}
	p.Form.Given = givenOptions(q, "tag-length")
	a, err := inquiry.Plan().Ask(r.Context(), s.Asking(f.Outfit), q)
	if p.Problems, err = page.WhyNot(err); err != nil {
		return err
	}
	if p.Problems == nil {
		p.Plan = s.newPlanPart(f, a, q)
	}
	p.Form.fill(q, a, f.Units)
	return s.Render(w, page.Status(p.Problems), "planner", p)
}

func (s *pages) newPlanPart(f page.Frame, a plan.Answer, q inquiry.Query) *planPart {
	sys := f.Units
	p := &planPart{Said: prose.SayPlan(a, sys), Tippet: prose.PlanTippet(a, sys), Rule: prose.PlanRule(a, sys), Most: prose.PlanMost(a, sys),
		Given: prose.CorrectedFor(a.Given), Anew: a.Anew, JSON: q.URL("/planner.json"), CSV: q.URL("/planner.csv")}
	card, ok := prose.TagCard(a, sys)
	p.Card = page.NewCard(f, card, ok)
	_, p.Rests = prose.PlanRests(a, sys).Texts()
	if len(a.Points) == 0 {
		return p
	}
	p.Tangles, p.Breaks = prose.PlanRateSource(a.Tangles, "tangles", sys), prose.PlanRateSource(a.Breaks, "junction breaks", sys)
	p.Losses = prose.PlanTable(a, sys, prose.PlanRows)
	if len(a.Points) > 1 {
		c := charts.PlanLoss(a, sys)
		p.Figure = s.NewFigure(f, "Minutes lost per hour fished, by the length at which the tag is tied", &c, "tag planner")
		p.Figure.Says, p.Figure.CSV = p.Sentence, p.CSV
		p.Figure.Spoken = "Chart of the minutes lost per hour over the length of the tag, in all and by cause; the table below has the same numbers. " + p.Sentence
		p.Figure.How = "It has steps: a tag that is just long enough for one more change is tied anew less often."
	}
	if a.Best < 0 {
		return p
	}
	p.Best = prose.PlanBest(a, sys)
	if p.Card != nil {
		p.Best = p.Best[1:] // the card has the first
	}
	p.Moved = prose.PlanMoves(a, sys)
	c := charts.PlanMoves(a, sys)
	p.Moves = s.NewFigure(f, "How far the best length moves when one number is another", &c, "tag planner what would change it")
	p.Moves.Says = p.Most
	p.Moves.Spoken = "Chart of how far the best length moves with each number; the table below has the same numbers. " + p.Most
	p.Moves.How = "Beside each: what keeping to the planned length would cost then, in minutes an hour."
	return p
}

// fill makes the fields of the form.
func (f *planForm) fill(q inquiry.Query, a plan.Answer, sys units.System) {
	for _, key := range plan.Keys() {
		x := planField{Name: key, Label: prose.PlanInputTitle(key), Value: q.Get(key)}
		if in := a.Input(key); in.From != "" {
			x.Shown, x.Hint = prose.PlanValue(key, in.Value, sys), string(in.From)
		}
		f.Inputs = append(f.Inputs, x)
	}
	example := "120 mm = 0.3, 180 mm = 0.8"
	if sys == units.US {
		example = "5 in = 0.3, 7 in = 0.8"
	}
	f.Tangles = planField{"tangles", "Tangles per hour", "your own, for two lengths or more, such as " + example, q.Get("tangles"), ""}
	f.Breaks = planField{"breaks", "Breaks per hour", "your own, such as 0.05, or for lengths as above", q.Get("breaks"), ""}
	f.Longest = planField{"longest", "Longest tag to look at", "", q.Get("longest"), ""}
	f.Anew = q.Get("anew") != ""
}
