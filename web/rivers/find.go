package rivers

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"

	"rigtally/gauges/agency"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// mostShown is how many gauges a page lists.
const mostShown = 40

// findPage is where a gauge is looked for.
type findPage struct {
	page.Frame
	Water     journal.Water
	Address   string // of the water's gauges
	Form      *form.Form
	Off       bool
	Providers []form.Option
	Asked     []string // who is asked, in words
	Looked    bool
	Title2    string // what was looked for
	Found     []foundView
	More      int // that are not shown
	Troubles  []string
	Other     *gauge.Site // a number that nobody knows, which can be linked all the same
}

// foundView is a gauge that was found.
type foundView struct {
	Site           gauge.Site
	Name, By, More string
	Linked         bool
	km             float64
}

// AskedSays names whom a search is sent to, and that they are.
func (p findPage) AskedSays() string {
	return prose.Capital(prose.Listed(p.Asked)) + prose.Verb(len(p.Asked), " is", " are")
}

// Nothing says that no gauge was found, and what else can be done.
func (p findPage) Nothing() string {
	text, do := "No gauge was found. ", p.Form.Text("do")
	if len(p.Troubles) > 0 {
		text = "No gauge was found, as far as anybody answered. "
	}
	switch {
	case do != "name" && do != "near":
		return text + "Choose who runs it, and it can be linked all the same."
	case len(p.Troubles) > 0:
		return text + "One whose number you know can be linked all the same, and its readings brought in as files."
	case do == "name":
		return text + "Look for a single word of its name, or near a place."
	}
	return text + "Look for the name of the river, or for a number."
}

func (s *pages) find(w http.ResponseWriter, _ *http.Request, fr page.Frame, water journal.Water) error {
	return s.showFind(w, http.StatusOK, findPage{Frame: fr, Water: water, Form: form.New(fr.Units)})
}

func (s *pages) showFind(w http.ResponseWriter, status int, p findPage) error {
	p.Address, p.Off = address(p.Water), s.off()
	p.Providers = []form.Option{{Text: "Whoever has this number"}}
	if p.Off {
		p.Providers = nil
	}
	for i, x := range s.works.known {
		if slices.ContainsFunc(s.works.known[:i], func(before agency.Source) bool { return before.Provider() == x.Provider() }) {
			continue
		}
		p.Providers = append(p.Providers, form.Option{Value: x.Provider(), Text: prose.Capital(x.Title())})
	}
	p.Providers = append(p.Providers, form.Option{Value: "other", Text: "Somebody else"})
	for _, x := range s.works.keeper.Sources() {
		p.Asked = append(p.Asked, x.Title())
	}
	return s.Render(w, status, "gaugefind", p)
}

// found looks for gauges by what was filled in. What was typed of a place goes no further than the services.
func (s *pages) found(w http.ResponseWriter, r *http.Request, fr page.Frame, water journal.Water) error {
	f, err := form.Read(r, fr.Units)
	if err != nil {
		return err
	}
	p := findPage{Frame: fr, Water: water, Form: f}
	q := p.query()
	if len(f.Faults) > 0 {
		return s.showFind(w, http.StatusUnprocessableEntity, p)
	}
	if !s.off() && (p.Other == nil || s.asks(p.Other.Provider)) {
		ctx, cancel := context.WithTimeout(r.Context(), lookTime)
		defer cancel()
		list, troubles := s.works.keeper.Find(ctx, q)
		if r.Context().Err() != nil {
			return r.Context().Err()
		}
		s.list(&p, q, list)
		for _, t := range troubles {
			p.Troubles = append(p.Troubles, t.Say(page.InZone(s.Now(), water.TimeZone)))
		}
	}
	p.Looked = true
	if p.Other != nil && slices.ContainsFunc(p.Found, func(v foundView) bool { return v.Site == *p.Other }) {
		p.Other = nil
	}
	return s.showFind(w, http.StatusOK, p)
}

// query is what is looked for.
func (p *findPage) query() (q agency.Query) {
	f := p.Form
	switch f.Text("do") {
	case "name":
		q.Name = f.Filled("name", "write a part of the gauge’s name, such as that of the river or a town")
		p.Title2 = "Gauges called “" + q.Name + "”"
	case "near":
		latitude := degrees(f, "latitude", 90)
		longitude := degrees(f, "longitude", 180)
		q.Near = agency.Near(latitude, longitude)
		p.Title2 = fmt.Sprintf("Gauges near %s, %s", degree(q.Near.Latitude), degree(q.Near.Longitude))
	default:
		q.Number = strings.ReplaceAll(f.Filled("number", "write the gauge’s number, as its own page shows it"), " ", "")
		provider := f.Text("provider")
		if provider == "other" {
			provider = f.Filled("who", "write who runs the gauge")
		}
		if provider != "" && q.Number != "" {
			p.Other = new(gauge.NewSite(provider, q.Number))
			q.Provider = p.Other.Provider
		}
		p.Title2 = "Number " + q.Number
	}
	return q
}

func degrees(f *form.Form, name string, most float64) float64 {
	v := form.Needed(f, name, "write it in degrees, such as 39.7", func(text string) (float64, error) {
		text = strings.TrimSuffix(strings.TrimSpace(strings.ReplaceAll(text, "−", "-")), "°")
		v, err := units.ParseNumber(text)
		if err != nil || math.Abs(v) > most {
			return 0, fmt.Errorf("write degrees from −%g to %g, west and south of zero with a minus, such as 39.7", most, most)
		}
		return v, nil
	})
	return v
}

func degree(v float64) string { return strings.Replace(fmt.Sprintf("%.1f°", v), "-", "−", 1) }

// list shows what was found, the nearest first where a place was told.
func (s *pages) list(p *findPage, q agency.Query, found []gauge.Gauge) {
	for _, g := range found {
		v := foundView{Site: g.Site, Name: cmp.Or(g.Name, "Gauge "+g.Number), By: s.by(g.Site), km: math.Inf(1),
			Linked: slices.ContainsFunc(p.Water.Gauges, func(l gauge.Link) bool { return l.Site == g.Site })}
		var more []string
		if q.Near != nil && g.Latitude != nil && g.Longitude != nil {
			v.km = distance(q.Near.Latitude, q.Near.Longitude, *g.Latitude, *g.Longitude)
			more = append(more, page.Unbroken(apart(v.km, p.Units)))
		}
		if len(g.Measures) > 0 {
			more = append(more, titles(g.Measures))
		}
		v.More = strings.Join(more, " · ")
		p.Found = append(p.Found, v)
	}
	slices.SortStableFunc(p.Found, func(a, b foundView) int { return cmp.Compare(a.km, b.km) })
	if p.More = len(p.Found) - mostShown; p.More > 0 {
		p.Found = p.Found[:mostShown]
	}
}
