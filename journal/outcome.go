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
	// Needs are the kinds of which count must have been kept for a stint to be used: of
	// what is counted and of what it is counted against.
	Needs []Kind

	terms Terms
}

// NotAllTimed and the like are said of stints that can't be used, beside those of which no count was kept.
const (
	noMinutes   = "stints with no minutes noted"
	NotAllTimed = "stints with a tangle whose minutes lost were not noted"
)

const noCount = "stints with no count kept of "

// noCountKept is said of stints of which no count of a kind was kept.
func noCountKept(k Kind) string { return noCount + k.Title() }

// Uncounted reports whether all that was left out, and something was, had no count kept.
func Uncounted(leftOut map[string]int) bool {
	for reason := range leftOut {
		if !strings.HasPrefix(reason, noCount) {
			return false
		}
	}
	return len(leftOut) > 0
}

// Hourly reports whether the outcome is counted against hours fished.
func (o Outcome) Hourly() bool { return o.terms.Over == nil }

// refused says why stints of this record can't be used for the outcome, "" when they can.
func (o Outcome) refused(r Recorded) string {
	for _, k := range o.Needs {
		if !r.Has(k) {
			return noCountKept(k)
		}
	}
	return ""
}

// Usable says of which counts a stint can't be used, "" when it can. Hours is
// NaN where they were not noted.
func (o Outcome) Usable(r Recorded, hours, untimed float64) string {
	why := o.refused(r)
	switch {
	case why != "":
		return why
	case o.Hourly() && hours != hours:
		return noMinutes
	case o.terms.Timed && untimed > 0:
		return NotAllTimed
	}
	return ""
}

// of returns what counts come to, and what they are counted against but for hours.
func (o Outcome) of(c Counts) (events, over float64) {
	for _, n := range o.terms.Events {
		events += c[n]
	}
	for _, n := range o.terms.Over {
		over += c[n]
	}
	for _, n := range o.terms.Less {
		over -= c[n]
	}
	return events, over
}

// Terms are the counts that an outcome adds up.
type Terms struct {
	Events []Count
	Over   []Count // as the exposure; nil for hours
	Less   []Count // taken off that
	Untold []Count // events without the detail that the outcome goes by
	OnTag  bool    // belongs to a dropper, never to the point fly
	Timed  bool    // counts only where every tangle's lost minutes were noted
}

// Terms says which counts the outcome adds up.
func (o Outcome) Terms() Terms { return o.terms }

// MoreIsBetter reports whether one wants more of an outcome.
func (o Outcome) MoreIsBetter() bool { return o.Key == "hookups" || o.Key == "landed" }

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

// Outcomes lists every outcome a question can ask for.
func Outcomes() []Outcome {
	list := []Outcome{
		{Key: "tangles", Title: "Tangles",
			terms: Terms{Events: []Count{CountTangles}, OnTag: true}, Needs: []Kind{KindTangles}},
		{Key: "twists", Title: "Twists",
			terms: Terms{Events: []Count{CountTwists}, Untold: []Count{CountKindUntold}, OnTag: true}, Needs: []Kind{KindTangles, KindTangleKind}},
		{Key: "turns", Title: "Turns around the line", Events: "turns", Exposure: "checks",
			terms: Terms{Events: []Count{CountTurns}, Over: []Count{CountChecks}, OnTag: true}, Needs: []Kind{KindTurns}},
		{Key: "foul-hook", Title: "Foul hookups", Measure: ShareOf, Events: "foul hookups", Exposure: "hookups",
			terms: Terms{Events: []Count{CountFoul}, Over: []Count{CountHookups}, Untold: []Count{CountHookingUntold}}, Needs: []Kind{KindHookups, KindHooking}},
		{Key: "loss", Title: "Fair hookups lost", Measure: ShareOf, Events: "lost fish", Exposure: "fair hookups",
			terms: Terms{Events: []Count{CountFairLost}, Over: []Count{CountHookups}, Less: []Count{CountFoul}, Untold: []Count{CountHookingUntold}}, Needs: []Kind{KindHookups, KindLost}},
		{Key: "break-off", Title: "Fish broken off", Measure: ShareOf, Events: "break-offs", Exposure: "hookups",
			terms: Terms{Events: []Count{CountBrokeOff}, Over: []Count{CountHookups}}, Needs: []Kind{KindHookups, KindBrokeOff}},
		{Key: "junction-break", Title: "Junction breaks", Measure: ShareOf, Events: "junction breaks", Exposure: "loads",
			terms: Terms{Events: []Count{CountBrokeJunction, CountBrokeTag}, Over: []Count{CountLoads}, Untold: []Count{CountPlaceUntold}, OnTag: true}, Needs: []Kind{KindHookups, KindSnags, KindBreakPlace}},
		{Key: "hookups", Title: "Hookups",
			terms: Terms{Events: []Count{CountHookups}}, Needs: []Kind{KindHookups}},
		{Key: "landed", Title: "Fish landed", Events: "fish landed",
			terms: Terms{Events: []Count{CountLanded}}, Needs: []Kind{KindLanded}},
		{Key: "downtime", Title: "Minutes lost", Measure: AmountPer, Events: "minutes",
			terms: Terms{Events: []Count{CountMinutesLost}, OnTag: true, Timed: true}, Needs: []Kind{KindMinutesLost}},
	}
	for i := range list {
		o := &list[i]
		if o.Events == "" {
			o.Events = o.Key
		}
		if o.Exposure == "" {
			o.Exposure = "hours"
		}
	}
	return list
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
