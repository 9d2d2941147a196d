package web

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
)

type rigPage struct {
	frame
	ID        string
	Latest    string // address of the latest revision, "" when this is it
	Facts     []figure
	Notes     string
	Positions []positionRow
	Drawing   *drawing
	Fished    string
	CanDelete bool
	Revisions []revisionRow
	Findings  string
	Sessions  []sessionRow
}

// positionRow is a fly of the rig: what was noted of it, by the table's columns.
type positionRow struct {
	Name  string
	Facts []figure
}

// revisionRow says what a revision changed.
type revisionRow struct {
	Href, Title, Fished string
	Current             bool
	Changes             []string
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
	p := rigPage{frame: fr, ID: id.String(), Facts: rigFacts(rig, fr.Units), Notes: rig.Notes, Drawing: drawRig(rig, fr.Units), Sessions: sessionRows(lines),
		Findings: "/findings?" + url.Values{"outcome": {"tangles"}, "where": {"rig=" + rig.Title()}}.Encode()}
	for _, q := range rig.Positions {
		p.Positions = append(p.Positions, positionRow{positionLabel(q.Position), positionFacts(q, fr.Units)})
	}
	for _, name := range byName(list) {
		if strings.EqualFold(name[0].Name, rig.Name) {
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
		row := revisionRow{Href: "/rigs/" + r.ID.String(), Title: "Revision " + strconv.Itoa(r.Revision), Fished: fishedWords(name[i : i+1]), Current: r.ID == id}
		if i+1 < len(name) {
			row.Changes = rigChanges(name[i+1].Rig, r.Rig, p.Units)
		}
		if row.Current {
			p.Fished, p.CanDelete = capital(row.Fished), r.Stints == 0
		}
		p.Revisions = append(p.Revisions, row)
	}
}

// rigFacts lists what was noted of the whole leader.
func rigFacts(rig journal.Rig, sys units.System) []figure {
	length := in(units.FormatLength, sys)
	return present(
		figure{"Method", capital(string(rig.Method))},
		figure{"Rod", shown(rig.RodLengthMM, length)},
		figure{"Leader", shown(rig.LeaderLengthMM, length)},
		figure{"Sighter", shown(rig.SighterLengthMM, length)},
		figure{"Between sighter and tippet", capital(string(rig.Swivel))},
		figure{"Tippet", shown(rig.TippetLengthMM, length)},
	)
}

// positionFacts lists what was noted of one fly and how it hangs.
func positionFacts(q journal.RigPosition, sys units.System) []figure {
	length := in(units.FormatLength, sys)
	junction := ""
	if q.Junction != "" {
		junction = capital(junctionWords(q))
	}
	hang := ""
	if q.Hang != "" {
		hang = map[journal.Hang]string{journal.HangTag: "On a tag", journal.HangEye: "In line at the eye", journal.HangBend: "In line at the bend of the fly above"}[q.Hang]
	}
	return present(
		figure{"Hang", hang},
		figure{"Junction", junction},
		figure{"Tag", shown(q.TagLengthMM, length)},
		figure{"Facing", capital(string(q.Facing))},
		figure{"Prop", capital(string(q.Prop))},
		figure{"To the next fly down", shown(q.DistanceMM, length)},
		figure{"Tippet", strings.TrimSpace(shown(q.TippetMM, units.FormatTippet) + " " + string(q.Material))},
		figure{"Fly", q.Fly},
		figure{"Hook", shown(q.HookSize, strconv.Itoa)},
		figure{"Bead", shown(q.BeadMM, func(mm float64) string { return units.FormatLength(mm, units.Metric) })},
		figure{"Bulk", capital(string(q.Bulk))},
	)
}

func present(list ...figure) []figure {
	var some []figure
	for _, f := range list {
		if f.Value != "" {
			some = append(some, f)
		}
	}
	return some
}

// rigChanges says what differs from one revision to the next.
func rigChanges(from, to journal.Rig, sys units.System) []string {
	changes := factChanges("", rigFacts(from, sys), rigFacts(to, sys))
	for position := range 10 {
		a, was := from.At(position)
		b, is := to.At(position)
		switch name := positionLabel(position); {
		case was && !is:
			changes = append(changes, name+" taken off")
		case is && !was:
			changes = append(changes, name+" added")
		case was:
			changes = append(changes, factChanges(name+": ", positionFacts(a, sys), positionFacts(b, sys))...)
		}
	}
	if from.Notes != to.Notes {
		changes = append(changes, "notes reworded")
	}
	return changes
}

func factChanges(prefix string, from, to []figure) []string {
	was := map[string]string{}
	for _, f := range from {
		was[f.Name] = f.Value
	}
	var changes []string
	for _, f := range to {
		if old := was[f.Name]; old != f.Value {
			if old == "" {
				old = "not noted"
			}
			changes = append(changes, prefix+strings.ToLower(f.Name)+" "+old+" → "+f.Value)
		}
		delete(was, f.Name)
	}
	for _, f := range from {
		if old, gone := was[f.Name]; gone {
			changes = append(changes, prefix+strings.ToLower(f.Name)+" "+old+" → not noted")
		}
	}
	return changes
}

// rigDelete removes a rig that was never fished.
func (s *Server) rigDelete(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	if err := s.store.DeleteRig(r.Context(), id); err != nil {
		return err
	}
	http.Redirect(w, r, "/rigs?done=rig-deleted", http.StatusSeeOther)
	return nil
}
