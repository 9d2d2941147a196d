package rivers

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"rigtally/gauges/read"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
	"rigtally/web/pending"
)

// takeTime is given to a file on a slow line, from a phone at the water.
const takeTime = 5 * time.Minute

// filePage is where a gauge's file is chosen.
type filePage struct {
	page.Frame
	Water   journal.Water
	Address string
	Form    *form.Form
	Limit   string
	Waits   []page.Row // what was sent and not kept
}

func (s *pages) choose(w http.ResponseWriter, _ *http.Request, fr page.Frame, water journal.Water) error {
	return s.showChoose(w, http.StatusOK, fr, water, form.New(fr.Units))
}

func (s *pages) showChoose(w http.ResponseWriter, status int, fr page.Frame, water journal.Water, f *form.Form) error {
	p := filePage{Frame: fr, Water: water, Address: address(water), Form: f, Limit: fmt.Sprintf("up to %d MB", mostFile>>20)}
	for _, h := range s.works.files.Own(pending.OwnerOf(s.Desk)) {
		if h.water == water.ID {
			p.Waits = append(p.Waits, page.Row{Href: h.address(), Title: h.file().Name, More: "Not kept yet"})
		}
	}
	return s.Render(w, status, "gaugefile", p)
}

func (h *held) address() string { return "/gauge-files/" + h.ID.String() }

// take takes the file that was sent.
func (s *pages) take(w http.ResponseWriter, r *http.Request, fr page.Frame, water journal.Water) error {
	f := form.New(fr.Units)
	file, refused, err := s.receive(w, r)
	if err != nil {
		return err
	}
	if refused != "" {
		f.Fault("file", refused)
		return s.showChoose(w, http.StatusUnprocessableEntity, fr, water, f)
	}
	h := &held{pending.NewUpload(file), water.ID}
	if !s.works.files.Put(pending.OwnerOf(s.Desk), h) {
		f.Fault("file", "so many files wait here just now that there is no room for this one; try again in some minutes")
		return s.showChoose(w, http.StatusServiceUnavailable, fr, water, f)
	}
	return page.See(w, r, h.address())
}

// receive takes the file out of a form. What it refuses, it says in a sentence.
func (s *pages) receive(w http.ResponseWriter, r *http.Request) (sent pending.File, refused string, err error) {
	c := http.NewResponseController(w)
	_ = c.SetReadDeadline(time.Now().Add(takeTime)) // where it can't be set, the server's own holds
	_ = c.SetWriteDeadline(time.Now().Add(takeTime + time.Minute))
	if err := r.ParseMultipartForm(MostBody); err != nil {
		var tooBig *http.MaxBytesError
		if errors.As(err, &tooBig) {
			return sent, "", page.Refuse(http.StatusRequestEntityTooLarge, "Too much at once", fmt.Sprintf("The file is over %d MB, so it was not taken. Ask the gauge’s page for fewer years at once.", mostFile>>20))
		}
		if errors.Is(err, http.ErrNotMultipart) {
			return sent, "choose a file first", nil
		}
		return sent, "", page.Refuse(http.StatusBadRequest, "That could not be read", "The file arrived damaged or only in part, so it was not taken. Send it again.")
	}
	defer func() { _ = r.MultipartForm.RemoveAll() }() // nothing was put on the disk
	if err := s.Opened(r.FormValue(page.ForField)); err != nil {
		return sent, "", err
	}
	file, header, err := r.FormFile("file")
	if err != nil {
		return sent, "choose a file first", nil
	}
	defer func() { _ = file.Close() }() // it is in memory
	name := pending.Name(header.Filename)
	if header.Size > mostFile {
		return sent, fmt.Sprintf("%s is over %d MB; ask the gauge’s page for fewer years at once", name, mostFile>>20), nil
	}
	text, err := io.ReadAll(file)
	if len(text) == 0 {
		return sent, "there is nothing in " + name + "; choose another file", err
	}
	return pending.File{Name: name, Text: text}, "", err
}

