package exchange

import (
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
)

// pullCells are the cells of a row about a pull that no stint has.
type pullCells struct {
	id, label string
	force     *float64
	pulledOn  journal.PulledOn
	wetness   journal.Wetness
	ending    journal.PullEnding
	brokeAt   journal.PullBreak
	plain     bool // the line has no junction
}

var (
	pulledOnWords = map[journal.PulledOn]string{"tag": "dropper,tag end,on the tag,dropper tag", "main line": "main,standing line,line,leader,on the main line,straight"}
	wetnessWords  = map[journal.Wetness]string{"wet": "soaked,yes,y,1,true,wetted", "dry": "no,n,0,false"}
	endingWords   = map[journal.PullEnding]string{
		journal.PulledBroke:   "broken,break,snapped,parted,bust,broke off",
		journal.PulledSlipped: "slip,ran out,pulled out,came undone,unravelled,undone,slid",
		journal.PulledHeld:    "held,not broken,unbroken,no break,stopped,survived,did not,didn't break,no",
	}
	placeWords = map[journal.PullBreak]string{
		journal.PullBrokeJunction: "knot,at the knot,at the junction,at knot,at junction",
		journal.PullBrokeTag:      "in the tag,tag end,dropper",
		journal.PullBrokeMain:     "main,line,standing line,in the main line,mid line,midline,leader",
		journal.PullBrokeGrip:     "clamp,at the clamp,at the grip,hand,hook,at clamp,at grip",
	}
	plainWords = map[string]bool{"unknotted": true, "none": true, "noknot": true, "plain": true, "plainline": true, "noknots": true, "straight": true, "line": true, "nojunction": true, "control": true}
)

// benchFields lists what a column of pulls can tell.
func benchFields() []*field {
	known := map[string]*field{}
	for _, f := range fields() {
		known[f.key] = f
	}
	own := func(key string, more ...string) *field {
		f := *known[key]
		f.names = append(append([]string{}, f.names...), more...)
		return &f
	}
	angler := own("angler", "tied by", "tier", "tyer", "who tied", "knot by")
	angler.title = "who tied it"
	junction := own("junction")
	junction.set = setPullJunction
	notes := *known["notes"]
	notes.key, notes.names, notes.title = "note", append([]string{"notes"}, notes.names...), "a note"
	return []*field{
		{key: "id", title: "the pull's id", names: []string{"pull id"}, set: setText(func(r *row) *string { return &r.pull.id })},
		own("date", "pulled on date", "tested"), junction, own("facing"), own("prop"), own("tippet", "line", "size", "diameter", "line size"), own("material", "line material"),
		{key: "pulled_on", title: "the part pulled on", names: []string{"pulled on", "pull on", "pulled", "loaded", "direction of pull"}, set: setWord(journal.PulledOns(), pulledOnWords, func(r *row) *journal.PulledOn { return &r.pull.pulledOn })},
		{key: "wet", title: "wet or dry", names: []string{"wet or dry", "wetness", "condition", "soaked", "wet dry"}, set: setWord(journal.Wetnesses(), wetnessWords, func(r *row) *journal.Wetness { return &r.pull.wetness })},
		{key: "force", title: "the force", quantity: units.Force, names: []string{"load", "peak", "max", "strength", "breaking strength", "breaking force", "break force", "breaking load", "peak force", "peak load", "max force", "pull", "kraft", "bruchkraft", "bruchlast"},
			withUnit: []string{"", "break", "broke at", "scale"}, set: setForce},
		{key: "ending", title: "how it ended", names: []string{"end", "ended", "result", "outcome", "how it ended", "failure", "failure mode", "broke or slipped", "what happened"}, set: setEnding},
		{key: "broke_at", title: "where it broke", names: []string{"broke", "where", "where it broke", "place", "break place", "break at", "broke where", "where broke"}, set: setPlaceOfBreak},
		angler,
		{key: "label", title: "the label", names: []string{"batch", "spool", "series", "set", "run"}, set: setName(func(r *row) *string { return &r.pull.label })},
		&notes,
		{key: "problem", title: "what was wrong with it at an earlier import", set: func(*column, *row, string) error { return nil }},
	}
}

// setPullJunction reads a knot, or that there is none.
func setPullJunction(c *column, r *row, cell string) error {
	if plainWords[compact(cell)] {
		r.pull.plain = true
		return nil
	}
	return setJunction(c, r, cell)
}

func setForce(c *column, r *row, cell string) error {
	v, err := cached(c, cell, func() (*float64, error) {
		v, err := c.parser.Parse(units.Force, cell, c.bare())
		switch {
		case err != nil:
			return nil, fromUnits(err)
		case v == 0:
			return nil, &problem{what: "is no force at all", remedy: "write what the scale showed at the most"}
		case v > 2000:
			return nil, &problem{what: "is more than 2000 N, which can't be", remedy: "check the number and its unit"}
		}
		return &v, nil
	})
	r.pull.force = v
	return err
}

var (
	endingsByWord = dictionary(journal.PullEndings(), endingWords)
	placesByWord  = dictionary(journal.PullBreaks(), placeWords)
)

// setEnding reads how a pull ended; a place tells that it broke there.
func setEnding(_ *column, r *row, cell string) error {
	word := strings.TrimPrefix(compact(cell), "brokeatthe")
	word = strings.TrimPrefix(strings.TrimPrefix(word, "brokeat"), "brokeinthe")
	if e, ok := endingsByWord[word]; ok {
		r.pull.ending = e
		return nil
	}
	if at, ok := placesByWord[word]; ok {
		r.pull.ending, r.pull.brokeAt = journal.PulledBroke, at
		return nil
	}
	return &problem{what: "is not an end of a pull", remedy: "write broke, slipped or did not break, or where it broke: junction, tag, main line or grip"}
}

// setPlaceOfBreak reads where a line broke; slipped tells that it did not.
func setPlaceOfBreak(_ *column, r *row, cell string) error {
	word := compact(cell)
	if at, ok := placesByWord[word]; ok {
		r.pull.brokeAt = at
		if r.pull.ending == "" {
			r.pull.ending = journal.PulledBroke
		}
		return nil
	}
	if e, ok := endingsByWord[word]; ok && (r.pull.ending == "" || r.pull.ending == e) {
		r.pull.ending = e
		return nil
	}
	return &problem{what: "is not a place where a pull breaks", remedy: "write junction, tag, main line or grip"}
}
