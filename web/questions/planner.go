package questions

import (
	"context"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"rigtally/analytics/plan"

	"rigtally/charts"
	"rigtally/internal/units"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

func (s *pages) planOf(ctx context.Context, r plan.Request) (plan.Answer, error) {
	return page.Ask(ctx, s.Desk, r, func(ctx context.Context) (plan.Answer, error) { return plan.Weigh(ctx, s.Store, r) })
}

// plannerPage plans the length of a tag.
type plannerPage struct {
	page.Frame
	Filters  []Taken
	Problems []string
	Plan     *planPart
	Form     planForm
}

// planPart is a plan as the page shows it.
type planPart struct {
	Sentence, Sure, Tippet, Rule, Most string
	Best                               []prose.Fact
	Figure, Moves                      *page.Figure
	Head                               []string
	Rows                               [][]string
	BestRow                            int
	MoveHead                           []string
	MoveRows                           [][]string
	Rests                              [][]string // number, value, where it is from
	Tangles, Breaks                    string
	Given                              string
	Anew                               bool
	Notes                              []string
	JSON, CSV                          string
}

// planForm holds the numbers of a plan to be changed.
type planForm struct {
	Inputs          []planField
	Tangles, Breaks planField
	Longest         planField
	Anew            bool
	Given           []form.Option
	Where           []form.Option
}

// planField is a number that may be typed in; left empty, Shown is taken.
type planField struct{ Name, Label, Hint, Value, Shown string }

// planQuery is a plan as an address asks for it: an input's key with its value,
// tangles=, breaks=, longest=, anew=yes, and where= and given= any number of times.
// Without any given= the angler and the water are corrected for; given= alone corrects for nothing.
type planQuery struct {
	inputs                   map[string]string
	tangles, breaks, longest string
	anew                     bool
	where, given             []string
}

// planRows of a plan's table show its shape; the chart and the CSV have every length.
const planRows = 14

func usualGiven() []string { return []string{"angler", "water"} }

// readPlan reads an address. tidy is false when it holds what says nothing, as a form
// sends it.
func readPlan(v url.Values) (q planQuery, tidy bool) {
	q = planQuery{inputs: map[string]string{}, tangles: PlainText(v.Get("tangles")), breaks: PlainText(v.Get("breaks")), longest: PlainText(v.Get("longest")), anew: v.Get("anew") == "yes"}
	for _, key := range plan.Keys() {
		if text := PlainText(v.Get(key)); text != "" {
			q.inputs[key] = text
		}
	}
	asked, _ := Read(url.Values{"where": v["where"], "given": v["given"]})
	q.where, q.given = asked.Where, asked.Given
	if !v.Has("given") {
		q.given = usualGiven()
	}
	return q, sameAddress(q.values(), v)
}

// sameAddress compares without regard to order of the names.
func sameAddress(a, b url.Values) bool {
	delete(b, "done")
	return a.Encode() == b.Encode()
}

func (q planQuery) values() url.Values {
	v := url.Values{}
	for key, text := range q.inputs {
		v.Set(key, text)
	}
	for name, text := range map[string]string{"tangles": q.tangles, "breaks": q.breaks, "longest": q.longest} {
		if text != "" {
			v.Set(name, text)
		}
	}
	if q.anew {
		v.Set("anew", "yes")
	}
	for _, w := range q.where {
		v.Add("where", w)
	}
	switch {
	case len(q.given) == 0:
		v.Set("given", "")
	case !slices.Equal(q.given, usualGiven()):
		v["given"] = q.given
	}
	return v
}

func (q planQuery) url(path string) string { return address(path, q.values()) }

// address leaves the signs of a filter that may stand in a query as they are, so that
// it can be read.
func address(path string, v url.Values) string {
	if len(v) == 0 {
		return path
	}
	return path + "?" + strings.NewReplacer("%3D", "=", "%3A", ":", "%2C", ",").Replace(v.Encode())
}

func (q planQuery) request(sys units.System) plan.Request {
	return plan.Request{Where: q.where, Given: q.given, Tangles: q.tangles, Breaks: q.breaks, Inputs: q.inputs, Longest: q.longest, Anew: q.anew, Units: sys}
}

// planner answers an address such as /planner?changes=2&where=angler=Orrin.
func (s *pages) planner(w http.ResponseWriter, r *http.Request) error {
	q, tidy := readPlan(r.URL.Query())
	if !tidy {
		return page.See(w, r, q.url("/planner"))
	}
	f, err := s.Frame(r, "planner", "Tag planner")
	if err != nil {
		return err
	}
	p := plannerPage{Frame: f}
	asked := Question{Outcome: "tangles", Over: "tag-length", Where: q.where, Given: q.given}
	p.Form.Where, p.Form.Given = filterOptions(asked, f.Units), givenOptions(asked)
	p.Filters = TakenFilters(p.Form.Where, func(where string) string {
		rest := q
		rest.where = asked.without(where).Where
		return rest.url("/planner")
	})
	a, err := s.planOf(r.Context(), q.request(f.Units))
	if p.Problems, err = page.WhyNot(err); err != nil {
		return err
	}
	if p.Problems == nil {
		p.Plan = s.newPlanPart(f, a, q)
	}
	p.Form.fill(q, a, f.Units)
	return s.Render(w, page.Status(p.Problems), "planner", p)
}

func (s *pages) newPlanPart(f page.Frame, a plan.Answer, q planQuery) *planPart {
	sys := f.Units
	p := &planPart{Sentence: prose.PlanSentence(a, sys), Sure: prose.PlanSure(a, sys), Tippet: prose.PlanTippet(a, sys), Rule: prose.PlanRule(a, sys), Most: prose.PlanMost(a, sys),
		Given: prose.CorrectedFor(a.Given), Anew: a.Anew, Notes: prose.PlanNotes(a, sys), JSON: q.url("/planner.json"), CSV: q.url("/planner.csv"), BestRow: -1}
	for _, in := range a.Inputs {
		p.Rests = append(p.Rests, []string{prose.PlanInputTitle(in.Key), prose.PlanValue(in.Key, in.Value, sys), prose.PlanSource(in, sys)})
	}
	if len(a.Points) == 0 {
		return p
	}
	p.Tangles, p.Breaks = prose.PlanRateSource(a.Tangles, "tangles", sys), prose.PlanRateSource(a.Breaks, "junction breaks", sys)
	p.Head, p.Rows = prose.PlanTable(a, sys, planRows).Texts()
	p.BestRow = slices.IndexFunc(p.Rows, func(row []string) bool { return strings.HasSuffix(row[0], ", the best") })
	if len(a.Points) > 1 {
		c := charts.PlanLoss(a, sys)
		p.Figure = s.NewFigure(f, "Minutes lost per hour fished, by the length at which the tag is tied", &c, "tag planner")
		p.Figure.Says, p.Figure.CSV = p.Sentence, p.CSV
		p.Figure.Spoken = "Chart of the minutes lost per hour over the length of the tag, in all and by cause; the table below has the same numbers. " + p.Sentence
		p.Figure.How = "Point at the curve for its numbers. It has steps: a tag that is just long enough for one more change is tied anew less often."
	}
	if a.Best < 0 {
		return p
	}
	p.Best = prose.PlanBest(a, sys)
	p.MoveHead, p.MoveRows = prose.PlanMoves(a, sys).Texts()
	c := charts.PlanMoves(a, sys)
	p.Moves = s.NewFigure(f, "How far the best length moves when one number is another", &c, "tag planner what would change it")
	p.Moves.Says = p.Most
	p.Moves.Spoken = "Chart of how far the best length moves with each number; the table below has the same numbers. " + p.Most
	p.Moves.How = "Beside each: what keeping to the planned length would cost then, in minutes an hour."
	return p
}

// fill makes the fields of the form.
func (f *planForm) fill(q planQuery, a plan.Answer, sys units.System) {
	for _, key := range plan.Keys() {
		x := planField{Name: key, Label: prose.PlanInputTitle(key), Value: q.inputs[key]}
		if in := a.Input(key); in.From != "" {
			x.Shown, x.Hint = prose.PlanValue(key, in.Value, sys), string(in.From)
		}
		f.Inputs = append(f.Inputs, x)
	}
	example := "120 mm = 0.3, 180 mm = 0.8"
	if sys == units.US {
		example = "5 in = 0.3, 7 in = 0.8"
	}
	f.Tangles = planField{"tangles", "Tangles per hour", "your own, for two lengths or more, such as " + example, q.tangles, ""}
	f.Breaks = planField{"breaks", "Breaks per hour", "your own, such as 0.05, or for lengths as above", q.breaks, ""}
	f.Longest = planField{"longest", "Longest tag to look at", "", q.longest, ""}
	f.Anew = q.anew
}

func (s *pages) askPlan(r *http.Request, sys units.System) (plan.Answer, error) {
	q, _ := readPlan(r.URL.Query())
	return s.planOf(r.Context(), q.request(sys))
}

func plannerFile(plan.Answer) string { return "tag-planner" }
