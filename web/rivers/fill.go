package rivers

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/journal/pg"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
	"rigtally/web/pending"
)

// fillPage is what past sessions take from a water's gauges.
type fillPage struct {
	page.Frame
	Water    journal.Water
	Address  string
	Said     string   // what was done just now
	Past     pastView // older readings, on their way
	Sessions int      // that were looked at
	Any      int      // of them, that take something
	Changed  int      // of them, that do not have it yet
	Filled   bool     // something can be taken out
	Takes    []string
	Without  []gapView
	Title2   string // of the examples
	Examples *table.Table
	Older    bool // older readings can be fetched
	Off      bool
}

// pastView is how far older readings are fetched.
type pastView struct {
	Under    bool
	At, Says string
	Done, Of int64
	Ended    bool
	Failed   []string
	Notes    []string // what agencies do not have
}

// gapView is why sessions take nothing, and which.
type gapView struct{ Why, Which string }

func (s *pages) plan(w http.ResponseWriter, r *http.Request, fr page.Frame, water journal.Water) error {
	return s.showPlan(w, r, http.StatusOK, fillPage{Frame: fr, Water: water})
}

func ask(water journal.Water) pg.FillAsk { return pg.FillAsk{Water: &water.ID} }

func (s *pages) showPlan(w http.ResponseWriter, r *http.Request, status int, p fillPage) error {
	p.Address, p.Off = address(p.Water), s.off()
	if under := s.pastOf(p.Water); under != nil {
		p.Past = viewPast(under)
	}
	plan, err := s.Store.PlanFill(r.Context(), ask(p.Water))
	if err != nil {
		return err
	}
	p.Sessions, p.Any, p.Changed = plan.Sessions, plan.Sessions, plan.Changed
	for _, take := range plan.Takes {
		p.Takes = append(p.Takes, takesSays(take))
	}
	for _, gap := range plan.Without {
		p.Without = append(p.Without, gapView{form.Sentence(gap.Why), between(gap)})
		p.Any -= gap.Sessions
	}
	p.Older = !p.Past.Under && len(plan.Without) > 0 && slices.ContainsFunc(p.Water.Gauges, func(l gauge.Link) bool { return s.asks(l.Provider) })
	took, err := s.took(r.Context(), p.Water)
	if err != nil {
		return err
	}
	p.Filled = len(took) > 0
	p.Title2 = "What sessions take"
	if len(plan.Examples) == 0 {
		plan.Examples, p.Title2 = took, "What sessions took"
	}
	if len(plan.Examples) > 0 {
		p.Examples = new(examples(plan.Examples, p.Units, p.Water.TimeZone))
	}
	return s.Render(w, status, "gaugefill", p)
}

// mostLooked is how many sessions of a water are looked at for what they took, the latest first.
const mostLooked = 1000

// took are sessions that took something of a gauge, as examples.
func (s *pages) took(ctx context.Context, water journal.Water) (list []pg.FillExample, err error) {
	lines, _, err := s.Store.SessionLines(ctx, journal.SessionFilter{Water: &water.ID, Limit: mostLooked})
	if err != nil {
		return nil, err
	}
	ids := make([]journal.ID, len(lines))
	for i, l := range lines {
		ids[i] = l.ID
	}
	fills, err := s.Store.Fills(ctx, ids...)
	for _, l := range lines {
		if took := fills[l.ID]; len(took) > 0 {
			list = append(list, pg.FillExample{Session: l.ID, Day: l.Day, Fills: took})
		}
	}
	return list, err
}

// Lead says what filling in does, or that it is done.
func (p fillPage) Lead() string {
	who := fmt.Sprintf("%d of %d sessions on %s", p.Any, p.Sessions, p.Water.Name)
	if p.Any == p.Sessions {
		who = prose.Verb(p.Any, "The session", fmt.Sprintf("All %d sessions", p.Any)) + " on " + p.Water.Name
	}
	switch {
	case p.Sessions == 0:
		return "There is no session on " + p.Water.Name + " yet."
	case p.Any == 0:
		return "No session on " + p.Water.Name + " finds a reading of a gauge yet."
	case p.Changed == 0:
		return who + prose.Verb(p.Any, " has", " have") + " what the gauge read. Nothing is left to fill in."
	}
	return who + prose.Verb(p.Any, " finds", " find") + " what the gauge read at the time."
}

// ChangedSays says how many sessions are filled in.
func (p fillPage) ChangedSays() string { return prose.Plural(p.Changed, "session", "sessions") }

// takesSays says of how many sessions a quantity is filled in.
func takesSays(take pg.FillCount) string {
	text := prose.GaugeQuantity(take.Quantity) + ": " + prose.Plural(take.Sessions, "session", "sessions")
	if take.Typed > 0 {
		text += fmt.Sprintf(". What somebody typed stays in %d of them, with the gauge’s beside it", take.Typed)
	}
	return text + "."
}

// between says of how many sessions something is so, and from which to which.
func between(gap pg.FillGap) string {
	text := prose.Plural(gap.Sessions, "session", "sessions")
	if gap.From == gap.To {
		return text + ", " + prose.Day(gap.From)
	}
	return text + ", " + prose.Day(gap.From) + " to " + prose.Day(gap.To)
}

// mostExamples are shown; a store may give more.
const mostExamples = 12

