package web

import (
	"html/template"
	"net/http"
	"strconv"
	"strings"

	"rigtally/drawing"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

type rigsPage struct {
	frame
	Rigs []rigRow
}

// rigRow is a rig of the list, with a small drawing.
type rigRow struct {
	sessionRow
	Strip template.HTML
	Copy  string
}

// rigs lists the latest revision of every rig, the last fished first.
func (s *Server) rigs(w http.ResponseWriter, r *http.Request) error {
	fr, err := s.frame(r, "rigs", "Rigs")
	if err != nil {
		return err
	}
	list, err := s.store.Rigs(r.Context())
	if err != nil {
		return err
	}
	p := rigsPage{frame: fr}
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
			sessionRow: sessionRow{at, latest.Title(), strings.Join(tied, "; ") + " · " + fishedWords(name)},
			Strip:      svg(drawing.Strip(latest.Rig, drawing.Options{Units: fr.Units, ID: "rig-" + strconv.Itoa(len(p.Rigs))}, true)),
			Copy:       at + "/copy",
		})
	}
	return s.render(w, http.StatusOK, "rigs", p)
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

// rigsRoutes are the addresses of these pages.
func (s *Server) rigsRoutes() []route {
	return []route{
		{pattern: "GET /rigs", act: s.rigs},
		{pattern: "POST /rigs/draw", act: s.rigDraw},
		{pattern: "GET /rigs/new", act: s.rigNew},
		{pattern: "POST /rigs/new", act: s.rigCreate},
		{pattern: "GET /rigs/{id}", act: s.rig},
		{pattern: "GET /rigs/{id}/copy", act: s.rigCopy},
		{pattern: "GET /rigs/{id}/edit", act: s.rigEdit},
		{pattern: "POST /rigs/{id}/edit", act: s.rigSave},
		{pattern: "POST /rigs/{id}/delete", act: doing(s.store.DeleteRig, "/rigs?done=rig-deleted")},
		{pattern: "GET /rigs/rules", act: s.rules},
		{pattern: "GET /rigs/rules/new", act: s.rulesNew},
		{pattern: "GET /rigs/rules/set/{id}", act: s.rulesEdit},
		{pattern: "POST /rigs/rules/set/{id}", act: s.rulesSave},
		{pattern: "POST /rigs/rules/set/{id}/delete", act: doing(s.deleteRules, "/rigs/rules?undo={id}")},
		{pattern: "POST /rigs/rules/set/{id}/restore", act: doing(s.restoreRules, "/rigs/rules?done=rules-restored")},
	}
}
