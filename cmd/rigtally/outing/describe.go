package outing

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"rigtally/analytics/caution"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/field"
	"rigtally/journal/gauge"
	"rigtally/prose"
)

// Session describes a session with its stints, and what it took of gauges, in a person's units.
func Session(s journal.Session, fills []gauge.Fill, n Known, sys units.System) (string, error) {
	var b strings.Builder
	where := n.Waters[s.WaterID].Name
	if s.BeatID != nil {
		where += ", " + n.beat(s.WaterID, *s.BeatID)
	}
	fmt.Fprintf(&b, "%s  %s on %s", s.Day.In(time.UTC).Format("Monday 2006-01-02"), n.Anglers[s.AnglerID].Name, where)
	if s.GuideID != nil {
		fmt.Fprintf(&b, ", guided by %s", n.Anglers[*s.GuideID].Name)
	}
	b.WriteString("\n")
	if c := conditions(s, sys); len(c) > 0 {
		fmt.Fprintf(&b, "  %s\n", strings.Join(c, ", "))
	}
	for i, st := range s.Stints {
		line, err := stintText(st, n.Rigs[st.RigID], sys)
		if err != nil {
			return "", err
		}
		fmt.Fprintf(&b, "  stint %d  %s\n", i+1, line)
	}
	if s.Notes != "" {
		fmt.Fprintf(&b, "  %s\n", s.Notes)
	}
	in, err := time.LoadLocation(s.TimeZone)
	if err != nil {
		in = time.UTC
	}
	for i, f := range fills {
		if i == 0 {
			fmt.Fprintf(&b, "  By the gauge. %s\n", prose.NotWhereYouStand)
		}
		fmt.Fprintf(&b, "    %s\n", prose.FillSentence(f, in, sys))
	}
	for _, c := range caution.Of(s, fills) {
		text := prose.CautionText(c.Kind, c.Level, sys)
		if from := prose.CautionFrom(c, in); from != "" {
			text = from + " " + text
		}
		fmt.Fprintf(&b, "  Caution: %s. %s\n", prose.CautionTitle(c, sys), text)
	}
	return b.String(), nil
}

func conditions(s journal.Session, sys units.System) []string {
	list := field.Tell(journal.SessionFields(), &s, sys, "flow", "stage")
	if clock := prose.Clock(s); clock != "" {
		list = slices.Insert(list, 0, clock)
	}
	return list
}

func stintText(st journal.Stint, rig journal.Rig, sys units.System) (string, error) {
	tally, err := journal.TallyStint(rig, st)
	if err != nil {
		return "", err
	}
	parts := []string{rig.Title()}
	if st.Minutes != nil {
		parts = append(parts, units.FormatDuration(*st.Minutes))
	}
	parts = append(parts, field.Tell(journal.StintFields(), &st, sys)...)
	for _, p := range st.Positions {
		if p.TagStartMM != nil {
			parts = append(parts, "tag "+units.FormatLength(*p.TagStartMM, sys)+" at the start")
		}
		if p.TagEndMM != nil {
			parts = append(parts, "tag "+units.FormatLength(*p.TagEndMM, sys)+" at the end")
		}
	}
	parts = append(parts, tallyText(tally.Stint, st.Recorded)...)
	if st.Notes != "" {
		parts = append(parts, st.Notes)
	}
	return strings.Join(parts, "; "), nil
}

// tallyText lists what happened, each with its number, and of what no count was kept.
func tallyText(c journal.Counts, r journal.Recorded) []string {
	var parts []string
	for _, n := range []struct {
		count     journal.Count
		one, many string
	}{
		{journal.CountHookups, "hookup", "hookups"},
		{journal.CountFoul, "foul", "foul"},
		{journal.CountLanded, "landed", "landed"},
		{journal.CountLost, "lost", "lost"},
		{journal.CountBrokeOff, "broken off", "broken off"},
		{journal.CountSnags, "snag", "snags"},
		{journal.CountTangles, "tangle", "tangles"},
		{journal.CountMinutesLost, "minute lost", "minutes lost"},
		{journal.CountFlyChanges, "fly change", "fly changes"},
		{journal.CountReties, "re-tie", "re-ties"},
		{journal.CountChecks, "check", "checks"},
	} {
		var total journal.Total
		total.Add(c.Int(n.count), r.Has(n.count.Kinds()...))
		if total.N > 0 {
			parts = append(parts, prose.Total(total, n.one, n.many))
		}
	}
	if c.Int(journal.CountChecks) > 0 {
		parts = append(parts, fmt.Sprintf("turns seen: %d", c.Int(journal.CountTurns)))
	}
	missing := prose.NoCount(r)
	switch {
	case missing != "":
		parts = append(parts, missing)
	case len(parts) == 0:
		return []string{"nothing counted"}
	}
	return parts
}

// Rig describes how a rig is tied, a line for each fly.
func Rig(r journal.Rig, sys units.System) string {
	if r.Swivel == "none" {
		r.Swivel = ""
	}
	parts := field.Tell(journal.RigFields(), &r, sys, "method", "swivel")
	var b strings.Builder
	fmt.Fprintf(&b, "%s  %s\n", r.Title(), strings.Join(parts, ", "))
	for _, p := range slices.Backward(r.Positions) {
		fmt.Fprintf(&b, "  %-13s  %s\n", journal.PositionTitle(p.Position), flyText(p, sys))
	}
	return strings.ReplaceAll(b.String(), "  \n", "\n")
}

func flyText(p journal.RigPosition, sys units.System) string {
	if p.Hang == journal.HangTag {
		p.Hang = ""
	}
	if p.Prop == "none" {
		p.Prop = ""
	}
	p.Junction = journal.Junction(p.JunctionWord())
	parts := field.Tell(journal.FlyFields(), &p, sys, "hang", "junction", "tag_length", "facing", "prop", "tippet", "material", "fly", "hook_size", "bead", "bulk")
	if len(parts) == 0 {
		return "nothing noted"
	}
	return strings.Join(parts, ", ")
}
