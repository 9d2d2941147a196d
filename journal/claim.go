package journal

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"
)

// Claim is a rule of thumb stated so that the journal can test it. On a factor
// of words it sets levels against each other: with Level the outcome happens
// more, or less, often than with Versus. On a factor that is a number it says
// how the outcome goes as that number grows, and Level and Versus are empty.
type Claim struct {
	ID        ID          `json:"id"`
	Words     string      `json:"words"` // as people say it
	Outcome   string      `json:"outcome"`
	Factor    string      `json:"factor"`
	Direction Direction   `json:"direction"`
	Level     []string    `json:"level,omitempty"` // any of these
	Versus    []string    `json:"versus,omitempty"`
	Given     []string    `json:"given,omitempty"` // factors held alike in the comparison, "tag-length:linear" as a straight line; none for the usual ones, NoGiven alone for nothing
	Source    ClaimSource `json:"source"`
	CreatedAt time.Time   `json:"created_at"`
	StatedAt  *time.Time  `json:"stated_at,omitempty"`  // since when it has asked what it asks; nil: not known
	RetiredAt *time.Time  `json:"retired_at,omitempty"` // nil: on the board
	Version   int         `json:"version,omitzero"`     // 1 when first stored, one more at each change
}

// Direction says which way a claim goes.
type Direction string

// The directions of a claim.
const (
	More Direction = "more"
	Less Direction = "less"
)

// Directions lists which way a claim may go.
func Directions() []Direction { return []Direction{More, Less} }

// ClaimSource says where a claim comes from.
type ClaimSource string

// The sources of claims.
const (
	CommonPractice ClaimSource = "common practice, no source"
	OwnClaim       ClaimSource = "own"
)

const (
	// LinearGiven is what stands after a given factor's key that is to enter as a
	// straight line.
	LinearGiven = ":linear"
	// NoGiven stands for a comparison with nothing given.
	NoGiven = "none"
)

const (
	maxClaimWords  = 200
	maxClaimLevels = 20
)

// Retired reports whether the claim has been taken off the board.
func (c Claim) Retired() bool { return c.RetiredAt != nil }

// States reports whether two claims state the same, whatever their words' case.
func (c Claim) States(other Claim) bool {
	return strings.EqualFold(c.Words, other.Words) && c.sameSides(other)
}

// Asks reports whether two claims ask the journal the same, however they are worded.
func (c Claim) Asks(other Claim) bool {
	return c.sameSides(other) && slices.Equal(c.Given, other.Given)
}

func (c Claim) sameSides(other Claim) bool {
	return c.Outcome == other.Outcome && c.Factor == other.Factor && c.Direction == other.Direction &&
		slices.Equal(c.Level, other.Level) && slices.Equal(c.Versus, other.Versus)
}

// Equal reports whether two claims are the same in everything.
func (c Claim) Equal(other Claim) bool {
	return sameMoment(c.RetiredAt, other.RetiredAt) && sameMoment(c.StatedAt, other.StatedAt) && c.ID == other.ID && c.Words == other.Words &&
		c.Asks(other) && c.Source == other.Source && c.CreatedAt.Equal(other.CreatedAt)
}

func sameMoment(a, b *time.Time) bool {
	if a == nil || b == nil {
		return a == b
	}
	return a.Equal(*b)
}

// Succeed makes the claim the next version of the one held, nil for a new one: what states
// something else is the user's own, and what asks something else was stated just now.
func (c *Claim) Succeed(held *Claim, now time.Time) {
	if held != nil {
		if c.Source = held.Source; !c.States(*held) {
			c.Source = OwnClaim
		}
		if c.StatedAt = held.StatedAt; c.Asks(*held) {
			return
		}
	} else if c.StatedAt != nil {
		return
	}
	c.StatedAt = &now
	c.Normalize()
}

