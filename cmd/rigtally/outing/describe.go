package outing

import (
	"fmt"
	"strings"
	"time"

	"rigtally/analytics/caution"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// Session describes a session with its stints, in a person's units.
func Session(s journal.Session, n Known, sys units.System) (string, error) {
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
	for _, c := range caution.Of(s) {
		fmt.Fprintf(&b, "  Caution: %s. %s\n", prose.CautionTitle(c, sys), prose.CautionText(c.Kind, c.Level, sys))
	}
	return b.String(), nil
}

func conditions(s journal.Session, sys units.System) []string {
	var list []string
	if loc, err := time.LoadLocation(s.TimeZone); err == nil && s.Start != nil {
		clock := s.Start.In(loc).Format("15:04")
		if s.End != nil {
			clock += "–" + s.End.In(loc).Format("15:04")
		}
		list = append(list, clock)
	}
	if s.FlowM3S != nil {
		list = append(list, "flow "+units.FormatFlow(*s.FlowM3S, sys))
	}
	if s.StageM != nil {
		list = append(list, "stage "+units.FormatDepth(*s.StageM, sys))
	}
	if s.WaterTempC != nil {
		list = append(list, "water "+units.FormatTemperature(*s.WaterTempC, sys))
	}
	if s.DepthM != nil {
		list = append(list, "depth "+units.FormatDepth(*s.DepthM, sys))
	}
	if s.VelocityMS != nil {
		list = append(list, "water running "+units.FormatSpeed(*s.VelocityMS, sys))
	}
	if s.Storm {
		list = append(list, "storm")
	}
	for _, c := range []struct{ what, value string }{{"water", string(s.Clarity)}, {"wind", string(s.Wind)}, {"light", string(s.Light)}} {
		if c.value != "" {
			list = append(list, c.value+" "+c.what)
		}
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
	if st.Stroke != "" {
		parts = append(parts, string(st.Stroke)+" stroke")
	}
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
	var b strings.Builder
	parts := []string{}
	if r.Method != "" {
		parts = append(parts, string(r.Method))
	}
	if r.Swivel != "" && r.Swivel != "none" {
		parts = append(parts, "with a "+string(r.Swivel))
	}
	for _, l := range []struct {
		what string
		mm   *float64
	}{{"rod", r.RodLengthMM}, {"leader", r.LeaderLengthMM}, {"sighter", r.SighterLengthMM}, {"tippet", r.TippetLengthMM}} {
		if l.mm != nil {
			parts = append(parts, l.what+" "+units.FormatLength(*l.mm, sys))
		}
	}
	fmt.Fprintf(&b, "%s  %s\n", r.Title(), strings.Join(parts, ", "))
	for i := len(r.Positions) - 1; i >= 0; i-- {
		fmt.Fprintf(&b, "  %-13s  %s\n", journal.PositionTitle(r.Positions[i].Position), flyText(r.Positions[i], sys))
	}
	return strings.ReplaceAll(b.String(), "  \n", "\n")
}

func flyText(p journal.RigPosition, sys units.System) string {
	var parts []string
	add := func(text, before string) {
		if text != "" {
			parts = append(parts, before+text)
		}
	}
	measure := func(mm *float64, format func(float64) string, before string) {
		if mm != nil {
			parts = append(parts, before+format(*mm))
		}
	}
	length := func(mm float64) string { return units.FormatLength(mm, sys) }
	if p.Junction == journal.JunctionOther {
		add(p.JunctionName, "")
	} else {
		add(string(p.Junction), "")
	}
	if p.Hang != journal.HangTag {
		add(string(p.Hang), "in line at the ")
	}
	measure(p.TagLengthMM, length, "tag ")
	add(string(p.Facing), "facing ")
	if p.Prop != "none" {
		add(string(p.Prop), "propped by a ")
	}
	measure(p.TippetMM, units.FormatTippet, "")
	add(string(p.Material), "")
	add(p.Fly, "")
	if p.HookSize != nil {
		parts = append(parts, fmt.Sprintf("hook %d", *p.HookSize))
	}
	measure(p.BeadMM, length, "bead ")
	add(string(p.Bulk), "")
	measure(p.DistanceMM, length, "above the next by ")
	if len(parts) == 0 {
		return "nothing noted"
	}
	return strings.Join(parts, ", ")
}
