package demo

import (
	"time"

	"rigtally/journal"
)

// outing is what holds through a session for everything that may happen in it.
type outing struct {
	dice
	truth                    truth
	tangles, losses          float64 // what the angler's hand does to them
	turning, hookups, snags  float64 // products of effects, conditions and the session's own luck
	lumped, placed, lossKept bool    // how it was written down: in sums, with flies named, with minutes lost
	species                  []string
}

// session invents the i-th of n sessions.
func (m *maker) session(i, n int) journal.Session {
	d := newDice(m.seed, uint64(i)+1)
	day, who, w := dayAt(m.days, (float64(i)+d.Float64())/float64(n)), m.pickAngler(d), m.pickWater(d)
	s := journal.Session{AnglerID: who.ID, WaterID: w.ID, Day: day, TimeZone: w.TimeZone, Version: 1}
	if who.guided {
		s.GuideID = new(m.anglers[0].ID)
	}
	start := day.In(w.loc).Add(time.Duration(d.between(7*4, 15*4)) * 15 * time.Minute).UTC()
	s.ID = d.id(start)
	temperature, wind := w.conditions(d, &s, start.YearDay())
	o := m.outing(d, who, w, temperature, wind)
	s.Stints = m.stints(o, who, w, start)
	if end := start.Add(time.Duration(fished(s.Stints)+15*float64(d.between(1, 4))) * time.Minute); d.chance(0.96) {
		s.Start, s.End = &start, &end
	}
	s.LoggedAt = start.Add(time.Duration(d.between(9*60, 14*60)) * time.Minute)
	if d.chance(0.04) {
		s.LoggedAt = s.LoggedAt.AddDate(0, 0, d.between(8, 12)) // caught up with later
	}
	if d.chance(0.15) {
		s.Notes = remark(d, wind)
	}
	return s
}

func (m *maker) outing(d dice, who angler, w *water, temperature float64, wind journal.Wind) *outing {
	const luck = 0.5 // coefficient of variation between sessions
	o := &outing{
		dice: d, truth: m.truth,
		tangles: m.truth.of("tangles", "angler", who.Name),
		turning: windTangles(wind) * d.gamma(luck),
		hookups: m.truth.of("hookups", "angler", who.Name) * m.truth.of("hookups", "water", w.Name) * temperatureCurve(temperature) * d.gamma(luck),
		snags:   d.gamma(luck),
		losses:  m.truth.of("loss", "angler", who.Name),
		lumped:  d.chance(0.3), placed: d.chance(0.88), lossKept: d.chance(0.88),
		species: []string{"brown trout", "rainbow trout"},
	}
	if w.Kind == "lake" {
		o.species = []string{"rainbow trout", "tiger trout"}
	}
	return o
}

// stints fishes one to four of them, each with a rig of its own or with the one before.
func (m *maker) stints(o *outing, who angler, w *water, start time.Time) []journal.Stint {
	n := pick(o.dice, []share[int]{{1, 0.18}, {2, 0.37}, {3, 0.29}, {4, 0.16}})
	stints := make([]journal.Stint, n)
	var rig tied
	var tags tags
	for i := range stints {
		if i == 0 || o.chance(0.65) {
			rig = m.rigs.choose(o.dice, m.family(o.dice, who, w), start)
			tags = o.tie(rig)
		}
		stints[i], tags = o.stint(rig, tags)
		stints[i].ID = o.id(start.Add(time.Duration(i) * time.Hour))
	}
	return stints
}

// family chooses what the dropper hangs from: the angler's choice of a junction,
// or in line, which everyone does alike.
func (m *maker) family(d dice, who angler, w *water) family {
	f := family{hang: pick(d, hangs()), still: w.Kind == "lake"}
	if f.hang == journal.HangTag {
		f.junction = pick(d, who.junctions)
	}
	return f
}

func hangs() []share[journal.Hang] {
	return []share[journal.Hang]{{journal.HangTag, 0.81}, {journal.HangEye, 0.07}, {journal.HangBend, 0.12}}
}

// fished adds up the minutes of stints; one whose minutes were not noted took two hours.
func fished(stints []journal.Stint) float64 {
	sum := 0.0
	for _, st := range stints {
		if st.Minutes != nil {
			sum += *st.Minutes
		} else {
			sum += 120
		}
	}
	return sum
}

func remark(d dice, wind journal.Wind) string {
	if wind == "strong" {
		return "Invented: gusts all day, hard to keep the sighter still."
	}
	notes := []string{
		"Invented: fish sat deep until noon.", "Invented: two drifts in five were good.", "Invented: a hatch came off at three.",
		"Invented: worked on slower strokes.", "Invented: low light, quiet water.", "Invented: changed beats after lunch.",
	}
	return notes[d.IntN(len(notes))]
}