// Normalize brings texts and times into the form in which they are stored.
func (c *Claim) Normalize() {
	c.Words = strings.Join(strings.Fields(c.Words), " ")
	f, _ := FactorByKey(c.Factor) // Validate reports one that is not known
	c.Level, c.Versus, c.Given = tidyWords(c.Level, f.Vocabulary()), tidyWords(c.Versus, f.Vocabulary()), tidyWords(c.Given, givenOrder())
	if c.Source == "" {
		c.Source = OwnClaim
	}
	c.CreatedAt = c.CreatedAt.UTC().Truncate(time.Microsecond)
	for _, at := range []**time.Time{&c.StatedAt, &c.RetiredAt} {
		if *at != nil {
			*at = new((*at).UTC().Truncate(time.Microsecond))
		}
	}
}

// givenOrder lists what may be given, each factor also as a straight line.
func givenOrder() []string {
	list := []string{NoGiven}
	for _, f := range Factors() {
		list = append(list, f.Key, f.Key+LinearGiven)
	}
	return list
}

// tidyWords takes out blanks and repetitions, writes words as the vocabulary
// does and puts them in its order, others behind by the alphabet. None is nil.
func tidyWords(list, vocabulary []string) []string {
	var tidy []string
	rank := map[string]int{}
	for _, word := range list {
		word = strings.TrimSpace(word)
		i := slices.IndexFunc(vocabulary, func(known string) bool { return strings.EqualFold(known, word) })
		if i >= 0 {
			word = vocabulary[i]
		} else {
			i = len(vocabulary)
		}
		if word != "" && !slices.Contains(tidy, word) {
			tidy, rank[word] = append(tidy, word), i
		}
	}
	slices.SortFunc(tidy, func(a, b string) int { return cmp.Or(cmp.Compare(rank[a], rank[b]), strings.Compare(a, b)) })
	return tidy
}

// Validate checks a claim by itself.
func (c Claim) Validate() error {
	var r rules
	r.require(!c.ID.IsZero(), "the claim has no id")
	r.require(strings.TrimSpace(c.Words) != "", "the claim has no words; write it as you would say it, such as: longer tags twist more")
	r.text("the claim", c.Words, maxClaimWords)
	r.require(c.Outcome != "", "the claim does not say what happens; choose an outcome")
	if c.Outcome != "" {
		_, err := OutcomeByKey(c.Outcome)
		r.check(err)
	}
	r.require(c.Direction != "", "the claim has no direction; choose more or less")
	r.check(oneOf("direction", c.Direction, Directions()))
	r.check(oneOf("source of the claim", c.Source, []ClaimSource{CommonPractice, OwnClaim}))
	r.require(c.Factor != "", "the claim has no factor; choose what makes the difference")
	if c.Factor != "" {
		if f, err := FactorByKey(c.Factor); err != nil {
			r.check(err)
		} else {
			c.validateSides(&r, f)
		}
	}
	c.validateGiven(&r)
	return r.err()
}

// validateSides checks what is set against what.
func (c Claim) validateSides(r *rules, f Factor) {
	title := strings.ToLower(f.Title)
	if f.Quantity != Words {
		r.require(len(c.Level)+len(c.Versus) == 0, "%s is a number, and the claim is about more of it; leave out what to compare", title)
		return
	}
	r.require(len(c.Level) > 0, "choose the %s that the claim is about", title)
	r.require(len(c.Versus) > 0, "choose the %s to compare with", title)
	r.require(len(c.Level)+len(c.Versus) <= maxClaimLevels, "the claim names %d levels of %s; name at most %d", len(c.Level)+len(c.Versus), title, maxClaimLevels)
	vocabulary := f.Vocabulary()
	for _, word := range slices.Concat(c.Level, c.Versus) {
		r.text(title, word, maxNameLen)
		closed := vocabulary != nil && f.Key != "junction" // people name junctions of their own
		r.require(!closed || slices.Contains(vocabulary, word), "%s %q is not known; choose from: %s", title, word, strings.Join(vocabulary, ", "))
	}
	for _, word := range c.Level {
		both := slices.ContainsFunc(c.Versus, func(other string) bool { return strings.EqualFold(word, other) })
		r.require(!both, "%s %q is on both sides of the claim; leave it on one", title, word)
	}
}

