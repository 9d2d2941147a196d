package logging

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"time"

	"rigtally/charts"
	"rigtally/gauges/agency"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/journal/pg"
	"rigtally/prose"
	"rigtally/web/page"
)

// riverPart is what gauges tell of a session.
type riverPart struct {
	Water   journal.Water
	Lines   []riverLine
	Of      string // when and by which gauge, where that is the same of all lines
	Missing string // why it takes nothing, or not all
	Filled  bool
	Figure  *page.Figure
	Numbers riverTable
	Credits []string
}

// Caveat is what to keep in mind of readings.
func (riverPart) Caveat() string { return prose.NotWhereYouStand }

// riverTable is what a drawing shows, in numbers.
type riverTable struct {
	Head []string
	Rows [][]string
}

// riverLine is a quantity that a session takes, beside what was noted of it.
type riverLine struct{ Title, Value, Says, More, Noted string }

// river tells what gauges say of a session; nil where its water has none and it took nothing.
func (s *Pages) river(ctx context.Context, fr page.Frame, session journal.Session, w journal.Water, fills []gauge.Fill) (*riverPart, error) {
	if len(w.Gauges) == 0 && len(fills) == 0 {
		return nil, nil
	}
	loc := page.InZone(time.Time{}, session.TimeZone).Location()
	p := &riverPart{Water: w, Filled: len(fills) > 0}
	const before, after = 9, 6 // days, more than any drawing shows
	day := session.Day.In(loc)
	series, err := s.Readings(ctx, w, day.AddDate(0, 0, -before), day.AddDate(0, 0, after))
	if err != nil {
		return nil, err
	}
	r := charts.River{Session: session, Series: series, Now: s.Now(), Units: fr.Units}
	if flow, ok := first(series, func(s gauge.Series) bool { return s.Quantity == gauge.Flow }); ok {
		if r.Usual, err = s.Store.Usual(ctx, flow.Site, day); err != nil {
			return nil, err
		}
	}
	if len(fills) > 0 {
		p.Lines = riverLines(session, series, fills, fr.Units)
		p.saidOnce()
	}
	if h := r.Around(); h.Chart != nil {
		p.Numbers = riverNumbers(h, s.Now(), fr.Units)
		p.Figure = s.NewFigure(fr, h.Headline(), h.Chart, "river", w.Name, session.Day.String())
		p.Figure.Says = w.Name + ", " + h.Main.Site.String() + "."
		p.Figure.How = h.Read()
		p.Figure.Spoken = strings.TrimSpace(h.Headline() + " " + h.Read())
	}
	if p.Credits, err = s.credits(ctx, w, fills); err != nil {
		return nil, err
	}
	if len(fills) == 0 {
		p.Missing, err = s.missing(ctx, session)
	}
	return p, err
}

// riverLines are the quantities that a session takes, and those of which it takes nothing though the gauge measures them.
func riverLines(of journal.Session, series []gauge.Series, fills []gauge.Fill, sys units.System) (list []riverLine) {
	in, none := page.InZone(time.Time{}, of.TimeZone).Location(), prose.NoReading
	if of.Start == nil && of.End == nil {
		none = prose.NoReadingToday
	}
	for _, q := range gauge.Quantities() {
		l := riverLine{Title: prose.GaugeQuantity(q), Noted: notedBeside(of, q, sys)}
		f, taken := first(fills, func(f gauge.Fill) bool { return f.Quantity == q })
		_, measured := first(series, func(s gauge.Series) bool { return s.Quantity == q && s.Statistic == gauge.Instant })
		switch {
		case taken:
			value := prose.GaugeValue(q, f.Value, sys)
			l.Value, l.Says = page.Unbroken(value), strings.TrimPrefix(prose.Fill(f, in, sys), value)
			l.More = prose.Capital(strings.Join(prose.FillMore(f, sys), "; "))
		case measured:
			l.Says = none
		default:
			continue
		}
		list = append(list, l)
	}
	return list
}

// saidOnce says once what is the same of all lines.
func (p *riverPart) saidOnce() {
	says := p.Lines[0].Says
	if len(p.Lines) < 2 || slices.ContainsFunc(p.Lines, func(l riverLine) bool { return l.Value == "" || l.Says != says }) {
		return
	}
	p.Of = prose.Capital(strings.TrimLeft(says, ", ")) + "."
	for i := range p.Lines {
		p.Lines[i].Says = ""
	}
}

