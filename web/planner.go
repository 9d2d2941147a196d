package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"rigtally/analytics/plan"
	"rigtally/charts"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// plannerPage plans the length of a tag.
type plannerPage struct {
	frame
	Filters  []taken
	Problems []string
	Plan     *planPart
	Form     planForm
}

// planPart is a plan as the page shows it.
type planPart struct {
	Sentence, Sure, Tippet, Rule, Most string
	Best                               []fact
	Figure, Moves                      *chartFigure
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
	Given           []option
	Where           []option
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
	q = planQuery{inputs: map[string]string{}, tangles: plainText(v.Get("tangles")), breaks: plainText(v.Get("breaks")), longest: plainText(v.Get("longest")), anew: v.Get("anew") == "yes"}
	for _, key := range plan.Keys() {
		if text := plainText(v.Get(key)); text != "" {
			q.inputs[key] = text
		}
	}
	asked, _ := readQuestion(url.Values{"where": v["where"], "given": v["given"]})
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
func (s *Server) planner(w http.ResponseWriter, r *http.Request) error {
	q, tidy := readPlan(r.URL.Query())
	if !tidy {
		http.Redirect(w, r, q.url("/planner"), http.StatusSeeOther)
		return nil
	}
	f, err := s.frame(r, "planner", "Tag planner")
	if err != nil {
		return err
	}
	p := plannerPage{frame: f}
	asked := question{Outcome: "tangles", Over: "tag-length", Where: q.where, Given: q.given}
	p.Form.Where, p.Form.Given = filterOptions(asked, f.Units), givenOptions(asked)
	p.Filters = takenFilters(p.Form.Where, func(where string) string {
		rest := q
		rest.where = asked.without(where).Where
		return rest.url("/planner")
	})
	status := http.StatusOK
	a, err := s.planOf(r.Context(), q.request(f.Units))
	var invalid *journal.Invalid
	switch {
	case errors.As(err, &invalid):
		p.Problems, status = sentences(invalid), http.StatusUnprocessableEntity
	case err != nil:
		return err
	default:
		p.Plan = s.newPlanPart(f, a, q)
	}
	p.Form.fill(q, a, f.Units)
	return s.render(w, status, "planner", p)
}

func (s *Server) newPlanPart(f frame, a plan.Answer, q planQuery) *planPart {
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
		p.Figure = s.newChartFigure(f, "Minutes lost per hour fished, by the length at which the tag is tied", &c, "tag planner")
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
	p.Moves = s.newChartFigure(f, "How far the best length moves when one number is another", &c, "tag planner what would change it")
	p.Moves.Says = p.Most
	p.Moves.Spoken = "Chart of how far the best length moves with each number; the table below has the same numbers. " + p.Most
	p.Moves.How = "Beside each: what keeping to the planned length would cost then, in minutes an hour."
	return p
}

// fact is a number with its name.
type fact = prose.Fact

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

// plannerJSON answers for programs, as the command line does.
func (s *Server) plannerJSON(w http.ResponseWriter, r *http.Request) error {
	a, refused, err := s.askPlan(r)
	if err != nil {
		return err
	}
	return sendJSON(w, a, refused)
}

// sendJSON answers for a program; refused says what is wrong with its question.
func sendJSON(w http.ResponseWriter, answer any, refused *journal.Invalid) error {
	status := http.StatusOK
	if refused != nil {
		status, answer = http.StatusUnprocessableEntity, map[string]string{"error": strings.Join(sentences(refused), " ")}
	}
	text, err := json.Marshal(answer)
	if err != nil {
		return fmt.Errorf("write the answer as JSON: %w", err)
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_, _ = w.Write(append(text, '\n')) // a browser that went away is no failure
	return nil
}

// plannerCSV answers for a spreadsheet: every length.
func (s *Server) plannerCSV(w http.ResponseWriter, r *http.Request) error {
	a, refused, err := s.askPlan(r)
	if err != nil {
		return err
	}
	if refused != nil {
		return refused
	}
	return sendCSV(w, "tag-planner", prose.PlanTable(a, units.Metric, max(1, len(a.Points))).WriteCSV)
}

func (s *Server) askPlan(r *http.Request) (a plan.Answer, refused *journal.Invalid, err error) {
	o, err := s.store.Outfit(r.Context())
	if err != nil {
		return a, nil, err
	}
	q, _ := readPlan(r.URL.Query())
	a, err = s.planOf(r.Context(), q.request(units.System(o.Units)))
	if errors.As(err, &refused) {
		return a, refused, nil
	}
	return a, nil, err
}