func (c Claim) validateGiven(r *rules) {
	seen := map[string]bool{}
	if slices.Contains(c.Given, NoGiven) {
		r.require(len(c.Given) == 1, "given: %s stands for nothing held equal, and other factors are named too; leave one or the others out", NoGiven)
		return
	}
	for _, given := range c.Given {
		key, linear := strings.CutSuffix(given, LinearGiven)
		f, err := FactorByKey(key)
		if err != nil {
			r.check(fmt.Errorf("given: %w", err))
			continue
		}
		title := strings.ToLower(f.Title)
		r.require(!linear || f.Quantity != Words, "given: %s is not a number and can't enter as a straight line; write %s alone", title, key)
		r.require(key != c.Factor, "given: the claim is about %s itself; leave it out", title)
		r.require(!seen[key], "given: %s is named twice; name it once", title)
		seen[key] = true
	}
}

// startingBoard is when the claims below were written, for their order before
// any of the user's own.
var startingBoard = time.Date(2026, time.January, 1, 0, 0, 0, 0, time.UTC)

// StartingClaims lists the rules of thumb that a journal's board starts with.
// They are common practice in the trade, without a source, and hold equal what is usual. Their ids are the
// same in every journal, so that a backup of one can be brought into another.
func StartingClaims() []Claim {
	compared := func(words, outcome string, d Direction, factor string, level, versus []string) Claim {
		return Claim{Words: words, Outcome: outcome, Direction: d, Factor: factor, Level: level, Versus: versus}
	}
	growing := func(words, outcome string, d Direction, factor string) Claim {
		return Claim{Words: words, Outcome: outcome, Direction: d, Factor: factor}
	}
	list := []Claim{
		growing("Longer tags twist more", "twists", More, "tag-length"),
		growing("Shorter tags tangle less", "tangles", More, "tag-length"),
		compared("Bulky flies twist more than slim ones", "twists", More, "bulk", []string{"legged"}, []string{"slim"}),
		compared("A tag facing up breaks more at the junction than one facing down", "junction-break", More, "facing", []string{"up"}, []string{"down"}),
		compared("With a fly on the tag, a blood junction breaks more than a figure-eight", "junction-break", More, "junction", []string{"blood"}, []string{"figure-eight"}),
		growing("Finer tippet breaks more at the junction", "junction-break", Less, "tippet"),
		compared("Flies in line foul-hook more fish than flies on a tag", "foul-hook", More, "hang", []string{"eye", "bend"}, []string{"tag"}),
		compared("A prop weakens the junction", "junction-break", More, "prop", []string{"half-hitch", "overhand"}, []string{"none"}),
		compared("A prop keeps the tag from twisting", "twists", Less, "prop", []string{"half-hitch", "overhand"}, []string{"none"}),
		compared("A micro swivel lets the twists out", "twists", Less, "swivel", []string{"micro swivel"}, []string{"none"}),
		compared("An oval stroke twists more than a sidearm one", "twists", More, "stroke", []string{"oval"}, []string{"sidearm"}),
	}
	for i := range list {
		list[i].ID = startingID(i + 1)
		list[i].Source, list[i].CreatedAt = CommonPractice, startingBoard
		list[i].Normalize()
	}
	return list
}

// formerGivens are what each claim of the starting board held equal before all of them held the usual.
func formerGivens() [][]string {
	return [][]string{
		{"angler", "water", "bulk"},
		{"angler", "water", "bulk"},
		{"angler", "water", "tag-length"},
		{"angler", "junction", "tippet"},
		{"angler", "tippet"},
		{"angler", "junction"},
		{"angler", "water"},
		{"angler", "junction", "tippet"},
		{"angler", "water", "tag-length"},
		{"angler", "water"},
		{"angler", "water"},
	}
}

// Renew brings a claim of the starting board that was left as it was into its present form.
func (c *Claim) Renew() {
	givens := formerGivens()
	for i, former := range StartingClaims() {
		former.Given = givens[i]
		former.Normalize()
		if former.RetiredAt = c.RetiredAt; c.Equal(former) {
			c.Given = nil
		}
	}
}

// startingID is a UUIDv7 of the time of the starting board.
func startingID(number int) ID {
	ms := startingBoard.UnixMilli()
	id := ID{6: 0x70, 8: 0x80, 14: byte(number >> 8), 15: byte(number)}
	for i := range 6 {
		id[i] = byte(ms >> (8 * (5 - i)))
	}
	return id
}
