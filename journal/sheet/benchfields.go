package sheet

import (
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/exchange"
	catalogue "rigtally/journal/field"
)

var plainWords = map[string]bool{"unknotted": true, "none": true, "noknot": true, "plain": true, "plainline": true, "noknots": true, "straight": true, "line": true, "nojunction": true, "control": true}

// benchFields lists what a column of pulls can tell.
func benchFields() []*field {
	all := readable(exchange.PullColumns(), map[string]func(*column, *row, string) error{
		"date": setDate, "angler": setText(maxName, cleanName, func(r *row) *string { return &r.Angler }),
		"junction": setPullJunction, "force": setForce, "ending": setEnding, "broke_at": setPlaceOfBreak,
	})
	id := &exchange.Column{Key: "id", Title: "the pull's id", Headings: []string{"pull id"}}
	return append(all, problemField(), &field{id, setText(maxName, cleanText, func(r *row) *string { return &r.pullID })})
}

// setPullJunction reads a knot, or that there is none.
func setPullJunction(c *column, r *row, cell string) error {
	if plainWords[catalogue.Compact(cell)] {
		return nil
	}
	err := setJunction(c, r, cell)
	r.Pull.Junction, r.Pull.JunctionName = r.Fly.Junction, r.Fly.JunctionName
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
		case !c.field.Noted.Possible(v):
			return 0, &problem{what: "is more than 2000 N, which can't be", remedy: "check the number and its unit"}
		}
		return v, nil
	})
	r.Pull.ForceN = v
	return err
}

var (
	endingsByWord = catalogue.Dictionary(catalogue.By(journal.PullFields(), "ending").Words)
	placesByWord  = catalogue.Dictionary(catalogue.By(journal.PullFields(), "broke_at").Words)
)

// setEnding reads how a pull ended; a place tells that it broke there.
func setEnding(_ *column, r *row, cell string) error {
	word := strings.TrimPrefix(catalogue.Compact(cell), "brokeatthe")
	word = strings.TrimPrefix(strings.TrimPrefix(word, "brokeat"), "brokeinthe")
	if e, ok := endingsByWord[word]; ok {
		r.Pull.Ending = journal.PullEnding(e)
		return nil
	}
	if at, ok := placesByWord[word]; ok {
		r.Pull.Ending, r.Pull.BrokeAt = journal.PulledBroke, journal.PullBreak(at)
		return nil
	}
	return &problem{what: "is not an end of a pull", remedy: "write broke, slipped or did not break, or where it broke: junction, tag, main line or grip"}
}

// setPlaceOfBreak reads where a line broke; slipped tells that it did not.
func setPlaceOfBreak(_ *column, r *row, cell string) error {
	word := catalogue.Compact(cell)
	if at, ok := placesByWord[word]; ok {
		r.Pull.BrokeAt = journal.PullBreak(at)
		if r.Pull.Ending == "" {
			r.Pull.Ending = journal.PulledBroke
		}
		return nil
	}
	if e, ok := endingsByWord[word]; ok && (r.Pull.Ending == "" || r.Pull.Ending == journal.PullEnding(e)) {
		r.Pull.Ending = journal.PullEnding(e)
		return nil
	}
	return &problem{what: "is not a place where a pull breaks", remedy: "write junction, tag, main line or grip"}
}
