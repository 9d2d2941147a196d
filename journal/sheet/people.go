package sheet

import (
	"cmp"
	"strings"

	"rigtally/journal"
)

// people finds or makes the anglers, waters and beats that a file names.
type people struct {
	zone    string // of new waters
	anglers map[string]*journal.Angler
	waters  map[string]*waterBook
	fresh   []*journal.Angler
}

type waterBook struct {
	water   journal.Water
	isNew   bool
	beats   map[string]journal.Beat
	newBeat []journal.Beat
}

func newPeople(c journal.Contents, zone string) *people {
	p := &people{zone: cmp.Or(zone, c.Outfit.TimeZone), anglers: map[string]*journal.Angler{}, waters: map[string]*waterBook{}}
	for i, a := range c.Anglers {
		p.anglers[strings.ToLower(a.Name)] = &c.Anglers[i]
	}
	for _, w := range c.Waters {
		book := &waterBook{water: w, beats: map[string]journal.Beat{}}
		for _, b := range w.Beats {
			book.beats[strings.ToLower(b.Name)] = b
		}
		p.waters[strings.ToLower(w.Name)] = book
	}
	p.alias(c)
	return p
}

// alias makes people and places known by the names that they had before, too. Who has
// such a name now goes before.
func (p *people) alias(c journal.Contents) {
	anglers, waters := map[journal.ID]*journal.Angler{}, map[journal.ID]*waterBook{}
	for _, a := range p.anglers {
		anglers[a.ID] = a
	}
	for _, w := range p.waters {
		waters[w.water.ID] = w
	}
	for _, a := range c.Aliases {
		key := strings.ToLower(a.Name)
		switch {
		case a.Kind == journal.ThingAngler && a.Of != nil && anglers[*a.Of] != nil:
			setDefault(p.anglers, key, anglers[*a.Of])
		case a.Kind == journal.ThingWater && a.Of != nil && waters[*a.Of] != nil:
			setDefault(p.waters, key, waters[*a.Of])
		case a.Kind == journal.ThingBeat && a.Of != nil && a.Water != nil && waters[*a.Water] != nil:
			book := waters[*a.Water]
			for _, b := range book.water.Beats {
				if b.ID == *a.Of {
					setDefault(book.beats, key, b)
				}
			}
		}
	}
}

func setDefault[V any](m map[string]V, key string, value V) {
	if _, taken := m[key]; !taken {
		m[key] = value
	}
}

func (p *people) angler(name string, kind journal.AnglerKind) journal.ID {
	if a := p.anglers[strings.ToLower(name)]; a != nil {
		return a.ID
	}
	a := &journal.Angler{ID: journal.NewID(), Name: name, Kind: kind, Active: true}
	p.anglers[strings.ToLower(name)] = a
	p.fresh = append(p.fresh, a)
	return a.ID
}

func (p *people) water(name string) *waterBook {
	if w := p.waters[strings.ToLower(name)]; w != nil {
		return w
	}
	w := &waterBook{water: journal.Water{ID: journal.NewID(), Name: name, Kind: journal.WaterOther, TimeZone: p.zone}, isNew: true, beats: map[string]journal.Beat{}}
	p.waters[strings.ToLower(name)] = w
	return w
}

func (w *waterBook) beat(name string) *journal.ID {
	if name == "" {
		return nil
	}
	b, ok := w.beats[strings.ToLower(name)]
	if !ok {
		b = journal.Beat{ID: journal.NewID(), Name: name}
		w.beats[strings.ToLower(name)] = b
		w.newBeat = append(w.newBeat, b)
	}
	return &b.ID
}

// place fills in who fished the session and where.
func (p *people) place(o *outing) (journal.Session, error) {
	w := p.water(o.head.Water)
	s, err := o.session(w.water.TimeZone)
	if err != nil {
		return s, err
	}
	s.WaterID, s.BeatID, s.AnglerID = w.water.ID, w.beat(o.head.Beat), p.angler(o.head.Angler, journal.Client)
	if o.head.Guide != "" {
		s.GuideID = new(p.angler(o.head.Guide, journal.Guiding))
	}
	return s, nil
}
