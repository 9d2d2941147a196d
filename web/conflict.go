package web

import (
	"errors"
	"strconv"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// beaten notes a conflict in the form, which keeps what was typed: saved again,
// it goes in the place of what the journal holds by now. It reports whether err is one.
// differs says how that differs from what was sent.
func (f *form) beaten(err error, differs func(held any) string) bool {
	var c *journal.Conflict
	if !errors.As(err, &c) {
		return false
	}
	said := "this " + c.What + " was changed while you were changing it, so yours is not saved. "
	switch {
	case c.Deleted:
		said = "this " + c.What + " was deleted while you were changing it, so yours is not saved. Bring it back first"
	case c.Held == 0:
		said = "this " + c.What + " was deleted while you were changing it, so yours is not saved. Save it again to put it back as it stands below"
		f.set("version", "")
	default:
		said += differs(c.Stored) + " Save it again to put what stands below in its place"
		f.set("version", strconv.Itoa(c.Held))
	}
	f.faults = append(f.faults, fault{"", sentence(said)})
	return true
}

func heldRig(mine journal.Rig, sys units.System) func(any) string {
	return func(held any) string {
		rig, ok := held.(journal.Rig)
		if !ok {
			return ""
		}
		return "From yours to the journal’s: " + strings.Join(rigChanges(mine, rig, sys), "; ") + "."
	}
}

func heldClaim(held any) string {
	c, ok := held.(journal.Claim)
	if !ok {
		return ""
	}
	return "The journal’s reads “" + c.Words + "”: " + c.Outcome + ", " + string(c.Direction) + " with " + strings.Join(append(c.Level, c.Factor), ", ") + "."
}

func heldPull(sys units.System) func(any) string {
	return func(held any) string {
		p, ok := held.(journal.BenchPull)
		if !ok {
			return ""
		}
		return "The journal’s is " + prose.PullKnot(p) + ", " + units.FormatForce(p.ForceN, sys) + ", " + prose.PullEnded(p.Ending, p.BrokeAt) + "."
	}
}