// examples is the table of what sessions would take.
func examples(list []pg.FillExample, sys units.System, zone string) table.Table {
	list = list[:min(len(list), mostExamples)]
	any := func(has func(pg.FillExample) bool) bool { return slices.ContainsFunc(list, has) }
	var c table.Columns[pg.FillExample]
	c.Words("day", "Session", func(e pg.FillExample) string { return prose.Day(e.Day) })
	var onPhone []string
	for _, q := range gauge.Quantities() {
		if !any(func(e pg.FillExample) bool { return fillOf(e, q) != nil }) {
			continue
		}
		c.Said(string(q), prose.Capital(strings.TrimPrefix(prose.GaugeQuantity(q), "Water ")), func(e pg.FillExample) string {
			if f := fillOf(e, q); f != nil {
				return shown(q, f.Value, sys)
			}
			return ""
		})
		onPhone = append(onPhone, string(q))
	}
	if any(func(e pg.FillExample) bool { f := fillOf(e, gauge.Flow); return f != nil && f.Percentile != nil }) {
		c.Said("usual", "Flow for the time of year", func(e pg.FillExample) string {
			if f := fillOf(e, gauge.Flow); f != nil {
				return usual(*f)
			}
			return ""
		})
	}
	c.Said("when", "Read at", func(e pg.FillExample) string {
		switch {
		case len(e.Fills) == 0:
			return ""
		case e.Fills[0].WholeDay:
			return "mean of the day"
		}
		return page.InZone(e.Fills[0].At, zone).Format("15:04")
	})
	t := c.Make(list)
	t.OnPhone = onPhone
	return t
}

func fillOf(e pg.FillExample, q gauge.Quantity) *gauge.Fill {
	for i, f := range e.Fills {
		if f.Quantity == q {
			return &e.Fills[i]
		}
	}
	return nil
}

// fill does what a button of the page asks for.
func (s *pages) fill(w http.ResponseWriter, r *http.Request, fr page.Frame, water journal.Water) error {
	f, err := form.Read(r, fr.Units)
	if err != nil {
		return err
	}
	p := fillPage{Frame: fr, Water: water}
	switch f.Text("do") {
	case "fill":
		done, err := s.Store.Fill(r.Context(), ask(water))
		if err != nil {
			return err
		}
		p.Said = "Filled in: " + prose.Plural(done.Changed, "session", "sessions") + ". What people typed is as it was."
	case "clear":
		n, err := s.Store.ClearFills(r.Context(), ask(water))
		if err != nil {
			return err
		}
		p.Said = "Taken out of " + prose.Plural(n, "session", "sessions") + ". What people typed is as it was. It can be filled in again."
	case "older":
		return s.older(w, r, p)
	case "stop":
		if under := s.pastOf(water); under != nil {
			under.Stop()
		}
		return page.See(w, r, address(water)+"/fill")
	}
	return s.showPlan(w, r, http.StatusOK, p)
}

// older begins to fetch what sessions lack.
func (s *pages) older(w http.ResponseWriter, r *http.Request, p fillPage) error {
	plan, err := s.Store.PlanFill(r.Context(), ask(p.Water))
	if err != nil {
		return err
	}
	if len(plan.Lacks) == 0 {
		p.Said = "No session lacks anything, so nothing is fetched."
		return s.showPlan(w, r, http.StatusOK, p)
	}
	links := slices.DeleteFunc(slices.Clone(p.Water.Gauges), func(l gauge.Link) bool { return !s.asks(l.Provider) })
	reference := page.Reference(r.Context())
	started := s.works.fetch(whose{s.Store.OutfitID(), p.Water.ID}, func(ctx context.Context, under *past) (failed []string) {
		for _, l := range links {
			under.Begin(s.by(l.Site))
			if err := pending.Safely(func() error { return s.fetchPast(ctx, l.Site, plan.Lacks, under) }); err != nil {
				if why := s.pastFailed(ctx, l.Site, p.Water.TimeZone, reference, err); !slices.Contains(failed, why) {
					failed = append(failed, why)
				}
			}
		}
		return failed
	})
	if !started {
		p.Said = "Older readings are on their way already, for this water or another one. Try again when they have come."
		return s.showPlan(w, r, http.StatusConflict, p)
	}
	return page.See(w, r, address(p.Water)+"/fill")
}

// fetchPast fetches one gauge's readings.
func (s *pages) fetchPast(ctx context.Context, site gauge.Site, times []gauge.Span, under *past) error {
	fetched, err := s.works.keeper.Fetch(ctx, site, times, func(done, of int) { under.Went(int64(done), int64(of)) })
	under.Note(func(notes []string) []string {
		return append(slices.Clip(notes), slices.DeleteFunc(fetched.Notes, func(n string) bool { return slices.Contains(notes, n) })...)
	})
	return err
}

// pastFailed says why not all of a gauge's readings came. The log has what people can't mend, under the reference.
func (s *pages) pastFailed(ctx context.Context, site gauge.Site, zone, reference string, err error) string {
	if ctx.Err() != nil {
		return "Stopped. What had come stays."
	}
	if says := whyNot(err, page.InZone(s.Now(), zone)); says != "" {
		return says
	}
	s.Log.Error("older readings could not be fetched", "reference", reference, "site", site.String(), "error", err)
	return s.by(site) + ": not all readings could be fetched. The log has more under " + reference + "."
}

func (s *pages) pastOf(water journal.Water) *past {
	return s.works.pastOf(whose{s.Store.OutfitID(), water.ID})
}

// viewPast tells how far it is.
func viewPast(p *past) pastView {
	v := pastView{Says: "Beginning", Ended: p.Over()}
	v.At, v.Done, v.Of = p.Progress()
	v.Notes, v.Failed = p.Result()
	if v.Under = !v.Ended; v.Of > 0 {
		v.Says = fmt.Sprintf("%d of %s", v.Done, prose.Plural(int(v.Of), "part", "parts"))
	}
	return v
}
