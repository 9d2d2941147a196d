package claims

import (
	"context"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
	"rigtally/web/questions"
)

// claimPage is the form of a claim, with what there is to choose.
type claimPage struct {
	page.Entry[journal.Claim]
	Common        bool       // it is common practice till it states something else
	Chosen        bool       // whether there is a factor
	Of            string     // the factor that the words below are of
	Level, Versus form.Boxes // words of the factor, once it is chosen
	Given         form.Boxes
	Directions    []form.Option
	Outcomes      []form.Option
	Factors       []form.Option
	Alike         []string // what is held alike, in words
	Finding       string   // address of the question behind it, "" for a new one
}

// claim is the form of a claim.
func (s *pages) claim() page.Editor[journal.Claim] {
	return page.Editor[journal.Claim]{
		Desk: s.Desk, Tab: "claims", Template: "claim", Add: "Add a claim", Change: "Change a claim",
		Fresh: func(id journal.ID, _ journal.Outfit) journal.Claim {
			return journal.Claim{ID: id, Direction: journal.More}
		},
		Held: func(r *http.Request) (journal.Claim, error) { return page.At(r, s.Store.ClaimByID) },
		Fill: fillClaim,
		Read: readClaim,
		Store: func(ctx context.Context, c journal.Claim) error {
			_, err := s.Store.SaveClaim(ctx, c)
			return err
		},
		Then:    "/claims?done=claim-saved#{id}",
		Differs: heldClaim,
		More:    func(r *http.Request, e page.Entry[journal.Claim]) (any, error) { return s.newClaimPage(r.Context(), e) },
	}
}

// readClaim turns the form into a claim. Words of a factor that was chosen
// before another one stay out.
func readClaim(f *form.Form, id journal.ID) journal.Claim {
	c := journal.Claim{ID: id, Version: f.Version(), Words: f.Filled("words", "write the claim as you would say it"), Outcome: f.Filled("outcome", "choose what happens"),
		Factor: f.Filled("factor", "choose what makes the difference"), Direction: journal.Direction(f.Text("direction")), Given: f.Values["given"]}
	if f.Text("of") == c.Factor {
		c.Level, c.Versus = f.Values["level"], f.Values["versus"]
	}
	if factor, err := journal.FactorByKey(c.Factor); err == nil && factor.Quantity == journal.Words {
		if len(c.Level) == 0 {
			f.Fault("level", "choose the "+strings.ToLower(factor.Title)+" that the claim is about")
		}
		if len(c.Versus) == 0 {
			f.Fault("versus", "choose the "+strings.ToLower(factor.Title)+" to compare with")
		}
	}
	return c
}

func fillClaim(f *form.Form, c journal.Claim) {
	f.Set("version", strconv.Itoa(c.Version))
	f.Set("words", c.Words)
	f.Set("outcome", c.Outcome)
	f.Set("factor", c.Factor)
	f.Set("of", c.Factor)
	f.Set("direction", string(c.Direction))
	f.Values["level"], f.Values["versus"], f.Values["given"] = c.Level, c.Versus, c.Given
}

func (s *pages) newClaimPage(ctx context.Context, e page.Entry[journal.Claim]) (claimPage, error) {
	p := claimPage{Entry: e, Common: e.Held.Source == journal.CommonPractice, Outcomes: form.Offer("Choose", journal.Outcomes(), form.Outcome), Factors: form.Offer("Choose", journal.Factors(), form.Factor)}
	if !e.New {
		p.Finding = claimQuestion(e.Held, e.Units)
	}
	if err := s.claimSides(ctx, e.Form, &p); err != nil {
		return p, err
	}
	p.Given = e.Form.Ticked("given", "", claimGivens(e.Form, e.Held.Given))
	for _, b := range p.Given.List {
		if b.On {
			p.Alike = append(p.Alike, strings.ToLower(b.Text))
		}
	}
	if p.Alike == nil {
		p.Alike = []string{"angler and water, as in every question"}
	}
	return p, nil
}

// claimSides offers what the chosen factor has: its words, or which way its
// number goes.
func (s *pages) claimSides(ctx context.Context, f *form.Form, p *claimPage) error {
	p.Directions = form.Pairs(string(journal.More), "More often", string(journal.Less), "Less often")
	factor, err := journal.FactorByKey(f.Text("factor"))
	switch {
	case err != nil: // none chosen yet
	case factor.Quantity != journal.Words:
		more, less := prose.Grown(factor)
		p.Directions[0].Text, p.Directions[1].Text = "More often, the "+more, "More often, the "+less
	default:
		var chosen []string
		if f.Text("of") == factor.Key {
			chosen = slices.Concat(f.Values["level"], f.Values["versus"])
		}
		words, err := questions.WordsFor(ctx, s.Store, factor, chosen...)
		if err != nil {
			return err
		}
		p.Level = f.Ticked("level", "With this "+strings.ToLower(factor.Title), words)
		p.Versus = f.Ticked("versus", "than with this", words)
		p.Of = factor.Key
	}
	p.Chosen = err == nil
	return nil
}

// claimGivens lists what may be held alike, nothing first. A number that enters as a straight
// line stays so.
func claimGivens(f *form.Form, held []string) []form.Option {
	list := []form.Option{{Value: journal.NoGiven, Text: "Nothing"}}
	for _, factor := range journal.Factors() {
		if factor.Key == f.Text("factor") {
			continue
		}
		o := form.Option{Value: factor.Key, Text: factor.Title}
		if line := factor.Key + journal.LinearGiven; slices.Contains(held, line) || slices.Contains(f.Values["given"], line) {
			o = form.Option{Value: line, Text: factor.Title + ", as a straight line"}
		}
		list = append(list, o)
	}
	return list
}

func heldClaim(held any) string {
	c, ok := held.(journal.Claim)
	if !ok {
		return ""
	}
	return "The journal’s reads “" + c.Words + "”: " + c.Outcome + ", " + string(c.Direction) + " with " + strings.Join(append(c.Level, c.Factor), ", ") + "."
}