// ofFile makes an action of one on a file of whoever asks, with the water that it was sent for.
func (s *pages) ofFile(act func(http.ResponseWriter, *http.Request, page.Frame, journal.Water, *held) error) page.Action {
	return func(w http.ResponseWriter, r *http.Request) error {
		id, err := journal.ParseID(r.PathValue("id"))
		h, ok := s.works.files.Find(pending.OwnerOf(s.Desk), id)
		if err != nil || !ok {
			return page.Refuse(http.StatusNotFound, "This file is not here any more", "A file waits for an hour at most, and no longer than the program runs. Nothing of it was kept that you were not told of. Choose it again at the water’s gauges.")
		}
		water, err := s.waterOf(r.Context(), h)
		if err != nil {
			return err
		}
		fr, err := s.Frame(r, "", h.file().Name)
		if err != nil {
			return err
		}
		return act(w, r, fr, water, h)
	}
}

// waterOf is the water that a file was sent for, as it is now.
func (s *pages) waterOf(ctx context.Context, h *held) (journal.Water, error) {
	waters, err := s.Store.Waters(ctx)
	if err != nil {
		return journal.Water{}, err
	}
	i := slices.IndexFunc(waters, func(x journal.Water) bool { return x.ID == h.water })
	if i < 0 {
		return journal.Water{}, journal.ErrNotFound
	}
	return waters[i], nil
}

// readPage is what a gauge's file holds, as it was understood.
type readPage struct {
	page.Frame
	Water   journal.Water
	Address string // of the water's gauges
	At      string // of the file
	Form    *form.Form
	Says    string
	Why     string // it can't be read like this; "" where it can
	Unsaid  bool   // since it leaves something out
	Series  []seriesView
	Notes   []string
	Sites   []form.Option
	Open    bool // the choices
}

// ZoneHint says whose time zone counts where the file tells none.
func (p readPage) ZoneHint() string {
	return "of times without one; " + p.Water.TimeZone + " unless you say otherwise"
}

// seriesView is a series of a file.
type seriesView struct {
	Title, Gauge string
	Facts        page.Facts
}

func (s *pages) showFile(w http.ResponseWriter, r *http.Request, fr page.Frame, water journal.Water, h *held) error {
	return s.showRead(w, r, http.StatusOK, fr, water, h, "")
}

// choices are the fields of how a file is read.
var choices = []string{"site", "provider", "number", "quantity", "unit", "zone", "dates"}

func (s *pages) answerFile(w http.ResponseWriter, r *http.Request, fr page.Frame, water journal.Water, h *held) error {
	f, err := form.Read(r, fr.Units)
	if err != nil {
		return err
	}
	kept := url.Values{}
	for _, name := range choices {
		if text := f.Text(name); text != "" && len(text) <= 200 {
			kept.Set(name, text)
		}
	}
	before := h.Said()
	switch do := f.Text("do"); {
	case do == "drop":
		s.works.files.Drop(h)
		return page.See(w, r, address(water)+fileForm)
	case do == "keep" && kept.Encode() == before.Encode():
		return s.keep(w, r, fr, water, h)
	case do == "keep":
		h.Choose(kept)
		return s.showRead(w, r, http.StatusConflict, fr, water, h, "You changed how it is read, so nothing is kept yet. This is how it is read now: look at it, then keep it.")
	}
	h.Choose(kept)
	return page.See(w, r, h.address())
}

// wrong is why a file can't be taken.
type wrong struct {
	says   string // a sentence; "" where it can
	unsaid bool   // it leaves something out that can be chosen
}

