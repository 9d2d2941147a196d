package exchange

import (
	"slices"
	"strings"

	"rigtally/journal"
)

// present puts what the backup names into the words of the journal, which may have renamed and merged things since the
// backup was made: then the same sessions are known as the same.
func (m *merge) present(held journal.Contents) {
	c, of := &m.backup.contents, map[journal.ID]journal.ID{}
	for _, a := range held.Aliases {
		if a.Was != nil && a.Of != nil {
			of[*a.Was] = *a.Of
		}
	}
	to := func(id journal.ID) journal.ID {
		if now, merged := of[id]; merged {
			return now
		}
		return id
	}
	merged := func(id journal.ID) bool { return to(id) != id }
	c.Anglers = slices.DeleteFunc(c.Anglers, func(a journal.Angler) bool { return merged(a.ID) })
	c.Waters = slices.DeleteFunc(c.Waters, func(w journal.Water) bool { return merged(w.ID) })
	c.Rigs = slices.DeleteFunc(c.Rigs, func(r journal.Rig) bool { return merged(r.ID) })
	for i := range c.Sessions {
		c.Sessions[i] = c.Sessions[i].Refer(of)
	}
	for i := range c.Deleted {
		c.Deleted[i].Session = c.Deleted[i].Session.Refer(of)
	}
	maybe := func(id **journal.ID) {
		if *id != nil {
			*id = new(to(**id))
		}
	}
	for i := range c.Pulls {
		maybe(&c.Pulls[i].AnglerID)
	}
	for i := range c.Trials {
		for j := range c.Trials[i].Arms {
			maybe(&c.Trials[i].Arms[j].RigID)
		}
	}
	for i := range c.Aliases {
		maybe(&c.Aliases[i].Of)
	}
	if c.Usual != nil {
		c.Usual.RigID = to(c.Usual.RigID)
	}
	renamed(c, held)
}

// renamed gives things of the backup the names that they have by now.
func renamed(c *journal.Contents, held journal.Contents) {
	now := map[journal.ID]string{}
	for _, a := range held.Anglers {
		now[a.ID] = a.Name
	}
	for _, w := range held.Waters {
		now[w.ID] = w.Name
		for _, b := range w.Beats {
			now[b.ID] = b.Name
		}
	}
	for _, r := range held.Rigs {
		now[r.ID] = r.Name
	}
	type called struct{ now, before string }
	former, knots := map[called]bool{}, map[string]string{}
	for _, a := range held.Aliases {
		if a.Of != nil {
			former[called{now[*a.Of], strings.ToLower(a.Name)}] = true
		} else {
			knots[strings.ToLower(a.Name)] = a.Knot
		}
	}
	rename := func(id journal.ID, name *string) {
		if is, there := now[id]; there && former[called{is, strings.ToLower(*name)}] {
			*name = is
		}
	}
	knot := func(junction *journal.Junction, name *string) {
		if is, ok := knots[strings.ToLower(*name)]; ok && *junction == journal.JunctionOther {
			*junction, *name = journal.KnotNamed(is)
		}
	}
	for i := range c.Anglers {
		rename(c.Anglers[i].ID, &c.Anglers[i].Name)
	}
	for i := range c.Waters {
		w := &c.Waters[i]
		rename(w.ID, &w.Name)
		for j := range w.Beats {
			rename(w.Beats[j].ID, &w.Beats[j].Name)
		}
	}
	for i := range c.Rigs {
		r := &c.Rigs[i]
		rename(r.ID, &r.Name)
		for j := range r.Positions {
			knot(&r.Positions[j].Junction, &r.Positions[j].JunctionName)
		}
	}
	for i := range c.Pulls {
		knot(&c.Pulls[i].Junction, &c.Pulls[i].JunctionName)
	}
}
