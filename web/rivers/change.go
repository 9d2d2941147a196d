package rivers

import (
	"cmp"
	"context"
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"rigtally/gauges"
	"rigtally/gauges/agency"
	"rigtally/gauges/fetch"
	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/web/form"
	"rigtally/web/page"
)

// lookTime is how long a page waits for what a service answers.
const lookTime = 20 * time.Second

// change does what a button of the page asks for.
func (s *pages) change(w http.ResponseWriter, r *http.Request, fr page.Frame, water journal.Water) error {
	f, err := form.Read(r, fr.Units)
	if err != nil {
		return err
	}
	p := gaugesPage{Frame: fr, Water: water, Form: f}
	site := gauge.NewSite(f.Text("provider"), f.Text("number"))
	here := func(l gauge.Link) bool { return l.Site == site && (l.Sensor == f.Text("of") || !f.Values.Has("of")) }
	switch f.Text("do") {
	case "link":
		err = s.link(r.Context(), &p, site, here)
	case "look":
		if p.linked(slices.IndexFunc(water.Gauges, here)) {
			s.look(r.Context(), &p, site)
		}
	case "takes":
		err = s.takes(r.Context(), &p, here)
	case "first":
		err = s.relink(r.Context(), &p, func(links []gauge.Link) []gauge.Link {
			i := slices.IndexFunc(links, here)
			if p.linked(i) {
				links = append([]gauge.Link{links[i]}, slices.Delete(slices.Clone(links), i, i+1)...)
				p.Said = "It is asked first now. Where it has no reading, the others are."
			}
			return links
		})
	case "unlink":
		err = s.relink(r.Context(), &p, func(links []gauge.Link) []gauge.Link {
			i := slices.IndexFunc(links, here)
			if p.linked(i) {
				p.Gone = &goneView{"Unlinked. What sessions took from it stays with them, and can be taken out under “Fill in past sessions”.", links[i], i}
				links = slices.Delete(links, i, i+1)
			}
			return links
		})
	}
	var invalid *journal.Invalid
	if errors.As(err, &invalid) {
		p.Form.Refuse(invalid)
		p.Water, p.Gone, p.Said, err = water, nil, "", nil
	}
	if err != nil {
		return err
	}
	if len(f.Faults) > 0 {
		return s.showGauges(w, r, http.StatusUnprocessableEntity, p)
	}
	return s.showGauges(w, r, http.StatusOK, p)
}

// relink changes what the water is linked to, as it is by now.
func (s *pages) relink(ctx context.Context, p *gaugesPage, change func([]gauge.Link) []gauge.Link) error {
	links, err := s.Store.Links(ctx, p.Water.ID, func(links []gauge.Link) ([]gauge.Link, error) { return change(links), nil })
	if err == nil {
		p.Water.Gauges = links
	}
	return err
}

// linked reports whether a gauge is among the links, by its place there; where it is not, the page says so.
func (p *gaugesPage) linked(place int) bool {
	if place < 0 {
		p.Form.Fault("", "this gauge is not linked any more; nothing was changed")
	}
	return place >= 0
}

// link links a gauge, at its former place where it was unlinked just now, and asks for its readings.
func (s *pages) link(ctx context.Context, p *gaugesPage, site gauge.Site, here func(gauge.Link) bool) error {
	if site.Provider == "" || site.Number == "" {
		p.Form.Fault("number", "write who runs the gauge and its number")
		return nil
	}
	l := gauge.Link{Site: site, Sensor: p.Form.Text("of"), Takes: taken(p.Form)}
	already := false
	err := s.relink(ctx, p, func(links []gauge.Link) []gauge.Link {
		if already = slices.ContainsFunc(links, here); already {
			return links
		}
		place := len(links)
		if n, err := strconv.Atoi(p.Form.Text("place")); err == nil && n >= 0 && n < place {
			place = n
		}
		return slices.Insert(links, place, l)
	})
	if err != nil {
		return err
	}
	if already {
		p.Said = "It is linked already."
		return nil
	}
	p.Said = "Linked. Sessions that are logged from now on take their readings by themselves."
	if s.asks(site.Provider) {
		p.Said += s.begin(ctx, site, p.Water.TimeZone)
	}
	return nil
}

// begin reads a gauge that was just linked, and keeps what it is called. What goes wrong stands on the page with the gauge.
func (s *pages) begin(ctx context.Context, site gauge.Site, zone string) string {
	ctx, cancel := context.WithTimeout(ctx, lookTime)
	defer cancel()
	list, _ := s.works.keeper.Find(ctx, agency.Query{Number: site.Number})
	if list = slices.DeleteFunc(list, func(g gauge.Gauge) bool { return g.Site != site }); len(list) > 0 {
		if _, err := s.Store.KeepOwnReadings(ctx, gauge.Found{Gauges: list}); err != nil {
			s.Log.Warn("what a gauge is called was not kept", "site", site.String(), "error", err)
		}
	}
	u, err := s.works.keeper.Update(ctx, site)
	if err != nil || u.Trouble != "" {
		return ""
	}
	return " " + u.Say(page.InZone(s.Now(), zone))
}

// taken are the quantities that are ticked; nil for all.
func taken(f *form.Form) (list []gauge.Quantity) {
	for _, q := range gauge.Quantities() {
		if slices.Contains(f.Values["takes"], string(q)) {
			list = append(list, q)
		}
	}
	return list
}

// takes changes what the water takes from one of its gauges. All that it measures is all that it will ever measure.
func (s *pages) takes(ctx context.Context, p *gaugesPage, here func(gauge.Link) bool) error {
	list := taken(p.Form)
	if len(list) == 0 {
		p.Form.Fault("takes", "tick at least one of what it measures, or unlink the gauge")
		return nil
	}
	if p.Form.Text("all") == strconv.Itoa(len(list)) {
		list = nil
	}
	return s.relink(ctx, p, func(links []gauge.Link) []gauge.Link {
		i := slices.IndexFunc(links, here)
		if p.linked(i) {
			if links[i].Takes = list; p.Form.Values.Has("sensor") {
				links[i].Sensor = p.Form.Text("sensor")
			}
			p.Said = "Saved. Sessions that are logged from now on go by it; past ones once they are filled in again."
		}
		return links
	})
}

// look asks the service for what is new.
func (s *pages) look(ctx context.Context, p *gaugesPage, site gauge.Site) {
	ctx, cancel := context.WithTimeout(ctx, lookTime)
	defer cancel()
	now := page.InZone(s.Now(), p.Water.TimeZone)
	switch u, err := s.works.keeper.Update(ctx, site); {
	case err != nil:
		s.Log.Warn("a gauge was not read", "site", site.String(), "error", err)
		p.Form.Fault("", cmp.Or(whyNot(err, now), "it could not be read just now; try again later"))
	case u.Trouble == "": // one is told with the gauge
		p.Said = u.Say(now)
	}
}

// whyNot says to people why a service was not read; "" where it is for the log.
func whyNot(err error, now time.Time) string {
	var later *gauges.Later
	var failed *fetch.Error
	var invalid *journal.Invalid
	switch {
	case errors.As(err, &later):
		return later.Say(now)
	case errors.As(err, &failed):
		return form.Sentence(failed.Error())
	case errors.As(err, &invalid):
		return strings.Join(form.Sentences(invalid), " ")
	case errors.Is(err, gauges.ErrOff):
		return "Gauges are not asked over the network here."
	case errors.Is(err, context.DeadlineExceeded):
		return "The gauge’s agency did not answer in time. What is here stays; try again later."
	}
	return ""
}
