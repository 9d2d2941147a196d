package exchange

import (
	"slices"
	"strings"

	"rigtally/journal"
)

// present copies what comes and puts it into the words of the journal, which may have renamed and merged things since:
// then the same sessions are known as the same. What was merged there is in of.
func (m *Merge) present(held journal.Contents) {
	for _, a := range held.Aliases {
		if a.Was != nil && a.Of != nil {
			m.of[*a.Was] = *a.Of
		}
	}
	merged := func(id journal.ID) bool { _, is := m.of[id]; return is }
	c := &m.contents
	*c = m.given
	c.Anglers = slices.DeleteFunc(slices.Clone(c.Anglers), func(a journal.Angler) bool { return merged(a.ID) })
	c.Waters = slices.DeleteFunc(slices.Clone(c.Waters), func(w journal.Water) bool { return merged(w.ID) })
	for i := range c.Waters {
		c.Waters[i].Beats = slices.DeleteFunc(slices.Clone(c.Waters[i].Beats), func(b journal.Beat) bool { return merged(b.ID) })
	}
	c.Rigs = slices.DeleteFunc(slices.Clone(c.Rigs), func(r journal.Rig) bool { return merged(r.ID) })
	for i := range c.Rigs {
		c.Rigs[i].Positions = slices.Clone(c.Rigs[i].Positions)
	}
	c.Pulls, c.Claims = slices.Clone(c.Pulls), slices.Clone(c.Claims)
	for i := range c.Claims {
		c.Claims[i].Renew()
	}
	renamed(c, held)
}

// refer is a journal with other ids in the place of those of people, waters, beats and rigs.
func refer(c journal.Contents, of map[journal.ID]journal.ID) journal.Contents {
	maybe := func(id *journal.ID) *journal.ID {
		if id == nil {
			return nil
		}
		if now, other := of[*id]; other {
			return &now
		}
		return id
	}
	c.Sessions, c.Deleted, c.Pulls, c.Trials, c.Aliases = slices.Clone(c.Sessions), slices.Clone(c.Deleted), slices.Clone(c.Pulls), slices.Clone(c.Trials), slices.Clone(c.Aliases)
	for i := range c.Sessions {
		c.Sessions[i] = c.Sessions[i].Refer(of)
	}
	for i := range c.Deleted {
		c.Deleted[i].Session = c.Deleted[i].Session.Refer(of)
	}
	for i := range c.Pulls {
		c.Pulls[i].AnglerID = maybe(c.Pulls[i].AnglerID)
	}
	for i := range c.Trials {
		for j := range c.Trials[i].Arms {
			c.Trials[i].Arms[j].RigID = maybe(c.Trials[i].Arms[j].RigID)
		}
	}
	for i := range c.Aliases {
		c.Aliases[i].Of, c.Aliases[i].Water = maybe(c.Aliases[i].Of), maybe(c.Aliases[i].Water)
	}
	if c.Usual != nil {
		c.Usual = &journal.UsualRig{RigID: *maybe(&c.Usual.RigID), Since: c.Usual.Since}
	}
	return c
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
