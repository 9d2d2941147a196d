package web

import (
	"net/http"
	"strconv"
	"strings"

	"rigtally/internal/table"
	"rigtally/journal"
)

type rigPage struct {
	frame
	ID        string
	Version   int
	Latest    string // address of the latest revision, "" when this is it
	Facts     []figure
	Notes     string
	Flies     []string // names of the columns
	Tied      []tiedRow
	Seen      seenPart
	Fished    string
	CanDelete bool
	Rules     choice
	Costs     []field
	Revisions []revisionRow
	Did       *didPart
	Sessions  []sessionRow
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
func (s *Server) rig(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	rig, err := s.store.RigByID(r.Context(), id)
	if err != nil {
		return err
	}
	fr, err := s.frame(r, "rigs", rig.Title())
	if err != nil {
		return err
	}
	list, err := s.store.Rigs(r.Context())
	if err != nil {
		return err
	}
	lines, _, err := s.store.SessionLines(r.Context(), journal.SessionFilter{Rig: &id, Limit: recentSessions})
	if err != nil {
		return err
	}
	f := &form{values: r.URL.Query(), units: fr.Units}
	p := rigPage{frame: fr, ID: id.String(), Version: rig.Version, Facts: present(rigFacts(rig, fr.Units)), Notes: rig.Notes, Sessions: sessionRows(lines)}
	sets, err := s.rulesInUse(r.Context())
	if err != nil {
		return err
	}
	if p.Seen, err = s.seen(r.Context(), f, rig, sets); err != nil {
		return err
	}
	usual, err := s.usualCosts(r.Context(), rig, fr.Units)
	if err != nil {
		return err
	}
	p.Rules, p.Costs = f.chooseRules(sets), f.costFields(usual)
	p.Flies, p.Tied = tiedTable(rig, fr.Units)
	p.Wide = true
	for _, name := range byName(list) {
		if strings.EqualFold(name[0].Name, rig.Name) {
			if p.Did, err = s.did(r.Context(), name, fr.Units); err != nil {
				return err
			}
			p.revisions(name, id)
		}
	}
	return s.render(w, http.StatusOK, "rig", p)
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
			p.Fished, p.CanDelete = capital(row.Fished), r.Stints == 0
		}
		p.Revisions = append(p.Revisions, row)
	}
}

// rigDelete removes a rig that was never fished.
func (s *Server) rigDelete(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	if err := s.store.DeleteRig(r.Context(), id, seenIn(r)); err != nil {
		return err
	}
	http.Redirect(w, r, "/rigs?done=rig-deleted", http.StatusSeeOther)
	return nil
}
