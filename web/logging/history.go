package logging

import (
	"slices"
	"strings"
	"time"

	"rigtally/journal"
)

// historyLine is something that was done to a session, in words.
type historyLine struct{ When, Says string }

// deedWords say what was done, before by whom.
var deedWords = map[journal.Deed]string{
	journal.DeedLogged: "Logged by ", journal.DeedChanged: "Changed by ", journal.DeedDeleted: "Deleted by ",
	journal.DeedRestored: "Brought back by ", journal.DeedImported: "Came in with a file, by ",
	journal.DeedMerged: "Names what it named by a former name, merged by ", journal.DeedUndone: "Put back as it was by ",
}

// historyLines are a session's history in words, the latest first, in its own time zone.
func historyLines(list []journal.Change, zone string, me journal.Who) (lines []historyLine) {
	loc, err := time.LoadLocation(zone)
	if err != nil {
		loc = time.UTC
	}
	for _, c := range list {
		says := deedWords[c.What] + writer(c, me)
		if what := journal.ChangeWords(c.Fields); len(what) > 0 {
			says += ": " + strings.Join(what, ", ")
		}
		lines = append(lines, historyLine{c.At.In(loc).Format("2 January 2006 15:04"), says})
	}
	return lines
}

// loggedBy says who brought a session into the journal, "" where no account was kept.
func loggedBy(list []journal.Change, me journal.Who) string {
	for _, c := range slices.Backward(list) {
		if c.What == journal.DeedLogged || c.What == journal.DeedImported {
			return writer(c, me)
		}
	}
	return ""
}

// writer names who did something to a session. A client learns others by what they are alone.
func writer(c journal.Change, me journal.Who) string {
	switch {
	case c.Person != nil && me.Person != nil && *c.Person == *me.Person:
		return "you"
	case c.Name != "":
		return c.Name
	case c.Role == journal.RoleClient:
		return "a former client"
	case me.IsClient() || c.Person == nil:
		return "the " + string(c.Role)
	}
	return "a former " + string(c.Role)
}
