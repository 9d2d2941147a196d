package facts

import (
	"math"
	"slices"

	"rigtally/journal"
)

// coded is a question with what rigs, sessions and lengths have of its factors.
type coded struct {
	*Facts
	q       journal.Question
	factors []journal.Factor // those asked by and given
	coders  []coder          // of each of them
	ofRig   []int            // places of the factors that a rig or a fly of it has
	ofSess  []int            // … a session
	stroke  int              // place of the stroke, or unknown
	tag     int              // place of the tag length, or unknown

	perFly, spells bool
	rigs           []int32          // by rig: where it begins in flies, which has one for the whole rig unless perFly
	flies          []int32          // set of codes, or unasked
	rigSets        combos           //
	sessions       []int32          // by session: set of codes, or unasked; nil when all are in the one set there is
	sessSets       combos           //
	strokes        [16]int32        // by stroke: code, or unasked
	lengths        []int32          // by length: code, or unasked; the last is that of a length not noted
	what           []journal.Count  // of which a rig may have more than its flies
	terms          journal.Terms    // of the outcome
	needs          journal.Recorded // the kinds that the outcome needs
	hourly         bool             // it is counted against hours
	sumsOnly       bool             // rows are added up by cell, and not kept
	oneOfEach      bool             // sessions, lengths and strokes are all the same to the question
	less           []journal.Count
}

// unasked stands in place of a code for what the question is not about, or has not come to yet.
const unasked = math.MinInt32

func unaskedCodes(n int) []int32 {
	codes := make([]int32, n)
	for i := range codes {
		codes[i] = unasked
	}
	return codes
}

// combos numbers the different combinations of codes.
type combos struct {
	known map[string]int32
	codes [][]int32
}

func (c *combos) add(codes []int32) int32 {
	var room [64]byte
	key := room[:0]
	for _, code := range codes {
		key = append(key, byte(code), byte(code>>8), byte(code>>16), byte(code>>24))
	}
	n, ok := c.known[string(key)]
	if !ok {
		if c.known == nil {
			c.known = map[string]int32{}
		}
		n = int32(len(c.codes))
		c.known[string(key)] = n
		c.codes = append(c.codes, slices.Clone(codes))
	}
	return n
}

// coder numbers the levels of a factor as they occur.
type coder struct {
	by      journal.By
	words   map[string]int32
	numbers map[float64]int32
	levels  []journal.Level
}

// code is the number of the factor's level in a setting, unknown where it was not noted.
func (c *coder) code(s *journal.Setting) int32 {
	if c.by.Factor.Quantity == journal.Words {
		word := c.by.Factor.Word(s)
		if word == "" {
			return unknown
		}
		n, ok := c.words[word]
		if !ok {
			n = c.add(c.by.LevelOf(word, 0))
			c.words[word] = n
		}
		return n
	}
	v := c.by.Factor.NumberIn(s)
	if v == nil {
		return unknown
	}
	key := *v
	if c.by.Edges != nil {
		key = float64(c.by.Band(*v))
	}
	n, ok := c.numbers[key]
	if !ok {
		n = c.add(c.by.LevelOf("", *v))
		c.numbers[key] = n
	}
	return n
}

func (c *coder) add(l journal.Level) int32 {
	c.levels = append(c.levels, l)
	return int32(len(c.levels) - 1)
}

func (f *Facts) code(q journal.Question) *coded {
	c := &coded{Facts: f, q: q, stroke: unknown, tag: unknown, perFly: q.ByPosition(), spells: q.OfSpells()}
	for _, by := range q.By {
		c.add(by)
	}
	for _, given := range q.Given {
		c.add(journal.By{Factor: given})
	}
	o := q.Outcome
	c.terms = o.Terms()
	c.what = c.terms.Events
	if o.Measure == journal.ShareOf && o.Exposure != "loads" {
		c.what, c.less = c.terms.Over, c.terms.Less
	}
	where := newConditions(q.Where)
	on := func(of journal.Scope) conditions {
		return where.on(func(f journal.Factor) bool { return f.Scope() == of })
	}
	c.codeRigs(on(journal.OfRig), on(journal.OfFly))
	c.codeSessions(on(journal.OfSession))
	c.codeStrokes(on(journal.OfStint))
	c.codeLengths(on(journal.OfSpell))
	c.needs, c.hourly = journal.RecordedOf(o.Needs...), o.Hourly()
	c.oneOfEach = len(c.ofSess) == 0 && c.stroke == unknown && c.tag == unknown
	return c
}

func (c *coded) add(by journal.By) {
	i := len(c.factors)
	switch by.Factor.Scope() {
	case journal.OfSession:
		c.ofSess = append(c.ofSess, i)
	case journal.OfStint:
		c.stroke = i
	case journal.OfSpell:
		c.tag = i
	default:
		c.ofRig = append(c.ofRig, i)
	}
	c.factors = append(c.factors, by.Factor)
	c.coders = append(c.coders, coder{by: by, words: map[string]int32{}, numbers: map[float64]int32{}})
}