// riverNumbers are the values of every hour of the drawing, or of every day of one of days.
func riverNumbers(h charts.Hydrograph, now time.Time, sys units.System) (t riverTable) {
	list := []gauge.Series{h.Main}
	if h.Warmth != nil {
		list = append(list, *h.Warmth)
	}
	t.Head = []string{"When"}
	for _, s := range list {
		t.Head = append(t.Head, prose.GaugeQuantity(s.Quantity))
	}
	daily := h.Main.Statistic == gauge.DailyMean
	for at := h.From; !at.After(h.To) && !at.After(now); at = at.Add(time.Hour) {
		if daily && at.Hour() > 0 {
			continue
		}
		row, known := []string{at.Format("Mon 15:04")}, false
		if daily {
			row[0] = at.Format("Mon 2 January")
		}
		for _, s := range list {
			r, _, ok := s.At(at)
			if daily {
				on := s.Between(at, at)
				if ok = len(on) == 1 && on[0].Usable(); ok {
					r = on[0]
				}
			}
			cell := "no reading"
			if known = known || ok; ok {
				cell = page.Unbroken(prose.GaugeValue(s.Quantity, r.Value, sys))
			}
			row = append(row, cell)
		}
		if known {
			t.Rows = append(t.Rows, row)
		}
	}
	return t
}

// notedBeside is what was noted of a quantity that a gauge tells too.
func notedBeside(s journal.Session, q gauge.Quantity, sys units.System) string {
	noted := map[gauge.Quantity]*float64{gauge.Flow: s.FlowM3S, gauge.Stage: s.StageM, gauge.Temperature: s.WaterTempC}[q]
	if noted == nil {
		return ""
	}
	return "Noted by hand: " + page.Unbroken(prose.GaugeValue(q, *noted, sys)) + ". That counts."
}

// missing says plainly why a session takes nothing.
func (s *Pages) missing(ctx context.Context, of journal.Session) (string, error) {
	plan, err := s.Store.PlanFill(ctx, pg.FillAsk{Sessions: []journal.ID{of.ID}})
	switch {
	case err != nil:
		return "", err
	case len(plan.Without) > 0:
		return plan.Without[0].Why + ", so this session takes nothing from the gauge.", nil
	}
	return "This session takes nothing from the gauge, though there are readings for it.", nil
}

// credits name the gauges, and say whose readings they are.
func (s *Pages) credits(ctx context.Context, w journal.Water, fills []gauge.Fill) (list []string, err error) {
	sources, err := agency.Sources(agency.Settings{}) // asked for their names alone
	if err != nil {
		return nil, err
	}
	var sites []gauge.Site
	for _, l := range w.Gauges {
		sites = append(sites, l.Site)
	}
	for _, f := range fills {
		if !slices.Contains(sites, f.Site) {
			sites = append(sites, f.Site)
		}
	}
	states, err := s.Store.Gauges(ctx, sites...)
	for _, state := range states {
		if state.Name != "" {
			list = append(list, "Gauge "+state.Site.String()+": "+state.Name+".")
		}
	}
	for _, source := range sources {
		if slices.ContainsFunc(sites, func(x gauge.Site) bool { return x.Provider == source.Provider() }) {
			list = append(list, source.Credit())
		}
	}
	return list, err
}

// sessionRiver has a session take what gauges say, or take nothing of them.
func (s *Pages) sessionRiver(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	if _, err := s.Store.SessionByID(r.Context(), id); err != nil {
		return err
	}
	of, done := pg.FillAsk{Sessions: []journal.ID{id}}, "river-filled"
	switch r.PostFormValue("do") {
	case "fill":
		var plan pg.FillPlan
		if plan, err = s.Store.Fill(r.Context(), of); err == nil && len(plan.Takes) == 0 {
			done = "river-none"
		}
	case "clear":
		_, err = s.Store.ClearFills(r.Context(), of)
		done = "river-cleared"
	default:
		return page.Refuse(http.StatusUnprocessableEntity, "That can’t be done", "A session is filled in from its gauges, or what came from them is taken out. Go back and choose one of these.")
	}
	if err != nil {
		return err
	}
	return page.See(w, r, "/sessions/"+id.String()+"?done="+done+"#river")
}
