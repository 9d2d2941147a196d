package logging

import (
	"cmp"
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"rigtally/analytics/plan"
	"rigtally/drawing"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// startPage asks what a journal needs before the first session.
type startPage struct {
	page.Frame
	Form      *form.Form
	Zones     []string // some to choose from
	Junctions []form.Option
	Drawn     template.HTML
	Again     bool // whether it was filled in before
}

// mostTags are the droppers that the first rig may have; others are tied under Rigs.
const mostTags = 2

// start shows what is asked before the first session, as it was answered before.
func (s *Pages) start(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	logged, err := s.Store.Logged(r.Context())
	if err != nil {
		return err
	}
	if logged {
		return page.See(w, r, "/settings")
	}
	k, err := s.known(r.Context())
	if err != nil {
		return err
	}
	return s.showStart(w, http.StatusOK, fr, s.startForm(r, fr, k), len(k.rigs) > 0)
}

// startForm holds what the journal has, and else what is usual.
func (s *Pages) startForm(r *http.Request, fr page.Frame, k known) *form.Form {
	if len(k.rigs) == 0 && fr.Units == units.Metric { // which is what a journal begins with
		fr.Units = spokenUnits(r.Header.Get("Accept-Language"))
	}
	f := form.New(fr.Units)
	f.Set("units", string(fr.Units))
	f.Set("zone", fr.Outfit.TimeZone)
	angler, water, rig := journal.Angler{ID: journal.NewID()}, journal.Water{ID: journal.NewID()}, plan.UsualRig("tight-line nymph", 1, fr.Units)
	rig.ID = journal.NewID()
	rig.Positions[1].Facing = "down"
	if len(k.anglers) > 0 {
		angler = k.anglers[0]
	}
	if len(k.waters) > 0 {
		water = k.waters[0]
	}
	if len(k.rigs) > 0 {
		rig = k.rigs[0]
	}
	f.Set("angler", angler.ID.String())
	f.Set("name", angler.Name)
	f.Set("water", water.ID.String())
	f.Set("water-name", water.Name)
	f.Set("rig", rig.ID.String())
	droppers := rig.Droppers()
	f.Set("tags", strconv.Itoa(min(len(droppers), mostTags)))
	if len(droppers) > 0 {
		f.Set("junction", string(droppers[0].Junction))
		f.Set("facing", string(droppers[0].Facing))
		f.Set("tag", form.Shown(droppers[0].TagLengthMM, form.In(units.FormatLength, fr.Units)))
	}
	return f
}

// spokenUnits are those of the place whose language a browser asks for.
func spokenUnits(language string) units.System {
	first, _, _ := strings.Cut(language, ",")
	if first == "" || first == "en" || strings.HasPrefix(first, "en-US") {
		return units.US
	}
	return units.Metric
}

// startSave takes what was answered and leads to logging.
func (s *Pages) startSave(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	f, err := form.Read(r, fr.Units)
	if err != nil {
		return err
	}
	f.Units = units.System(f.Text("units"))
	u := readSetup(f, fr.Outfit)
	return page.Saving{
		Form: f,
		Store: func() (string, error) {
			return "/log?" + "angler=" + u.Angler.ID.String() + "&water=" + u.Water.ID.String() + "&rig=" + u.Rig.ID.String(), s.Store.SetUp(r.Context(), u)
		},
		Again: func(status int) error { return s.showStart(w, status, fr, f, false) },
	}.Do(w, r)
}

func readSetup(f *form.Form, o journal.Outfit) journal.Setup {
	o.Units, o.TimeZone = f.Text("units"), f.Text("zone")
	if err := journal.CheckZone(o.TimeZone); err != nil {
		f.Fault("zone", err.Error())
	}
	return journal.Setup{
		Outfit: o,
		Angler: journal.Angler{ID: form.Or0(f.ID("angler")), Name: f.Filled("name", "write your name, or what you want to be called"), Kind: journal.AnglerOwner, Active: true},
		Water:  journal.Water{ID: form.Or0(f.ID("water")), Name: f.Filled("water-name", "write the name of a river or lake that you fish"), Kind: journal.WaterOther, TimeZone: o.TimeZone},
		Rig:    readFirstRig(f),
	}
}

// readFirstRig holds what was asked of the rig and nothing else: what was not noted is no usual length.
func readFirstRig(f *form.Form) journal.Rig {
	rig := journal.Rig{ID: form.Or0(f.ID("rig")), Name: "Single fly", Positions: []journal.RigPosition{{}}}
	tags := form.Or0(f.Whole("tags", mostTags))
	if tags == 0 {
		return rig
	}
	p := journal.RigPosition{Hang: journal.HangTag, Junction: journal.Junction(f.Text("junction")), Facing: journal.Facing(f.Text("facing")), TagLengthMM: f.ShortLength("tag")}
	if p.TagLengthMM == nil && f.Wrong("tag") == "" {
		f.Fault("tag", "say how long the tag is, from the knot to the fly")
	}
	for i := range tags {
		p.Position = i + 1
		rig.Positions = append(rig.Positions, p)
	}
	rig.Name = cmp.Or(prose.Capital(string(p.Junction)), "Dropper") + " " + form.Shown(p.TagLengthMM, form.In(units.FormatLength, f.Units))
	if tags > 1 {
		rig.Name += ", " + strconv.Itoa(tags+1) + " flies"
	}
	return rig
}

func (s *Pages) showStart(w http.ResponseWriter, status int, fr page.Frame, f *form.Form, again bool) error {
	look := form.Of(f.Values, f.Units)
	p := startPage{Frame: fr, Form: f, Again: again,
		Junctions: append(form.Vocabulary(slices.DeleteFunc(journal.Junctions(), func(j journal.Junction) bool { return j == journal.JunctionOther }), ""), form.Option{Text: "Another"}),
		Drawn:     template.HTML(drawing.Strip(readFirstRig(look), drawing.Options{Units: f.Units, ID: "drawn"}, true)), // the package drawing escapes what people wrote
		Zones:     []string{"America/New_York", "America/Chicago", "America/Denver", "America/Phoenix", "America/Los_Angeles", "America/Anchorage", "Europe/London", "Europe/Paris", "Pacific/Auckland"}}
	return s.Render(w, status, "start", p)
}
