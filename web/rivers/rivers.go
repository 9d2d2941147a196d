// Package rivers serves the pages of a water's gauges: which are linked and what they say, finding one, filling in
// sessions from them, and bringing in a gauge's file.
package rivers

import (
	"net/http"
	"slices"
	"strings"
	"time"

	"rigtally/gauges/agency"
	"rigtally/gauges/fetch"
	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// pages are the pages of gauges.
type pages struct {
	*page.Desk
	works *Works
}

const (
	ofWater  = "/waters/{id}/gauges"
	fileForm = "/file"
	filePath = "/gauge-files/{id}"
)

// Routes are the addresses of these pages.
func Routes(d *page.Desk, w *Works) []page.Route {
	s := &pages{d, w}
	routes := []page.Route{
		{Pattern: "GET " + filePath, Act: s.ofFile(s.showFile)},
		{Pattern: "POST " + filePath, Act: s.ofFile(s.answerFile)},
	}
	for _, at := range []struct {
		path, title string
		get, post   show
	}{
		{"", "Gauges of ", s.show, s.change},
		{"/find", "Find a gauge for ", s.find, s.found},
		{"/fill", "Fill in sessions on ", s.plan, s.fill},
		{fileForm, "A gauge’s file for ", s.choose, s.take},
	} {
		routes = append(routes, page.Route{Pattern: "GET " + ofWater + at.path, Act: s.of(at.title, at.get)}, page.Route{Pattern: "POST " + ofWater + at.path, Act: s.of(at.title, at.post)})
	}
	return routes
}

// TakesFile reports whether a gauge's file is sent to an address.
func TakesFile(address string) bool {
	return strings.HasPrefix(address, "/waters/") && strings.HasSuffix(address, "/gauges"+fileForm)
}

// show answers a request about a water.
type show func(http.ResponseWriter, *http.Request, page.Frame, journal.Water) error

// of makes an action of one on a water, under a title that ends in its name.
func (s *pages) of(title string, act show) page.Action {
	return page.Showing(s.Desk, "", s.water, func(w journal.Water) string { return title + w.Name }, act)
}

func (s *pages) water(r *http.Request) (journal.Water, error) {
	return page.Of(r, s.Store.Waters, func(w journal.Water) journal.ID { return w.ID })
}

// address is where a water's gauges are.
func address(w journal.Water) string { return "/waters/" + w.ID.String() + "/gauges" }

// gaugesPage is a water's gauges and what they say.
type gaugesPage struct {
	page.Frame
	Water   journal.Water
	Address string
	Form    *form.Form
	Said    string // what was done just now
	ToFill  int    // sessions that can take something of a file that was kept just now
	Gone    *goneView
	Off     bool // nothing is read from the network
	Gauges  []gaugeView
	Credits []string
}

// Several reports whether the order of gauges matters.
func (p gaugesPage) Several() bool { return len(p.Gauges) > 1 }

// goneView is a gauge that was unlinked just now, as it can be linked again.
type goneView struct {
	Says  string
	Link  gauge.Link
	Place int
}

// gaugeView is a gauge that is linked.
type gaugeView struct {
	Site     gauge.Site
	Sensor   string // of the link
	Name, By string
	Latest   []latestView
	When     string // of all of these, where they are of one time
	Facts    page.Facts
	Trouble  string
	Takes    form.Boxes
	Sensors  []form.Option
	Asked    bool // a service is asked about it
	Stored   bool // readings of it are
	First    bool
}

// TakesSays lists what the water takes from it.
func (v gaugeView) TakesSays() string {
	var list []gauge.Quantity
	for _, box := range v.Takes.List {
		if box.On {
			list = append(list, gauge.Quantity(box.Value))
		}
	}
	return titles(list)
}

// latestView is the latest reading of a quantity.
type latestView struct{ Title, Value, Words, When string }

func (s *pages) show(w http.ResponseWriter, r *http.Request, fr page.Frame, water journal.Water) error {
	return s.showGauges(w, r, http.StatusOK, gaugesPage{Frame: fr, Water: water})
}

func (s *pages) showGauges(w http.ResponseWriter, r *http.Request, status int, p gaugesPage) error {
	p.Address, p.Off = address(p.Water), s.off()
	if p.Form == nil {
		p.Form = form.New(p.Units)
	}
	states, err := s.Store.Gauges(r.Context(), sites(p.Water.Gauges)...)
	if err != nil {
		return err
	}
	for i, l := range p.Water.Gauges {
		v, err := s.view(r, p, l, stateOf(states, l.Site))
		if err != nil {
			return err
		}
		v.First = i == 0
		p.Gauges = append(p.Gauges, v)
		if credit := s.creditOf(l.Provider); credit != "" && !slices.Contains(p.Credits, credit) {
			p.Credits = append(p.Credits, credit)
		}
	}
	return s.Render(w, status, "gauges", p)
}

func sites(links []gauge.Link) []gauge.Site {
	list := make([]gauge.Site, len(links))
	for i, l := range links {
		list[i] = l.Site
	}
	return list
}

func stateOf(list []gauge.State, site gauge.Site) gauge.State {
	for _, state := range list {
		if state.Gauge.Site == site {
			return state
		}
	}
	return gauge.State{Gauge: gauge.Gauge{Site: site}}
}

// view tells what a gauge says of a water.
func (s *pages) view(r *http.Request, p gaugesPage, l gauge.Link, state gauge.State) (gaugeView, error) {
	now, zone := s.Now(), p.Water.TimeZone
	v := gaugeView{Site: l.Site, Sensor: l.Sensor, Name: state.Gauge.Name, By: s.by(l.Site), Asked: s.asks(l.Provider)}
	if v.Name == "" {
		v.Name = "Gauge " + l.Number
	}
	var measures []gauge.Quantity
	reads, takes := state.LatestOf(gauge.Link{Site: l.Site}), state.LatestOf(l)
	for _, q := range gauge.Quantities() {
		if _, ok := reads[q]; ok || slices.Contains(state.Gauge.Measures, q) || len(state.Gauge.Measures) == 0 && len(reads) == 0 {
			measures = append(measures, q)
		}
		if reading, ok := takes[q]; ok {
			v.Latest = append(v.Latest, latest(q, reading, now, zone, p))
		}
	}
	if n := len(v.Latest); n > 0 && !slices.ContainsFunc(v.Latest, func(x latestView) bool { return x.When != v.Latest[0].When }) {
		v.When = v.Latest[0].When
		words := v.Latest[0].Words
		if slices.ContainsFunc(v.Latest, func(x latestView) bool { return x.Words != words }) {
			words = ""
		}
		if words != "" {
			v.When += ", " + words
		}
		for i := range v.Latest {
			if v.Latest[i].When = ""; words != "" {
				v.Latest[i].Words = ""
			}
		}
	}
	if v.Stored = state.Days > 0; v.Stored {
		text := on(state.From, zone)
		if last := on(state.To, zone); last != text {
			text += " to " + last + ", on " + prose.Plural(state.Days, "day", "days")
		}
		v.Facts.Add("Readings", text)
	}
	if state.DailyYears > 0 {
		text := prose.Plural(state.DailyYears, "year", "years")
		if slices.Contains(measures, gauge.Flow) {
			text += usualSays(state.DailyYears)
		}
		v.Facts.Add("Daily means", text)
	}
	if state.Request != nil {
		v.Trouble = trouble(*state.Request, now, zone)
		if !state.Request.AskedAt.IsZero() {
			v.Facts.Add("Last asked", at(state.Request.AskedAt, zone)+", "+ago(now.Sub(state.Request.AskedAt)))
		}
	}
	f := form.New(p.Units)
	options := make([]form.Option, len(measures))
	for i, q := range measures {
		options[i] = form.Option{Value: string(q), Text: prose.GaugeQuantity(q)}
		if l.Gives(q) {
			f.Values.Add("takes", string(q))
		}
	}
	v.Takes = f.Ticked("takes", "What "+p.Water.Name+" takes from it", options)
	sensors, err := s.sensors(r, l.Site, state)
	if len(sensors) > 1 {
		v.Sensors = []form.Option{{Text: "The first that has a reading", Selected: l.Sensor == ""}}
		for _, name := range sensors {
			v.Sensors = append(v.Sensors, form.Option{Value: name, Text: name, Selected: name == l.Sensor})
		}
	}
	return v, err
}

func latest(q gauge.Quantity, reading gauge.Reading, now time.Time, zone string, p gaugesPage) latestView {
	return latestView{prose.GaugeQuantity(q), shown(q, reading.Value, p.Units), strings.Join(reading.Flags.Words(), ", "), prose.Capital(ago(now.Sub(reading.At))) + ": " + at(reading.At, zone)}
}

// usualSays says what so many years are enough for.
func usualSays(years int) string {
	if years >= gauge.LeastYears {
		return ", enough to say how usual a flow is for the day"
	}
	return "; it takes " + prose.Number(gauge.LeastYears) + " to say how usual a flow is for the day"
}

// trouble says what went wrong when a service was asked, and when it is asked again.
func trouble(r gauge.Request, now time.Time, zone string) string {
	next := r.NextAt
	if !next.IsZero() {
		next = page.InZone(next, zone)
	}
	return fetch.Again(r.Trouble, next, page.InZone(now, zone))
}

// sensors are the names of a gauge's, of the last days that are stored.
func (s *pages) sensors(r *http.Request, site gauge.Site, state gauge.State) (names []string, err error) {
	if state.To.IsZero() {
		return nil, nil
	}
	list, err := s.Store.Readings(r.Context(), site, state.To.AddDate(0, 0, -2), state.To)
	for _, series := range list {
		if !slices.Contains(names, series.Sensor) {
			names = append(names, series.Sensor)
		}
	}
	return names, err
}

// off reports whether nothing is read from the network.
func (s *pages) off() bool { return s.works.keeper == nil }

// asks reports whether there is a service to ask about a provider's gauges.
func (s *pages) asks(provider string) bool {
	return slices.ContainsFunc(s.works.keeper.Sources(), func(x agency.Source) bool { return x.Provider() == provider })
}

// source is the service of a provider, asked or not; nil for a provider without one.
func (s *pages) source(provider string) agency.Source {
	if i := slices.IndexFunc(s.works.known, func(x agency.Source) bool { return x.Provider() == provider }); i >= 0 {
		return s.works.known[i]
	}
	return nil
}

// by says who runs a gauge, and its number.
func (s *pages) by(site gauge.Site) string {
	who := site.Provider
	if x := s.source(site.Provider); x != nil {
		who = x.Title()
	}
	return prose.Capital(who) + ", number " + site.Number
}

func (s *pages) creditOf(provider string) string {
	if x := s.source(provider); x != nil {
		return x.Credit()
	}
	return ""
}
