package outfit

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// water is the form of a water.
func (s *pages) water() page.Editor[journal.Water] {
	return page.Editor[journal.Water]{
		Desk: s.Desk, Template: "water", Add: "Add a water", Change: "Change a water",
		Fresh: func(id journal.ID, o journal.Outfit) journal.Water {
			return journal.Water{ID: id, TimeZone: o.TimeZone}
		},
		Held: func(r *http.Request) (journal.Water, error) {
			return page.Of(r, s.Store.Waters, func(w journal.Water) journal.ID { return w.ID })
		},
		Fill:  fillWater,
		Read:  readWater,
		Store: s.Store.SaveWater, // of a water without gauges, which have pages of their own
		Known: page.Links(s.Store.Waters, func(w journal.Water) page.Link {
			return page.Link{Href: "/waters/" + w.ID.String(), Text: w.Name}
		}),
		Then: "/waters?done=water-saved",
		More: func(_ *http.Request, e page.Entry[journal.Water]) (any, error) { return newWaterPage(e), nil },
	}
}

func beatName(i int, field string) string { return "beat." + strconv.Itoa(i) + "." + field }

// readWater turns the form into a water. A beat left without a name is kept
// under its old one by the journal, and is not added when it is new.
func readWater(f *form.Form, id journal.ID) journal.Water {
	w := journal.Water{ID: id, Name: f.Text("name"), Kind: journal.WaterKind(f.Text("kind")), TimeZone: f.Text("zone")}
	const most = 200
	for i := 0; i < most && f.Values.Has(beatName(i, "id")); i++ {
		if name := f.Text(beatName(i, "name")); name != "" {
			if beat := f.ID(beatName(i, "id")); beat != nil {
				w.Beats = append(w.Beats, journal.Beat{ID: *beat, Name: name})
			}
		}
	}
	return w
}

// fillWater writes a water into the form, with room for a new beat.
func fillWater(f *form.Form, w journal.Water) {
	f.Set("name", w.Name)
	f.Set("kind", string(w.Kind))
	f.Set("zone", w.TimeZone)
	for i, b := range append(slices.Clone(w.Beats), journal.Beat{ID: journal.NewID()}) {
		f.Set(beatName(i, "id"), b.ID.String())
		f.Set(beatName(i, "name"), b.Name)
	}
}

// waterPage is the form with a field for each beat.
type waterPage struct {
	page.Entry[journal.Water]
	Beats, BeatIDs []form.Field
}

func newWaterPage(e page.Entry[journal.Water]) waterPage {
	p := waterPage{Entry: e}
	for i := 0; e.Form.Values.Has(beatName(i, "id")); i++ {
		p.BeatIDs = append(p.BeatIDs, e.Form.Input(beatName(i, "id"), "", ""))
		label := "Beat " + strconv.Itoa(i+1)
		if e.Form.Text(beatName(i, "name")) == "" {
			label = "A new beat"
		}
		p.Beats = append(p.Beats, e.Form.Input(beatName(i, "name"), label, ""))
	}
	return p
}

// waters lists every water with its beats.
func (s *pages) waters(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	list, err := s.Store.Waters(r.Context())
	if err != nil {
		return err
	}
	p := listPage{Frame: fr}
	for _, water := range list {
		more := []string{prose.Capital(string(water.Kind))}
		for _, b := range water.Beats {
			more = append(more, b.Name)
		}
		if n := len(water.Gauges); n > 0 {
			more = append(more, prose.Plural(n, "gauge", "gauges"))
		}
		p.Rows = append(p.Rows, page.Row{Href: "/waters/" + water.ID.String(), Title: water.Name, More: strings.Join(more, " · ")})
	}
	return s.Render(w, http.StatusOK, "waters", p)
}
