package review

import (
	"fmt"
	"slices"
	"strings"

	"rigtally/analytics/season"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// Advice is a change of rig or of casting that the journal speaks for.
type Advice struct {
	Part       string // of the rig, the key of a factor
	Change     string // "shorter tags, 7 in instead of 8 in"
	Says       []string
	Sure       prose.Sureness
	Was, Could *journal.Rig // nil where a rig does not show it
	WasSaid    string       // what is under the drawings
	CouldSaid  string
	Basis      string // for the record
}

// mostAdvice is how much anybody takes in.
const mostAdvice = 3

// The lengths that a tag is not shortened or lengthened beyond, in mm: common practice, no source.
const (
	leastTag = 100
	mostTag  = 300
)

// advise lists the changes that are open to whoever is reviewed: what their own sessions settle, what the outfit's
// do, then the best bets of their own. Of each part of the rig there is one.
func (w reviewer) advise() []Advice {
	var list []Advice
	var parts []string
	take := func(f season.Finding, make func(season.Finding) (Advice, bool)) {
		if len(list) == mostAdvice || condition(f.Factor) || slices.Contains(parts, f.Factor.Key) {
			return
		}
		if a, ok := make(f); ok {
			a.Part = f.Factor.Key
			parts, list = append(parts, f.Factor.Key), append(list, a)
		}
	}
	for i, e := range w.a.Evidence {
		for _, f := range e.Findings {
			if e.Tag != nil && f.Factor.Key == "tag-length" && costsMinutes(f.Outcome) {
				if !slices.Contains(parts, f.Factor.Key) {
					parts = append(parts, f.Factor.Key) // one answer on it, whatever else was found
					if a, ok := w.tag(i, f); ok && len(list) < mostAdvice {
						a.Part = f.Factor.Key
						list = append(list, a)
					}
				}
				continue
			}
			take(f, func(f season.Finding) (Advice, bool) { return w.settled(i, f) })
		}
	}
	own := w.own()
	for i, c := range own.Choices {
		b, sure := c.Bet, prose.RateSure(c)
		if b == nil || sure != prose.BestBet && sure != prose.Settled {
			continue
		}
		option, other := c.Groups[b.Option], c.Groups[b.Against]
		f := season.Finding{Claim: -1, Choice: i, Outcome: c.Outcome, Factor: c.By[0].Factor, Level: []string{option.Level[0].Word}, Versus: []string{other.Level[0].Word}, Ratio: 0.5, Hours: option.Hours + other.Hours}
		if c.Outcome.MoreIsBetter() {
			f.Ratio = 2 // of which nothing is told but the side
		}
		take(f, func(f season.Finding) (Advice, bool) { return w.bet(f, b.Chance, sure == prose.Settled) })
	}
	return list
}

// settled words a finding of a part of the evidence.
func (w reviewer) settled(part int, f season.Finding) (Advice, bool) {
	e := w.a.Evidence[part]
	a, ok := w.change(f)
	if !ok {
		return a, false
	}
	ratio := f.Ratio
	if !f.LevelIsBetter() {
		ratio = 1 / ratio
	}
	text := prose.Plainly(f.Outcome, ratio)
	if now := w.rateNow(part, f); now > 0 {
		text += ": " + prose.Instead(f.Outcome, now*ratio, now)
	}
	a.Sure, a.Says, a.Basis = prose.VerdictSure(f.Verdict, 0), []string{prose.Capital(text) + ".", w.rests(part)}, prose.Capital(w.finding(e, f))
	if f.Factor.Key == "tag-length" && e.Tag != nil { // and is about fish
		a.Says[1] += fmt.Sprintf(" For the fewest minutes lost: %s.", prose.Rough(e.Tag.Points[e.Tag.Best].LengthMM, w.sys))
	}
	return a, true
}

// rests says whose sessions an advice rests on.
func (w reviewer) rests(part int) string {
	n := prose.Several(w.a.Evidence[part].Sessions, "session")
	if part > 0 {
		return fmt.Sprintf("In all the outfit’s %s, compared like for like; %s alone are too few to tell.", n, possessive(w.who()))
	}
	return fmt.Sprintf("In %s, compared like for like.", n)
}

// costsMinutes reports whether an outcome is about minutes, which the length of the tag is weighed by, and not about fish.
func costsMinutes(o journal.Outcome) bool {
	return slices.Contains([]string{"tangles", "twists", "turns", "downtime", "junction-break"}, o.Key)
}

// tag words the length of the tag as its card does, by the minutes lost, for the first rig of the season that is worse; not ok
// where there is none.
func (w reviewer) tag(part int, f season.Finding) (a Advice, ok bool) {
	e := w.a.Evidence[part]
	best := e.Tag.Points[e.Tag.Best]
	for _, r := range w.a.Rigs.List {
		could := r.Rig
		could.Positions = slices.Clone(could.Positions)
		for i := range could.Positions {
			p := &could.Positions[i]
			if p.Position == 0 || p.Hang != journal.HangTag || p.TagLengthMM == nil {
				continue
			}
			sure, now := prose.TagSure(*e.Tag, *p.TagLengthMM), prose.TagPoint(*e.Tag, *p.TagLengthMM)
			if sure != prose.Settled && sure != prose.BestBet || !(best.Loss < now.Loss) {
				continue
			}
			if !ok {
				side := "longer"
				if best.LengthMM < *p.TagLengthMM {
					side = "shorter"
				}
				a.Sure, a.WasSaid, a.CouldSaid = sure, units.FormatLength(*p.TagLengthMM, w.sys), prose.Rough(best.LengthMM, w.sys)
				a.Change = fmt.Sprintf("%s tags, %s instead of %s", side, a.CouldSaid, a.WasSaid)
				lost, _ := journal.OutcomeByKey("downtime") // which there is
				a.Says = []string{prose.Capital(prose.Plainly(lost, best.Loss/now.Loss)) + ": " + prose.Instead(lost, best.Loss, now.Loss) + ".",
					"To tangles, breaks and re-ties. " + w.rests(part)}
				if sure == prose.BestBet {
					a.Says[0] = fmt.Sprintf("%s to lose fewer minutes: %s.", prose.Likely(*now.Worse), prose.Instead(lost, best.Loss, now.Loss))
				}
				a.Basis = prose.Capital(w.finding(e, f)) + fmt.Sprintf(" Breaks and re-ties counted too, a tag of %s is %s better than one of %s.", a.CouldSaid, prose.Likely(*now.Worse), a.WasSaid)
				ok = true
			}
			p.TagLengthMM = new(best.LengthMM)
		}
		if ok {
			a.Was, a.Could = &r.Rig, &could
			return a, true
		}
	}
	return a, false
}

// tagsAlike says within which lengths of the tag it makes no difference that matters, where no other is advised and the
// card does not choose between two of these.
func (w reviewer) tagsAlike(advice []Advice) []string {
	if slices.ContainsFunc(advice, func(a Advice) bool { return a.Part == "tag-length" }) {
		return nil
	}
	for _, e := range w.a.Evidence {
		if e.Tag == nil {
			continue
		}
		if b := e.Tag.Bet; b != nil && b.Against >= e.Tag.From && b.Against <= e.Tag.To && prose.TagSure(*e.Tag, b.Against) != prose.NoMatter {
			return nil
		}
		text := "tags of " + prose.TagRange(*e.Tag, w.sys) + " (minutes lost"
		if slices.ContainsFunc(e.Findings, func(f season.Finding) bool { return f.Outcome.Key == "tangles" && Change(f) == "shorter tags" }) {
			text += ": shorter ones tangle less, but are tied again sooner"
		}
		return []string{text + ")"}
	}
	return nil
}

// bet words a choice that is not settled among all that the review asks; alone says that it is by itself.
func (w reviewer) bet(f season.Finding, chance float64, alone bool) (Advice, bool) {
	a, ok := w.change(f)
	if !ok {
		return a, false
	}
	side := "fewer"
	if f.Outcome.MoreIsBetter() {
		side = "more"
	}
	a.Sure = prose.BestBet
	a.Says = []string{fmt.Sprintf("%s to bring %s %s.", prose.Likely(chance), side, prose.Counted(f.Outcome)), "A choice until more is fished, and it may turn out wrong."}
	if alone {
		a.Says[1] = fmt.Sprintf("Settled when asked alone; among the %d questions of this review it may be luck.", w.a.Asked)
	}
	a.Basis = fmt.Sprintf("%s: %s over %s, %s better (posterior chance; %s).", prose.Measure(f.Outcome), f.Level[0], f.Versus[0], prose.Likely(chance), prose.FishedHours(f.Hours))
	return a, true
}

// rateNow is how often it happened with what is to be changed, in their own sessions where any are there; 0 when
// nothing tells.
func (w reviewer) rateNow(part int, f season.Finding) float64 {
	for _, e := range w.a.Evidence[:part+1] {
		if rate := worseRate(e, f); rate > 0 {
			return rate
		}
	}
	return 0
}

// worseRate is the rate, as fished, of the side of a finding that is worse, or of all where it is about a number.
func worseRate(e season.Evidence, f season.Finding) float64 {
	if f.Claim >= 0 && f.Claim < len(e.Claims.Claims) {
		c := e.Claims.Claims[f.Claim]
		side := c.Versus
		switch {
		case f.Step != 0:
			side = c.Total
		case !f.LevelIsBetter():
			side = c.Level
		}
		if side.Exposure > 0 {
			return side.Events / side.Exposure
		}
		return 0
	}
	_, bad := sides(f)
	if f.Choice < len(e.Choices) {
		for _, g := range e.Choices[f.Choice].Groups {
			if slices.Contains(bad, g.Level[0].Word) {
				return g.Rate
			}
		}
	}
	return 0
}

// sides are the better and the worse words of a finding.
func sides(f season.Finding) (good, bad []string) {
	if f.LevelIsBetter() {
		return f.Level, f.Versus
	}
	return f.Versus, f.Level
}

// change words what a finding speaks for, with the rig of the season that has most to gain; not ok where the season
// had nothing of it to change.
func (w reviewer) change(f season.Finding) (a Advice, ok bool) {
	a.Change = Change(f)
	if f.Factor.Key == "stroke" {
		return a, a.Change != "" && w.cast(f)
	}
	for _, r := range w.a.Rigs.List {
		could, was, now, ok := w.retied(f, r.Rig)
		if !ok {
			continue
		}
		a.Was, a.Could, a.WasSaid, a.CouldSaid = &r.Rig, &could, was, now
		if f.Step != 0 {
			a.Change += fmt.Sprintf(", %s instead of %s", now, was)
		}
		return a, a.Change != ""
	}
	return a, false
}

// cast reports whether they cast the worse way at all.
func (w reviewer) cast(f season.Finding) bool {
	_, bad := sides(f)
	for _, c := range w.own().Choices {
		if len(c.By) == 1 && c.By[0].Factor.Key == "stroke" {
			for _, g := range c.Groups {
				if slices.Contains(bad, g.Level[0].Word) && g.Hours > 0 {
					return true
				}
			}
		}
	}
	return false
}

// retied is a rig with what a finding speaks for, and the words for what it was and could be.
func (w reviewer) retied(f season.Finding, rig journal.Rig) (could journal.Rig, was, now string, ok bool) {
	could = rig
	could.Positions = slices.Clone(rig.Positions)
	good, bad := sides(f)
	word := ""
	if len(good) > 0 {
		word = good[0]
	}
	if f.Factor.Key == "swivel" {
		could.Swivel = journal.Swivel(word)
		return could, withNone(string(rig.Swivel), "no swivel"), withNone(word, "no swivel"), slices.Contains(bad, string(rig.Swivel))
	}
	for i := range could.Positions {
		if p := &could.Positions[i]; p.Position > 0 {
			if from, to, changed := w.changed(f, p, word, bad); changed {
				was, now, ok = from, to, true
			}
		}
	}
	return could, was, now, ok
}

// changed changes a dropper.
func (w reviewer) changed(f season.Finding, p *journal.RigPosition, good string, bad []string) (was, now string, ok bool) {
	swap := func(word string, set func()) (string, string, bool) {
		if !slices.Contains(bad, word) {
			return "", "", false
		}
		set()
		return word, good, true
	}
	step := f.Step
	if !f.LevelIsBetter() {
		step = -step
	}
	switch f.Factor.Key {
	case "junction":
		return swap(p.JunctionWord(), func() {
			p.Junction, p.JunctionName = journal.Junction(good), ""
			if !slices.Contains(f.Factor.Vocabulary(), good) {
				p.Junction, p.JunctionName = journal.JunctionOther, good
			}
		})
	case "facing":
		was, now, ok = swap(string(p.Facing), func() { p.Facing = journal.Facing(good) })
		return "facing " + was, "facing " + now, ok
	case "prop":
		was, now, ok = swap(string(p.Prop), func() { p.Prop = journal.Prop(good) })
		return propOf(was), propOf(now), ok
	case "bulk":
		was, now, ok = swap(string(p.Bulk), func() { p.Bulk = journal.Bulk(good) })
		return was + " fly", now + " fly", ok
	case "material":
		return swap(string(p.Material), func() { p.Material = journal.Material(good) })
	case "hang":
		was, now, ok = swap(string(p.Hang), func() {
			if p.Hang = journal.Hang(good); p.Hang == journal.HangTag && p.TagLengthMM == nil {
				p.Facing = "down"
			}
		})
		return hung(was), hung(now), ok
	case "tag-length":
		if p.Hang != journal.HangTag || p.TagLengthMM == nil || *p.TagLengthMM+step < leastTag || *p.TagLengthMM+step > mostTag {
			return "", "", false
		}
		was = units.FormatLength(*p.TagLengthMM, w.sys)
		p.TagLengthMM = new(*p.TagLengthMM + step)
		return was, units.FormatLength(*p.TagLengthMM, w.sys), true
	case "tippet":
		if p.TippetMM == nil || *p.TippetMM+step <= 0 {
			return "", "", false
		}
		was = units.ExactTippet(*p.TippetMM)
		p.TippetMM = new(*p.TippetMM + step)
		return was, units.ExactTippet(*p.TippetMM), true
	case "hook-size":
		if p.HookSize == nil || *p.HookSize+int(step) <= 0 {
			return "", "", false
		}
		was = fmt.Sprintf("size %d", *p.HookSize)
		p.HookSize = new(*p.HookSize + int(step))
		return was, fmt.Sprintf("size %d", *p.HookSize), true
	}
	return "", "", false
}

// asked is an open question in words, "" for what nobody can change, or would for that.
func asked(f season.Finding) string {
	change := Change(f)
	if change == "" || f.Factor.Key == "method" {
		return ""
	}
	side := "Fewer"
	if f.Outcome.MoreIsBetter() {
		side = "More"
	}
	return fmt.Sprintf("%s %s with %s?", side, prose.Counted(f.Outcome), strings.Replace(change, "rather than", "than with", 1))
}
