package journal

import (
	"fmt"
	"strings"
)

// Measure says what kind of number an outcome is.
type Measure int

const (
	// PerExposure counts events over hours or checks.
	PerExposure Measure = iota
	// ShareOf counts those of a number of trials that ended in some way.
	ShareOf
	// AmountPer adds up an amount, such as minutes, over hours.
	AmountPer
)

// Outcome is something that can happen to a rig, with what it is counted against.
type Outcome struct {
	Key      string  // as in commands and addresses
	Title    string  // for people
	Measure  Measure //
	Events   string  // what is counted, in the plural
	Exposure string  // what it is counted against, in the plural: hours, checks, hookups, …

	events, exposure string // SQL over the count columns, c being the row
	onTag            bool   // belongs to a dropper, never to the point fly
	usable           []usable
}

// usable is a condition for a row to be counted, and what is said of the rest.
type usable struct{ condition, otherwise string }

// counts is the SQL condition for a row to be counted at all.
func (o Outcome) counts() string {
	conditions := []string{fmt.Sprintf("(%s) > 0", o.exposure)}
	for _, u := range o.usable {
		conditions = append(conditions, u.condition)
	}
	return strings.Join(conditions, " AND ")
}

// Unit is the unit of the rate: per hour, per check, share of hookups, …
func (o Outcome) Unit() string {
	switch o.Measure {
	case ShareOf:
		return "share of " + o.Exposure
	case AmountPer:
		return o.Events + " per hour"
	}
	return "per " + strings.TrimSuffix(o.Exposure, "s")
}

var (
	withMinutes = usable{"c.seconds IS NOT NULL", "stints with no minutes noted"}
	timedOnly   = usable{"c.untimed = 0", "stints with a tangle whose minutes lost were not noted"}
)

const perHour = "c.seconds / 3600.0::float8"

// Outcomes lists every outcome a question can ask for.
func Outcomes() []Outcome {
	hours := func(key, title, events, sql string, onTag bool) Outcome {
		return Outcome{Key: key, Title: title, Measure: PerExposure, Events: events, Exposure: "hours", events: sql, exposure: perHour, onTag: onTag, usable: []usable{withMinutes}}
	}
	share := func(key, title, events, sql, of, ofSQL string, onTag bool) Outcome {
		return Outcome{Key: key, Title: title, Measure: ShareOf, Events: events, Exposure: of, events: sql, exposure: ofSQL, onTag: onTag}
	}
	downtime := hours("downtime", "Minutes lost", "minutes", "c.minutes_lost", true)
	downtime.Measure = AmountPer
	downtime.usable = append(downtime.usable, timedOnly)
	return []Outcome{
		hours("tangles", "Tangles", "tangles", "c.tangles", true),
		hours("twists", "Twists", "twists", "c.twists", true),
		{Key: "turns", Title: "Turns round the line", Measure: PerExposure, Events: "turns", Exposure: "checks", events: "c.turns", exposure: "c.checks", onTag: true},
		share("foul-hook", "Foul hookups", "foul hookups", "c.foul", "hookups", "c.hookups", false),
		share("loss", "Fair hookups lost", "lost fish", "c.fair_lost", "fair hookups", "c.hookups - c.foul", false),
		share("break-off", "Fish broken off", "break-offs", "c.broke_off", "hookups", "c.hookups", false),
		share("junction-break", "Junction breaks", "junction breaks", "c.broke_junction + c.broke_tag", "loads", "c.loads", true),
		hours("hookups", "Hookups", "hookups", "c.hookups", false),
		hours("landed", "Fish landed", "fish landed", "c.landed", false),
		downtime,
	}
}

// OutcomeByKey finds an outcome; its error lists those there are.
func OutcomeByKey(key string) (Outcome, error) {
	var keys []string
	for _, o := range Outcomes() {
		if o.Key == key {
			return o, nil
		}
		keys = append(keys, o.Key)
	}
	return Outcome{}, &Invalid{Problems: []string{fmt.Sprintf("outcome %q is not known; ask for one of: %s", key, strings.Join(keys, ", "))}}
}