// set is the number of the codes that some factors have in a setting.
func (c *coded) set(sets *combos, factors []int, s *journal.Setting) int32 {
	codes := make([]int32, 0, 8)
	for _, i := range factors {
		codes = append(codes, c.coders[i].code(s))
	}
	return sets.add(codes)
}

func (c *coded) codeRigs(onRig, onFly conditions) {
	droppers, tags := c.q.OfDroppers(), c.q.OfTags()
	c.rigs = make([]int32, len(c.Facts.rigs))
	for i := range c.Facts.rigs {
		rig := &c.Facts.rigs[i].Rig
		c.rigs[i] = int32(len(c.flies))
		s := journal.Setting{Rig: rig}
		holds := onRig.hold(&s)
		if !c.perFly {
			set := int32(unasked)
			if holds {
				set = c.set(&c.rigSets, c.ofRig, &s)
			}
			c.flies = append(c.flies, set)
			continue
		}
		for p := range rig.Positions {
			s.Fly = &rig.Positions[p]
			set := int32(unasked)
			if asked := holds && (!droppers || s.Fly.Position > 0) && (!tags || s.Fly.Hang == journal.HangTag); asked && onFly.hold(&s) {
				set = c.set(&c.rigSets, c.ofRig, &s)
			}
			c.flies = append(c.flies, set)
		}
	}
}

func (c *coded) codeSessions(where conditions) {
	if len(c.ofSess) == 0 {
		c.set(&c.sessSets, nil, nil)
		if len(where) == 0 && c.q.Since.IsZero() {
			return
		}
	}
	since := packDay(c.q.Since)
	c.sessions = make([]int32, len(c.Facts.sessions))
	var s journal.Setting
	for i := range c.sessions {
		c.sessions[i] = unasked
		if c.isGone(i) || c.Facts.sessions[i].day < since {
			continue
		}
		if c.place(&s, i); where.hold(&s) {
			c.sessions[i] = c.set(&c.sessSets, c.ofSess, &s)
		}
	}
}

func (c *coded) codeStrokes(where conditions) {
	for i, word := range append([]journal.Stroke{""}, journal.Strokes()...) {
		s := journal.Setting{Stroke: word}
		switch {
		case !where.hold(&s):
			c.strokes[i] = unasked
		case c.stroke != unknown:
			c.strokes[i] = c.coders[c.stroke].code(&s)
		}
	}
}

func (c *coded) codeLengths(where conditions) {
	if !c.spells {
		return
	}
	c.lengths = make([]int32, len(c.Facts.lengths)+1)
	for i := range c.lengths {
		s := journal.Setting{Fly: &journal.RigPosition{}}
		if i < len(c.Facts.lengths) {
			s.TagMM = &c.Facts.lengths[i]
		}
		switch {
		case !where.hold(&s):
			c.lengths[i] = unasked
		case c.tag != unknown:
			c.lengths[i] = c.coders[c.tag].code(&s)
		}
	}
}

// cellKey holds the codes of a row: sets of those of its rig and its session, then of its
// tag's length and its stroke.
type cellKey struct {
	rig, session int32
	own          [2]int32
}

// missing is the first factor that was not noted in a cell, or unknown.
func (c *coded) missing(key cellKey) int {
	for i, code := range c.codesOf(key) {
		if code == unknown {
			return i
		}
	}
	return unknown
}

// codesOf are the codes of a cell, by factor.
func (c *coded) codesOf(key cellKey) []int32 {
	codes := make([]int32, len(c.factors))
	for k, i := range c.ofRig {
		codes[i] = c.rigSets.codes[key.rig][k]
	}
	for k, i := range c.ofSess {
		codes[i] = c.sessSets.codes[key.session][k]
	}
	if c.tag != unknown {
		codes[c.tag] = key.own[0]
	}
	if c.stroke != unknown {
		codes[c.stroke] = key.own[1]
	}
	return codes
}

// conditions are those of a question, those on one factor together: one of each
// must hold.
type conditions [][]journal.Condition

func newConditions(where []journal.Condition) conditions {
	var all conditions
	for _, c := range where {
		i := slices.IndexFunc(all, func(known []journal.Condition) bool { return known[0].Factor.Key == c.Factor.Key })
		if i < 0 {
			all, i = append(all, nil), len(all)
		}
		all[i] = append(all[i], c)
	}
	return all
}

// on are the conditions on factors of some kind.
func (all conditions) on(is func(journal.Factor) bool) conditions {
	return slices.DeleteFunc(slices.Clone(all), func(c []journal.Condition) bool { return !is(c[0].Factor) })
}

// hold reports whether a setting meets them all.
func (all conditions) hold(s *journal.Setting) bool {
	for _, alternatives := range all {
		if !slices.ContainsFunc(alternatives, func(c journal.Condition) bool { return c.Holds(s) }) {
			return false
		}
	}
	return true
}
