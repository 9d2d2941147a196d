// Package rigs serves the pages of rigs and of the rules that they are held against.
package rigs

import (
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"rigtally/drawing"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/page"
)

// pages are the pages of rigs and rules.
type pages struct{ *page.Desk }

type rigsPage struct {
	page.Frame
	Rigs []rigRow
}

// rigRow is a rig of the list, with a small drawing.
type rigRow struct {
	page.Row
	Strip template.HTML
	Copy  string
}

// rigs lists the latest revision of every rig, the last fished first.
func (s *pages) rigs(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	list, err := s.Store.Rigs(r.Context())
	if err != nil {
		return err
	}
	p := rigsPage{Frame: fr}
	p.Wide = true
	for _, name := range byName(list) {
		latest := name[0]
		var tied []string
		for _, d := range latest.Droppers() {
			tied = append(tied, prose.Hang(d, fr.Units))
		}
		if len(tied) == 0 {
			tied = []string{"no dropper"}
		}
		at := "/rigs/" + latest.ID.String()
		p.Rigs = append(p.Rigs, rigRow{
			Row:   page.Row{Href: at, Title: latest.Title(), More: strings.Join(tied, "; ") + " · " + fishedWords(name)},
			Strip: svg(drawing.Strip(latest.Rig, drawing.Options{Units: fr.Units, ID: "rig-" + strconv.Itoa(len(p.Rigs))}, true)),
			Copy:  at + "/copy",
		})
	}
	return s.Render(w, http.StatusOK, "rigs", p)
}

// byName groups rigs by name, each with its latest revision first, and keeps the
// order of the list.
func byName(list []journal.RigUse) [][]journal.RigUse {
	var groups [][]journal.RigUse
	at := map[string]int{}
	for _, r := range list {
		key := strings.ToLower(r.Name)
		i, ok := at[key]
		if !ok {
			i = len(groups)
			at[key], groups = i, append(groups, nil)
		}
		g := append(groups[i], r)
		for j := len(g) - 1; j > 0 && g[j].Revision > g[j-1].Revision; j-- {
			g[j], g[j-1] = g[j-1], g[j]
		}
		groups[i] = g
	}
	return groups
}

// fishedWords says how long some rigs were fished together.
func fishedWords(rigs []journal.RigUse) string {
	stints, minutes := 0, 0.0
	var last *journal.Date
	for _, r := range rigs {
		stints, minutes = stints+r.Stints, minutes+r.Minutes
		if r.LastDay != nil && (last == nil || last.String() < r.LastDay.String()) {
			last = r.LastDay
		}
	}
	if stints == 0 {
		return "not fished yet"
	}
	return units.FormatDuration(minutes) + " in " + prose.Plural(stints, "stint", "stints") + ", last on " + prose.Day(*last)
}

// Routes are the addresses of these pages.
func Routes(d *page.Desk) []page.Route {
	s := &pages{d}
	change := func(of journal.RigUse) string { return "Change " + of.Title() }
	return slices.Concat([]page.Route{
		{Pattern: "GET /rigs", Act: s.Framed("rigs", "Rigs", s.rigs), For: page.ForAll},
		{Pattern: "POST /rigs/draw", Act: s.rigDraw, For: page.ForAll},
		{Pattern: "GET /rigs/new", Act: s.Framed("rigs", "Add a rig", s.rigNew), For: page.ForAll},
		{Pattern: "POST /rigs/new", Act: s.Framed("rigs", "Add a rig", s.rigCreate), For: page.ForAll},
		{Pattern: "GET /rigs/{id}", Act: page.Showing(d, "rigs", func(r *http.Request) (journal.Rig, error) { return page.At(r, s.Store.RigByID) }, journal.Rig.Title, s.rig), For: page.ForAll},
		{Pattern: "GET /rigs/{id}/copy", Act: page.Showing(d, "rigs", s.rigAt, func(of journal.RigUse) string { return "Copy " + of.Title() }, s.rigCopy), For: page.ForAll},
		{Pattern: "GET /rigs/{id}/edit", Act: page.Showing(d, "rigs", s.rigAt, change, s.rigEdit), For: page.ForAll},
		{Pattern: "POST /rigs/{id}/edit", Act: page.Showing(d, "rigs", s.rigAt, change, s.rigSave), For: page.ForAll},
		{Pattern: "POST /rigs/{id}/delete", Act: page.Doing(s.Store.DeleteRig, "/rigs?done=rig-deleted"), For: page.ForAll},
		{Pattern: "GET /rigs/rules", Act: s.Framed("rigs", "Rules for rigs", s.rules)},
		{Pattern: "POST /rigs/rules/set/{id}/delete", Act: page.Doing(s.deleteRules, "/rigs/rules?undo={id}")},
		{Pattern: "POST /rigs/rules/set/{id}/restore", Act: page.Doing(s.restoreRules, "/rigs/rules?done=rules-restored")},
	}, s.ruleSet().Routes("/rigs/rules/new", "/rigs/rules/set/{id}"))
}
