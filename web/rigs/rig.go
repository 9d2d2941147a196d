package rigs

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"rigtally/internal/table"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

const recentSessions = 5

type rigPage struct {
	page.Frame
	ID        string
	Version   int
	Latest    string // address of the latest revision, "" when this is it
	Facts     page.Facts
	Notes     string
	Flies     []string // names of the columns
	Tied      []tiedRow
	Seen      seenPart
	Fished    string
	CanDelete bool
	Revisions []revisionRow
	Did       *didPart
	Sessions  []page.Row
}

// tiedRow is one thing noted of the flies: a cell for each of them.
type tiedRow struct {
	Name  string
	Cells []string
}

// revisionRow says what a revision changed.
type revisionRow struct {
	Href, Title, Fished string
	Current             bool
	Changes             []string
	Did                 []table.Stacked // as the outcomes of didPart, nil when it was not fished
}

// rig shows how a rig is tied, what became of it and how long it was fished.
func (s *pages) rig(w http.ResponseWriter, r *http.Request, fr page.Frame, rig journal.Rig) error {
	list, err := s.Store.Rigs(r.Context())
	if err != nil {
		return err
	}
	lines, _, err := s.Store.SessionLines(r.Context(), journal.SessionFilter{Rig: &rig.ID, Limit: recentSessions})
	if err != nil {
		return err
	}
	f := form.Of(r.URL.Query(), fr.Units)
	p := rigPage{Frame: fr, ID: rig.ID.String(), Version: rig.Version, Facts: slices.DeleteFunc(rigFacts(rig, fr.Units), func(f prose.Fact) bool { return f.Value == "" }), Notes: rig.Notes, Sessions: fr.SessionRows(lines)}
	if p.Seen, err = s.seen(r.Context(), f, f, rig); err != nil {
		return err
	}
	p.Flies, p.Tied = tiedTable(rig, fr.Units)
	p.Wide = true
	for _, name := range byName(list) {
		if strings.EqualFold(name[0].Name, rig.Name) {
			if p.Did, err = s.did(r.Context(), name, fr.Units); err != nil {
				return err
			}
			p.revisions(name, rig.ID)
		}
	}
	return s.Render(w, http.StatusOK, "rig", p)
}

// revisions lists every revision of the rig's name, the latest first.
func (p *rigPage) revisions(name []journal.RigUse, id journal.ID) {
	if name[0].ID != id {
		p.Latest = "/rigs/" + name[0].ID.String()
	}
	for i, r := range name {
		row := revisionRow{Href: "/rigs/" + r.ID.String(), Title: "Revision " + strconv.Itoa(r.Revision), Fished: fishedWords(name[i : i+1]), Current: r.ID == id, Did: p.Did.of(r.Title())}
		if i+1 < len(name) {
			row.Changes = rigChanges(name[i+1].Rig, r.Rig, p.Units)
		}
		if row.Current {
			p.Fished, p.CanDelete = prose.Capital(row.Fished), r.Stints == 0
		}
		p.Revisions = append(p.Revisions, row)
	}
}
