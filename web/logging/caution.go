package logging

import (
	"time"

	"rigtally/analytics/caution"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/prose"
)

// cautionView is a caution as the template "cautions" shows it.
type cautionView struct {
	Kind, Level         string
	Title, Text, Source string
}

// Icon is the drawing beside the caution.
func (c cautionView) Icon() string {
	if kind := caution.Kind(c.Kind); kind == caution.RisingWater || kind == caution.HighWater {
		return string(caution.Wading)
	}
	return c.Kind
}

// cautionsOf returns the cautions that a session's conditions call for, and what it took of gauges.
func cautionsOf(s journal.Session, fills []gauge.Fill, sys units.System) []cautionView {
	in, err := time.LoadLocation(s.TimeZone)
	if err != nil {
		in = time.UTC
	}
	return cautionViews(caution.Of(s, fills), in, sys)
}

// cautionViews are cautions as a page shows them, with times where the water is.
func cautionViews(list []caution.Caution, in *time.Location, sys units.System) []cautionView {
	var views []cautionView
	for _, c := range list {
		text := prose.CautionText(c.Kind, c.Level, sys)
		if from := prose.CautionFrom(c, in); from != "" {
			text = from + " " + text
		}
		views = append(views, cautionView{string(c.Kind), string(c.Level), prose.CautionTitle(c, sys), text, prose.CautionSource(c.Kind)})
	}
	return views
}

// cautionLimits is what a page or a phone needs to show cautions by itself, before anything
// is sent: the cautions in words, and where they begin, in storage units.
type cautionLimits struct {
	WarmCareC     float64       `json:"warm_care_c"`
	WarmStopC     float64       `json:"warm_stop_c"`
	WadingCareM2S float64       `json:"wading_care_m2s"`
	WadingStopM2S float64       `json:"wading_stop_m2s"`
	Each          []cautionView `json:"each"`
}

// newCautionLimits gives every caution in words, without what is measured.
func newCautionLimits(sys units.System) cautionLimits {
	l := cautionLimits{caution.WarmCareC, caution.WarmStopC, caution.WadingCareM2S, caution.WadingStopM2S, nil}
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
