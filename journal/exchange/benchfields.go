package exchange

import (
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
	catalogue "rigtally/journal/field"
)

var plainWords = map[string]bool{"unknotted": true, "none": true, "noknot": true, "plain": true, "plainline": true, "noknots": true, "straight": true, "line": true, "nojunction": true, "control": true}

// benchFields lists what a column of pulls can tell.
func benchFields() []*field {
	var day, angler *field
	for _, f := range outingFields() {
		switch f.key {
		case "date":
			day = f
		case "angler":
			angler = f
		}
	}
	day.names = append(day.names, "pulled on date", "tested")
	angler.names, angler.title = append(angler.names, "tied by", "tier", "tyer", "who tied", "knot by"), "who tied it"
	all := []*field{day, angler, {key: "id", title: "the pull's id", names: []string{"pull id"}, set: setTextOf(maxName, cleanText)(func(r *row) *string { return &r.pullID })}, problemField()}
	for _, f := range noted(catalogue.AllIn(journal.PullFields(), func(r *row) *journal.BenchPull { return &r.pull }), ofRow) {
		switch f.key {
		case "junction":
			f.set = setPullJunction
		case "force":
			f.set = setForce
		case "ending":
			f.set = setEnding
		case "broke_at":
			f.set = setPlaceOfBreak
		}
		all = append(all, f)
	}
	return all
}

// setPullJunction reads a knot, or that there is none.
func setPullJunction(c *column, r *row, cell string) error {
	if plainWords[compact(cell)] {
		return nil
	}
	err := setJunction(c, r, cell)
	r.pull.Junction, r.pull.JunctionName = r.fly.Junction, r.fly.JunctionName
	return err
}

func setForce(c *column, r *row, cell string) error {
	v, err := cached(c, cell, func() (float64, error) {
		v, err := c.parser.Parse(units.Force, cell, c.bare())
		switch {
		case err != nil:
			return 0, fromUnits(err)
		case v == 0:
			return 0, &problem{what: "is no force at all", remedy: "write what the scale showed at the most"}
		case !c.field.noted.Possible(v):
			return 0, &problem{what: "is more than 2000 N, which can't be", remedy: "check the number and its unit"}
		}
		return v, nil
	})
	r.pull.ForceN = v
	return err
}

var (
	endingsByWord = dictionary(catalogue.By(journal.PullFields(), "ending").Words)
	placesByWord  = dictionary(catalogue.By(journal.PullFields(), "broke_at").Words)
)

// setEnding reads how a pull ended; a place tells that it broke there.
func setEnding(_ *column, r *row, cell string) error {
	word := strings.TrimPrefix(compact(cell), "brokeatthe")
	word = strings.TrimPrefix(strings.TrimPrefix(word, "brokeat"), "brokeinthe")
	if e, ok := endingsByWord[word]; ok {
		r.pull.Ending = journal.PullEnding(e)
		return nil
	}
	if at, ok := placesByWord[word]; ok {
		r.pull.Ending, r.pull.BrokeAt = journal.PulledBroke, journal.PullBreak(at)
		return nil
	}
	return &problem{what: "is not an end of a pull", remedy: "write broke, slipped or did not break, or where it broke: junction, tag, main line or grip"}
}

// setPlaceOfBreak reads where a line broke; slipped tells that it did not.
func setPlaceOfBreak(_ *column, r *row, cell string) error {
	word := compact(cell)
	if at, ok := placesByWord[word]; ok {
		r.pull.BrokeAt = journal.PullBreak(at)
		if r.pull.Ending == "" {
			r.pull.Ending = journal.PulledBroke
		}
		return nil
	}
	if e, ok := endingsByWord[word]; ok && (r.pull.Ending == "" || r.pull.Ending == journal.PullEnding(e)) {
		r.pull.Ending = journal.PullEnding(e)
		return nil
	}
	return &problem{what: "is not a place where a pull breaks", remedy: "write junction, tag, main line or grip"}
}