// understood reads a file as it was chosen.
func (s *pages) understood(ctx context.Context, water journal.Water, h *held) (found gauge.Found, why wrong, err error) {
	leave, err := s.works.files.InTurn(ctx, s.Store.OutfitID())
	if err != nil {
		return found, why, err
	}
	defer leave()
	said := h.Said()
	opt := read.Options{MaxBytes: mostFile, Unit: said.Get("unit"), Quantity: gauge.Quantity(said.Get("quantity"))}
	if dates := said.Get("dates"); dates != "" {
		opt.DayFirst = new(dates == dayFirst)
	}
	switch site := said.Get("site"); site {
	case "":
		if len(water.Gauges) == 1 { // whose else would it be; what the file says comes before
			opt.Site = water.Gauges[0].Site
		}
	case "other":
		opt.Site = gauge.NewSite(cmp.Or(said.Get("provider"), "own"), said.Get("number"))
	default:
		if opt.Site, err = gauge.ParseSite(site); err != nil {
			return found, wrong{says: form.Sentence(err.Error())}, nil
		}
	}
	zone := cmp.Or(said.Get("zone"), water.TimeZone)
	if opt.Zone, err = time.LoadLocation(zone); err != nil || zone == "Local" { // which is this machine's
		return found, wrong{says: fmt.Sprintf("There is no time zone “%s”. Write it as in America/Denver.", zone)}, nil
	}
	found, err = read.Any(h.file().Name, bytes.NewReader(h.file().Text), opt)
	if ctx.Err() != nil {
		return found, why, ctx.Err()
	}
	if err != nil {
		return found, wrong{strings.TrimSuffix(err.Error(), ".") + ".", read.Unsaid(err)}, nil
	}
	if len(found.Series) == 0 {
		return found, wrong{says: "There is no reading in this file. " + strings.Join(found.Notes, " ")}, nil
	}
	return found, why, nil
}

func (s *pages) showRead(w http.ResponseWriter, r *http.Request, status int, fr page.Frame, water journal.Water, h *held, says string) error {
	found, why, err := s.understood(r.Context(), water, h)
	if err != nil {
		return err
	}
	f := form.Of(h.Said(), fr.Units)
	p := readPage{Frame: fr, Water: water, Address: address(water), At: h.address(), Form: f, Says: says, Why: why.says, Unsaid: why.unsaid, Notes: found.Notes, Open: why.says != "" || len(h.Said()) > 0}
	if why.says == "" {
		for _, x := range found.Series {
			p.Series = append(p.Series, viewSeries(x, found, fr.Units, water.TimeZone, s))
		}
	}
	p.Sites = []form.Option{{Text: "As the file says"}}
	for _, l := range water.Gauges {
		p.Sites = append(p.Sites, form.Option{Value: l.Site.String(), Text: s.by(l.Site)})
	}
	p.Sites = append(p.Sites, form.Option{Value: "other", Text: "Another gauge"})
	return s.Render(w, status, "gaugeread", p)
}

// Quantities are those to choose from.
func (p readPage) Quantities() form.Choice {
	return p.Form.Choose("quantity", "What it measures", "", form.Offer("As the file says", gauge.Quantities(), func(q gauge.Quantity) form.Option {
		return form.Option{Value: string(q), Text: prose.GaugeQuantity(q)}
	}))
}

// quantities are what their units are of.
var quantities = map[gauge.Quantity]units.Quantity{gauge.Flow: units.Flow, gauge.Stage: units.Depth, gauge.Temperature: units.Temperature}

// UnitChoice are the units to choose from.
func (p readPage) UnitChoice() form.Choice {
	options := form.Pairs("", "As the file says")
	for _, q := range gauge.Quantities() {
		for _, u := range []units.System{units.Metric, units.US} {
			unit := units.Bare(quantities[q], u)
			options = append(options, form.Option{Value: string(unit), Text: unit.Symbol() + ", of " + prose.Lower(prose.GaugeQuantity(q))})
		}
	}
	return p.Form.Choose("unit", "Unit", "", options)
}

const dayFirst, monthFirst = "day-first", "month-first"

// Dates are the orders of a date to choose from.
func (p readPage) Dates() form.Choice {
	return p.Form.Choose("dates", "Dates such as 10/1/1999", "", form.Pairs("", "As the file says", monthFirst, "The month first", dayFirst, "The day first"))
}

