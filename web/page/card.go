package page

import (
	"html/template"

	"rigtally/drawing"
	"rigtally/prose"
)

// Card is an answer card as a page shows it.
type Card struct {
	prose.Card
	Drawing template.HTML // of the tag, to scale; empty where the choice is no length
	More    string        // address of the whole answer, or of how it was computed
	Link    string        // words of the link there
}

// HowComputed is where an answer's page says how it was computed.
const HowComputed = "#how"

// NewCard puts a card on a page; nil without one. It leads to where the page says how it was computed.
func NewCard(f Frame, c prose.Card, ok bool) *Card {
	if !ok {
		return nil
	}
	card := &Card{Card: c, More: HowComputed, Link: "How this was computed"}
	if len(c.Tags) > 0 {
		card.Drawing = template.HTML(drawing.Choice(c.Tags, drawing.Options{Units: f.Units, ID: "card-tag"}))
	}
	return card
}

// Leading is the card with a link to its whole answer.
func (c *Card) Leading(to, says string) *Card {
	if c != nil {
		c.More, c.Link = to, says
	}
	return c
}
