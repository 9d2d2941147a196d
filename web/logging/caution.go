package logging

import (
	"strconv"

	"rigtally/analytics/caution"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// cautionView is a caution as the template "cautions" shows it.
type cautionView struct {
	Kind, Level         string
	Title, Text, Source string
}

// cautionsOf returns the cautions that a session's conditions call for.
func cautionsOf(s journal.Session, sys units.System) []cautionView {
	var list []cautionView
	for _, c := range caution.Of(s) {
		list = append(list, cautionView{string(c.Kind), string(c.Level), prose.CautionTitle(c, sys), prose.CautionText(c.Kind, c.Level, sys), prose.CautionSource(c.Kind)})
	}
	return list
}

// cautionLimits is what a page needs to show cautions by itself, before anything
// is sent: the template "caution-limits" with static/caution.js.
type cautionLimits struct {
	WarmCareC, WarmStopC, WadingCareM2S, WadingStopM2S string
	Each                                               []cautionView
}

// newCautionLimits gives every caution in words, without what is measured.
func newCautionLimits(sys units.System) cautionLimits {
	number := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	l := cautionLimits{WarmCareC: number(caution.WarmCareC), WarmStopC: number(caution.WarmStopC),
		WadingCareM2S: number(caution.WadingCareM2S), WadingStopM2S: number(caution.WadingStopM2S)}
	for _, kind := range []caution.Kind{caution.Lightning, caution.Wading, caution.WarmWater} {
		for _, level := range []caution.Level{caution.Care, caution.Stop} {
			if kind == caution.Lightning && level == caution.Care {
				continue
			}
			l.Each = append(l.Each, cautionView{string(kind), string(level), prose.CautionHeading(kind, level), prose.CautionText(kind, level, sys), prose.CautionSource(kind)})
		}
	}
	return l
}