func viewSeries(x gauge.Series, found gauge.Found, sys units.System, zone string, s *pages) seriesView {
	v := seriesView{Title: prose.GaugeQuantity(x.Quantity), Gauge: s.by(x.Site)}
	if i := slices.IndexFunc(found.Gauges, func(g gauge.Gauge) bool { return g.Site == x.Site && g.Name != "" }); i >= 0 {
		v.Gauge = found.Gauges[i].Name + " · " + v.Gauge
	}
	if x.Statistic == gauge.DailyMean {
		v.Title += ", mean of each day"
	}
	if x.Sensor != "" {
		v.Facts.Add("Sensor", x.Sensor)
	}
	if len(x.Readings) == 0 {
		return v
	}
	first, last := x.Readings[0], x.Readings[len(x.Readings)-1]
	v.Facts.Add("Readings", counted(len(x.Readings)))
	if x.Statistic == gauge.DailyMean {
		v.Facts.Add("From", prose.Day(journal.DateOf(first.At)))
		v.Facts.Add("To", prose.Day(journal.DateOf(last.At)))
	} else {
		v.Facts.Add("From", at(first.At, zone))
		v.Facts.Add("To", at(last.At, zone))
	}
	low, high, usable := 0.0, 0.0, false
	words := map[string]int{}
	for _, reading := range x.Readings {
		for _, word := range reading.Flags.Words() {
			words[word]++
		}
		if reading.Usable() {
			if !usable {
				low, high, usable = reading.Value, reading.Value, true
			}
			low, high = min(low, reading.Value), max(high, reading.Value)
		}
	}
	if usable {
		v.Facts.Add("Lowest and highest", shown(x.Quantity, low, sys)+" and "+shown(x.Quantity, high, sys))
	}
	for i := range 16 {
		for _, word := range gauge.Flags(1 << i).Words() {
			if n := words[word]; n > 0 {
				v.Facts.Add(prose.Capital(word), readings(n))
			}
		}
	}
	return v
}

// keep keeps what a file holds for the outfit, and links what is not linked.
func (s *pages) keep(w http.ResponseWriter, r *http.Request, fr page.Frame, water journal.Water, h *held) error {
	found, why, err := s.understood(r.Context(), water, h)
	if err != nil {
		return err
	}
	if why.says != "" {
		return s.showRead(w, r, http.StatusUnprocessableEntity, fr, water, h, "")
	}
	kept, err := s.Store.KeepOwnReadings(r.Context(), found)
	var invalid *journal.Invalid
	if errors.As(err, &invalid) {
		return s.showRead(w, r, http.StatusUnprocessableEntity, fr, water, h, strings.Join(form.Sentences(invalid), " "))
	}
	if err != nil {
		return err
	}
	if water, err = s.waterOf(r.Context(), h); err != nil { // which others may have changed while the file waited for its turn
		return err
	}
	p := gaugesPage{Frame: fr, Water: water, Said: keptSays(kept)}
	p.Title = "Gauges of " + water.Name
	p.Water.Gauges, err = s.Store.Links(r.Context(), water.ID, func(links []gauge.Link) ([]gauge.Link, error) {
		water.Gauges = slices.Clone(links)
		for _, x := range found.Series {
			if !slices.ContainsFunc(links, func(l gauge.Link) bool { return l.Site == x.Site }) {
				links = append(links, gauge.Link{Site: x.Site})
			}
		}
		return links, nil
	})
	if err != nil {
		return err
	}
	if linked := len(p.Water.Gauges) - len(water.Gauges); linked > 0 {
		if linked == 1 {
			p.Said += " The gauge is linked to " + water.Name + " now."
		} else {
			p.Said += fmt.Sprintf(" Its %d gauges are linked to %s now; unlink those of other waters.", linked, water.Name)
		}
	}
	plan, err := s.Store.PlanFill(r.Context(), ask(p.Water))
	if err != nil {
		return err
	}
	p.ToFill, p.Said = plan.Changed, p.Said+" "+prose.LeftToFill(plan.Changed, water.Name)
	s.works.files.Drop(h)
	return s.showGauges(w, r, http.StatusOK, p)
}

// keptSays says what became of a file's readings.
func keptSays(k gauge.Kept) string {
	parts := []string{}
	for _, part := range []struct {
		n    int
		says string
	}{{k.New, "new"}, {k.Revised, "with another value than before"}, {k.Same, "here already"}, {k.Empty, "without a value, such as under ice"}} {
		if part.n > 0 {
			parts = append(parts, counted(part.n)+" "+part.says)
		}
	}
	return "Kept, for your outfit alone: " + prose.Listed(parts) + "."
}
